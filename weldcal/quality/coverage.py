"""Stretches along a seam: their union, what one leaves of another.

Invariant: a stretch is (start, end) in metres with start <= end; results are
sorted and disjoint. A stretch of no length is a point, as at a T-joint.
"""

from __future__ import annotations

from collections.abc import Iterable

Stretch = tuple[float, float]

# Two distances closer than this are one place: below a tenth of a millimetre
# lies only the rounding of unit conversions. What a tape on a roof cannot tell
# apart is a limit of the job, and handed in as `slack`.
SAME_PLACE_M = 1e-4


def ordered(start: float, end: float) -> Stretch:
    """The stretch between two distances, whichever way it was walked."""
    return min(start, end), max(start, end)


def union(stretches: Iterable[Stretch]) -> list[Stretch]:
    """Merge stretches that overlap or touch."""
    merged: list[Stretch] = []
    joined = list(stretches)
    if len(joined) < 2:
        return joined
    for start, end in sorted(joined):
        if merged and start <= merged[-1][1] + SAME_PLACE_M:
            merged[-1] = (merged[-1][0], max(merged[-1][1], end))
        else:
            merged.append((start, end))
    return merged


def minus(
    stretches: Iterable[Stretch], taken: Iterable[Stretch], slack: float = 0.0
) -> list[Stretch]:
    """What is left of `stretches` where `taken` does not lie.

    Args:
        slack: how near two places count as one, m. What is left no longer than that, and
            beside something taken, is the tape's reading and no stretch.
    """
    taken = union(taken)
    left = _cut(union(stretches), taken)
    if slack <= SAME_PLACE_M:
        return left
    wide = union((start - slack, end + slack) for start, end in taken)
    return [one for one in left if one[1] - one[0] > slack + SAME_PLACE_M or _cut([one], wide)]


def _cut(left: list[Stretch], taken: Iterable[Stretch]) -> list[Stretch]:
    for cut_start, cut_end in taken:
        after: list[Stretch] = []
        for start, end in left:
            if cut_end <= start - SAME_PLACE_M or cut_start >= end + SAME_PLACE_M:
                after.append((start, end))
                continue
            if cut_start > start + SAME_PLACE_M:
                after.append((start, cut_start))
            if cut_end < end - SAME_PLACE_M:
                after.append((cut_end, end))
        left = after
    return left


def covers(taken: Iterable[Stretch], stretch: Stretch, slack: float = 0.0) -> bool:
    """Whether `stretch` lies wholly within `taken`; `slack` as in `minus`."""
    taken = list(taken)
    start, end = stretch
    if any(a <= start and end <= b for a, b in taken):
        return True
    return not minus([stretch], taken, slack)


def to_its_end(welded: Iterable[Stretch], length: float, slack: float = 0.0) -> bool:
    """Whether a lap is welded from its zero end to its far one: the one rule for every page."""
    return covers(welded, (0.0, length), slack)


def past_end(at: float, length: float, slack: float = 0.0) -> bool:
    """Whether a place lies past the far end of a lap by more than a tape can be off."""
    return at > length + max(slack, SAME_PLACE_M)


def total(stretches: Iterable[Stretch]) -> float:
    """Length of the union, m."""
    return sum(end - start for start, end in union(stretches))
