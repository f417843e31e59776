"""Cover-up: which laps, or stretches of them, the next ply hides, and what must be done first.

Invariant: a cover-up hides no more than was said. What was not clean when it was hidden is
kept with it, and warned of until somebody answers.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import TYPE_CHECKING

from weldcal.book.core import Note, Recorded, Service
from weldcal.book.covering import Bounds
from weldcal.errors import Misplaced
from weldcal.quality.coverage import minus
from weldcal.quality.seam import PROBED
from weldcal.quantities import Quantity
from weldcal.records.common import Seen
from weldcal.records.fields import plain_name
from weldcal.records.site import Cover, Hidden
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.covering import Covering
    from weldcal.book.job_reader import JobReader
    from weldcal.book.marks import Marks
    from weldcal.book.recording.transactions import Transactions


class CoverRecorder(Service):
    """Records cover-ups."""

    _reader: JobReader
    _transactions: Transactions
    _covering: Covering
    _marks: Marks

    def cover(self, what: str, seen: Seen, bounds: Bounds | None = None) -> Recorded:
        """Record that the next ply hides the seams of an area, or stretches of them.

        Args:
            what: an area, a range of seams, or one.
            seen: when, and by whom.
            bounds: of which stretches; whole seams, where not given.
        """
        pieces = [
            piece
            for piece in self._covering.cover_pieces(what, bounds or Bounds())
            if minus([piece.stretch or (0.0, math.inf)], piece.found["hidden"])
        ]
        if not pieces:
            raise Misplaced(
                text=what, why=_("every seam of it is covered already; open one up to look at it")
            )
        todo = {first.seam for first in self._covering.cover_first(pieces) if first.code != "doubt"}
        unclean = tuple(
            piece.found["name"]
            for piece in pieces
            if (
                piece.found["state"].state != PROBED
                if piece.stretch is None
                else piece.found["name"] in todo
            )
        )
        with self._transactions.by(seen) as writer:
            record = Cover(
                name=writer.next_name("cover"),
                seen=seen,
                area=plain_name(_("area"), what),
                seams=tuple(piece.found["name"] for piece in pieces if piece.stretch is None),
                stretches=tuple(
                    Hidden(
                        seam=p.found["name"], start=_exact(p.stretch[0]), end=_exact(p.stretch[1])
                    )
                    for p in pieces
                    if p.stretch is not None
                ),
                unprobed=unclean,
                warnings=("covered_unprobed",) if unclean else (),
            )
            cover_id = writer.add("cover", record)
        notes = self._marks.told("covers", cover_id)
        if unclean:
            notes += (Note("covered_unprobed", {"seams": list(unclean)}),)
        hidden = {"seams": list(record.seams), "stretches": list(record.stretches)}
        return Recorded(cover_id, record.name, notes, hidden)


def _exact(metres: float) -> Quantity:
    number = Fraction(round(metres * 10_000), 10_000)
    return Quantity(text=f"{float(number):g}", number=number, unit="m")
