"""What is in doubt, where to look for a leak, where faults come from.

Invariant: a finding mended and probed again no longer puts its own place in
doubt, but what was welded around it stays bracketed as it was found.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from weldcal.book.core import Service
from weldcal.quality.doubt import (
    Cut,
)
from weldcal.quality.sampling import RandomPlace
from weldcal.records.common import Seen

if TYPE_CHECKING:
    from weldcal.book.doubting import Doubting
    from weldcal.book.recording.sampling import SampleRecorder


class CutRecorder(Service):
    """Draws the cuts that clear a doubt."""

    _doubting: Doubting
    _sample_recorder: SampleRecorder

    def sample_cuts(
        self, count: int, seed: int | None, seen: Seen
    ) -> tuple[tuple[Cut, ...], tuple[RandomPlace, ...], str | None, int | None]:
        """Cuts that end all doubt and bring the samples to a number.

        A cut where lap is in doubt counts to the number: such lap is likelier bad than the
        rest, so it never makes the roof look better than it is (common practice, no source).

        Args:
            count: how many samples the plan asks, those already cut not counted.
            seed: to draw the same places again.

        Returns:
            Cuts beside failures; places drawn (before, or now) for the rest; the name and seed
            of the draw, where one was made.
        """
        cuts = self._doubting.cuts()
        taken = {(c.place.seam, c.place.start_m) for c in cuts}
        waiting = [one for one in self._doubting.drawn_places() if one not in taken]
        rest = [RandomPlace(*one) for one in waiting[: max(0, count - len(cuts))]]
        missing = count - len(cuts) - len(rest)
        if missing <= 0:
            return cuts, tuple(rest), None, None
        name, places, used = self._sample_recorder.draw(missing, seed, seen)
        return cuts, (*rest, *places), name, used
