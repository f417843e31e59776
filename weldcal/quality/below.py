"""The laps of the ply below, as a rectangle laid over them meets them.

Invariant: only laps that run side by side, with some length beside one another, can lie too
near; laps that cross cannot.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from msgspec import Struct

from weldcal.quality.coverage import SAME_PLACE_M, Stretch, ordered
from weldcal.quality.sheets import Below, LapToWeld, Pattern, Point, Rectangle

_SIDE, _END = "side lap", "end lap"


class LapBelow(Struct, frozen=True):
    """A lap below: where it lies (m, on the axis across it), over which stretch of the other axis."""

    at: float
    over: Stretch
    end: bool


class Under(Struct, frozen=True):
    """Laps below a rectangle: those along its rows, and those across them; and the distance to keep from them.

    Attributes:
        along, across: lines in the rectangle's own measures.
        side_m: between side laps; `end_m`: between end laps.
    """

    along: tuple[LapBelow, ...]
    across: tuple[LapBelow, ...]
    side_m: float
    end_m: float

    def short_m(self, laps: Iterable[tuple[float, Stretch]]) -> float:
        """By how much side laps lie too near to laps below; 0: none does.

        Args:
            laps: where each lies across the rows, and over which stretch along them.
        """
        return max(
            (
                self.side_m - abs(at - line.at)
                for at, over in laps
                for line in self.along
                if _overlap(line.over, over)
            ),
            default=0.0,
        )

    def clear(self, places: Iterable[float], band: Stretch) -> bool:
        """Whether end laps at these places of a row lie far enough from laps below it."""
        near = [line for line in self.across if _overlap(line.over, band)]
        return all(
            abs(at - line.at) >= (self.end_m if line.end else self.side_m) - SAME_PLACE_M
            for at in places
            for line in near
        )


def under(area: Rectangle, pattern: Pattern, below: Below) -> Under:
    """The laps below a rectangle, in its own measures."""
    along: list[LapBelow] = []
    across: list[LapBelow] = []
    for lap in below.laps:
        a, b = (own_place(area, pattern, point) for point in (lap.start, lap.end))
        spans = ordered(a[0], b[0]), ordered(a[1], b[1])
        end = lap.kind == _END
        if spans[1][1] - spans[1][0] <= SAME_PLACE_M < spans[0][1] - spans[0][0]:
            along.append(LapBelow(a[1], spans[0], end))
        elif spans[0][1] - spans[0][0] <= SAME_PLACE_M < spans[1][1] - spans[1][0]:
            across.append(LapBelow(a[0], spans[1], end))
    return Under(tuple(along), tuple(across), below.side_m, below.end_m)


def own_place(area: Rectangle, pattern: Pattern, point: Point) -> Point:
    """A point of the plan as along and across of a rectangle."""
    dx, dy = point[0] - area.x_m, point[1] - area.y_m
    along, across = (dx, dy) if pattern.along == "x" else (dy, dx)
    whole = area.length_x_m, area.length_y_m
    lengths = whole if pattern.along == "x" else whole[::-1]
    if pattern.start == "high":
        across = lengths[1] - across
    if pattern.from_high:
        along = lengths[0] - along
    return along, across


class Near(Struct, frozen=True):
    """A lap that lies nearer to one below than it should, m."""

    lap: str
    below: str
    apart_m: float
    least_m: float


def too_near(laps: Iterable[LapToWeld], below: Below) -> Iterator[Near]:
    """Each lap by machine that lies too near to one below, with the nearest."""
    for lap in laps:
        if lap.kind == "detail":
            continue
        pairs = [near for one in below.laps if (near := _near(lap, one, below))]
        if pairs:
            yield min(pairs, key=lambda near: near.apart_m)


def _near(lap: LapToWeld, other: LapToWeld, below: Below) -> Near | None:
    for axis in (0, 1):
        mine, its = (ordered(one.start[axis], one.end[axis]) for one in (lap, other))
        along, its_along = (ordered(one.start[1 - axis], one.end[1 - axis]) for one in (lap, other))
        flat = max(mine[1] - mine[0], its[1] - its[0]) <= SAME_PLACE_M
        if not flat or not _overlap(along, its_along):
            continue
        both_end = lap.kind == other.kind == _END
        apart, least = abs(mine[0] - its[0]), below.end_m if both_end else below.side_m
        if apart < least - SAME_PLACE_M:
            return Near(lap.name, other.name, apart, least)
    return None


def _overlap(a: Stretch, b: Stretch) -> bool:
    """Whether two stretches of one axis share some length."""
    return min(a[1], b[1]) - max(a[0], b[0]) > SAME_PLACE_M


def widths(widest: float, narrowest: float) -> Iterator[float]:
    """Widths of row 1 to choose from, the widest first: by the centimetre."""
    for n in range(math.floor((widest - narrowest) * 100 + 1e-6) + 1):
        yield widest - n / 100
