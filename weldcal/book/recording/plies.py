"""Plies: what the cap sheet hides of the ply below as it is laid, granules under its end laps.

Invariant: a side lap welded over a stretch means that the rows on either side of it lie there;
what of the ply below lies beneath is hidden from then on, and recorded so.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, TypedDict

from weldcal.book.core import Note, Recorded, Service
from weldcal.quality.coverage import ordered
from weldcal.quantities import Quantity
from weldcal.records.common import Seen
from weldcal.records.site import Embed

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.marks import Marks
    from weldcal.book.plies import Plies
    from weldcal.book.recording.covering import CoverRecorder
    from weldcal.book.recording.transactions import Transactions
    from weldcal.book.runs import Runs


class _Welded(TypedDict):
    seam: str
    start_m: float
    end_m: float


class PlyRecorder(Service):
    """Records what the next ply hides, and granules embedded."""

    _reader: JobReader
    _transactions: Transactions
    _cover_recorder: CoverRecorder
    _marks: Marks
    _plies: Plies
    _runs: Runs

    def cover_beneath(self, run: str, seen: Seen) -> tuple[Note, ...]:
        """Record what a finished run on a side lap of the next ply hides.

        Args:
            run: id of the run.

        Returns:
            What is to be told; nothing where it hides nothing new.
        """
        (row,) = self._reader.select(
            _Welded, "SELECT seam, start_m, end_m FROM runs WHERE id = ?", (run,)
        )
        found = self._plies.beneath(row["seam"], ordered(row["start_m"], row["end_m"]))
        new = self._plies.not_hidden(*found) if found else []
        if found is None or not new:
            return ()
        done = self._cover_recorder.cover(found[0], seen, found[1])
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
        told = self._marks.told("embeddings", embed_id)
        return Recorded(embed_id, record.seam, (*told, *notes))
