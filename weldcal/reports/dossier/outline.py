"""The edge of a roof made of rectangles, with the length of each straight part of it.

Invariant: an edge shared by two rectangles is no edge of the roof; each part
knows which side is outside. All in metres.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from msgspec import Struct

Rect = tuple[float, float, float, float]
Point = tuple[float, float]

# Corners nearer than this are one corner: rectangles are typed, and rounded to a tenth of a mm.
_SAME_M = 1e-3
# Beyond so many rectangles each is drawn by itself: the grid below grows with their square.
_MOST = 150


class Edge(Struct, frozen=True):
    """A straight part of the edge, from `a` to `b`; `out` points away from the roof."""

    a: Point
    b: Point
    out: Point

    @property
    def length_m(self) -> float:
        """How long it is."""
        return abs(self.b[0] - self.a[0]) + abs(self.b[1] - self.a[1])


def edges(rects: Sequence[Rect]) -> list[Edge]:
    """The edge of the union of rectangles (x low, y low, x high, y high)."""
    if len(rects) > _MOST:
        return [edge for rect in rects for edge in edges([rect])]
    xs = _lines(v for r in rects for v in (r[0], r[2]))
    ys = _lines(v for r in rects for v in (r[1], r[3]))
    filled = [
        [_within(rects, (x0 + x1) / 2, (y0 + y1) / 2) for y0, y1 in _pairs(ys)]
        for x0, x1 in _pairs(xs)
    ]
    across = [list(row) for row in zip(*filled, strict=True)]
    upright = [Edge((x, a), (x, b), (side, 0.0)) for x, a, b, side in _along(filled, xs, ys)]
    level = [Edge((a, y), (b, y), (0.0, side)) for y, a, b, side in _along(across, ys, xs)]
    return [*level, *upright]


def _lines(values: Iterable[float]) -> list[float]:
    """Values in order, those of one place once."""
    lines: list[float] = []
    for value in sorted(values):
        if not lines or value - lines[-1] > _SAME_M:
            lines.append(float(value))
    return lines


def _pairs(values: list[float]) -> list[tuple[float, float]]:
    return list(pairwise(values))


def _within(rects: Sequence[Rect], x: float, y: float) -> bool:
    return any(r[0] <= x <= r[2] and r[1] <= y <= r[3] for r in rects)


def _along(
    filled: list[list[bool]], lines: list[float], others: list[float]
) -> list[tuple[float, float, float, float]]:
    """(line, from, to, side outside) wherever roof and no roof meet across a line."""
    edges: list[tuple[float, float, float, float]] = []
    empty = [False] * (len(others) - 1)
    for n, line in enumerate(lines):
        before = filled[n - 1] if n > 0 else empty
        after = filled[n] if n < len(filled) else empty
        for (start, end), inside, beyond in zip(_pairs(others), before, after, strict=True):
            if inside == beyond:
                continue
            side = 1.0 if inside else -1.0
            if edges and edges[-1][0] == line and edges[-1][2:] == (start, side):
                edges[-1] = (line, edges[-1][1], end, side)
            else:
                edges.append((line, start, end, side))
    return edges
