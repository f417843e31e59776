"""Good stretches along a line of welding, and the fewest points that meet stretches of it."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable

from weldcal.quality.coverage import SAME_PLACE_M, Stretch


class Goods:
    """Good stretches of a line, sorted for search: start, end (metres), check."""

    def __init__(self, pieces: list[tuple[float, float, str]]) -> None:
        self._by_end = sorted((high, name) for _low, high, name in pieces)
        self._by_start = sorted((low, name) for low, _high, name in pieces)
        self._ends = [end for end, _name in self._by_end]
        self._begins = [start for start, _name in self._by_start]

    def before(self, at: float) -> tuple[float, str | None]:
        """End of the last good stretch before a point, and its check."""
        n = bisect_right(self._ends, at + SAME_PLACE_M)
        return (min(self._by_end[n - 1][0], at), self._by_end[n - 1][1]) if n else (0.0, None)

    def after(self, at: float, length: float) -> tuple[float, str | None]:
        """Start of the first good stretch after a point, and its check."""
        n = bisect_left(self._begins, at - SAME_PLACE_M)
        if n == len(self._begins):
            return length, None
        return max(self._by_start[n][0], at), self._by_start[n][1]


def sides(low: float, high: float, goods: Goods, length: float) -> list[Stretch]:
    """What lies in doubt on either side of a failure, where anything does.

    Args:
        low, high: the stretch that failed, metres along the line.
        goods: of the line.
        length: of the line, metres.
    """
    both = [(goods.before(low)[0], low), (high, goods.after(high, length)[0])]
    return [(start, end) for start, end in both if end - start > SAME_PLACE_M]


def fewest_points(stretches: Iterable[Stretch]) -> list[float]:
    """The fewest points such that each stretch holds one inside, in the middle of what it serves.

    Greedy by the stretches' ends, which is least: a stretch that begins at or after the first
    end shares no inner point with the stretch that ends there.
    """
    points: list[float] = []
    shared: Stretch | None = None
    for start, end in sorted(stretches, key=lambda stretch: stretch[1]):
        if shared is not None and start < shared[1] - SAME_PLACE_M:
            shared = (max(shared[0], start), shared[1])
            continue
        if shared is not None:
            points.append((shared[0] + shared[1]) / 2.0)
        shared = (start, end)
    if shared is not None:
        points.append((shared[0] + shared[1]) / 2.0)
    return points
