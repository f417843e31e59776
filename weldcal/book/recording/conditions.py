"""Conditions read by themselves: the weather, the sheet, the power."""

from __future__ import annotations

from typing import TYPE_CHECKING

from weldcal.book.core import Recorded, Service
from weldcal.records.common import Conditions
from weldcal.records.strip import Reading
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.marks import Marking
    from weldcal.book.recording.transactions import Transactions


class ConditionsRecorder(Service):
    """Records conditions."""

    _reader: JobReader
    _transactions: Transactions
    _marks: Marking

    def record(
        self,
        conditions: Conditions,
        *,
        by: str | None = None,
        at: str | None = None,
        instrument: str | None = None,
    ) -> Recorded:
        """Record conditions read by themselves.

        Args:
            conditions: as read.
            by: who; who is typing, where not given.
            at: when, as typed; now, where not given.
            instrument: read with this one.
        """
        record = Reading(seen=self._reader.seen(by, at, instrument), conditions=conditions)
        reading = self._transactions.record("conditions", record)
        return Recorded(reading, _("conditions"), self._marks.notes("conditions", reading))
