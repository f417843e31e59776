"""How near two places along a lap counted as one when something was done: the tape's tolerance then.

Invariant: work is judged by the limit in force when it was done; a limit adopted later changes
nothing of what stands.
"""

from __future__ import annotations

from bisect import bisect_right

from msgspec import Struct


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
