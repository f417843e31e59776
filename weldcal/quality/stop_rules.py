"""May anybody weld in this weather? Conditions under which the answer is WAIT.

Invariant: a reading that is missing never says that one may weld; it says nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from msgspec import Struct

from weldcal.physics.dewpoint import dampness
from weldcal.quality.go_ahead_rules import STOPS, Rule
from weldcal.quality.standing import Trigger, Value


class Air(Struct, frozen=True):
    """Conditions as last read; None is "not read".

    Attributes:
        read_s: when the newest of them was read, seconds since any epoch.
        damp: the sheet was noted damp.
    """

    read_s: float
    ambient_c: float | None = None
    sheet_c: float | None = None
    humidity_pct: float | None = None
    wind_m_per_s: float | None = None
    damp: bool = False


Broken = Callable[[Air, float], tuple[float | None, bool]]


def stops(air: Air, rules: Sequence[Rule] = STOPS) -> tuple[Trigger, ...]:
    """Every stop rule that the conditions break."""
    found = []
    for rule in rules:
        value, broken = _BROKEN[rule.code](air, rule.threshold or 0.0)
        if broken:
            values: dict[str, Value] = {"was": None, "now": value, "limit": rule.threshold}
            found.append(Trigger(rule.code, rule.level, air.read_s, None, values, (), rule.source))
    return tuple(found)


def _damp(air: Air, _limit: float) -> tuple[float | None, bool]:
    return None, air.damp


def _dew(air: Air, limit_k: float) -> tuple[float | None, bool]:
    if air.ambient_c is None or air.humidity_pct is None or air.sheet_c is None:
        return None, False
    try:
        found = dampness(air.ambient_c, air.humidity_pct, air.sheet_c, limit_k)
    except ValueError:  # weather beyond the formula: not known
        return None, False
    return found.margin_k, found.margin_k < limit_k


def _cold(air: Air, limit_c: float) -> tuple[float | None, bool]:
    return air.ambient_c, air.ambient_c is not None and air.ambient_c < limit_c


def _windy(air: Air, limit: float) -> tuple[float | None, bool]:
    return air.wind_m_per_s, air.wind_m_per_s is not None and air.wind_m_per_s >= limit


_BROKEN: dict[str, Broken] = {
    "damp_sheet": _damp,
    "dew": _dew,
    "air_too_cold": _cold,
    "too_windy": _windy,
}
