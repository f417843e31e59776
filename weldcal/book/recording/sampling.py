"""Samples and charts: how many, where, what they show; bleed checks against the go-ahead.

Invariant: places are drawn by a recorded seed from recorded stretches, so that
anybody can draw them again.
"""

from __future__ import annotations

import os
from fractions import Fraction
from typing import TYPE_CHECKING

from weldcal.book.core import Service
from weldcal.errors import NoneYet
from weldcal.quality.coverage import minus
from weldcal.quality.doubt import Cut
from weldcal.quality.sampling import RandomPlace, draw_places
from weldcal.quantities import Quantity
from weldcal.records.common import Seen
from weldcal.records.site import Draw, DrawnPlace
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.doubting import Doubting
    from weldcal.book.recording.transactions import Transactions
    from weldcal.book.roof import SeamStates


class SampleRecorder(Service):
    """Draws the places of peel samples, and the cuts that clear a doubt."""

    _transactions: Transactions
    _doubting: Doubting
    _roof: SeamStates

    def draw(
        self, count: int, seed: int | None, seen: Seen
    ) -> tuple[str, tuple[RandomPlace, ...], int]:
        """Draw places at random along all lap welded, and record them; name, places, seed.

        Args:
            count: how many places.
            seed: of the draw; one is made, where not given.
            seen: when, and by whom.

        Raises:
            Unheard: nothing is welded yet.
        """
        stretches = [
            (seam["name"], start, end)
            for seam in self._roof.view()
            for start, end in minus(seam["state"].welded, seam["hidden"])
        ]
        number = int.from_bytes(os.urandom(4), "big") if seed is None else seed
        if not stretches and any(seam["state"].welded for seam in self._roof.view()):
            raise NoneYet(
                what=_("welded lap that is not covered"),
                then=_("Open one up, or draw before the next ply"),
            )
        try:
            places = draw_places(stretches, count, number)
        except ValueError:
            raise NoneYet(what=_("welded lap"), then=_("Weld one: weldcal seam start")) from None
        with self._transactions.by(seen) as writer:
            record = Draw(
                name=writer.next_name("draw"),
                seen=seen,
                seed=number,
                stretches=tuple((name, _exact(a), _exact(b)) for name, a, b in stretches),
                places=tuple(DrawnPlace(seam=p.seam, at=_exact(p.at_m)) for p in places),
            )
            writer.add("draw", record)
        return record.name, places, number

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
        waiting = [place for place in self._doubting.drawn_places() if place not in taken]
        rest = [RandomPlace(*one) for one in waiting[: max(0, count - len(cuts))]]
        missing = count - len(cuts) - len(rest)
        if missing <= 0:
            return cuts, tuple(rest), None, None
        name, places, used = self.draw(missing, seed, seen)
        return cuts, (*rest, *places), name, used


def _exact(metres: float) -> Quantity:
    """A computed distance, as the shortest decimal that is that float."""
    return Quantity(text=repr(float(metres)), number=Fraction(repr(float(metres))), unit="m")
