"""The foreman's verbs: list seams, rebuild the tables.

Invariant: rebuilding changes no entry.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from weldcal.book.core import Recorded, Service
from weldcal.errors import NameTaken
from weldcal.records.fields import same_name
from weldcal.records.job import Area
from weldcal.records.seam import Seam
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.recording.transactions import Transactions
    from weldcal.book.roof import SeamStates


class SeamRecorder(Service):
    """Lists seams, and rebuilds the tables."""

    _reader: JobReader
    _transactions: Transactions
    _roof: SeamStates

    def add_seams(
        self, seams: Sequence[Seam], by: str | None = None, areas: Sequence[Area] = ()
    ) -> list[Recorded]:
        """List seams to be welded, and the areas they were laid out from, all or none.

        Args:
            seams: as typed or laid out.
            by: who; who is typing, where not given.
            areas: that they were laid out from.

        Raises:
            Taken: one of them is listed already.
        """
        listed = {row["seam_key"] for row in self._roof.seams()}
        for seam in seams:
            if same_name(seam.name) in listed:
                raise NameTaken(what=_("seam"), text=seam.name)
            listed.add(same_name(seam.name))
        with self._transactions.writing(self._reader.unnamed(by)) as writer:
            for area in areas:
                writer.add("area", area)
            return [Recorded(writer.add("seam", s), s.name) for s in seams]
