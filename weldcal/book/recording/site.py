"""What happens on the roof besides laps: machines measured, hot work, cover-up, leaks reported.

Invariant: what is covered can be opened up, never again be probed; hiding a seam
not probed clean is never refused, and stays an open warning until answered.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import TYPE_CHECKING

from weldcal.book.core import Note, Recorded, Service
from weldcal.book.job_reader import NEWEST
from weldcal.book.machines import on_dial
from weldcal.book.site import watch_notes
from weldcal.errors import NoneYet
from weldcal.quality.dial import MachineDial
from weldcal.quality.measure import RUN_SCATTER, RUNS_LEAST
from weldcal.records import site as records
from weldcal.records.fields import same_name
from weldcal.row_types.machines import MeasureRow
from weldcal.row_types.site import HotWorkRow
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.dials import Dials
    from weldcal.book.hiding import Hiding
    from weldcal.book.job_reader import JobReader
    from weldcal.book.machines import Machines
    from weldcal.book.marks import Marking
    from weldcal.book.recording.transactions import Transactions


class SiteRecorder(Service):
    """Records measurements, causes, hot work, openings and leaks."""

    _reader: JobReader
    _transactions: Transactions
    _hiding: Hiding
    _dials: Dials
    _machines: Machines
    _marks: Marking

    def record_measure(self, measure: records.Measure) -> Recorded:
        """Record a machine measured.

        Args:
            measure: as typed.

        Raises:
            Unheard: no such machine.
        """
        before, _row = self._machines.dial_of(measure.machine)
        measure_id = self._transactions.record("measure", measure)
        row = self._reader.by_id(MeasureRow, measure_id)
        notes = (*self._marks.notes("measures", measure_id), *_measured(row, before))
        values = {"speed_m_per_min": row["speed_m_per_min"]}
        return Recorded(measure_id, measure.machine, notes, values)

    def record_cause(self, cause: records.Cause) -> Recorded:
        """Record why a machine's strips failed, and what was done about it.

        Args:
            cause: as typed.
        """
        cause_id = self._transactions.record("cause", cause)
        return Recorded(cause_id, cause.machine, self._marks.notes("causes", cause_id))

    def record_repair(self, repair: records.Repair) -> Recorded:
        """Record a machine repaired.

        Args:
            repair: as typed.

        Raises:
            Unheard: no such machine.
        """
        self._dials.machine(repair.machine)
        repair_id = self._transactions.record("repair", repair)
        return Recorded(repair_id, repair.machine, self._marks.notes("repairs", repair_id))

    def start_hot_work(self, work: records.HotWork) -> Recorded:
        """Record hot work begun.

        Args:
            work: as typed.
        """
        work_id, named = self._transactions.record_named("hot-work", work)
        notes = self._marks.notes("hot_work", work_id)
        if work.primer_wet:
            notes += (Note("primer_wet", {}),)
        return Recorded(work_id, named.name, notes)

    def hot_work_stage(
        self, name: str | None, record: records.HotWorkEnd | records.Watch
    ) -> Recorded:
        """Record hot work ended, or its watch stood; of the latest, where no name is given.

        Args:
            name: of the hot work; the latest, where not given.
            record: its end or its watch.

        Raises:
            Unheard: there is no such hot work.
        """
        if name:
            why = _("hot work has a name like H1")
            row = self._reader.find_in(HotWorkRow, name, why)
        else:
            row = self._latest_hot_work()
        kind = "watch" if isinstance(record, records.Watch) else "hot-work-end"
        self._transactions.record(kind, record, row["id"])
        now = self._reader.by_id(HotWorkRow, row["id"])
        return Recorded(row["id"], row["name"], watch_notes(now))

    def _latest_hot_work(self) -> HotWorkRow:
        rows = self._reader.of_job(HotWorkRow, f"{NEWEST} LIMIT 1")
        if not rows:
            raise NoneYet(what=_("hot work"), then=_("Begin it: weldcal hotwork start"))
        return rows[0]

    def record_north(self, north: records.North) -> Recorded:
        """Record where north lies on the plan.

        Args:
            north: as typed.
        """
        north_id = self._transactions.record("north", north)
        return Recorded(north_id, _("on the plan"), self._marks.notes("norths", north_id))

    def open_up(self, opening: records.OpenUp) -> Recorded:
        """Record a covered seam opened up: from then on it can be probed again.

        Args:
            opening: as typed.
        """
        hidden = same_name(opening.seam) in self._hiding.covers()
        opening_id, named = self._transactions.record_named("open-up", opening)
        notes = self._marks.notes("openings", opening_id)
        if not hidden:
            notes += (Note("not_hidden", {"seam": opening.seam}),)
        return Recorded(opening_id, named.name, notes)

    def record_leak(self, leak: records.Leak) -> Recorded:
        """Record a leak reported.

        Args:
            leak: as typed.
        """
        leak_id, named = self._transactions.record_named("leak", leak)
        return Recorded(leak_id, named.name, self._marks.notes("leaks", leak_id))


def _measured(row: MeasureRow, before: MachineDial) -> Iterator[Note]:
    """What a measurement says against the dial as it was known before."""
    mark, now = on_dial(before.unit, row), row["speed_m_per_min"]
    if now is not None and mark is not None:
        if len(json.loads(row["times_s"])) < RUNS_LEAST:
            yield Note("few_runs", {"scatter": RUN_SCATTER})
        if was := before.speed(mark):
            yield Note("measured", {"mark": mark, "was": was, "now": now, "ratio": now / was})
    if mark is not None and not before.low <= mark <= before.high:
        yield Note("mark_beyond", {"mark": row["mark"], "low": before.low, "high": before.high})
    if row["nozzle_set_c"] is not None and row["nozzle_measured_c"] is not None:
        yield Note("nozzle_offset", {"offset_k": row["nozzle_measured_c"] - row["nozzle_set_c"]})
