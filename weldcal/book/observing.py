"""What a job's strips and checks are to the computation: plain values in SI.

Invariant: a mark stands for the speed measured behind it; a strip whose true speed nobody can
know is left out. A sky counts from when it was noted, until another is noted or `SKY_H` hours
are over; then it is not known, which is not the same as broken.
"""

from __future__ import annotations

import json
from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from itertools import groupby
from math import inf
from operator import itemgetter
from typing import TYPE_CHECKING, TypedDict

from msgspec import Struct

from weldcal.book.core import CurrentJob, Service
from weldcal.book.disturbed import Ran, marked, may_have_broken, repaired
from weldcal.book.job_reader import AS_SEEN
from weldcal.book.machines import dial_at, offset_at
from weldcal.book.sunlit import site_of
from weldcal.book.taken import SpeedRow, Taken, bond_of, checked, peeled, welded_s
from weldcal.physics.sheet_path import STEP_H, Sky
from weldcal.quality.dial import M_PER_MIN, MachineDial
from weldcal.records.times import seconds
from weldcal.row_types.listed import MachineRow
from weldcal.row_types.machines import MeasureRow
from weldcal.row_types.strips import StripRow
from weldcal.row_types.work import BleedRow, PeelRow, RunRow

if TYPE_CHECKING:
    from weldcal.book.firm import Firm
    from weldcal.book.job_reader import JobReader
    from weldcal.book.last_read import Airs, LastRead
    from weldcal.book.machines import Machines
    from weldcal.book.runs import Runs
    from weldcal.calibration.observation import Observation


SKY_H = 3.0  # a morning's sky says little of the afternoon's (site setting, no source)


class NotedSky(TypedDict):
    """A sky that somebody noted, and when, on the job's clock."""

    seen_local: str
    sky: Sky


class Skies:
    """The skies noted on a job, to be asked for a time."""

    def __init__(self, rows: Iterable[NotedSky]) -> None:
        """Take rows of `seen_local` and `sky`, of any kind of entry, in any order."""
        noted = sorted((seconds(row["seen_local"]), row["sky"]) for row in rows)
        self._times = [at for at, _sky in noted]
        self._skies: list[Sky] = [sky for _at, sky in noted]

    def at(self, local: str) -> Sky | None:
        """The sky that counts at a time (ISO 8601); `None` where nobody noted one.

        Args:
            local: the time, on the job's clock.
        """
        if not self._times:
            return None
        now = seconds(local)
        last = bisect_right(self._times, now) - 1
        if last < 0 or now - self._times[last] > SKY_H * 3600:
            return None
        return self._skies[last]


_STEP_S = round(3600 * STEP_H)


class _Width(TypedDict):
    of: str
    width_mm: float


class Observing(Service):
    """Strips and bleed checks as the computation takes them."""

    _reader: JobReader
    _firm: Firm
    _last_read: LastRead
    _machines: Machines
    _runs: Runs

    def observations(self) -> list[Observation]:
        """Strips and bleed checks of this job as the computation takes them, in order.

        A strip whose true speed nobody can know (a bare mark never measured) is left out.
        """
        # Asked of the book once: there may be thousands.
        job = self._reader.job
        known = _Known(job, self.dials(), self.skies(), self._last_read.airs())
        strips = self._reader.part(Taken, "strips", f"AND NOT by_hand {AS_SEEN}")
        widths = self._widths()
        observations = [_observation(row, known, widths.get(row["id"], [])) for row in strips]
        checks = self._bleed_observations(known, widths)
        peels = self._peel_observations(known)
        every = [o for o in [*observations, *checks, *peels] if o is not None]
        runs = self._reader.part(Ran, "runs", AS_SEEN)
        every = marked(every, may_have_broken(runs), self._damp_noted())
        return repaired(every, self._repair_times())

    def unknown_marks(self, day: str, machine: str, sheet: str, lap: str) -> int:
        """How many strips and checks of a day teach nothing: no speed is known behind their mark.

        Args:
            day: the job's local day, ISO.
            machine, sheet, lap: what they are of.
        """
        of = "AND day = ? AND machine = ? AND sheet = ? AND lap = ? AND dial_mark IS NOT NULL"
        rows: list[StripRow | RunRow] = []
        rows += self._reader.of_job(StripRow, of + " AND NOT by_hand", day, machine, sheet, lap)
        for _check, run in self._runs.with_runs(self._reader.of_job(BleedRow, "AND day = ?", day)):
            if run and (run["machine"], run["sheet"], run["lap"]) == (machine, sheet, lap):
                rows.append(run)
        dials = self.dials()
        return sum(true_speed(row, dials.at(machine, row["seen_utc"])[0]) is None for row in rows)

    def _damp_noted(self) -> list[float]:
        """When somebody noted damp on the job, with conditions, strips or runs; seconds."""
        job = self._reader.job.id
        noted = " UNION ALL ".join(
            f"SELECT seen_utc FROM {table} WHERE job = ?1 AND damp = 1"
            for table in ("conditions", "strips", "runs")
        )
        return sorted(map(seconds, self._reader.column(str, noted, (job,))))

    def repairs_before(self, machine: str, at: str) -> int:
        """How many repairs of a machine lie before a time, since it was last known.

        Args:
            machine: as this job calls it.
            at: the time, ISO 8601.
        """
        return sum(one <= seconds(at) for one in self._repair_times().get(machine, ()))

    def _repair_times(self) -> dict[str, list[float]]:
        """By machine, when it was repaired since it was known: since its last strip on another
        job, else since its first one here; seconds."""
        by_machine = {}
        for machine in self._reader.names_in("machines"):
            times = [seconds(row["seen_utc"]) for row in self._machines.repairs(machine)]
            if times:
                since = self._known_since(machine)
                by_machine[machine] = [at for at in times if at > since]
        return by_machine

    def _known_since(self, machine: str) -> float:
        """When a machine was last known before this job, else first on it; never: infinity."""
        ours: list[float] = []
        others: list[float] = []
        for key in self._firm.everywhere("machine", machine):
            seen = self._reader.column(
                str,
                "SELECT seen_utc FROM strips WHERE job = ? AND machine = ? AND NOT by_hand",
                (key.job, key.name),
            )
            (ours if key.job == self._reader.job.id else others).extend(map(seconds, seen))
        first = min(ours, default=inf)
        return max((at for at in others if at < first), default=first)

    def _widths(self) -> dict[str, list[float]]:
        """Readings of the job, mm, by the id of their strip or bleed check."""
        by_strip: dict[str, list[float]] = {}
        rows = self._reader.select(
            _Width,
            'SELECT "of", width_mm FROM readings WHERE job = ? ORDER BY "of", n',
            (self._reader.job.id,),
        )
        for of, those in groupby(rows, itemgetter("of")):
            by_strip[of] = [row["width_mm"] for row in those]
        return by_strip

    def skies(self) -> Skies:
        """The skies noted on the job, with conditions, strips and runs."""
        job = self._reader.job.id
        noted = " UNION ALL ".join(
            f"SELECT seen_local, sky FROM {table} WHERE job = ?1 AND sky IS NOT NULL"
            for table in ("conditions", "strips", "runs")
        )
        return Skies(self._reader.select(NotedSky, noted, (job,)))

    def dials(self) -> Dials:
        """The job's machines with their dials and measurements."""
        machines = self._reader.of_job(MachineRow)
        measured = {row["name"]: self._machines.measured(row["name"]) for row in machines}
        return Dials({row["name"]: row for row in machines}, measured)

    def _bleed_observations(
        self, known: _Known, widths: dict[str, list[float]]
    ) -> list[Observation | None]:
        """Bleed checks, each with the setting and conditions of the run it was read on."""
        checks = self._reader.of_job(BleedRow, AS_SEEN)
        if not checks:
            return []
        observations = []
        for check, welded in self._runs.with_runs(checks):
            row = None if welded is None else checked(check, welded)
            if row is not None:
                at = seconds(check["seen_utc"])
                observations.append(_observation(row, known, widths.get(check["id"], []), at))
        return observations

    def _peel_observations(self, known: _Known) -> list[Observation | None]:
        """Peel samples of seams: how they parted, by the hour at which their place was welded."""
        peels = self._reader.of_job(PeelRow, f"AND seam_key IS NOT NULL {AS_SEEN}")
        observations = []
        for peel, welded in self._runs.with_runs(peels):
            row = None if welded is None else peeled(peel, welded)
            if welded is not None and row is not None:
                at = welded_s(welded, peel["at_m"])
                observations.append(_observation(row, known, (), at))
        return observations


class Dials:
    """The job's machines and their dials at any time; one dial a span between measurements."""

    def __init__(
        self, machines: Mapping[str, MachineRow], measured: Mapping[str, Sequence[MeasureRow]]
    ) -> None:
        self.machines = machines
        self.measured = measured
        self._made: dict[tuple[str, int], MachineDial] = {}

    def at(self, name: str, at_utc: str) -> tuple[MachineDial | None, MachineRow | None]:
        """A machine's dial at a time and its row; none where it is not listed.

        Args:
            name: of the machine.
            at_utc: the time, UTC.
        """
        row = self.machines.get(name)
        if row is None:
            return None, None
        measured = self.measured.get(name, [])
        span = sum(one["seen_utc"] <= at_utc for one in measured)
        if (name, span) not in self._made:
            self._made[name, span] = dial_at(row, measured, at_utc)
        return self._made[name, span], row


class _Known(Struct, frozen=True):
    """What a job knows at any time: its dials, its sky, its air."""

    job: CurrentJob
    dials: Dials
    skies: Skies
    airs: Airs


def _observation(
    row: Taken, known: _Known, widths: Sequence[float], on_seam_s: float | None = None
) -> Observation | None:
    """A strip as the computation takes it; what was looked at on a seam, where it says when.

    Without one where its true speed is not known.
    """
    from weldcal.calibration.observation import Observation

    dial, machine = known.dials.at(row["machine"], row["seen_utc"])
    offset = offset_at(known.dials.measured.get(row["machine"], []), row["seen_utc"])
    speed = true_speed(row, dial)
    if speed is None:
        return None
    sheet_c = [t for t in (row["sheet_c"], row["under_c"]) if t is not None]
    read_at = (json.loads(row["carried"]) if row["carried"] else {}).get("sheet_temp")
    return Observation(
        day=row["day"],
        hour=row["hour"],
        hour_sheet_read=read_hour(read_at, row["seen_local"], row["hour"]),
        beside=known.airs.beside(read_at, row["ambient_c"], row["wind_m_per_s"]),
        site=site_of(known.job, row["seen_local"]),
        sky=known.skies.at(row["seen_local"]),
        machine=row["machine"],
        sheet=row["sheet"],
        lap=row["lap"],
        nozzle_c=row["nozzle_measured_c"] or row["nozzle_c"] + offset,
        speed_m_per_min=speed,
        ambient_c=row["ambient_c"],
        sheet_c=sum(sheet_c) / len(sheet_c) if sheet_c else None,
        wind_m_per_s=row["wind_m_per_s"],
        humidity_pct=row["humidity_pct"],
        line_v=row["line_v"],
        rated_v=machine["rated_v"] if machine else None,
        damp=bool(row["damp"]),
        readings_mm=tuple(widths),
        bubbling=row["bubbling"],
        bond=bond_of(row),
        on_seam=on_seam_s is not None,
        seen_s=seconds(row["seen_utc"]) if on_seam_s is None else on_seam_s,
        name=row["name"],
        id=row["id"],
    )


def true_speed(row: SpeedRow, dial: MachineDial | None) -> float | None:
    """Measured speed; else the speed behind the mark; else the speed typed, m/min.

    Args:
        row: of a strip or a run.
        dial: its machine's then; None where that is not listed.

    Returns:
        None where nobody can know: a mark that was never measured.
    """
    if row["true_speed_m_per_min"] is not None:
        return row["true_speed_m_per_min"]
    if row["dial_mark"] is not None:
        return dial.speed(row["dial_mark"]) if dial else None
    typed = row["speed_m_per_min"]
    if dial is None or dial.unit not in M_PER_MIN or typed is None:
        return typed
    return dial.speed(typed / M_PER_MIN[dial.unit])


def read_hour(read_at: str | None, now: str, hour: float) -> float | None:
    """The hour at which a reading was made that is carried over; of the day before, below 0.

    Its age counts in whole steps of ten minutes, so that one younger than that was read now.

    Args:
        read_at: ISO 8601; `None` where nothing was carried over.
        now: when it was carried over, ISO 8601; `hour` is then.
    """
    aged = aged_h(read_at, now) if read_at else 0.0
    return hour - aged if aged else None


def aged_h(read_at: str, now: str) -> float:
    """Age of a reading in hours, in whole steps of ten minutes: nobody knows it better.

    Args:
        read_at: when it was read, ISO 8601.
        now: the time asked about, ISO 8601.
    """
    return max(0, round(seconds(now) - seconds(read_at)) // _STEP_S) * STEP_H


def asked_hours(read_at: str | None, now: str) -> tuple[float, float | None]:
    """The hour asked about and, where the sheet's reading is carried over, the hour of that.

    Both stay as they are for ten minutes, so that asking again a few seconds later is the same
    question: the hour in steps from the reading on, without one in steps of the clock.

    Args:
        read_at: when the sheet was read, ISO 8601; `None` where it is read now, or not at all.
        now: ISO 8601 on the job's clock.
    """
    local = datetime.fromisoformat(now)
    passed = local.hour * 3600 + local.minute * 60 + local.second
    if read_at is None:
        return passed // _STEP_S * STEP_H, None
    read = (passed - round(seconds(now) - seconds(read_at))) / 3600
    aged = aged_h(read_at, now)
    return read + aged, read if aged else None


def hour_of(at: str) -> float:
    """The hour of the local day, to the minute; `at` is ISO 8601 on the job's clock.

    Args:
        at: the time.
    """
    local = datetime.fromisoformat(at)
    return local.hour + local.minute / 60
