"""Things that outlive a job: which machines, sheets, instruments and people of two jobs are one.

Invariant: nothing is recorded by using a name again; what is said of two things is an
entry, and the last word on them counts.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from weldcal.book.core import Recorded, Service
from weldcal.errors import Misplaced
from weldcal.records.firm import Same, Thing
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.firm import Firm
    from weldcal.book.job_reader import JobReader
    from weldcal.book.recording.transactions import Transactions


class FirmRecorder(Service):
    """Records that two names mean one thing."""

    _reader: JobReader
    _transactions: Transactions
    _firm: Firm

    def say_same(
        self,
        what: str,
        name: str,
        job_name: str,
        other: str | None = None,
        *,
        same: bool = True,
        by: str | None = None,
        note: str | None = None,
    ) -> Recorded:
        """Record that a thing of this job and one of another job are one, or are not.

        Args:
            name: as this job calls it.
            job_name, other: the other job, and what it calls it; the same name if not given.
            same: False says that they are two.

        Raises:
            Unheard: one of them is not listed, or there is no such job.
            Misplaced: both are of one job.
        """
        job = self._firm.other_job(job_name)
        mine = self._firm.listed_in(what, self._reader.job.id, name)
        theirs = self._firm.listed_in(what, job["id"], other or name)
        if job["id"] == self._reader.job.id:
            raise Misplaced(text=job_name, why=_("that is this job; name another one"))
        seen = self._reader.seen(by, None)
        record = Same(
            what=what,
            one=Thing(job=self._reader.job.id, name=mine),
            other=Thing(job=job["id"], name=theirs),
            same=same,
            seen=seen,
            note=note,
        )
        entry = self._transactions.record("same", record)
        values = {"what": what, "job": job["name"], "other": theirs, "same": same}
        return Recorded(entry, mine, (), values)
