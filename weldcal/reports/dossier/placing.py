"""Where marks and names go on a drawing, so that none lies over another.

Invariant: a mark that was given a place overlaps no other mark and no name; one
that had to move keeps the point it stands for. Where too many crowd a drawing,
neighbours share a mark that says how many it is.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from msgspec import Struct, structs

Box = tuple[float, float, float, float]
Point = tuple[float, float]

SIGN = 5.6  # half the side of a mark's box: its sign with the pale edge around it
SIZE = 9.0  # of a mark's name
_CELL = 32.0
_RINGS = (15.0, 21.0, 28.0, 37.0, 48.0, 62.0, 80.0, 104.0, 134.0, 170.0)
_TURNS = [
    (math.cos(t), math.sin(t))
    for t in (n * math.pi / 8 for n in (14, 2, 10, 6, 13, 3, 11, 5, 15, 1, 9, 7, 12, 4, 0, 8))
]


class TakenBoxes:
    """Boxes on a drawing, found by the squares of a grid that they lie in."""

    def __init__(self) -> None:
        self._cells: dict[tuple[int, int], list[Box]] = {}

    def add(self, box: Box) -> None:
        """Take a box."""
        for cell in _cells(box):
            self._cells.setdefault(cell, []).append(box)

    def free(self, box: Box) -> bool:
        """Whether nothing lies under a box."""
        return not any(
            overlap(box, other) for cell in _cells(box) for other in self._cells.get(cell, ())
        )


class Spot(Struct, frozen=True):
    """A mark to be placed: what it says, and the point it stands for.

    Attributes:
        what: open, mended or sample.
        seams: keys of the seams it stands on, one but where a crowd shares a mark.
        stretch: both ends of what was found, on the drawing.
    """

    what: str
    names: tuple[str, ...]
    seams: tuple[str, ...]
    at: Point
    stretch: tuple[Point, Point]

    @property
    def label(self) -> str:
        """The finding's name; of several the first and how many more."""
        more = len(self.names) - 1
        return self.names[0] + (f" +{more}" if more else "")


class PlacedMark(Struct, frozen=True):
    """A mark with its place: the sign's middle, and the box of its name."""

    spot: Spot
    sign: Point
    name: Box

    @property
    def moved(self) -> bool:
        """Whether it stands away from what it marks."""
        return math.dist(self.sign, self.spot.at) > 0.01


def overlap(a: Box, b: Box) -> bool:
    """Whether two boxes share any area."""
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def around(at: Point, half: float) -> Box:
    """A square around a point."""
    return at[0] - half, at[1] - half, at[0] + half, at[1] + half


def words_wide(text: str, size: float) -> float:
    """About how wide words are, on the safe side for the fonts of page and paper."""
    return 0.6 * size * len(text)


def name_box(x: float, y: float, text: str, size: float = SIZE) -> Box:
    """The box of words that begin at x on the line y."""
    return x, y - 0.78 * size, x + words_wide(text, size), y + 0.24 * size


def _cells(box: Box) -> Iterator[tuple[int, int]]:
    for column in range(int(box[0] // _CELL), int(box[2] // _CELL) + 1):
        for row in range(int(box[1] // _CELL), int(box[3] // _CELL) + 1):
            yield column, row


def place(
    spots: Sequence[Spot], marks: TakenBoxes, lines: TakenBoxes, within: Box
) -> list[PlacedMark]:
    """Give each mark a place: where it is if that is free, else beside it, else wherever there is room.

    Args:
        spots: the most urgent first.
        marks: names and signs, never drawn over; the new marks are added.
        lines: laps, drawn over only where nothing else is left.
        within: the drawing.
    """
    placed_marks = []
    for spot in spots:
        placed = next(filter(None, _tries(spot, marks, lines, within)), None)
        if placed is None:  # no room at all: it stands over others, and the drawing is too small
            placed = PlacedMark(spot, spot.at, _named(spot, spot.at[0] + SIGN, spot.at[1]))
        marks.add(around(placed.sign, SIGN))
        marks.add(placed.name)
        placed_marks.append(placed)
    return placed_marks


def _tries(
    spot: Spot, marks: TakenBoxes, lines: TakenBoxes, within: Box
) -> Iterator[PlacedMark | None]:
    """Places for a mark, the best kind first; None where a kind has no room."""
    yield _here(spot, marks, lines, within)
    yield _away(spot, marks, lines, within, _RINGS[:6])
    yield _here(spot, marks, None, within)
    yield _away(spot, marks, None, within, _RINGS)
    yield _anywhere(spot, marks, within)


def _here(
    spot: Spot, marks: TakenBoxes, lines: TakenBoxes | None, within: Box
) -> PlacedMark | None:
    """The sign where it belongs, its name beside it."""
    x, y = spot.at
    if not marks.free(around(spot.at, SIGN)):
        return None
    wide = words_wide(spot.label, SIZE)
    for dx, dy in (
        (SIGN, -6.5),
        (SIGN, 13.0),
        (-SIGN - wide, -6.5),
        (-SIGN - wide, 13.0),
        (-wide / 2, -8.5),
        (-wide / 2, 15.0),
        (SIGN + 1, 3.0),
        (-SIGN - 1 - wide, 3.0),
    ):
        box = _named(spot, x + dx, y + dy)
        if _inside(box, within) and marks.free(box) and (lines is None or lines.free(box)):
            return PlacedMark(spot, spot.at, box)
    return None


def _away(
    spot: Spot, marks: TakenBoxes, lines: TakenBoxes | None, within: Box, rings: Sequence[float]
) -> PlacedMark | None:
    """Sign and name together at some distance."""
    for far in rings:
        for dx, dy in _TURNS:
            spot_placed = _place_near(
                spot, (spot.at[0] + far * dx, spot.at[1] + far * dy), marks, lines, within
            )
            if spot_placed is not None:
                return spot_placed
    return None


def _anywhere(spot: Spot, marks: TakenBoxes, within: Box) -> PlacedMark | None:
    """The nearest free place of the whole drawing."""
    step = 2 * SIGN + 1
    wide, high = int((within[2] - within[0]) / step), int((within[3] - within[1]) / step)
    places = [
        (within[0] + step * (column + 0.5), within[1] + step * (row + 0.5))
        for column in range(wide)
        for row in range(high)
    ]
    for at in sorted(places, key=lambda p: math.dist(p, spot.at)):
        spot_placed = _place_near(spot, at, marks, None, within)
        if spot_placed is not None:
            return spot_placed
    return None


def _place_near(
    spot: Spot, sign: Point, marks: TakenBoxes, lines: TakenBoxes | None, within: Box
) -> PlacedMark | None:
    name = _named(spot, sign[0] + SIGN, sign[1] + 3.0)
    left, top, right, bottom = around(sign, SIGN)
    box = (left, top, max(right, name[2]), bottom)
    if not _inside(box, within) or not marks.free(box):
        return None
    return PlacedMark(spot, sign, name) if lines is None or lines.free(box) else None


def _named(spot: Spot, x: float, y: float) -> Box:
    return name_box(x, y, spot.label)


def _inside(box: Box, within: Box) -> bool:
    return (
        within[0] <= box[0] and within[1] <= box[1] and box[2] <= within[2] and box[3] <= within[3]
    )


def shared(spots: Sequence[Spot], most: int) -> list[Spot]:
    """Marks, no more than about `most`: neighbours on a seam share one, then all of a seam, then of a place."""
    joined = list(spots)
    for near in (14.0, 40.0, 100.0, 2000.0):
        if len(joined) > most:
            joined = _joined(joined, near, of_seam=True)
    for near in (40.0, 60.0, 90.0, 140.0):
        if len(joined) > most:
            joined = _joined(joined, near, of_seam=False)
    return joined


def _joined(spots: list[Spot], near: float, *, of_seam: bool) -> list[Spot]:
    """Marks of one kind that lie in one square (of one seam) as one."""
    groups: dict[tuple[str, tuple[str, ...], int, int], list[Spot]] = {}
    for spot in spots:
        seams = spot.seams if of_seam else ()
        square = int(spot.at[0] // near), int(spot.at[1] // near)
        groups.setdefault((spot.what, seams, *square), []).append(spot)
    return [group[0] if len(group) == 1 else _one(group) for group in groups.values()]


def _one(group: list[Spot]) -> Spot:
    """One mark for several: at the first of them, over all of their names."""
    first = group[0]
    seams = tuple(dict.fromkeys(seam for spot in group for seam in spot.seams))
    ends = [end for spot in group for end in spot.stretch]
    alone = len(seams) == 1
    return structs.replace(
        first,
        names=tuple(name for spot in group for name in spot.names),
        seams=seams,
        stretch=(min(ends), max(ends)) if alone else (first.at, first.at),
    )
