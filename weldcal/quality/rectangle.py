"""One rectangle of a ply laid with rolls: where its rows and end laps lie.

Invariant: the rows cover the rectangle exactly. No lap lies nearer to a lap of the ply below
than the limits say, where there is such a layout without slivers; else as far as can be.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

from weldcal.quality.below import under, widths
from weldcal.quality.coverage import SAME_PLACE_M, Stretch
from weldcal.quality.sheets import (
    NARROW_OVER_M,
    NARROWEST,
    Area,
    Below,
    Lap,
    Pattern,
    Point,
    Rolls,
    Row,
    TJoint,
)


class Rectangle:
    """One rectangle laid, in its own measures: `along` the rows, `across` from row 1's edge."""

    def __init__(
        self, area: Area, rolls: Rolls, pattern: Pattern, first: int, below: Below | None = None
    ) -> None:
        self.area, self.rolls, self.pattern = area, rolls, pattern
        along_x = pattern.along == "x"
        self.along = area.length_x_m if along_x else area.length_y_m
        self.across = area.length_y_m if along_x else area.length_x_m
        self.under = under(area, pattern, below) if below else None
        self.first_m = self._first_width()
        self.rows: list[Row] = []
        edges = [0.0, *self._lines(self.first_m)]
        laid: list[list[float]] = []  # where end laps lie, row by row
        for n, edge in enumerate(edges):
            wide = rolls.width_m if n else self.first_m
            far = edge + wide if n + 1 < len(edges) else self.across
            pieces = self._pieces(self._cut(n, laid, (edge, far)))
            laid.append(self._lap_places(pieces))
            self.rows.append(Row(area.letter, first + n, edge, far, tuple(pieces)))

    def _lines(self, first: float) -> list[float]:
        """Where side laps lie across the rows, with a first row so wide."""
        shown = self.rolls.width_m - self.rolls.side_lap_m
        count = _count(self.across, first, shown)
        return [first - self.rolls.side_lap_m + n * shown for n in range(count - 1)]

    def _first_width(self) -> float:
        """Width of row 1: the widest that leaves no sliver, and keeps off the laps below.

        Where none does, rows at the edges may be narrower than half a roll; where none does
        then, the one that comes nearest to it.
        """
        shown = self.rolls.width_m - self.rolls.side_lap_m
        usual = _first_row(self.across, self.rolls, _count(self.across, self.rolls.width_m, shown))
        if self.under is None or not self.under.along:
            return usual
        short = self.under.short_m(self._lines(usual), self.along)
        if short <= SAME_PLACE_M:
            return usual
        best = usual
        for least in (NARROWEST * self.rolls.width_m, NARROW_OVER_M):
            for width in widths(self.rolls.width_m, least):
                lines = self._lines(width)
                if lines and self.across - lines[-1] < least - SAME_PLACE_M:
                    continue
                too_near = self.under.short_m(lines, self.along)
                if too_near < short - SAME_PLACE_M:
                    best, short = width, too_near
                if short <= SAME_PLACE_M:
                    return best
        return best

    def _cut(self, n: int, laid: list[list[float]], band: Stretch) -> float:
        """How long the first piece of the n-th row is cut.

        Offsets step by the stagger through as many rows as fit in one roll's shown length, so
        that the last of them is a stagger away from the next first. Where that leaves a short
        piece at the end, the nearest cut is taken that leaves none, a stagger away from the
        end laps of the two rows before, else of the one before; where there is no such cut,
        the stagger is kept and the piece is as long as can be. Of these, cuts that keep off
        the laps below the row's band are taken first.
        """
        wanted = self.rolls.length_m - (n % offsets(self.rolls, self.pattern)) * (
            self.pattern.stagger_m
        )
        if self.along <= self.rolls.length_m + SAME_PLACE_M:
            return self.along  # one piece, and no end lap to stagger
        cuts = sorted(self._cuts(wanted, laid), key=lambda cut: (abs(cut - wanted), cut))
        whole = [cut for cut in cuts if self._shortest(cut) >= self._least()]
        off = [cut for cut in whole if self._off_below(cut, band)] if self.under else whole
        for some in (off, whole) if self.under else (whole,):
            for rows in (laid[-2:], laid[-1:]):
                best = next((cut for cut in some if self._clear(cut, rows)), None)
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

    def _off_below(self, cut: float, band: Stretch) -> bool:
        """Whether the end laps of a row so cut keep off the laps below its band."""
        return self.under is None or self.under.clear(self._lap_places(self._pieces(cut)), band)

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
        """Its side laps, then its end laps, row by row."""
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
        """Where its end laps meet its side laps."""
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


def offsets(rolls: Rolls, pattern: Pattern) -> int:
    """How many rows apart end laps come back to the same place."""
    if pattern.stagger_m <= SAME_PLACE_M:
        return 1
    shown = rolls.length_m - rolls.end_lap_m
    return max(1, math.floor((shown + SAME_PLACE_M) / pattern.stagger_m))
