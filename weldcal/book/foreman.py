"""The foreman's verbs: seams listed, the tables made anew.

Invariant: rebuilding changes no entry.
"""

from __future__ import annotations

from collections.abc import Sequence

from weldcal.book import proof
from weldcal.book.core import Recorded
from weldcal.book.undoing import Undoing
from weldcal.errors import Taken
from weldcal.log import chain, store
from weldcal.long_work import Beat, silent
from weldcal.records.fields import same_name
from weldcal.records.job import Area
from weldcal.records.seam import Seam
from weldcal.words import _


class Foreman(Undoing):
    """Verbs of the person who reviews."""

    def add_seams(
        self, seams: Sequence[Seam], by: str | None = None, areas: Sequence[Area] = ()
    ) -> list[Recorded]:
        """List seams to be welded, and the areas they were laid out from, all or none.

        Raises:
            Taken: one of them is listed already.
        """
        known = {row["seam_key"] for row in self.seams()}
        for seam in seams:
            if same_name(seam.name) in known:
                raise Taken(what=_("seam"), text=seam.name)
            known.add(same_name(seam.name))
        with self.writing(self.unnamed(by)) as writer:
            for area in areas:
                writer.add("area", area, job=self.job.id)
            return [Recorded(writer.add("seam", s, job=self.job.id), s.name) for s in seams]

    def rebuild(self, beat: Beat = silent) -> int:
        """Drop the derived tables and make them anew from the entries; the number of entries.

        Triggers that guard the entries are put back, and foreign ones dropped.
        """
        connection = self._for_writing()
        with store.trouble(self.path):
            proof.make_anew(connection, beat)
            return chain.count_entries(connection)
