"""Values that can be and hardly are: slips of the hand, shown before they are kept.

One rule for every door: a prompt, an option, a line and a loaded sheet ask here.
`records.fields` refuses what cannot be at all; this tells what is likely a slip.
"""

from __future__ import annotations

from fractions import Fraction

from msgspec import Struct

from weldcal.quantities import DIMENSION, Quantity, convert
from weldcal.records.common import Conditions

# Beaufort 10, "seldom experienced inland" (World Meteorological Organization; from memory).
WIND_MOST_M_PER_S = 24.5
# Dry dark roofs stay below this in the sun (site setting, no source).
SHEET_MOST_C = 90.0
# Nobody welds so cold, and a Fahrenheit reading typed as Celsius is above it (site setting, no source).
SHEET_LEAST_C = -30.0
# From one strip to the next the speed does not change by so much (site setting, no source).
FAR_SHARE = 2.5
# A sheet radiates to a clear night sky, but not more than this below the air (site setting, no source).
SHEET_BELOW_AIR_K = 20.0


class DialRange(Struct, frozen=True):
    """What a machine's dial goes from and to, in its own unit: ft/min, m/min or mark."""

    machine: str
    unit: str
    low: float
    high: float


class SpeedSeen(Struct, frozen=True):
    """The speed of a strip, as typed, and when it was seen."""

    seen_utc: str
    text: str
    unit: str


class Slip(Struct, frozen=True):
    """A value that is likely a slip: a code with its values, `likely` as it was perhaps meant."""

    code: str
    values: dict[str, object]


def speed_slip(speed: Quantity, dial: DialRange) -> Slip | None:
    """A speed that the machine's dial cannot show, and the one perhaps meant: 55 on 1 to 20 is 5.5."""
    marks = dial.unit == "mark"
    if marks != (DIMENSION[speed.unit] == "mark"):
        return None  # a speed on a dial of bare numbers, or the reverse: no dial says anything
    number = speed.number if marks else convert(speed.number, speed.unit, dial.unit)
    if _within(number, dial):
        return None
    likely = next((n for by in (10, 100) if _within(n := number / by, dial)), None)
    return Slip(
        "off_dial",
        {
            "machine": dial.machine,
            "typed": speed.text,
            "low": dial.low,
            "high": dial.high,
            "unit": dial.unit,
            "likely": None if likely is None else float(likely),
        },
    )


def far_slip(speed: Quantity, last: Quantity) -> Slip | None:
    """A speed far from the last strip's on that machine: 15 after 5.5; None where it is not."""
    if DIMENSION[speed.unit] != DIMENSION[last.unit] or not last.number or not speed.number:
        return None
    ratio = speed.number / convert(last.number, last.unit, speed.unit)
    if 1 / FAR_SHARE < ratio < FAR_SHARE:
        return None
    values = {"typed": speed.text, "unit": speed.unit, "last": last.text, "last_unit": last.unit}
    return Slip("far_from_last", {**values, "likely": None})


def weather_slips(read: Conditions) -> list[Slip]:
    """Readings of the weather that hardly are: wind, and the sheet's surface."""
    found = []
    if read.wind is not None and read.wind.si("m/s") > WIND_MOST_M_PER_S:
        values = {"typed": read.wind.text, "m_per_s": read.wind.si("m/s"), "name": "wind"}
        found.append(Slip("wind_hardly", values))
    for name, sheet in (("sheet_temp", read.sheet_temp), ("under_temp", read.under_temp)):
        if sheet is None:
            continue
        surface = sheet.si("C")
        air = read.ambient.si("C") if read.ambient is not None else None
        below = air is not None and surface < air - SHEET_BELOW_AIR_K
        if below or not SHEET_LEAST_C <= surface <= SHEET_MOST_C:
            values = {"name": name, "typed": sheet.text, "surface_c": surface}
            found.append(Slip("sheet_hardly", {**values, "ambient_c": air if below else None}))
    return found


def _within(number: Fraction, dial: DialRange) -> bool:
    slack = 1e-9 * max(abs(dial.low), abs(dial.high), 1.0)
    return dial.low - slack <= number <= dial.high + slack
