"""Places on a seam: which seam one is on, how near two count as one, how far a lap has come.

Invariant: a seam's name counts whole and first; of two that fit, the longer: "A1.1 3ft" is on
A1.1, not on A1. Work is judged by the tape's tolerance in force when it was done; one adopted
later changes nothing of what stands. How far a lap has come is a reckoning, never a record:
nobody's finish is taken from it.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Collection

from msgspec import Struct

from weldcal.records.fields import same_name


def seam_of(place: str, keys: Collection[str]) -> str | None:
    """The key of the seam that a place begins with: "A3 20ft", "a3, at the drain", "A3".

    Args:
        place: as typed or written.
        keys: of the seams there are.

    Returns:
        the key; None where it begins with none.
    """
    words = same_name(place).replace(",", " ").replace(":", " ").replace(";", " ").split()
    for n in range(len(words), 0, -1):
        if (key := " ".join(words[:n])) in keys:
            return key
    return None


def about_m(
    start_m: float, speed_m_per_min: float | None, minutes: float, end_m: float | None
) -> float | None:
    """Where the machine is, m from the lap's zero end, had it run on without a stop; no further than the end.

    Args:
        start_m: where the run began.
        speed_m_per_min: as measured, else as set; None where neither is known.
        minutes: since it began.
        end_m: the lap's end, where it is listed.

    Returns:
        None where the speed is not known, or the run began at the far end and comes back.
    """
    if speed_m_per_min is None or minutes < 0 or (end_m is not None and start_m >= end_m):
        return None
    gone = start_m + speed_m_per_min * minutes
    return gone if end_m is None else min(gone, end_m)


class Tolerances(Struct, frozen=True):
    """The job's site tolerance over time.

    Attributes:
        since: UTC times from which another was in force, in order.
        metres: what held before the first of them, then from each on.
    """

    since: tuple[str, ...]
    metres: tuple[float, ...]

    def at(self, when_utc: str) -> float:
        """How near two places counted as one at a time, m.

        Args:
            when_utc: ISO 8601, UTC.

        Returns:
            m.
        """
        return self.metres[bisect_right(self.since, when_utc)]
