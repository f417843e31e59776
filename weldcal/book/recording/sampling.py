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
from weldcal.quality.sampling import (
    RandomPlace,
    draw_places,
)
from weldcal.quantities import Quantity
from weldcal.records.common import Seen
from weldcal.records.site import Draw, DrawnPlace
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.recording.transactions import Transactions
    from weldcal.book.roof import SeamStates


class SampleRecorder(Service):
    """Draws the places of peel samples."""

    _reader: JobReader
    _transactions: Transactions
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
            (found["name"], start, end)
            for found in self._roof.view()
            for start, end in minus(found["state"].welded, found["hidden"])
        ]
        number = int.from_bytes(os.urandom(4), "big") if seed is None else seed
        if not stretches and any(found["state"].welded for found in self._roof.view()):
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


def _exact(metres: float) -> Quantity:
    """A computed distance, as the shortest decimal that is that float."""
    return Quantity(text=repr(float(metres)), number=Fraction(repr(float(metres))), unit="m")
