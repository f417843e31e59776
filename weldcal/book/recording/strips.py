"""Conditions, strips and what they permit: strips, pulls, the go-ahead.

Invariant: what can be kept is kept, and what is odd about it becomes a note;
a strip is judged by the limits in force when it was seen.
"""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from weldcal.book.core import Note, Recorded, Service
from weldcal.book.strips import PERMITTED
from weldcal.quality.goahead import Shortfall
from weldcal.records.common import Conditions
from weldcal.records.strip import Pull, Reading, Strip
from weldcal.records.times import stamp
from weldcal.row_types.strips import StripRow
from weldcal.tables.columns import utc
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.limits import Limits
    from weldcal.book.marks import Marking
    from weldcal.book.recording.transactions import Transactions
    from weldcal.book.slips import Slips
    from weldcal.book.strips import Strips


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


class StripRecorder(Service):
    """Records strips and pulls."""

    _reader: JobReader
    _transactions: Transactions
    _marks: Marking
    _slips: Slips
    _strips: Strips
    _limits: Limits

    def record_strip(self, strip: Strip, typist: str | None = None) -> Recorded:
        """Record a strip; its `name` is given here.

        The notes say what keeps it from being a go-ahead, or that it is one.

        Args:
            strip: as typed.
        """
        with self._transactions.writing(self._reader.typist(strip.seen.by)) as writer:
            named = writer.named("strip", strip)
            strip_id = writer.add("strip", named)
        odd = (
            *self._marks.notes("strips", strip_id),
            *self._slips.unlikely(strip.setting, strip.conditions, strip.seen.at),
        )
        notes = (*odd, *_carried(strip), *self._verdict(strip_id))
        return Recorded(strip_id, named.name, notes)

    def record_pull(self, name: str, pull: Pull) -> Recorded:
        """Fill in a strip's cold stage.

        Args:
            name: of the strip, like S1.
            pull: what was seen when it was pulled.

        Raises:
            Misplaced: the name is not of a strip.
        """
        why = _("a pull is of a strip; type its name, like S1")
        row = self._reader.find_in(StripRow, name, why)
        notes: tuple[Note, ...] = ()
        if row["pulled_utc"]:
            notes = (Note("pulled_twice", {"name": row["name"], "first": row["bond"]}),)
        self._transactions.record("pull", pull, row["id"])
        return Recorded(row["id"], row["name"], (*notes, *self._verdict(row["id"])))

    def _verdict(self, strip_id: str) -> tuple[Note, ...]:
        from weldcal.book.trials import machine_out

        (row,) = self._strips.judged([self._reader.by_id(StripRow, strip_id)])
        notes = self._strips.verdict_of(row)
        now = utc(stamp(self._reader.now()))
        out = machine_out(
            self._reader,
            self._limits,
            self._strips,
            row["machine"],
            now,
            by_hand=bool(row["by_hand"]),
        )
        if out is None:
            return notes
        values = {
            "was": ", ".join(out.strips),
            "now": row["machine"],
            "limit": out.left,
        }
        short = Shortfall("moved_machine_out", values)
        return (*(n for n in notes if n.code not in PERMITTED), Note("short", {"shortfall": short}))


def _carried(strip: Strip) -> tuple[Note, ...]:
    seen = datetime.fromisoformat(strip.seen.at)
    return tuple(
        Note(
            "carried",
            {
                "name": part.name,
                "age_h": (seen - datetime.fromisoformat(part.read_at)).total_seconds() / 3600,
            },
        )
        for part in strip.conditions.carried
    )
