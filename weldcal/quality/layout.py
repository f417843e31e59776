"""Laying a roof: rectangles and rolls to rows, laps, T-joints and hand-welded details.

Invariant: rows run through rectangles of one area that touch; the sheets cover them exactly, and
a name once given never goes to another lap: areas are laid in the order given, and numbers go on from
the highest already used.

The arithmetic is geometry: a row shows the roll's width less the side lap, a
roll the roll's length less the end lap.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Sequence

from weldcal.quality.below import too_near
from weldcal.quality.chalk import ChalkNames
from weldcal.quality.coverage import SAME_PLACE_M
from weldcal.quality.laid_rows import LaidRows, offsets
from weldcal.quality.sheets import (
    Below,
    Flag,
    LapToWeld,
    Pattern,
    Point,
    Rectangle,
    Rolls,
    RoofLayout,
    RoofPoint,
    SheetsRow,
    TJoint,
    with_water,
)

__all__ = [
    "Below",
    "Flag",
    "LapToWeld",
    "Pattern",
    "Point",
    "Rectangle",
    "Rolls",
    "RoofLayout",
    "RoofPoint",
    "SheetsRow",
    "TJoint",
    "lay",
    "rolls_needed",
    "weld_hours",
    "with_water",
]


def lay(
    areas: Sequence[Rectangle],
    rolls: Rolls,
    pattern: Pattern | None = None,
    marks: Sequence[RoofPoint] = (),
    *,
    taken: Collection[str] = (),
    neighbours: Sequence[Rectangle] = (),
    below: Below | None = None,
) -> RoofLayout:
    """Lay rectangles in order, and the marked points on them.

    Args:
        taken: names of seams that exist; none of them is given again.
        neighbours: rectangles laid before, for the laps where a new one abuts them.
        below: the laps of the ply below, which those of this one keep off.

    Raises:
        ValueError: a length is not above 0, or a lap is as wide as its roll.
    """
    pattern = pattern or Pattern()
    _check(areas, rolls, pattern)
    names = ChalkNames(taken)
    laid, laps = _laid(areas, rolls, pattern, neighbours, names, below)
    rows = [row for one in laid for row in one.rows]
    laps += [_detail(mark, [*neighbours, *areas], names) for mark in marks]
    return RoofLayout(
        rows=tuple(rows),
        laps=tuple(laps),
        t_joints=tuple(joint for one in laid for joint in one.t_joints()),
        flags=(
            *(flag for one in laid for flag in one.flags()),
            *_flags(areas, neighbours, rolls, pattern, marks),
            *_near_below(laps, below),
        ),
        covered_m2=sum(area.length_x_m * area.length_y_m for area in areas),
        rolls=rolls_needed((piece for row in rows for piece in row.pieces_m), rolls.length_m),
        lap_m=sum(lap.length_m or 0.0 for lap in laps if lap.kind != "detail"),
        detail_m=sum(lap.length_m or 0.0 for lap in laps if lap.kind == "detail"),
    )


def _laid(
    areas: Sequence[Rectangle],
    rolls: Rolls,
    pattern: Pattern,
    neighbours: Sequence[Rectangle],
    names: ChalkNames,
    below: Below | None,
) -> tuple[list[LaidRows], list[LapToWeld]]:
    """Outlines of rectangles with their laps by machine, in the order they are laid."""
    found: list[LaidRows] = []
    laps: list[LapToWeld] = []
    before = list(neighbours)
    for outline in outlines(areas):
        letter = outline[0].letter
        laid = LaidRows(outline, rolls, pattern, names.first_row(letter), below)
        names.rows_to(letter, laid.rows[-1].number)
        found.append(laid)
        laps += laid.laps()
        for area in outline:
            laps += _abutting(area, before, pattern, names)
        before += outline
    return found, laps


def outlines(areas: Sequence[Rectangle]) -> list[list[Rectangle]]:
    """Rectangles parted into those that rows run through: of one letter, edge to edge."""
    parts: list[list[Rectangle]] = []
    for area in areas:
        mine = [part for part in parts if any(_one_outline(area, other) for other in part)]
        if mine:
            mine[0] += [*(other for part in mine[1:] for other in part), area]
            parts = [part for part in parts if part not in mine[1:]]
        else:
            parts.append([area])
    return parts


def _one_outline(a: Rectangle, b: Rectangle) -> bool:
    return a.letter.casefold() == b.letter.casefold() and bool(_shared(a, b))


def weld_hours(lap_m: float, speed_m_per_min: float) -> float:
    """Hours the machine travels for `lap_m`: travel alone, no set-up, stops or hand work."""
    if speed_m_per_min <= 0:
        raise ValueError("a travel speed is above 0")
    return lap_m / speed_m_per_min / 60.0


def rolls_needed(pieces_m: Iterable[float], roll_m: float) -> int:
    """Rolls from which the pieces can be cut, first fit, longest first.

    At most 11/9 of the least possible plus 6/9 (Dósa 2007, on first fit decreasing).
    """
    whole = 0
    left: list[float] = []
    for piece in sorted(pieces_m, reverse=True):
        if piece >= roll_m - SAME_PLACE_M:
            whole += 1
            continue
        for n, rest in enumerate(left):
            if rest >= piece - SAME_PLACE_M:
                left[n] = rest - piece
                break
        else:
            left.append(roll_m - piece)
    return whole + len(left)


def _abutting(
    area: Rectangle, before: Sequence[Rectangle], pattern: Pattern, names: ChalkNames
) -> list[LapToWeld]:
    """Laps along the edges a rectangle shares with those before it."""
    found = []
    for other in before:
        for start, end in _shared(area, other):
            along = "x" if start[1] == end[1] else "y"
            kind = "side lap" if along == pattern.along else "end lap"
            name = names.next(area.letter, "j")
            found.append(LapToWeld(name, kind, area.letter, start, end, math.dist(start, end)))
    return found


def _shared(a: Rectangle, b: Rectangle) -> list[tuple[Point, Point]]:
    """The edge two rectangles share, where they share one of some length."""
    low_x, high_x = max(a.x_m, b.x_m), min(a.x_m + a.length_x_m, b.x_m + b.length_x_m)
    low_y, high_y = max(a.y_m, b.y_m), min(a.y_m + a.length_y_m, b.y_m + b.length_y_m)
    if abs(high_y - low_y) <= SAME_PLACE_M and high_x - low_x > SAME_PLACE_M:
        return [((low_x, low_y), (high_x, low_y))]
    if abs(high_x - low_x) <= SAME_PLACE_M and high_y - low_y > SAME_PLACE_M:
        return [((low_x, low_y), (low_x, high_y))]
    return []


def _detail(mark: RoofPoint, areas: Sequence[Rectangle], names: ChalkNames) -> LapToWeld:
    area = min(areas, key=lambda area: (_outside(area, mark), -_inside(area, mark)))
    place = (mark.x_m, mark.y_m)
    name = names.next(area.letter, "d")
    return LapToWeld(name, "detail", area.letter, place, place, mark.around_m, at=mark.kind)


def _outside(area: Rectangle, mark: RoofPoint) -> float:
    """How far a mark lies outside a rectangle, m; 0 within it."""
    dx = max(area.x_m - mark.x_m, 0.0, mark.x_m - area.x_m - area.length_x_m)
    dy = max(area.y_m - mark.y_m, 0.0, mark.y_m - area.y_m - area.length_y_m)
    return math.hypot(dx, dy)


def _inside(area: Rectangle, mark: RoofPoint) -> float:
    """How far a mark lies from the nearest edge of a rectangle, m: deepest where it belongs."""
    dx = min(mark.x_m - area.x_m, area.x_m + area.length_x_m - mark.x_m)
    dy = min(mark.y_m - area.y_m, area.y_m + area.length_y_m - mark.y_m)
    return min(dx, dy)


def _flags(
    areas: Sequence[Rectangle],
    neighbours: Sequence[Rectangle],
    rolls: Rolls,
    pattern: Pattern,
    marks: Sequence[RoofPoint],
) -> Iterable[Flag]:
    for area in areas:
        if area.slope and _against(area.slope, pattern):
            yield Flag("against_water", {"area": area.letter, "slope": area.slope})
    if pattern.stagger_m > SAME_PLACE_M and offsets(rolls, pattern) == 1:
        yield Flag("stagger_too_long", {"stagger_m": pattern.stagger_m})
    for mark in marks:
        away = min(_outside(area, mark) for area in [*neighbours, *areas])
        if away > SAME_PLACE_M:
            yield Flag("mark_outside", {"kind": mark.kind, "x_m": mark.x_m, "y_m": mark.y_m})


def _near_below(laps: Sequence[LapToWeld], below: Below | None) -> list[Flag]:
    """One flag for all laps too near to laps below: how many, and the nearest."""
    found = list(too_near(laps, below)) if below else []
    if not found:
        return []
    worst = min(found, key=lambda near: near.apart_m - near.least_m)
    values: dict[str, float | str] = {"n": len(found), "lap": worst.lap, "below": worst.below}
    values |= {"apart_m": worst.apart_m, "least_m": worst.least_m}
    return [Flag("near_below", values)]


def _against(slope: str, pattern: Pattern) -> bool:
    """Whether water would run against the laps: off the lower sheet onto the upper one."""
    axis, towards = slope[0], slope[1]
    if axis == pattern.along:
        return pattern.from_high != (towards == "+")
    return pattern.start != ("low" if towards == "-" else "high")


def _check(areas: Sequence[Rectangle], rolls: Rolls, pattern: Pattern) -> None:
    if not areas:
        raise ValueError("a roof has at least one rectangle")
    if any(min(area.length_x_m, area.length_y_m) <= 0 for area in areas):
        raise ValueError("a rectangle's lengths are above 0")
    if not 0 <= rolls.side_lap_m < rolls.width_m or not 0 <= rolls.end_lap_m < rolls.length_m:
        raise ValueError("a lap is narrower than its roll")
    if pattern.stagger_m < 0:
        raise ValueError("a stagger is not below 0")
