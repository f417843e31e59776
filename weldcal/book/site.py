"""What happens on the roof besides laps: machines measured, hot work, cover-up, leaks reported.

Invariant: what is covered can be opened up, never again be probed; hiding a seam
not probed clean is never refused, and stays an open warning until answered.
"""

from __future__ import annotations

import json
from typing import Any

from msgspec.structs import replace

from weldcal.book.core import Note, Recorded
from weldcal.book.keeping import Keeping
from weldcal.book.laying import Laying
from weldcal.book.machines import on_dial
from weldcal.book.standing import GoAheads
from weldcal.errors import Misplaced, NoneYet
from weldcal.quality.measure import RUN_SCATTER, RUNS_LEAST
from weldcal.records.fields import same_name
from weldcal.records.site import (
    Cause,
    HotWork,
    HotWorkEnd,
    Leak,
    Measure,
    North,
    OpenUp,
    Repair,
    Watch,
)
from weldcal.words import _


class Site(Keeping, Laying, GoAheads):
    """Verbs of the site."""

    def record_measure(self, measure: Measure) -> Recorded:
        """Record a machine measured.

        Raises:
            Unheard: no such machine.
        """
        before, _row = self.dial_of(measure.machine)
        with self.writing(self.typist(measure.seen.by)) as writer:
            measure_id = writer.add("measure", measure, job=self.job.id)
        (row,) = self.rows("SELECT * FROM measures WHERE id = ?", (measure_id,))
        values = {"speed_m_per_min": row["speed_m_per_min"]}
        notes = list(self.told("measures", measure_id))
        if row["speed_m_per_min"] is not None and row["mark"] is not None:
            if len(json.loads(row["times_s"])) < RUNS_LEAST:
                notes.append(Note("few_runs", {"scatter": RUN_SCATTER}))
            mark = on_dial(before.unit, row)
            was = before.speed(mark)
            if was:
                ratio = row["speed_m_per_min"] / was
                notes.append(
                    Note(
                        "measured",
                        {"mark": mark, "was": was, "now": row["speed_m_per_min"], "ratio": ratio},
                    )
                )
        if row["mark"] is not None and not before.low <= on_dial(before.unit, row) <= before.high:
            notes.append(
                Note("mark_beyond", {"mark": row["mark"], "low": before.low, "high": before.high})
            )
        if row["nozzle_set_c"] is not None and row["nozzle_measured_c"] is not None:
            offset = row["nozzle_measured_c"] - row["nozzle_set_c"]
            notes.append(Note("nozzle_offset", {"offset_k": offset}))
        return Recorded(measure_id, measure.machine, tuple(notes), values)

    def record_cause(self, cause: Cause) -> Recorded:
        """Record why a machine's strips failed, and what was done about it."""
        with self.writing(self.typist(cause.seen.by)) as writer:
            cause_id = writer.add("cause", cause, job=self.job.id)
        return Recorded(cause_id, cause.machine, self.told("causes", cause_id))

    def record_repair(self, repair: Repair) -> Recorded:
        """Record a machine repaired.

        Raises:
            Unheard: no such machine.
        """
        self.machine(repair.machine)
        with self.writing(self.typist(repair.seen.by)) as writer:
            repair_id = writer.add("repair", repair, job=self.job.id)
        return Recorded(repair_id, repair.machine, self.told("repairs", repair_id))

    def measures(self, machine: str) -> list[dict[str, Any]]:
        """A machine's measurements, in the order they were made."""
        return self.marked(self.measured(machine))

    # -- hot work ---------------------------------------------------------------------

    def start_hot_work(self, work: HotWork) -> Recorded:
        """Record hot work begun."""
        with self.writing(self.typist(work.seen.by)) as writer:
            named = replace(work, name=writer.next_name("H", self.job.id))
            work_id = writer.add("hot-work", named, job=self.job.id)
        notes = self.told("hot_work", work_id)
        if work.primer_wet:
            notes += (Note("primer_wet", {}),)
        return Recorded(work_id, named.name, notes)

    def hot_work_stage(self, name: str | None, record: HotWorkEnd | Watch) -> Recorded:
        """Record hot work ended, or its watch stood; of the latest, where no name is given.

        Raises:
            Unheard: there is no such hot work.
        """
        row = self.find(name) if name else self._latest_hot_work()
        if row.get("table", "hot_work") != "hot_work":
            raise Misplaced(text=name, why=_("hot work has a name like H1"))
        kind = "watch" if isinstance(record, Watch) else "hot-work-end"
        with self.writing(self.typist(record.seen.by)) as writer:
            writer.add(kind, record, job=self.job.id, about=row["id"])
        (now,) = self.rows("SELECT * FROM hot_work WHERE id = ?", (row["id"],))
        return Recorded(row["id"], row["name"], watch_notes(now))

    def hot_work(self) -> list[dict[str, Any]]:
        """All hot work, in the order it began, with notes of its watch."""
        rows = self.rows(
            "SELECT * FROM hot_work WHERE job = ? ORDER BY seen_utc, tick", (self.job.id,)
        )
        return [{**row, "watch_notes": watch_notes(row)} for row in self.marked(rows)]

    def _latest_hot_work(self) -> dict[str, Any]:
        rows = self.rows(
            "SELECT * FROM hot_work WHERE job = ? ORDER BY seen_utc DESC, tick DESC LIMIT 1",
            (self.job.id,),
        )
        if not rows:
            raise NoneYet(what=_("hot work"), then=_("Begin it: weldcal hotwork start"))
        return rows[0]

    # -- openings ---------------------------------------------------------------------

    def record_north(self, north: North) -> Recorded:
        """Record where north lies on the plan."""
        with self.writing(self.typist(north.seen.by)) as writer:
            north_id = writer.add("north", north, job=self.job.id)
        return Recorded(north_id, _("on the plan"), self.told("norths", north_id))

    def north_deg(self) -> float | None:
        """North on the plan as last seen, degrees clockwise from its y; None where nobody said."""
        rows = self.rows(
            "SELECT degrees FROM norths WHERE job = ? ORDER BY seen_utc DESC, tick DESC LIMIT 1",
            (self.job.id,),
        )
        return rows[0]["degrees"] if rows else None

    def open_up(self, opening: OpenUp) -> Recorded:
        """Record a covered seam opened up: from then on it can be probed again."""
        hidden = self._hidden(same_name(opening.seam))
        with self.writing(self.typist(opening.seen.by)) as writer:
            named = replace(opening, name=writer.next_name("O", self.job.id))
            opening_id = writer.add("open-up", named, job=self.job.id)
        notes = self.told("openings", opening_id)
        if not hidden:
            notes += (Note("not_hidden", {"seam": opening.seam}),)
        return Recorded(opening_id, named.name, notes)

    # -- leaks --------------------------------------------------------------------------

    def record_leak(self, leak: Leak) -> Recorded:
        """Record a leak reported."""
        with self.writing(self.typist(leak.seen.by)) as writer:
            named = replace(leak, name=writer.next_name("K", self.job.id))
            leak_id = writer.add("leak", named, job=self.job.id)
        return Recorded(leak_id, named.name, self.told("leaks", leak_id))


def watch_notes(row: dict[str, Any]) -> tuple[Note, ...]:
    """What is to be said of the fire watch after hot work; `watch_done` where it was stood in full."""
    from datetime import datetime

    if row["ended_utc"] is None:
        return (Note("not_ended", {}),) if row["watched_until_utc"] else ()
    stood = 0.0
    if row["watched_until_utc"]:
        ended, until = (datetime.fromisoformat(row[k]) for k in ("ended_utc", "watched_until_utc"))
        stood = max(0.0, (until - ended).total_seconds() / 60)
    if stood < row["watch_min"]:
        left = row["watch_min"] - stood
        return (Note("watch_left", {"left_min": left, "source": row["watch_source"]}),)
    return (Note("watch_done", {"stood_min": stood}),)
