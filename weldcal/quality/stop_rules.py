"""May anybody weld in this weather? Conditions under which the answer is WAIT.

Invariant: a reading that is missing never permits welding; it decides nothing.
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
        gust_m_per_s: peak of the wind.
        roll_c: a roll before it is laid out.
        line_v, rated_v: voltage at the machine under load, and the one it is built for.
    """

    read_s: float
    ambient_c: float | None = None
    sheet_c: float | None = None
    humidity_pct: float | None = None
    wind_m_per_s: float | None = None
    damp: bool = False
    gust_m_per_s: float | None = None
    roll_c: float | None = None
    line_v: float | None = None
    rated_v: float | None = None


Broken = Callable[[Air, float], tuple[float | None, bool]]


def stops(air: Air, rules: Sequence[Rule] = STOPS) -> tuple[Trigger, ...]:
    """Every stop rule that the conditions break."""
    stop_list = []
    for rule in rules:
        value, broken = _BROKEN[rule.code](air, rule.threshold or 0.0)
        if broken:
            values: dict[str, Value] = {"was": None, "now": value, "limit": rule.threshold}
            stop_list.append(
                Trigger(rule.code, rule.level, air.read_s, None, values, (), rule.source)
            )
    return tuple(stop_list)


def _damp(air: Air, _limit: float) -> tuple[float | None, bool]:
    return None, air.damp


def _dew(air: Air, limit_k: float) -> tuple[float | None, bool]:
    if air.ambient_c is None or air.humidity_pct is None or air.sheet_c is None:
        return None, False
    try:
        dew = dampness(air.ambient_c, air.humidity_pct, air.sheet_c, limit_k)
    except ValueError:  # weather beyond the formula: not known
        return None, False
    return dew.margin_k, dew.margin_k < limit_k


def _below(part: Callable[[Air], float | None]) -> Broken:
    """A rule that a reading breaks below its limit."""

    def broken(air: Air, limit: float) -> tuple[float | None, bool]:
        value = part(air)
        return value, value is not None and value < limit

    return broken


def _from(part: Callable[[Air], float | None]) -> Broken:
    """A rule that a reading breaks from its limit on."""

    def broken(air: Air, limit: float) -> tuple[float | None, bool]:
        value = part(air)
        return value, value is not None and value >= limit

    return broken


def _short_of_rated(air: Air) -> float | None:
    """How far the line is below the rated voltage, %."""
    if air.line_v is None or not air.rated_v:
        return None
    return 100.0 * (1.0 - air.line_v / air.rated_v)


_BROKEN: dict[str, Broken] = {
    "damp_sheet": _damp,
    "dew": _dew,
    "air_too_cold": _below(lambda air: air.ambient_c),
    "sheet_too_cold": _below(lambda air: air.sheet_c),
    "roll_too_cold": _below(lambda air: air.roll_c),
    "too_windy": _from(lambda air: air.wind_m_per_s),
    "too_gusty": _from(lambda air: air.gust_m_per_s),
    "voltage_low": _from(_short_of_rated),
}
