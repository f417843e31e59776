"""The sky as somebody noted it, and for how long that counts.

Invariant: a sky counts from when it was noted, until another is noted or `SKY_H` hours are over;
then it is not known, which is not the same as broken.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from typing import TypedDict

from weldcal.physics.sheet_path import Sky
from weldcal.rules.welded import seconds

SKY_H = 3.0  # a morning's sky says little of the afternoon's (site setting, no source)


class NotedSky(TypedDict):
    """A sky that somebody noted, and when, on the job's clock."""

    seen_local: str
    sky: Sky


class Skies:
    """The skies noted on a job, to be asked for a time."""

    def __init__(self, rows: Iterable[NotedSky]) -> None:
        """Take rows of `seen_local` and `sky`, of any kind of entry, in any order."""
        noted = sorted((seconds(row["seen_local"]), row["sky"]) for row in rows)
        self._times = [at for at, _sky in noted]
        self._skies: list[Sky] = [sky for _at, sky in noted]

    def at(self, local: str) -> Sky | None:
        """The sky that counts at a time (ISO 8601); `None` where nobody noted one.

        Args:
            local: the time, on the job's clock.
        """
        if not self._times:
            return None
        now = seconds(local)
        last = bisect_right(self._times, now) - 1
        if last < 0 or now - self._times[last] > SKY_H * 3600:
            return None
        return self._skies[last]
