"""The outline of rectangles that make one surface: cut across into strips, and its rows of sheet.

Invariant: the strips cover the rectangles exactly, and what shows of the rows covers the strips.
`along` is measured along the rows, `across` from row 1's edge, m.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from msgspec import Struct
from msgspec.structs import replace

from weldcal.quality.coverage import SAME_PLACE_M, Stretch, union

Rect = tuple[Stretch, Stretch]  # along and across

# Rectangles typed in feet and inches, and kept to a tenth of a millimetre, meet to less than this.
_MEET_M = 1e-3


class StraightPart(Struct, frozen=True):
    """Part of an outline, or of a row, with straight sides: a stretch along, low and high across."""

    over: Stretch
    low: float
    high: float


class RowBand(Struct, frozen=True):
    """Where a row lies across: from its near edge to its far one, lapped on the next."""

    low: float
    high: float


class Span(Struct, frozen=True):
    """A row from where it begins to where the outline, or the other leg of a U, ends it.

    Attributes:
        parts: along the row; more than one where the outline steps beside it.
    """

    parts: tuple[StraightPart, ...]

    @property
    def over(self) -> Stretch:
        """From where to where it runs."""
        return self.parts[0].over[0], self.parts[-1].over[1]

    @property
    def steps(self) -> list[float]:
        """Where along it the outline steps."""
        return [part.over[0] for part in self.parts[1:]]

    def at(self, place: float) -> StraightPart:
        """The part that a place along it lies in."""
        return next((part for part in self.parts if place < part.over[1]), self.parts[-1])


def strips(rects: Sequence[Rect]) -> list[StraightPart]:
    """The outline of rectangles as strips across, in order along.

    Args:
        rects: each as its stretches along and across.
    """
    cuts: list[float] = []
    for cut in sorted(end for along, _across in rects for end in along):
        if not cuts or cut - cuts[-1] > _MEET_M:
            cuts.append(cut)
    found: list[StraightPart] = []
    for over in pairwise(cuts):
        middle = (over[0] + over[1]) / 2
        sides = [across for along, across in rects if along[0] < middle < along[1]]
        for low, high in _merged(sides):
            found.append(StraightPart(over, low, high))
    return found


def _merged(sides: Iterable[Stretch]) -> Iterator[Stretch]:
    """Stretches across, those that meet made one."""
    low, high = math.nan, math.nan
    for start, end in sorted(sides):
        if start <= high + _MEET_M:
            high = max(high, end)
            continue
        if high > low:
            yield low, high
        low, high = start, end
    if high > low:
        yield low, high


def _rows_of(strip: StraightPart, bands: Sequence[RowBand]) -> range:
    """Which rows lie on a strip: those that its low and high edges need."""
    first = max(n for n, band in enumerate(bands) if n == 0 or band.low <= strip.low + SAME_PLACE_M)
    last = min(
        n
        for n, band in enumerate(bands)
        if n + 1 == len(bands) or band.high >= strip.high - SAME_PLACE_M
    )
    return range(first, last + 1)


def narrowest(outline: Sequence[StraightPart], bands: Sequence[RowBand]) -> float:
    """The least width that a row has at an edge with others beside it; without end where none."""
    return min(
        (
            min(bands[n].high, strip.high) - max(bands[n].low, strip.low)
            for strip in outline
            for n in _edge_rows(strip, bands)
        ),
        default=math.inf,
    )


def _edge_rows(strip: StraightPart, bands: Sequence[RowBand]) -> Iterator[int]:
    rows = _rows_of(strip, bands)
    if len(rows) > 1:
        yield from (rows[0], rows[-1])


def spans(outline: Sequence[StraightPart], bands: Sequence[RowBand], n: int) -> list[Span]:
    """The parts that the n-th row lies in, in order along.

    A gap narrower than a roll is cut out of a row that lies on both sides of it.
    """
    runs: list[list[StraightPart]] = []
    for part in _parts(outline, bands, n):
        run = next((run for run in runs if _continues(run[-1], part)), None)
        if run is None:
            runs.append([part])
        elif _level(run[-1], part):
            run[-1] = replace(run[-1], over=(run[-1].over[0], part.over[1]))
        else:
            run.append(part)
    return [Span(tuple(run)) for run in runs]


def _parts(outline: Sequence[StraightPart], bands: Sequence[RowBand], n: int) -> list[StraightPart]:
    found: list[StraightPart] = []
    for strip in outline:
        if n not in _rows_of(strip, bands):
            continue
        low, high = max(bands[n].low, strip.low), min(bands[n].high, strip.high)
        if found and found[-1].over == strip.over:
            low = found.pop().low
        found.append(StraightPart(strip.over, low, high))
    return found


def _continues(before: StraightPart, after: StraightPart) -> bool:
    """Whether a sheet runs from one part into the other, whole or cut narrower."""
    overlap = min(before.high, after.high) - max(before.low, after.low)
    return before.over[1] == after.over[0] and overlap > SAME_PLACE_M


def _level(before: StraightPart, after: StraightPart) -> bool:
    return max(abs(before.low - after.low), abs(before.high - after.high)) <= _MEET_M


def side_laps(outline: Sequence[StraightPart], bands: Sequence[RowBand], n: int) -> list[Stretch]:
    """The stretches along which the n-th row and the next lie one over the other."""
    return union(strip.over for strip in outline if {n, n + 1} <= set(_rows_of(strip, bands)))
