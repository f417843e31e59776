"""Dew point, and how far the sheet is from it.

Invariant: the dew point is never above the air's temperature, and rises with
temperature and humidity alike.

Magnus formula with the coefficients of the World Meteorological Organization
(Guide to Instruments and Methods of Observation, WMO-No. 8, annex on
psychrometric formulae; Sonntag 1990): over water 6.112 hPa, 17.62, 243.12 °C
for -45 to 60 °C. Over ice 22.46, 272.62 °C (same; from memory, checked against
PsychroLib's frost point in the tests).
"""

from __future__ import annotations

import math

from msgspec import Struct

from weldcal.words import mark

_WATER = (17.62, 243.12)
_ICE = (22.46, 272.62)

# Below this the formula runs off to minus infinity; drier air is tens of degrees from dew.
_DRIEST_PCT = 1.0

MARGIN_K = 3.0
MARGIN_SOURCE = mark(
    "3 °C (5 °F) above the dew point: borrowed from steel-coating practice "
    "(attributed to ISO 8502-4, clause not seen)"
)


class Dampness(Struct, frozen=True):
    """How near a sheet is to moisture.

    Attributes:
        code: "dry"; "near_dew" within the margin; "dew"; "frost".
        dew_point_c: dew point of the air, over water, °C.
        margin_k: sheet temperature less the temperature at which dew or frost forms on it, K.
    """

    code: str
    dew_point_c: float
    margin_k: float
    limit_k: float


def dew_point_c(ambient_c: float, humidity_pct: float) -> float:
    """Dew point over water, °C; humidity below 1 % is taken as 1 %.

    `Td = c·g/(b - g)`, `g = ln(RH/100) + b·T/(c + T)`.

    Args:
        ambient_c: air, °C.
        humidity_pct: relative humidity, %.

    Returns:
        °C.

    Raises:
        ValueError: a humidity outside 0 to 100 %, or air outside -45 to 60 °C.
    """
    return _point(ambient_c, humidity_pct, _WATER)


def frost_point_c(ambient_c: float, humidity_pct: float) -> float:
    """Temperature at which frost forms, °C: the same vapour, saturated over ice.

    Meaningful where the answer is below 0 °C. Raises as `dew_point_c`.

    Args:
        ambient_c: air, °C.
        humidity_pct: relative humidity, %.

    Returns:
        °C.
    """
    return _point(ambient_c, humidity_pct, _ICE)


def dampness(
    ambient_c: float, humidity_pct: float, sheet_c: float, margin_k: float = MARGIN_K
) -> Dampness:
    """Whether dew or frost forms on a sheet, or nearly. Raises as `dew_point_c`.

    On a sheet below freezing the frost point counts: it lies above the dew point.

    Args:
        ambient_c: air, °C.
        humidity_pct: relative humidity, %.
        sheet_c: the sheet's surface, °C.
        margin_k: how near to the point counts, K.

    Returns:
        what forms, at which temperature, and how far above it the sheet is.
    """
    dew = dew_point_c(ambient_c, humidity_pct)
    forms_at = frost_point_c(ambient_c, humidity_pct) if sheet_c < 0.0 else dew
    margin = sheet_c - forms_at
    if margin <= 0.0:
        code = "frost" if sheet_c < 0.0 else "dew"
    else:
        code = "near_dew" if margin < margin_k else "dry"
    return Dampness(code, dew, margin, margin_k)


def _point(ambient_c: float, humidity_pct: float, over: tuple[float, float]) -> float:
    if not 0.0 <= humidity_pct <= 100.0:
        raise ValueError("relative humidity is from 0 to 100 %")
    if not -45.0 <= ambient_c <= 60.0:
        raise ValueError("the formula holds from -45 to 60 °C")
    b, c = _WATER
    gamma = math.log(max(humidity_pct, _DRIEST_PCT) / 100.0) + b * ambient_c / (c + ambient_c)
    b, c = over
    return c * gamma / (b - gamma)
