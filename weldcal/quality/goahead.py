"""The go-ahead: whether a strip met the limits, and what voids it afterwards.

Invariant: a strip is judged by all its readings, none set aside, and passes
only with a good cold pull. Each shortfall is a code with its numbers; the
sentence is made where it is shown.

The decision rule is simple acceptance with an optional guard band (ISO
14253-1 / JCGM 106:2012 §8): a reading must lie inside the limits by the guard.
"""

from __future__ import annotations

from typing import Any

from msgspec import Struct

_TOLERANCE_MM = 1e-6


class Acceptance(Struct, frozen=True):
    """The job's limits for one sheet, as numbers (mm)."""

    low_mm: float
    aim_mm: float
    high_mm: float
    guard_mm: float
    spread_mm: float
    readings_least: int
    trace_passes: bool
    by_bleed_out: bool = True


class Judged(Struct, frozen=True):
    """A strip as judged: widths in mm."""

    widths_mm: tuple[float, ...]
    bubbling: str | None
    bond: str
    damp: bool = False
    exposed_mat: bool = False


class Shortfall(Struct, frozen=True):
    """Why a strip is no go-ahead, or a go-ahead no longer stands: a code and its numbers."""

    code: str
    values: dict[str, Any]


class Key(Struct, frozen=True):
    """What a go-ahead is for."""

    machine: str
    sheet: str
    lap: str
    nozzle_width_mm: float | None = None


def shortfalls(strip: Judged, limits: Acceptance) -> tuple[Shortfall, ...]:
    """All that keeps a strip from being a go-ahead; none, and it is one."""
    found: list[Shortfall] = []
    if limits.by_bleed_out:
        found += _width_shortfalls(strip.widths_mm, limits)
    if strip.bubbling is None:
        found.append(Shortfall("bubbling_not_looked", {}))
    elif strip.bubbling == "heavy" or (strip.bubbling == "trace" and not limits.trace_passes):
        found.append(Shortfall("bubbling", {"bubbling": strip.bubbling}))
    if strip.exposed_mat:
        found.append(Shortfall("exposed_mat", {}))
    if strip.bond == "not tried":
        found.append(Shortfall("pull_not_tried", {}))
    elif strip.bond != "good":
        found.append(Shortfall("cold", {}))
    return tuple(found)


def _width_shortfalls(widths: tuple[float, ...], limits: Acceptance) -> list[Shortfall]:
    found = []
    low, high = limits.low_mm + limits.guard_mm, limits.high_mm - limits.guard_mm
    if len(widths) < limits.readings_least:
        found.append(Shortfall("few_readings", {"n": len(widths), "least": limits.readings_least}))
    under = [width for width in widths if width < low - _TOLERANCE_MM]
    over = [width for width in widths if width > high + _TOLERANCE_MM]
    if under:
        found.append(Shortfall("too_little", {"width_mm": min(under), "low_mm": low}))
    if over:
        found.append(Shortfall("too_much", {"width_mm": max(over), "high_mm": high}))
    spread = max(widths, default=0.0) - min(widths, default=0.0)
    if spread > limits.spread_mm + _TOLERANCE_MM:
        found.append(Shortfall("spread", {"spread_mm": spread, "limit_mm": limits.spread_mm}))
    return found


class Standing(Struct, frozen=True):
    """A passed strip, as what welds on it later needs it."""

    id: str
    name: str
    key: Key
    day: str
    nozzle_c: float
    speed_m_per_min: float | None


def voids(strip: Standing, key: Key, day: str) -> tuple[Shortfall, ...]:
    """Why a go-ahead is not one for welding `key` on `day`; `standing` says what has moved since."""
    found = []
    if strip.key.machine != key.machine:
        found.append(Shortfall("other_machine", {"was": strip.key.machine, "now": key.machine}))
    if strip.key.sheet != key.sheet:
        found.append(Shortfall("other_sheet", {"was": strip.key.sheet, "now": key.sheet}))
    if strip.key.lap != key.lap:
        found.append(Shortfall("other_lap", {"was": strip.key.lap, "now": key.lap}))
    widths = (strip.key.nozzle_width_mm, key.nozzle_width_mm)
    if None not in widths and abs(widths[0] - widths[1]) > 0.5:  # type: ignore[operator]
        found.append(Shortfall("other_nozzle", {"was_mm": widths[0], "now_mm": widths[1]}))
    if strip.day != day:
        found.append(Shortfall("new_day", {"was": strip.day}))
    return tuple(found)
