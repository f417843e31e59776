"""The evening page, tomorrow's starting speed, and the history of all jobs.

Invariant: nothing is recorded here, the starting speed included: advice counts
as given when somebody asks for it on the day (`weldcal dial`).
"""

from __future__ import annotations

import contextlib
from datetime import datetime, timedelta

from weldcal.book.dossier_facts import Evening, Started, by_seam_m
from weldcal.book.faulting import faults_on_runs
from weldcal.book.observing import true_speed
from weldcal.book.seams import Row
from weldcal.book.summing import Summing
from weldcal.errors import Misplaced, NoneYet, Unheard
from weldcal.long_work import Beat, silent
from weldcal.quality.dial import M_PER_MIN
from weldcal.views.go_ahead import GoAhead
from weldcal.words import _


class LookingBack(Summing):
    """Verbs of the foreman's evening, and of his look over many jobs."""

    # -- the evening -------------------------------------------------------------------------

    def evening(
        self, *, day: str | None = None, ambient_c: float | None = None, beat: Beat = silent
    ) -> Evening:
        """Gather a day's page; of a day gone by, as of its end.

        Args:
            day: the job's local day, ISO; today where not given.
            ambient_c: air expected tomorrow morning, °C; that of the day's first
                reading where not given.
        """
        today = self._day(self.now().isoformat())
        made = self.now().isoformat(timespec="seconds")
        if day is None or day >= today:
            return self._evening(day or today, made, ambient_c, beat, gone_by=False)
        with self.as_of(day):
            return self._evening(day, made, ambient_c, beat, gone_by=True)

    def _evening(
        self, day: str, made: str, ambient_c: float | None, beat: Beat, *, gone_by: bool
    ) -> Evening:
        job, now = self.job, self.now()
        seams = self._summed({}, beat)
        today = {t: self._of(t, day) for t in ("runs", "walks", "findings", "mends")}
        strips = [s for s in self.strips() if s["day"] == day]
        at = now.isoformat() if day == self._day(now.isoformat()) else _last_seen(today, strips)
        beat(_("tomorrow"), 0, 0)
        ambient, read_at = self._expected(day, ambient_c)
        (job_row,) = self.rows("SELECT * FROM jobs WHERE id = ?", (job.id,))
        return Evening(
            job=job_row,
            day=day,
            made=made,
            seams=seams,
            areas=self._of("areas"),
            north_deg=self.north_deg(),
            welded_m=sum(by_seam_m(today["runs"]).values()),
            probed_m=sum(by_seam_m(today["walks"]).values()),
            **today,
            strips=strips,
            go_aheads=self._go_aheads(strips, at),
            doubts=self._doubts(),
            warnings=self.warnings(),
            started=[] if gone_by else self._tomorrow(day, ambient),
            ambient_c=ambient,
            ambient_from=read_at,
            gone_by=gone_by,
            conflicts=self.conflicts(),
            punch=self.punch_list(open_only=True),
            start_up=self.start_up_open(),
            looks_due=self.looks_due(),
            leaks=self.leaks(open_only=True),
            withdrawn=self._taken_back_on(day),
            faults=self.faults_at_a_glance(beat),
        )

    def _go_aheads(self, strips: list[Row], at: str) -> list[GoAhead]:
        """The newest go-ahead of each kind the day's strips gave, and how it stands."""
        kinds = {(s["machine"], s["sheet"], s["lap"]): s for s in strips if not s["shortfalls"]}
        found = []
        for kind in kinds:
            with contextlib.suppress(NoneYet):  # a strip with a time still to come
                found.append(self.go_ahead_stands(*kind, at=at))
        return found

    def _expected(self, day: str, given_c: float | None) -> tuple[float | None, str | None]:
        if given_c is not None:
            return given_c, None
        rows = self.rows(
            "SELECT ambient_c, seen_local FROM conditions WHERE job = ? AND day <= ? AND "
            "ambient_c IS NOT NULL ORDER BY day DESC, seen_utc LIMIT 1",
            (self.job.id, day),
        )
        return (rows[0]["ambient_c"], rows[0]["seen_local"]) if rows else (None, None)

    def _tomorrow(self, day: str, ambient_c: float | None) -> list[Started]:
        """The starting speed of every kind of lap welded or tried on the latest day of work."""
        kinds = self.rows(
            "SELECT DISTINCT machine, sheet, lap FROM strips WHERE job = ? AND NOT by_hand AND day = "
            "(SELECT max(day) FROM strips WHERE job = ? AND day <= ?) ORDER BY 1, 2, 3",
            (self.job.id, self.job.id, day),
        )
        if ambient_c is None:
            return []
        morning = datetime.fromisoformat(day) + timedelta(days=1, hours=7)
        return [self.start_for(r, ambient_c, f"{morning:%Y-%m-%d %H:%M}") for r in kinds]

    def _taken_back_on(self, day: str) -> list[Row]:
        """What was taken back on a day, whenever it was recorded, and not put back since."""
        rows = self.rows(
            "SELECT name, kind, was_in, seam, withdrawn_local FROM withdrawn WHERE job = ? "
            "ORDER BY withdrawn_utc, tick, id",
            (self.job.id,),
        )
        return [row for row in rows if self._day(row["withdrawn_local"]) == day]

    def start_for(self, kind: Row, ambient_c: float, at: str) -> Started:
        """The speed to try first for a machine, sheet and lap kind at a time to come.

        Asked and answered only: nothing is recorded as advice given.
        """
        from weldcal.calibration import NothingInReachError

        named = {k: kind[k] for k in ("machine", "sheet", "lap")}
        try:
            asked = self.ask(**named, given={"ambient_c": ambient_c}, at=at, by="-")
            known = asked.fitted()
            advice = known.advise(asked.question, asked.window, asked.reach)
        except (Misplaced, Unheard, NothingInReachError) as error:
            return Started(None, None, **named, why_not=error)
        return Started(asked, advice, **named)

    # -- many jobs ----------------------------------------------------------------------------

    def history(self, beat: Beat = silent) -> list[Row]:
        """Every job of the book: its row, strips judged, runs, walks and faults tied to their run."""
        found = []
        jobs = self.rows("SELECT * FROM jobs ORDER BY tick")
        for n, job in enumerate(jobs):
            beat(_("jobs"), n, len(jobs))
            book = type(self)(self.path, job=job["name"], by=self._by, clock=self._clock)
            try:
                found.append({"job": job, **book._past()})
            finally:
                book.close()
        return found

    def _past(self) -> dict[str, list[Row]]:
        dials = self._dials()
        strips, runs = self.strips(), self._of("runs")
        for row in (*strips, *runs):
            row["true_m_per_min"] = true_speed(row, dials.at(row["machine"], row["seen_utc"])[0])
            row["dial_m_per_min"] = row["speed_m_per_min"]
        faults = faults_on_runs(self, runs)
        return {
            "strips": strips,
            "runs": runs,
            "faults": faults,
            "measures": self._measures_past(),
        }

    def _measures_past(self) -> list[Row]:
        """Measurements of the machines, dial marks as the speed they show where they show one."""
        rows = self.rows(
            "SELECT * FROM measures WHERE job = ? ORDER BY seen_utc, tick", (self.job.id,)
        )
        for row in rows:
            shown = M_PER_MIN.get(row["mark_unit"] or "")
            row["sheet"] = None
            row["dial_m_per_min"] = row["mark"] * shown if shown and row["mark"] else None
            row["true_speed_m_per_min"] = row["speed_m_per_min"]
            row["nozzle_c"] = row["nozzle_set_c"]
        return rows


def _last_seen(today: dict[str, list[Row]], strips: list[Row]) -> str:
    """The last moment something was seen on a day gone by."""
    rows = [row for part in (*today.values(), strips) for row in part]
    last = max(rows, key=lambda row: row["seen_utc"], default=None)
    return str(last["seen_local"]) if last else ""
