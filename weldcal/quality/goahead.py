"""The go-ahead: whether a strip met the limits, and what voids it afterwards.

Invariant: a strip is judged by all its readings, none set aside, and passes
only with a good cold pull. Each shortfall is a code with its numbers; the
sentence is made where it is shown.

The decision rule is simple acceptance with an optional guard band (ISO
14253-1 / JCGM 106:2012 §8): a reading must lie inside the limits by the guard.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from msgspec import Struct

CLEAN = "at the lap"


class Acceptance(Struct, frozen=True):
    """The job's limits for one sheet, as numbers (mm)."""

    low_mm: float
    aim_mm: float
    high_mm: float
    guard_mm: float
    spread_mm: float
    readings_least: int
    trace_passes: bool
    by_bleed_out: bool
    bonded_least_mm: float
    cool_least_min: float
    cool_before_probe_min: float
    lap_least_side_mm: float
    lap_least_end_mm: float
    slack_m: float


class Judged(Struct, frozen=True):
    """A strip or a bleed check as judged.

    Attributes:
        widths_mm: bleed-out readings, mm.
        bubbling: none, trace, heavy; None where nobody looked.
        bond: good, cold or not tried.
        parted: how the cold strip came apart; None where nobody said.
        bonded_mm: width over which it was bonded, mm.
        cooled_min: minutes from welding to the pull; None where the time is not known.
        off_dial: machine, low and high of its dial, where the dial does not have the speed.
    """

    widths_mm: tuple[float, ...]
    bubbling: str | None
    bond: str
    damp: bool = False
    exposed_mat: bool = False
    parted: str | None = None
    bonded_mm: float | None = None
    cooled_min: float | None = None
    off_dial: dict[str, str | float] | None = None


class Shortfall(Struct, frozen=True):
    """Why a strip is no go-ahead, or a go-ahead no longer stands: a code and its numbers."""

    code: str
    values: dict[str, Any]


class Key(Struct, frozen=True):
    """What a go-ahead is for.

    Attributes:
        machine: the machine; by hand, the tool.
        hand: the person, where it is welded by hand: no hand is another's.
    """

    machine: str
    sheet: str
    lap: str
    nozzle_width_mm: float | None = None
    hand: str | None = None


def shortfalls(strip: Judged, limits: Acceptance) -> tuple[Shortfall, ...]:
    """All that keeps a strip from being a go-ahead; none, and it is one."""
    short: list[Shortfall] = []
    if limits.by_bleed_out:
        short += _width_shortfalls(strip.widths_mm, limits)
    if strip.bubbling is None:
        short.append(Shortfall("bubbling_not_looked", {}))
    elif strip.bubbling == "heavy" or (strip.bubbling == "trace" and not limits.trace_passes):
        short.append(Shortfall("bubbling", {"bubbling": strip.bubbling}))
    if strip.exposed_mat:
        short.append(Shortfall("exposed_mat", {}))
    if strip.off_dial is not None:
        short.append(Shortfall("off_dial", strip.off_dial))
    if strip.damp:
        short.append(Shortfall("damp", {}))
    return (*short, *_bond_shortfalls(strip, limits))


def _bond_shortfalls(strip: Judged, limits: Acceptance) -> list[Shortfall]:
    """What the cold pull shows against a strip.

    A sound lap of a bituminous sheet parts in the compound or in the reinforcement, never
    clean where the two faces met (common practice, no source).
    """
    if strip.bond == "not tried":
        return [Shortfall("pull_not_tried", {})]
    short = []
    if strip.bond != "good":
        short.append(Shortfall("cold", {}))
    elif strip.parted == CLEAN:
        short.append(Shortfall("parted_clean", {}))
    short += _narrow_bond(strip.bonded_mm, limits.bonded_least_mm)
    if strip.cooled_min is not None and strip.cooled_min < limits.cool_least_min:
        values = {"minutes": strip.cooled_min, "least": limits.cool_least_min}
        short.append(Shortfall("pulled_warm", values))
    return short


def waits_for_pull(short: Sequence[Shortfall], *, by_hand: bool) -> bool:
    """Whether a pull is what a strip waits for: one that fell short hot is no go-ahead whatever
    its pull shows. A hand strip is judged by its pull first.

    Args:
        short: what it falls short of.
        by_hand: it was made by hand.
    """
    codes = [one.code for one in short]
    return "pull_not_tried" in codes if by_hand else codes == ["pull_not_tried"]


def narrow(
    overlap_mm: float, bonded_mm: float | None, lap_least_mm: float, bonded_least_mm: float
) -> tuple[Shortfall, ...]:
    """The shortfalls of a lap's width.

    Args:
        overlap_mm: how far the sheets overlap, mm.
        bonded_mm: how much of it holds, mm; None where nobody saw.
        lap_least_mm, bonded_least_mm: the limits, mm.
    """
    short = []
    if _below(overlap_mm, lap_least_mm):
        values = {"width_mm": overlap_mm, "least_mm": lap_least_mm}
        short.append(Shortfall("narrow_lap", values))
    return (*short, *_narrow_bond(bonded_mm, bonded_least_mm))


def _narrow_bond(bonded_mm: float | None, least_mm: float) -> list[Shortfall]:
    if bonded_mm is None or not _below(bonded_mm, least_mm):
        return []
    return [Shortfall("narrow_bond", {"width_mm": bonded_mm, "least_mm": least_mm})]


def _below(width_mm: float, least_mm: float) -> bool:
    """Whether a width lies below a bound by more than the rounding of units."""
    return width_mm < least_mm - 1e-6


def _width_shortfalls(widths: tuple[float, ...], limits: Acceptance) -> list[Shortfall]:
    short = []
    low, high = limits.low_mm + limits.guard_mm, limits.high_mm - limits.guard_mm
    if len(widths) < limits.readings_least:
        short.append(Shortfall("few_readings", {"n": len(widths), "least": limits.readings_least}))
    under = [width for width in widths if _below(width, low)]
    over = [width for width in widths if _below(high, width)]
    if under:
        short.append(Shortfall("too_little", {"width_mm": min(under), "low_mm": low}))
    if over:
        short.append(Shortfall("too_much", {"width_mm": max(over), "high_mm": high}))
    spread = max(widths, default=0.0) - min(widths, default=0.0)
    if _below(limits.spread_mm, spread):
        short.append(Shortfall("spread", {"spread_mm": spread, "limit_mm": limits.spread_mm}))
    return short


class Looked(Struct, frozen=True):
    """A bleed check on the lap.

    Attributes:
        widths_mm: bleed-out read, mm.
        bubbling: none, trace, heavy; None where nobody looked.
        short: codes of what is outside the limits; empty where it is inside.
    """

    widths_mm: tuple[float, ...]
    bubbling: str | None
    short: frozenset[str]


def no_look_mends(checks: Sequence[Looked]) -> tuple[bool, ...]:
    """Which bleed checks call for a strip at once, not for a look.

    Heavy bubbling, and no bleed-out at two places with none inside the limits between them,
    where the sheet is judged by bleed-out (site setting, no source).

    Args:
        checks: in the order seen.
    """
    needed, before = [], False
    for check in checks:
        nothing = "too_little" in check.short and not _below(0.0, max(check.widths_mm))
        twice = nothing and (before or len(check.widths_mm) > 1)
        needed.append(check.bubbling == "heavy" or twice)
        # A check that is outside otherwise brings nothing back.
        before = bool(check.short) and (nothing or before)
    return tuple(needed)


class Tried(Struct, frozen=True):
    """A setting that a strip tried, and what the strip fell short of.

    Attributes:
        nozzle_c: °C.
        speed: m/min, or the bare mark of a dial tied to no speed; None where not known.
        short: codes of its shortfalls; empty where it met the limits.
    """

    nozzle_c: float
    speed: float | None
    short: frozenset[str]


COLD = frozenset({"too_little", "cold", "parted_clean", "narrow_bond"})
HOT = frozenset({"too_much", "bubbling", "exposed_mat"})
# Settings as near as this are one setting: the dial's and the nozzle's own slack.
SAME_SPEED_SHARE = 0.10
SAME_NOZZLE_K = 10.0


def failed(strip: Tried) -> bool:
    """Whether a strip came out wrong, not only short of readings or of its pull."""
    return bool(strip.short & (COLD | HOT | {"spread"}))


def same_setting(a: Tried, b: Tried) -> bool:
    """Whether two strips were made at one setting, by the slack of a dial and of a nozzle.

    For strips that passed: neither speed is more than a tenth off the other.
    """
    return _one_setting(a, b, max)


def near_setting(a: Tried, b: Tried) -> bool:
    """Whether two strips may have been made at one setting.

    For strips that failed, so that none is forgotten: one speed is within a tenth of the other.
    """
    return _one_setting(a, b, min)


def _one_setting(a: Tried, b: Tried, off: Callable[[float, float], float]) -> bool:
    """`off` chooses of the share by which each speed is off the other."""
    if abs(_warmer(a, b)) > SAME_NOZZLE_K:
        return False
    if not a.speed or not b.speed:
        return a.speed == b.speed
    shares = abs(_faster(a.speed, b.speed)), abs(_faster(b.speed, a.speed))
    return off(*shares) <= SAME_SPEED_SHARE


# Rounded, so that just a tenth faster, or just 18 °F warmer, is so as typed.
def _warmer(a: Tried, b: Tried) -> float:
    """By how many K a setting's nozzle is warmer than another's."""
    return round(a.nozzle_c - b.nozzle_c, 6)


def _faster(a: float, b: float) -> float:
    """By what share a speed is above another."""
    return round(a / b - 1.0, 6)


def speaks_against(later: Tried, passed: Tried) -> bool:
    """Whether a later strip's failure takes away the go-ahead of an earlier one.

    It does at the same setting; also where it was too cold though at least as hot as the
    setting that passed (slower, no colder a nozzle), or too hot though at most as hot.
    """
    if not failed(later) or not later.speed or not passed.speed:
        return failed(later)
    if near_setting(later, passed):
        return True
    warmer, faster = _warmer(later, passed), _faster(later.speed, passed.speed)
    as_hot = faster <= SAME_SPEED_SHARE and warmer >= -SAME_NOZZLE_K
    as_cold = faster >= -SAME_SPEED_SHARE and warmer <= SAME_NOZZLE_K
    return bool((as_hot and later.short & COLD) or (as_cold and later.short & HOT))


class PassedStrip(Struct, frozen=True):
    """A passed strip, as what welds on it later needs it."""

    id: str
    name: str
    key: Key
    day: str
    nozzle_c: float
    speed_m_per_min: float | None


def voids(strip: PassedStrip, key: Key, day: str) -> tuple[Shortfall, ...]:
    """Why a go-ahead is not one for welding `key` on `day`; `standing` says what has moved since."""
    short = []
    if strip.key.machine != key.machine:
        short.append(Shortfall("other_machine", {"was": strip.key.machine, "now": key.machine}))
    if strip.key.sheet != key.sheet:
        short.append(Shortfall("other_sheet", {"was": strip.key.sheet, "now": key.sheet}))
    if strip.key.lap != key.lap:
        short.append(Shortfall("other_lap", {"was": strip.key.lap, "now": key.lap}))
    widths = (strip.key.nozzle_width_mm, key.nozzle_width_mm)
    if None not in widths and abs(widths[0] - widths[1]) > 0.5:  # type: ignore[operator]
        short.append(Shortfall("other_nozzle", {"was_mm": widths[0], "now_mm": widths[1]}))
    if strip.key.hand != key.hand:
        short.append(Shortfall("other_hand", {"was": strip.key.hand, "now": key.hand}))
    if strip.day != day:
        short.append(Shortfall("new_day", {"was": strip.day}))
    return tuple(short)
