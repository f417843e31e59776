"""Cover-up: which laps, or stretches of them, the next ply hides, and what must be done first.

Invariant: a cover-up hides no more than was said. What was not clean when it was hidden is
kept with it, and warned of until somebody answers. A side lap welded over a stretch means that
the rows on either side of it lie there: what of the ply below lies beneath is hidden from then on.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import TYPE_CHECKING, TypedDict

from weldcal.book.core import Note, Recorded, Service
from weldcal.book.covering import Bounds, HiddenPiece
from weldcal.errors import Misplaced
from weldcal.quality.coverage import minus, ordered
from weldcal.quality.seam import PROBED
from weldcal.quantities import Quantity, in_metres
from weldcal.records.common import Seen
from weldcal.records.fields import plain_name
from weldcal.records.site import Cover, Embed, Hidden
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.covering import Covering
    from weldcal.book.job_reader import JobReader
    from weldcal.book.marks import Marking
    from weldcal.book.plies import Plies
    from weldcal.book.recording.transactions import Transactions
    from weldcal.book.runs import Runs


class _Welded(TypedDict):
    seam: str
    start_m: float
    end_m: float


class CoverRecorder(Service):
    """Records cover-ups, granules embedded, and what the next ply hides."""

    _reader: JobReader
    _transactions: Transactions
    _covering: Covering
    _marks: Marking
    _plies: Plies
    _runs: Runs

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
        unclean = self._unclean(pieces)
        with self._transactions.by(seen) as writer:
            record = Cover(
                name=writer.next_name("cover"),
                seen=seen,
                area=plain_name(_("area"), what),
                seams=tuple(piece.found["name"] for piece in pieces if piece.stretch is None),
                stretches=tuple(
                    Hidden(
                        seam=p.found["name"],
                        start=in_metres(p.stretch[0]),
                        end=in_metres(p.stretch[1]),
                    )
                    for p in pieces
                    if p.stretch is not None
                ),
                unprobed=unclean,
                warnings=("covered_unprobed",) if unclean else (),
            )
            cover_id = writer.add("cover", record)
        notes = self._marks.notes("covers", cover_id)
        if unclean:
            notes += (Note("covered_unprobed", {"seams": list(unclean)}),)
        hidden = {"seams": list(record.seams), "stretches": list(record.stretches)}
        return Recorded(cover_id, record.name, notes, hidden)

    def _unclean(self, pieces: list[HiddenPiece]) -> tuple[str, ...]:
        """Seams that something is still to be done on where they will be hidden."""
        todo = {first.seam for first in self._covering.cover_first(pieces) if first.code != "doubt"}
        return tuple(
            piece.found["name"]
            for piece in pieces
            if (
                piece.found["state"].state != PROBED
                if piece.stretch is None
                else piece.found["name"] in todo
            )
        )

    def cover_beneath(self, run: str, seen: Seen) -> tuple[Note, ...]:
        """Record what a finished run on a side lap of the next ply hides.

        Args:
            run: id of the run.

        Returns:
            The notes to show; none where it hides nothing new.
        """
        (row,) = self._reader.select(
            _Welded, "SELECT seam, start_m, end_m FROM runs WHERE id = ?", (run,)
        )
        found = self._plies.beneath(row["seam"], ordered(row["start_m"], row["end_m"]))
        new = self._plies.not_hidden(*found) if found else []
        if found is None or not new:
            return ()
        done = self.cover(found[0], seen, found[1])
        seams = [piece.found["name"] for piece in new]
        note = Note("hides_below", {"cover": done.name, "area": found[0], "seams": seams})
        return (note, *done.notes)

    def record_embedding(self, record: Embed) -> Recorded:
        """Record granules embedded where an end lap is welded over them.

        Args:
            record: as typed.
        """
        embed_id = self._transactions.record("embed", record)
        notes = self._runs.seam_notes(record.seam, Quantity("0", Fraction(0), "m"), record.seen)
        row_notes = self._marks.notes("embeddings", embed_id)
        return Recorded(embed_id, record.seam, (*row_notes, *notes))
