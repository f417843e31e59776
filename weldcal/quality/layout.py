"""Laying a roof: rectangles and rolls to rows, laps, T-joints and hand-welded details.

Invariant: the sheets cover each rectangle exactly, and a name once given never
goes to another lap: areas are laid in the order given, and numbers go on from
the highest already used.

The arithmetic is geometry: a row shows the roll's width less the side lap, a
roll the roll's length less the end lap.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Sequence
from itertools import pairwise
from typing import Literal

from msgspec import Struct

from weldcal.quality.chalk import Names
from weldcal.quality.coverage import SAME_PLACE_M

Point = tuple[float, float]

# No piece shorter than this, and no row narrower than half a roll: a short piece walks and
# curls, and a lap close to the edge is cut by it (common practice, no source).
LEAST_PIECE_M = 1.0
NARROWEST = 0.5

# UFGS-07550 §3.3.6: end laps of neighbouring rows 1 m apart, side laps 75 mm, end laps 150 mm.
STAGGER_M = 1.0
SIDE_LAP_M = 0.075
END_LAP_M = 0.150


class Area(Struct, frozen=True):
    """A rectangle of roof: its letter, low corner and extents, m. Rectangles may share a letter.

    `slope` is which way water runs on it: x+, x-, y+ or y-; None where nobody said.
    """

    letter: str
    x_m: float
    y_m: float
    length_x_m: float
    length_y_m: float
    slope: str | None = None


class Rolls(Struct, frozen=True):
    """The sheet as rolled, and how it is lapped, m."""

    width_m: float
    length_m: float
    side_lap_m: float = SIDE_LAP_M
    end_lap_m: float = END_LAP_M
    least_piece_m: float = LEAST_PIECE_M


class Pattern(Struct, frozen=True):
    """How rows lie: the axis they run along, the edge row 1 starts from, the stagger of end laps.

    With `start` "low", row 1 lies along the edge of least x or y; the low edge of
    the roof, that water runs to, is where a roof is started. `from_high` begins each row at
    its end of greatest x or y, so that every piece laps over the one that water runs to.
    """

    along: Literal["x", "y"] = "x"
    start: Literal["low", "high"] = "low"
    stagger_m: float = STAGGER_M
    from_high: bool = False


def with_water(slope: str | None, along: str | None, start: str | None) -> Pattern:
    """How rows lie so that water runs off the upper sheet onto the lower one, as far as chosen.

    Rows across the slope begin at the edge that water runs to; rows along it are laid
    upwards, piece over piece (laps with the flow of water: common practice, no source).

    Args:
        slope: which way water runs: x+, x-, y+, y-; None where nobody said.
        along, start: as chosen; None to follow the slope, else x and low.
    """
    axis, towards = (slope[0], slope[1]) if slope else ("y", "-")
    across = "y" if axis == "x" else "x"
    chosen = along or across
    low_edge = "low" if towards == "-" else "high"
    if chosen == axis:  # up the slope
        return Pattern(chosen, start or "low", STAGGER_M, bool(slope) and towards == "+")  # type: ignore[arg-type]
    return Pattern(chosen, start or low_edge)  # type: ignore[arg-type]


class Mark(Struct, frozen=True):
    """A marked point: drain, curb, penetration or corner, and the length welded around it, m."""

    kind: str
    x_m: float
    y_m: float
    around_m: float | None = None


class Row(Struct, frozen=True):
    """A row of sheet: its band across the rows, m from row 1's edge, and lengths of its pieces, m."""

    area: str
    number: int
    from_m: float
    to_m: float
    pieces_m: tuple[float, ...]


class Lap(Struct, frozen=True):
    """A seam to be welded. `start` is its zero end; `length_m` is None where nobody gave one."""

    name: str
    kind: str
    area: str
    start: Point
    end: Point
    length_m: float | None
    row: int | None = None
    at: str | None = None


class TJoint(Struct, frozen=True):
    """Where an end lap meets a side lap, and how far along each it lies, m."""

    name: str
    place: Point
    side_lap: str
    at_m: float
    end_lap: str
    end_at_m: float


class Flag(Struct, frozen=True):
    """What a person should look at in a layout: a code and its numbers."""

    code: str
    values: dict[str, float | str]


class Layout(Struct, frozen=True):
    """A roof as laid, with its totals.

    Attributes:
        laps: side laps, end laps, laps between rectangles and details.
        rolls: least rolls found by cutting pieces first fit, longest first; details not counted.
        lap_m: length welded by machine, without details.
        detail_m: length of the details that have one.
    """

    rows: tuple[Row, ...]
    laps: tuple[Lap, ...]
    t_joints: tuple[TJoint, ...]
    flags: tuple[Flag, ...]
    covered_m2: float
    rolls: int
    lap_m: float
    detail_m: float


def lay(
    areas: Sequence[Area],
    rolls: Rolls,
    pattern: Pattern | None = None,
    marks: Sequence[Mark] = (),
    *,
    taken: Collection[str] = (),
    beside: Sequence[Area] = (),
) -> Layout:
    """Lay rectangles in order, and the marked points on them.

    Args:
        taken: names of seams that exist; none of them is given again.
        beside: rectangles laid before, for the laps where a new one abuts them.

    Raises:
        ValueError: a length is not above 0, or a lap is as wide as its roll.
    """
    pattern = pattern or Pattern()
    _check(areas, rolls, pattern)
    names = Names(taken)
    rows, laps, joints = _laid(areas, rolls, pattern, beside, names)
    laps += [_detail(mark, [*beside, *areas], names) for mark in marks]
    return Layout(
        rows=tuple(rows),
        laps=tuple(laps),
        t_joints=tuple(joints),
        flags=tuple(_flags(areas, beside, rolls, pattern, marks, rows)),
        covered_m2=sum(area.length_x_m * area.length_y_m for area in areas),
        rolls=rolls_needed((piece for row in rows for piece in row.pieces_m), rolls.length_m),
        lap_m=sum(lap.length_m or 0.0 for lap in laps if lap.kind != "detail"),
        detail_m=sum(lap.length_m or 0.0 for lap in laps if lap.kind == "detail"),
    )


def _laid(
    areas: Sequence[Area], rolls: Rolls, pattern: Pattern, beside: Sequence[Area], names: Names
) -> tuple[list[Row], list[Lap], list[TJoint]]:
    """Rows, laps by machine and T-joints of rectangles, in the order they are laid."""
    rows: list[Row] = []
    laps: list[Lap] = []
    joints: list[TJoint] = []
    for n, area in enumerate(areas):
        laid = _Rectangle(area, rolls, pattern, names.first_row(area.letter))
        names.rows_to(area.letter, laid.rows[-1].number)
        rows += laid.rows
        laps += laid.laps()
        joints += laid.t_joints()
        laps += _abutting(area, [*beside, *areas[:n]], pattern, names)
    return rows, laps, joints


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


class _Rectangle:
    """One rectangle laid, in its own measures: `along` the rows, `across` from row 1's edge."""

    def __init__(self, area: Area, rolls: Rolls, pattern: Pattern, first: int) -> None:
        self.area, self.rolls, self.pattern = area, rolls, pattern
        along_x = pattern.along == "x"
        self.along = area.length_x_m if along_x else area.length_y_m
        self.across = area.length_y_m if along_x else area.length_x_m
        shown = rolls.width_m - rolls.side_lap_m
        self.rows: list[Row] = []
        count = _count(self.across, rolls.width_m, shown)
        self.first_m = _first_row(self.across, rolls, count)
        laid: list[list[float]] = []  # where end laps lie, row by row
        for n in range(count):
            edge = n * shown - (rolls.width_m - self.first_m if n else 0.0)
            far = edge + (rolls.width_m if n else self.first_m) if n + 1 < count else self.across
            pieces = self._pieces(self._cut(n, laid))
            laid.append(self._lap_places(pieces))
            self.rows.append(Row(area.letter, first + n, edge, far, tuple(pieces)))

    def _cut(self, n: int, laid: list[list[float]]) -> float:
        """How long the first piece of the n-th row is cut.

        Offsets step by the stagger through as many rows as fit in one roll's shown length, so
        that the last of them is a stagger away from the next first. Where that leaves a short
        piece at the end, the nearest cut is taken that leaves none, a stagger away from the
        end laps of the two rows before, else of the one before; where there is no such cut,
        the stagger is kept and the piece is as long as can be.
        """
        wanted = self.rolls.length_m - (n % _offsets(self.rolls, self.pattern)) * (
            self.pattern.stagger_m
        )
        if self.along <= self.rolls.length_m + SAME_PLACE_M:
            return self.along  # one piece, and no end lap to stagger
        cuts = sorted(self._cuts(wanted, laid), key=lambda cut: (abs(cut - wanted), cut))
        whole = [cut for cut in cuts if self._shortest(cut) >= self._least()]
        best = next((c for c in whole if self._clear(c, laid[-2:])), None)
        best = best or next((c for c in whole if self._clear(c, laid[-1:])), None)
        if best is not None:
            return best
        clear = [cut for cut in cuts if self._clear(cut, laid[-1:])]
        return max(clear, key=self._shortest, default=wanted)

    def _cuts(self, wanted: float, laid: list[list[float]]) -> Iterable[float]:
        """Cuts to choose from: all along a roll, and just a stagger from the row before."""
        rolls, stagger = self.rolls, self.pattern.stagger_m
        step = max(stagger / 8, rolls.length_m / 64)
        tried = [wanted + k * step for k in range(-128, 129)]
        if laid and laid[-1]:
            first = laid[-1][0] + rolls.end_lap_m
            shown = rolls.length_m - rolls.end_lap_m
            tried += [first + side * stagger + k * shown for side in (-1, 1) for k in (-1, 0, 1)]
        return [cut for cut in tried if rolls.end_lap_m < cut <= rolls.length_m + SAME_PLACE_M]

    def _clear(self, cut: float, rows: Sequence[Sequence[float]]) -> bool:
        """Whether the end laps of a row so cut lie a stagger away from those of others."""
        places = self._lap_places(self._pieces(cut))
        near = [at for row in rows for at in row]
        least = self.pattern.stagger_m - SAME_PLACE_M
        return all(abs(a - b) >= least for a in places for b in near)

    def _least(self) -> float:
        return min(self.rolls.least_piece_m, self.rolls.length_m / 2) - SAME_PLACE_M

    def _shortest(self, cut: float) -> float:
        return min(self._pieces(cut))

    def _lap_places(self, pieces: Sequence[float]) -> list[float]:
        """Where along its row each end lap lies: the exposed end of the piece on top."""
        found, covered = [], 0.0
        for n, piece in enumerate(pieces[:-1]):
            covered += piece - (self.rolls.end_lap_m if n else 0.0)
            found.append(covered - self.rolls.end_lap_m)
        return found

    def _pieces(self, cut: float) -> list[float]:
        """Lengths of the pieces of a row whose first is cut so long."""
        rolls = self.rolls
        piece = min(cut, self.along)
        pieces = [piece]
        covered = piece
        while covered < self.along - SAME_PLACE_M:
            piece = min(rolls.length_m, self.along - covered + rolls.end_lap_m)
            pieces.append(piece)
            covered += piece - rolls.end_lap_m
        return pieces

    def laps(self) -> list[Lap]:
        letter = self.area.letter
        found = []
        for row, after in pairwise(self.rows):
            start, end = self._point(0.0, after.from_m), self._point(self.along, after.from_m)
            name = f"{letter}{row.number}"
            found.append(Lap(name, "side lap", letter, start, end, self.along, row.number))
        for row in self.rows:
            for name, at in self._end_laps(row):
                start, end = self._point(at, row.from_m), self._point(at, row.to_m)
                length = row.to_m - row.from_m
                found.append(Lap(name, "end lap", letter, start, end, length, row.number))
        return found

    def t_joints(self) -> list[TJoint]:
        found = []
        for n, row in enumerate(self.rows):
            for name, at in self._end_laps(row):
                if n > 0:
                    lap = f"{self.area.letter}{self.rows[n - 1].number}"
                    place = self._point(at, row.from_m)
                    found.append(TJoint(f"{name}u", place, lap, at, name, 0.0))
                if n + 1 < len(self.rows):
                    edge = self.rows[n + 1].from_m
                    place = self._point(at, edge)
                    lap = f"{self.area.letter}{row.number}"
                    found.append(TJoint(f"{name}t", place, lap, at, name, edge - row.from_m))
        return found

    def _end_laps(self, row: Row) -> list[tuple[str, float]]:
        """Name and place along the row of each end lap."""
        places = enumerate(self._lap_places(row.pieces_m), start=1)
        return [(f"{row.area}{row.number}.{n}", at) for n, at in places]

    def _point(self, along: float, across: float) -> Point:
        if self.pattern.start == "high":
            across = self.across - across
        if self.pattern.from_high:
            along = self.along - along
        dx, dy = (along, across) if self.pattern.along == "x" else (across, along)
        return self.area.x_m + dx, self.area.y_m + dy


def _count(length: float, piece: float, shown: float) -> int:
    """How many pieces of `piece`, each showing `shown` but the last, cover `length`."""
    return 1 + max(0, math.ceil((length - piece - SAME_PLACE_M) / shown))


def _first_row(across: float, rolls: Rolls, count: int) -> float:
    """Width of row 1: a whole roll, or as wide as the last where that would be a sliver."""
    last = across - (count - 1) * (rolls.width_m - rolls.side_lap_m)
    if count == 1 or last >= NARROWEST * rolls.width_m - SAME_PLACE_M:
        return rolls.width_m
    return (rolls.width_m + last) / 2


def _offsets(rolls: Rolls, pattern: Pattern) -> int:
    """How many rows apart end laps come back to the same place."""
    if pattern.stagger_m <= SAME_PLACE_M:
        return 1
    shown = rolls.length_m - rolls.end_lap_m
    return max(1, math.floor((shown + SAME_PLACE_M) / pattern.stagger_m))


def _abutting(area: Area, before: Sequence[Area], pattern: Pattern, names: Names) -> list[Lap]:
    """Laps along the edges a rectangle shares with those before it."""
    found = []
    for other in before:
        for start, end in _shared(area, other):
            along = "x" if start[1] == end[1] else "y"
            kind = "side lap" if along == pattern.along else "end lap"
            name = names.next(area.letter, "j")
            found.append(Lap(name, kind, area.letter, start, end, math.dist(start, end)))
    return found


def _shared(a: Area, b: Area) -> list[tuple[Point, Point]]:
    """The edge two rectangles share, where they share one of some length."""
    low_x, high_x = max(a.x_m, b.x_m), min(a.x_m + a.length_x_m, b.x_m + b.length_x_m)
    low_y, high_y = max(a.y_m, b.y_m), min(a.y_m + a.length_y_m, b.y_m + b.length_y_m)
    if abs(high_y - low_y) <= SAME_PLACE_M and high_x - low_x > SAME_PLACE_M:
        return [((low_x, low_y), (high_x, low_y))]
    if abs(high_x - low_x) <= SAME_PLACE_M and high_y - low_y > SAME_PLACE_M:
        return [((low_x, low_y), (low_x, high_y))]
    return []


def _detail(mark: Mark, areas: Sequence[Area], names: Names) -> Lap:
    area = min(areas, key=lambda area: (_outside(area, mark), -_inside(area, mark)))
    place = (mark.x_m, mark.y_m)
    name = names.next(area.letter, "d")
    return Lap(name, "detail", area.letter, place, place, mark.around_m, at=mark.kind)


def _outside(area: Area, mark: Mark) -> float:
    """How far a mark lies outside a rectangle, m; 0 within it."""
    dx = max(area.x_m - mark.x_m, 0.0, mark.x_m - area.x_m - area.length_x_m)
    dy = max(area.y_m - mark.y_m, 0.0, mark.y_m - area.y_m - area.length_y_m)
    return math.hypot(dx, dy)


def _inside(area: Area, mark: Mark) -> float:
    """How far a mark lies from the nearest edge of a rectangle, m: deepest where it belongs."""
    dx = min(mark.x_m - area.x_m, area.x_m + area.length_x_m - mark.x_m)
    dy = min(mark.y_m - area.y_m, area.y_m + area.length_y_m - mark.y_m)
    return min(dx, dy)


def _flags(
    areas: Sequence[Area],
    beside: Sequence[Area],
    rolls: Rolls,
    pattern: Pattern,
    marks: Sequence[Mark],
    rows: Sequence[Row],
) -> Iterable[Flag]:
    for row in rows:
        if len(row.pieces_m) > 1 and min(row.pieces_m) < rolls.least_piece_m - SAME_PLACE_M:
            name = f"{row.area}{row.number}"
            yield Flag("short_piece", {"row": name, "length_m": min(row.pieces_m)})
    for one in rows:
        if one.from_m == 0.0 and one.to_m < rolls.width_m - SAME_PLACE_M and _evened(one, rows):
            yield Flag("first_row_cut", {"row": f"{one.area}{one.number}", "width_m": one.to_m})
    for area in areas:
        if area.slope and _against(area.slope, pattern):
            yield Flag("against_water", {"area": area.letter, "slope": area.slope})
    if pattern.stagger_m > SAME_PLACE_M and _offsets(rolls, pattern) == 1:
        yield Flag("stagger_too_long", {"stagger_m": pattern.stagger_m})
    for mark in marks:
        away = min(_outside(area, mark) for area in [*beside, *areas])
        if away > SAME_PLACE_M:
            yield Flag("mark_outside", {"kind": mark.kind, "x_m": mark.x_m, "y_m": mark.y_m})


def _evened(first: Row, rows: Sequence[Row]) -> bool:
    """Whether a row was cut for the sake of the last: others lie beyond it."""
    return any(row.area == first.area and row.number == first.number + 1 for row in rows)


def _against(slope: str, pattern: Pattern) -> bool:
    """Whether water would run against the laps: off the lower sheet onto the upper one."""
    axis, towards = slope[0], slope[1]
    if axis == pattern.along:
        return pattern.from_high != (towards == "+")
    return pattern.start != ("low" if towards == "-" else "high")


def _check(areas: Sequence[Area], rolls: Rolls, pattern: Pattern) -> None:
    if not areas:
        raise ValueError("a roof has at least one rectangle")
    if any(min(area.length_x_m, area.length_y_m) <= 0 for area in areas):
        raise ValueError("a rectangle's lengths are above 0")
    if not 0 <= rolls.side_lap_m < rolls.width_m or not 0 <= rolls.end_lap_m < rolls.length_m:
        raise ValueError("a lap is narrower than its roll")
    if pattern.stagger_m < 0:
        raise ValueError("a stagger is not below 0")
