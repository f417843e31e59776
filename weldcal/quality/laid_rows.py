"""Rectangles of a ply that touch, laid with rolls in rows: where rows and end laps lie.

Invariant: rows run through the steps between rectangles and cover them exactly. No lap lies
nearer to a lap of the ply below than the limits say, where there is such a layout without
slivers; else as far as can be.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from weldcal.quality.below import own_place, under, widths
from weldcal.quality.chalk import side_lap_name
from weldcal.quality.coverage import SAME_PLACE_M, ordered
from weldcal.quality.outline import (
    Rect,
    RowBand,
    Span,
    StraightPart,
    narrowest,
    side_laps,
    spans,
    strips,
)
from weldcal.quality.sheets import (
    NARROW_OVER_M,
    NARROWEST,
    Below,
    Flag,
    LapToWeld,
    Pattern,
    Point,
    Rectangle,
    Rolls,
    SheetsRow,
    TJoint,
)

_CUTS = 64  # of a roll, at most


class LaidRows:
    """Rectangles laid as one, in their own measures: `along` the rows, `across` from row 1's edge."""

    def __init__(
        self,
        areas: Sequence[Rectangle],
        rolls: Rolls,
        pattern: Pattern,
        first: int,
        below: Below | None = None,
    ) -> None:
        self.areas, self.rolls, self.pattern, self.first = areas, rolls, pattern, first
        self.letter = areas[0].letter
        self.frame = frame = _frame(areas)
        along_x = pattern.along == "x"
        self.along = frame.length_x_m if along_x else frame.length_y_m
        self.across = frame.length_y_m if along_x else frame.length_x_m
        self.outline = strips([self._own(area) for area in areas])
        self.under = under(frame, pattern, below) if below else None
        self.bands = self._bands(self._first_width())
        self._spans: list[list[Span]] = [
            spans(self.outline, self.bands, n) for n in range(len(self.bands))
        ]
        self._side_laps = [side_laps(self.outline, self.bands, n) for n in range(len(self.bands))]
        self.rows: list[SheetsRow] = []
        end_laps: list[list[float]] = []  # where end laps lie, row by row
        for n, parts in enumerate(self._spans):
            places: list[float] = []
            for span in parts:
                pieces = self._pieces(span, self._cut(n, span, end_laps))
                places += self._lap_places(span, pieces)
                self.rows.append(_row(self.letter, first + n, span, pieces))
            end_laps.append(places)
        self._places = end_laps

    def _own(self, area: Rectangle) -> Rect:
        """A rectangle as its stretches along and across."""
        far = area.x_m + area.length_x_m, area.y_m + area.length_y_m
        a, b = (own_place(self.frame, self.pattern, p) for p in ((area.x_m, area.y_m), far))
        return ordered(a[0], b[0]), ordered(a[1], b[1])

    def _bands(self, first: float) -> list[RowBand]:
        """Where rows lie across, with a first row so wide."""
        rolls = self.rolls
        shown = rolls.width_m - rolls.side_lap_m
        count = _count(self.across, first, shown)
        edges = [0.0, *(first - rolls.side_lap_m + n * shown for n in range(count - 1))]
        wide = [first, *(edge + rolls.width_m for edge in edges[1:])]
        return [
            RowBand(low, high) for low, high in zip(edges, [*wide[:-1], self.across], strict=True)
        ]

    def _usual_first(self) -> float:
        shown = self.rolls.width_m - self.rolls.side_lap_m
        return _first_row(self.across, self.rolls, _count(self.across, self.rolls.width_m, shown))

    def _first_width(self) -> float:
        """Width of row 1: the widest that leaves no sliver, and keeps off the laps below.

        Where none does, rows at the edges may be narrower than half a roll, and at the steps
        between rectangles as narrow as two side laps; where none does then, the one that comes
        nearest to it.
        """
        half = NARROWEST * self.rolls.width_m
        best = self._usual_first()
        if self._edge(best) < half - SAME_PLACE_M:
            best = self._widest_edge(half)
        short = self._short_below(self._bands(best))
        if short <= SAME_PLACE_M:
            return best
        tiers = [(half, half), (NARROW_OVER_M, NARROW_OVER_M)]  # at the outer edges, at any
        if len(self.areas) > 1:
            tiers.append((NARROW_OVER_M, 2 * self.rolls.side_lap_m))
        for outer, least in tiers:
            for width in widths(self.rolls.width_m, outer):
                bands = self._bands(width)
                last = bands[-1].high - bands[-1].low
                edges = min(last - outer, self._edge(width) - least)
                if len(bands) > 1 and edges < -SAME_PLACE_M:
                    continue
                too_near = self._short_below(bands)
                if too_near < short - SAME_PLACE_M:
                    best, short = width, too_near
                if short <= SAME_PLACE_M:
                    return best
        return best

    def _edge(self, first: float) -> float:
        """The least width of a row at an edge, with a first row so wide."""
        return narrowest(self.outline, self._bands(first))

    def _widest_edge(self, enough: float) -> float:
        """The widest first row that leaves rows at every edge wide enough, or nearest to it."""
        return max(
            widths(self.rolls.width_m, NARROW_OVER_M), key=lambda w: min(self._edge(w), enough)
        )

    def _short_below(self, bands: Sequence[RowBand]) -> float:
        """By how much side laps lie too near to laps of the ply below; 0: none does."""
        if self.under is None or not self.under.along:
            return 0.0
        return self.under.short_m(
            (bands[n + 1].low, over)
            for n in range(len(bands))
            for over in side_laps(self.outline, bands, n)
        )

    def _cut(self, n: int, span: Span, end_laps: list[list[float]]) -> float:
        """How long the first piece of a span of the n-th row is cut.

        Offsets step by the stagger through as many rows as fit in one roll's shown length, so
        that the last of them is a stagger away from the next first. Where that leaves a short
        piece at the end, the nearest cut is taken that leaves none, a stagger away from the
        end laps of the two rows before, else of the one before; where there is no such cut,
        the stagger is kept and the piece is as long as can be. Of these, cuts that keep off
        the laps below the row's band are taken first, and before them those that lie off the
        corners of the outline.
        """
        wanted = self.rolls.length_m - (n % offsets(self.rolls, self.pattern)) * (
            self.pattern.stagger_m
        )
        length = _length(span)
        if length <= self.rolls.length_m + SAME_PLACE_M:
            return length  # one piece, and no end lap to stagger
        cuts = sorted(self._cuts(wanted, span, end_laps), key=lambda cut: (abs(cut - wanted), cut))
        long_enough = [cut for cut in cuts if self._shortest(span, cut) >= self._least()]
        tiers = [long_enough]
        if self.under is not None:
            tiers.insert(0, [cut for cut in long_enough if self._off_below(span, cut)])
        if span.steps:
            tiers.insert(0, [cut for cut in tiers[0] if self._off_corners(span, cut)])
        for some in tiers:
            for rows in (end_laps[-2:], end_laps[-1:]):
                best = next((cut for cut in some if self._clear(span, cut, rows)), None)
                if best is not None:
                    return best
        clear = [cut for cut in cuts if self._clear(span, cut, end_laps[-1:])]
        return max(clear, key=lambda cut: self._shortest(span, cut), default=wanted)

    def _cuts(self, wanted: float, span: Span, end_laps: list[list[float]]) -> Iterable[float]:
        """Cuts to choose from: all along a roll, and just a stagger from the row before.

        Along a roll one cut lies an eighth of the stagger from the next, or a 64th of the roll
        where that is more.
        """
        rolls, stagger = self.rolls, self.pattern.stagger_m
        step = max(stagger / 8, rolls.length_m / _CUTS)
        tried = [wanted + side * n * step for n in range(_CUTS) for side in (-1, 1)]
        before = [at for at in end_laps[-1] if at >= span.over[0]] if end_laps else []
        if before:
            first = before[0] - span.over[0] + rolls.end_lap_m
            shown = rolls.length_m - rolls.end_lap_m
            tried += [first + side * stagger + k * shown for side in (-1, 1) for k in (-1, 0, 1)]
        return [cut for cut in tried if rolls.end_lap_m < cut <= rolls.length_m + SAME_PLACE_M]

    def _clear(self, span: Span, cut: float, rows: Sequence[Sequence[float]]) -> bool:
        """Whether the end laps of a row so cut lie a stagger away from those of others."""
        places = self._lap_places(span, self._pieces(span, cut))
        near = [at for row in rows for at in row]
        least = self.pattern.stagger_m - SAME_PLACE_M
        return all(abs(a - b) >= least for a in places for b in near)

    def _off_below(self, span: Span, cut: float) -> bool:
        """Whether the end laps of a row so cut keep off the laps below its band."""
        band = min(part.low for part in span.parts), max(part.high for part in span.parts)
        places = self._lap_places(span, self._pieces(span, cut))
        return self.under is None or self.under.clear(places, band)

    def _off_corners(self, span: Span, cut: float) -> bool:
        """Whether no end lap of a row so cut lies at a corner that the row is cut around."""
        lap = self.rolls.end_lap_m
        places = self._lap_places(span, self._pieces(span, cut))
        return not any(at - lap < step < at + 2 * lap for at in places for step in span.steps)

    def _least(self) -> float:
        return min(self.rolls.least_piece_m, self.rolls.length_m / 2) - SAME_PLACE_M

    def _shortest(self, span: Span, cut: float) -> float:
        return min(self._pieces(span, cut))

    def _lap_places(self, span: Span, pieces: Sequence[float]) -> list[float]:
        """Where along its row each end lap lies: the exposed end of the piece on top."""
        places, covered = [], 0.0
        for n, piece in enumerate(pieces[:-1]):
            covered += piece - (self.rolls.end_lap_m if n else 0.0)
            places.append(span.over[0] + covered - self.rolls.end_lap_m)
        return places

    def _pieces(self, span: Span, cut: float) -> list[float]:
        """Lengths of the pieces of a span whose first is cut so long."""
        rolls, length = self.rolls, _length(span)
        piece = min(cut, length)
        pieces = [piece]
        covered = piece
        while covered < length - SAME_PLACE_M:
            piece = min(rolls.length_m, length - covered + rolls.end_lap_m)
            pieces.append(piece)
            covered += piece - rolls.end_lap_m
        return pieces

    def laps(self) -> list[LapToWeld]:
        """Its side laps, then its end laps, row by row."""
        laps = []
        for n, stretches in enumerate(self._side_laps):
            for k, over in enumerate(stretches):
                edge = self.bands[n + 1].low
                start, end = self._point(over[0], edge), self._point(over[1], edge)
                length, row = over[1] - over[0], self.first + n
                name = side_lap_name(self.letter, row, k)
                laps.append(LapToWeld(name, "side lap", self.letter, start, end, length, row))
        for name, n, at, part in self._end_laps():
            start, end = self._point(at, part.low), self._point(at, part.high)
            length, row = part.high - part.low, self.first + n
            laps.append(LapToWeld(name, "end lap", self.letter, start, end, length, row))
        return laps

    def t_joints(self) -> list[TJoint]:
        """Where its end laps meet its side laps."""
        joints = []
        for name, n, at, part in self._end_laps():
            for below, sign in ((n - 1, "u"), (n, "t")):
                lap = self._side_lap_at(below, at)
                if lap is not None:
                    edge = self.bands[below + 1].low
                    place = self._point(at, edge)
                    along = at - lap[1]
                    joints.append(
                        TJoint(f"{name}{sign}", place, lap[0], along, name, edge - part.low)
                    )
        return joints

    def _side_lap_at(self, n: int, at: float) -> tuple[str, float] | None:
        """Name and zero end of the side lap beyond the n-th row where an end lap meets it."""
        stretches = self._side_laps[n] if n >= 0 else []
        for k, over in enumerate(stretches):
            if over[0] - SAME_PLACE_M <= at <= over[1] + SAME_PLACE_M:
                return side_lap_name(self.letter, self.first + n, k), over[0]
        return None

    def _end_laps(self) -> Iterator[tuple[str, int, float, StraightPart]]:
        """Name, row, place along it and part of the row of each end lap."""
        for n, places in enumerate(self._places):
            for k, at in enumerate(places, start=1):
                span = next(s for s in self._spans[n] if s.over[0] <= at <= s.over[1])
                yield f"{self.letter}{self.first + n}.{k}", n, at, span.at(at)

    def flags(self) -> Iterator[Flag]:
        """What a person should look at in it: short pieces, rows cut, rows narrow."""
        for row in self.rows:
            if len(row.pieces_m) > 1 and min(row.pieces_m) < (
                self.rolls.least_piece_m - SAME_PLACE_M
            ):
                yield Flag("short_piece", {"row": _name(row), "length_m": min(row.pieces_m)})
        yield from self._row_flags()
        yield from self._close_flags()

    def _row_flags(self) -> Iterator[Flag]:
        width = self.rolls.width_m
        over, first = self.under is not None, self.bands[0].high
        if len(self.bands) > 1 and first < width - SAME_PLACE_M:
            code = "first_row_cut" if first == self._usual_first() else "first_row_step"
            code = "first_row_offset" if over else code
            yield Flag(code, {"row": f"{self.letter}{self.first}", "width_m": first})
        for row in self.rows:
            flag_narrow = over or len(self.areas) > 1
            if flag_narrow and row.narrowest_m < NARROWEST * width - SAME_PLACE_M:
                code = "narrow_row" if over else "narrow_at_step"
                yield Flag(code, {"row": _name(row), "width_m": row.narrowest_m})

    def _close_flags(self) -> Iterator[Flag]:
        """End laps of neighbouring rows nearer to one another than the stagger, where it could be."""
        if offsets(self.rolls, self.pattern) == 1:
            return  # one flag covers all of them
        near = [
            (abs(a - b), f"{self.letter}{row}.{k}", f"{self.letter}{row + 1}.{m}")
            for row, (places, after) in enumerate(pairwise(self._places), start=self.first)
            for k, a in enumerate(places, start=1)
            for m, b in enumerate(after, start=1)
            if abs(a - b) < self.pattern.stagger_m - SAME_PLACE_M
        ]
        if near:
            apart, lap, other = min(near)
            values: dict[str, float | str] = {"n": len(near), "lap": lap, "other": other}
            yield Flag("end_laps_near", {**values, "apart_m": apart})

    def _point(self, along: float, across: float) -> Point:
        if self.pattern.start == "high":
            across = self.across - across
        if self.pattern.from_high:
            along = self.along - along
        dx, dy = (along, across) if self.pattern.along == "x" else (across, along)
        return self.frame.x_m + dx, self.frame.y_m + dy


def _frame(areas: Sequence[Rectangle]) -> Rectangle:
    """The rectangle that holds all of them."""
    low_x, low_y = min(area.x_m for area in areas), min(area.y_m for area in areas)
    if len(areas) == 1:
        return areas[0]
    high_x = max(area.x_m + area.length_x_m for area in areas)
    high_y = max(area.y_m + area.length_y_m for area in areas)
    return Rectangle(areas[0].letter, low_x, low_y, high_x - low_x, high_y - low_y, areas[0].slope)


def _length(span: Span) -> float:
    return span.over[1] - span.over[0]


def _row(letter: str, number: int, span: Span, pieces: Sequence[float]) -> SheetsRow:
    low, high = min(part.low for part in span.parts), max(part.high for part in span.parts)
    least = min(part.high - part.low for part in span.parts)
    return SheetsRow(letter, number, low, high, tuple(pieces), span.over[0], least)


def _name(row: SheetsRow) -> str:
    return f"{row.area}{row.number}"


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
