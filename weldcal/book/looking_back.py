"""The evening page, tomorrow's starting speed, and the history of all jobs.

Invariant: nothing is recorded here, the starting speed included: advice counts
as given when somebody asks for it on the day (`weldcal dial`).
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator, Sequence
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from weldcal.book.as_of import as_of
from weldcal.book.core import Service
from weldcal.book.faulting import Faulted, faults_on_runs
from weldcal.book.job_reader import AS_LISTED, AS_SEEN
from weldcal.book.observing import Dials, true_speed
from weldcal.book.walked import that_count
from weldcal.errors import Misplaced, NoneYet, Unheard
from weldcal.log.chain import Fault
from weldcal.long_work import Progress, no_progress
from weldcal.quality.dial import M_PER_MIN
from weldcal.quality.history_rows import Kind
from weldcal.quality.made import MadeRun, MadeStrip, MadeWith, Past
from weldcal.quality.welded_over import again_m, over_m, walked_m, welded_m
from weldcal.records.times import zone
from weldcal.row_types.columns import SeenColumns
from weldcal.row_types.listed import AreaRow, JobRow
from weldcal.row_types.machines import MeasureRow
from weldcal.row_types.strips import ConditionsRow
from weldcal.row_types.work import FindingRow, RunRow
from weldcal.views.dialled import Dialled
from weldcal.views.evening import DaySheet, Evening, Started
from weldcal.views.go_ahead import GoAhead
from weldcal.views.rows import (
    JudgedStrip,
    MarkedConditions,
    MarkedFinding,
    MarkedMend,
    MarkedPeel,
    MarkedWalk,
    MarkedWidth,
    TakenBack,
)
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.dialling import Dialling
    from weldcal.book.job_reader import JobReader
    from weldcal.book.limits import Limits
    from weldcal.book.observing import Observing
    from weldcal.book.roof import SeamStates
    from weldcal.book.sealing import Sealing
    from weldcal.book.site import Site
    from weldcal.book.standing import GoAheads
    from weldcal.book.stock import Stock
    from weldcal.book.strips import Strips
    from weldcal.book.summing import Summing
    from weldcal.book.upkeep import Upkeep
    from weldcal.book.whole import Book


class LookingBack(Service):
    """The evening page, tomorrow's starting speed, the history of all jobs."""

    _reader: JobReader
    _on_job: Callable[[str], Book]
    _dialling: Dialling
    _go_aheads: GoAheads
    _observing: Observing
    _roof: SeamStates
    _sealing: Sealing
    _site: Site
    _stock: Stock
    _strips: Strips
    _summing: Summing
    _upkeep: Upkeep
    _limits: Limits

    def evening(
        self,
        *,
        day: str | None = None,
        ambient_c: float | None = None,
        on_progress: Progress = no_progress,
    ) -> Evening:
        """Gather a day's page; of a day gone by, as of its end.

        Args:
            day: the job's local day, ISO; today where not given.
            ambient_c: air expected tomorrow morning, °C; that of the day's first
                reading where not given.
            on_progress: called with how far it is.
        """
        made = self._reader.now().isoformat(timespec="seconds")
        # Of the book, not of what it was that evening.
        faults = self._sealing.faults_at_a_glance(on_progress)
        with self._at_end_of(day) as (on, gone_by):
            return self._evening(on, made, ambient_c, faults, on_progress, gone_by=gone_by)

    def day_sheet(
        self, day: str | None = None, on_progress: Progress = no_progress
    ) -> tuple[Evening, DaySheet]:
        """Gather the daily sheet: a day's evening page and the rows that stand beside it.

        Args:
            day: the job's local day, ISO; today where not given.
            on_progress: called with how far it is.
        """
        made = self._reader.now().isoformat(timespec="seconds")
        faults = self._sealing.faults_at_a_glance(on_progress)
        with self._at_end_of(day) as (on, gone_by):
            evening = self._evening(on, made, None, faults, on_progress, gone_by=gone_by)
            mended = {mend["finding"] for mend in evening.mends}
            findings = self._reader.of_job(FindingRow)
            return evening, DaySheet(
                conditions=self._summing.marked(MarkedConditions, "conditions", on),
                bleeds=self._summing.read_bleeds(on),
                widths=self._summing.marked(MarkedWidth, "widths", on),
                peels=evening.peels,
                mended={row["id"]: row["name"] for row in findings if row["id"] in mended},
            )

    @contextlib.contextmanager
    def _at_end_of(self, day: str | None) -> Iterator[tuple[str, bool]]:
        """The day, today where none is given, and whether it is past: then the book as of its end."""
        today = self._strips.day_of(self._reader.now().isoformat())
        if day is None or day >= today:
            yield day or today, False
            return
        with as_of(self._reader, day):
            yield day, True

    def _evening(
        self,
        day: str,
        made: str,
        ambient_c: float | None,
        faults: list[Fault],
        on_progress: Progress,
        *,
        gone_by: bool,
    ) -> Evening:
        seams = self._summing.summed({}, on_progress)
        runs, welded = self._summing.runs_of(day), self._summing.welded()
        walks = self._summing.marked(MarkedWalk, "walks", day)
        probed = self._that_count(walks)
        findings = self._summing.marked(MarkedFinding, "findings", day)
        mends = self._summing.marked(MarkedMend, "mends", day)
        peels = self._summing.marked(MarkedPeel, "peels", day)
        strips = [s for s in self._strips.strips() if s["day"] == day]
        at = self._reader.now().isoformat()
        if gone_by or day != self._strips.day_of(at):
            looked = [*self._summing.read_bleeds(day), *peels]
            at = self._last_of([*walks, *findings, *mends, *strips, *looked], runs)
        on_progress(_("tomorrow"), 0, 0)
        ambient, read_at = self._expected(day, ambient_c)
        job = self._reader.by_id(JobRow, self._reader.job.id)
        return Evening(
            job=job,
            day=day,
            made=made,
            seams=seams,
            areas=self._reader.of_job(AreaRow, AS_LISTED),
            north_deg=self._site.north_deg(),
            welded_m=welded_m(runs),
            again_m=again_m(welded),
            walked_over_m=over_m(probed, welded),
            probed_m=walked_m(probed),
            walked_m=walked_m(walks),
            probed=probed,
            runs=runs,
            walks=walks,
            findings=findings,
            mends=mends,
            peels=peels,
            strips=strips,
            go_aheads=self._go_aheads_of(strips, at),
            doubts=self._summing.doubts(),
            warnings=self._roof.warnings(),
            started=[] if gone_by else self._tomorrow(day, ambient),
            ambient_c=ambient,
            ambient_from=read_at,
            gone_by=gone_by,
            conflicts=self._roof.conflicts(),
            punch=self._stock.punch_list(open_only=True),
            start_up=self._upkeep.start_up_open(),
            looks_due=self._upkeep.looks_due(),
            leaks=self._upkeep.leaks(open_only=True),
            withdrawn=self._taken_back_on(day),
            no_hot_work=day in self._site.welded_without(),
            unwatched=[
                row
                for row in self._site.unwatched()
                if row["day"] == day or (row["day"] < day and row["ended_utc"] is None)
            ],
            faults=faults,
        )

    def _that_count(self, walks: list[MarkedWalk]) -> list[MarkedWalk]:
        """The parts of walks that count as probed."""
        runs = self._reader.of_job(RunRow) if walks else []
        return [
            {**walk, "start_m": low, "end_m": high}
            for walk, (low, high) in that_count(self._reader, self._limits, walks, runs)
        ]

    def _last_of(self, rows: Sequence[SeenColumns], runs: Sequence[RunRow]) -> str:
        """The last moment something was seen, begun or finished on a day gone by; "" if nothing."""
        ends = [run["finished_utc"] or run["seen_utc"] for run in runs]
        last = max([*ends, *(row["seen_utc"] for row in rows)], default=None)
        if last is None:
            return ""
        return datetime.fromisoformat(last).astimezone(zone(self._reader.job.zone)).isoformat()

    def _go_aheads_of(self, strips: list[JudgedStrip], at: str) -> list[GoAhead]:
        """The newest go-ahead of each kind the day's strips gave, and how it stands."""
        kinds = {(s["machine"], s["sheet"], s["lap"]): s for s in strips if not s["shortfalls"]}
        go_aheads = []
        for kind in kinds:
            with contextlib.suppress(NoneYet):  # a strip with a time still to come
                go_aheads.append(self._go_aheads.go_ahead_stands(*kind, at=at))
        return go_aheads

    def _expected(self, day: str, given_c: float | None) -> tuple[float | None, str | None]:
        if given_c is not None:
            return given_c, None
        rows = self._reader.of_job(
            ConditionsRow,
            "AND day <= ? AND ambient_c IS NOT NULL ORDER BY day DESC, seen_utc LIMIT 1",
            day,
        )
        return (rows[0]["ambient_c"], rows[0]["seen_local"]) if rows else (None, None)

    def _tomorrow(self, day: str, ambient_c: float | None) -> list[Started]:
        """The starting speed of every kind of lap welded or tried on the latest day of work."""
        kinds = self._reader.select(
            Kind,
            "SELECT DISTINCT machine, sheet, lap FROM strips WHERE job = ? AND NOT by_hand AND day = "
            "(SELECT max(day) FROM strips WHERE job = ? AND day <= ?) ORDER BY 1, 2, 3",
            (self._reader.job.id, self._reader.job.id, day),
        )
        if ambient_c is None:
            return []
        morning = datetime.fromisoformat(day) + timedelta(days=1, hours=7)
        return [self.start_for(r, ambient_c, f"{morning:%Y-%m-%d %H:%M}") for r in kinds]

    def _taken_back_on(self, day: str) -> list[TakenBack]:
        """What was taken back on a day, whenever it was recorded, and not put back since."""
        rows = self._reader.select(
            TakenBack,
            "SELECT id, name, kind, was_in, seam, withdrawn_local FROM withdrawn WHERE job = ? "
            "ORDER BY withdrawn_utc, tick, id",
            (self._reader.job.id,),
        )
        return [row for row in rows if self._strips.day_of(row["withdrawn_local"]) == day]

    def start_for(self, kind: Kind, ambient_c: float, at: str) -> Started:
        """The speed to try first for a machine, sheet and lap kind at a time to come.

        Asked and answered only: nothing is recorded as advice given.

        Args:
            kind: machine, sheet and lap kind.
            ambient_c: air expected, °C.
            at: the time to come.
        """
        from weldcal.calibration import NothingInReachError

        machine, sheet, lap = kind["machine"], kind["sheet"], kind["lap"]
        air = {"ambient_c": ambient_c}
        try:
            asked = self._dialling.ask(
                machine=machine, sheet=sheet, lap=lap, given=air, at=at, by="-"
            )
            fitted = asked.fitted()
            advice = fitted.advise(asked.question, asked.window, asked.reach)
        except (Misplaced, Unheard, NothingInReachError) as error:
            return Started(machine, sheet, lap, why_not=error)
        return Started(machine, sheet, lap, Dialled(asked, advice, recorded=False))

    def history(self, on_progress: Progress = no_progress) -> list[Past]:
        """What every job of the book adds to the history, in the order they began.

        Args:
            on_progress: called with how far it is.
        """
        pasts = []
        jobs = self._reader.names_in("jobs")
        for n, job in enumerate(jobs):
            on_progress(_("jobs"), n, len(jobs))
            book = self._on_job(job)
            try:
                pasts.append(book.looking_back.past())
            finally:
                book.close()
        return pasts

    def past(self) -> Past:
        """What one job adds to the history: strips judged, runs with their faults, measurements."""
        job, dials = self._reader.job, self._observing.dials()
        runs = self._reader.of_job(RunRow, "ORDER BY seen_utc, tick, id")
        faulted, again = faults_on_runs(self._reader, self._limits, runs), again_m(runs)
        faults = faulted.on_probed()
        measures = self._reader.of_job(MeasureRow, AS_SEEN)
        return Past(
            [_made_strip(row, job.name, dials) for row in self._strips.strips()],
            [
                _made_run(row, job.name, again[row["id"]], faulted, faults[row["id"]])
                for row in runs
            ],
            [_measured(row, job.name) for row in measures],
        )


def _made_strip(row: JudgedStrip, job: str, dials: Dials) -> MadeStrip:
    return MadeStrip(
        id=row["id"],
        job=job,
        day=row["day"],
        machine=row["machine"],
        sheet=row["sheet"],
        lap=row["lap"],
        seen_by=row["seen_by"],
        by_hand=row["by_hand"],
        true_speed_m_per_min=row["true_speed_m_per_min"],
        dial_m_per_min=row["speed_m_per_min"],
        nozzle_c=row["nozzle_c"],
        nozzle_measured_c=row["nozzle_measured_c"],
        name=row["name"],
        seen_utc=row["seen_utc"],
        passed=not row["shortfalls"],
        temperature_c=row["sheet_c"] if row["sheet_c"] is not None else row["ambient_c"],
        true_m_per_min=true_speed(row, dials.at(row["machine"], row["seen_utc"])[0]),
    )


def _made_run(row: RunRow, job: str, again: float, faulted: Faulted, faults: int) -> MadeRun:
    return MadeRun(
        id=row["id"],
        job=job,
        day=row["day"],
        machine=row["machine"],
        sheet=row["sheet"],
        lap=row["lap"],
        seen_by=row["seen_by"],
        by_hand=row["by_hand"],
        true_speed_m_per_min=row["true_speed_m_per_min"],
        dial_m_per_min=row["speed_m_per_min"],
        nozzle_c=row["nozzle_c"],
        nozzle_measured_c=row["nozzle_measured_c"],
        row=row,
        welded_m=welded_m([row]),
        again_m=again,
        probed_m=faulted.probed_m[row["id"]],
        over_m=faulted.over_m[row["id"]],
        faults=faults,
    )


def _measured(row: MeasureRow, job: str) -> MadeWith:
    """A measurement, its dial mark as the speed it shows where it shows one."""
    shown = M_PER_MIN.get(row["mark_unit"] or "")
    return MadeWith(
        id=row["id"],
        job=job,
        day=row["day"],
        machine=row["machine"],
        sheet=None,
        lap=None,
        seen_by=row["seen_by"],
        by_hand=None,
        true_speed_m_per_min=row["speed_m_per_min"],
        dial_m_per_min=row["mark"] * shown if shown and row["mark"] else None,
        nozzle_c=row["nozzle_set_c"],
        nozzle_measured_c=row["nozzle_measured_c"],
    )
