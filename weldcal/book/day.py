"""The day as the guided flow needs it, put together from the answers of the other services.

Invariant: nothing is judged here and nothing recorded; a role gets only what it
has a use for, so that an operator never waits for the roof.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from datetime import datetime
from fractions import Fraction
from itertools import islice
from typing import TYPE_CHECKING, TypedDict

from msgspec.structs import replace

from weldcal.book.core import Service
from weldcal.book.job_reader import AS_LISTED, AS_SEEN
from weldcal.book.last_read import KEPT_IN
from weldcal.book.seams import SeamFound, in_reach
from weldcal.book.strips import setting_of
from weldcal.errors import NoneYet
from weldcal.quality.coverage import SAME_PLACE_M, Stretch, minus, ordered, to_its_end
from weldcal.quantities import convert, tape_typed
from weldcal.records.day import (
    Day,
    DayLap,
    DaySeal,
    GoAheadNow,
    LastReading,
    LastStrip,
    ListedMachine,
    OpenFinding,
    Warned,
)
from weldcal.records.fields import same_name
from weldcal.records.times import stamp, zone
from weldcal.row_types.listed import MachineRow, SeamRow, SheetRow
from weldcal.row_types.strips import StripRow
from weldcal.row_types.work import FindingRow, RunRow
from weldcal.tables.columns import utc
from weldcal.views.go_ahead import GoAhead
from weldcal.views.rows import OpenWarning

if TYPE_CHECKING:
    from weldcal.book.advised import Advising
    from weldcal.book.answering import Answering
    from weldcal.book.beginning import Beginning
    from weldcal.book.job_reader import JobReader
    from weldcal.book.last_read import LastRead
    from weldcal.book.limits import Limits
    from weldcal.book.needs import Needing
    from weldcal.book.roof import SeamStates
    from weldcal.book.runs import Runs
    from weldcal.book.sealing import Sealing
    from weldcal.book.seam_rows import RunOn
    from weldcal.book.standing import GoAheads
    from weldcal.book.strips import Strips


_TO_COME = 12  # laps looked ahead


# Where a job in US units reads a condition in another unit than it is kept in.
_US = {"C": "F", "m/s": "mph"}


class _Welded(TypedDict):
    """The columns of a finished run that say how far its seam is welded."""

    seam_key: str
    start_m: float
    end_m: float
    finished_utc: str


class Days(Service):
    """What the guided day asks of the book."""

    _reader: JobReader
    _advising: Advising
    _answering: Answering
    _beginning: Beginning
    _go_aheads: GoAheads
    _limits: Limits
    _needing: Needing
    _roof: SeamStates
    _runs: Runs
    _sealing: Sealing
    _last_read: LastRead
    _strips: Strips

    def view(self, role: str) -> Day:
        """The day so far, as a role needs it, of one moment.

        Args:
            role: operator, inspector or foreman.
        """
        with self._reader.snapshot():
            if role == "operator":
                return self._welding_day()
            if role == "inspector":
                return self._probing_day()
            return self._evening_day()

    def _welding_day(self) -> Day:
        day = self._beginning.day()
        today = self._strips.judged(
            self._reader.of_job(StripRow, f"AND day = ? {AS_SEEN}", day.date)
        )
        last = today[-1] if today else None
        welding, to_weld = self._laps_to_weld()
        sheets = self._reader.of_job(SheetRow, AS_LISTED)
        by_hand = bool(to_weld and to_weld[0].by_hand)
        return replace(
            day,
            machines=self._machines_listed(),
            sheets=tuple(s["name"] for s in sheets),
            by_bond=tuple(s["name"] for s in sheets if s["judged_by"] == "bond"),
            laps=tuple(self._reader.each_of(str, "DISTINCT lap", "seams", "AND lap IS NOT NULL")),
            read=self._read_lately(),
            last=self._strips.last_setting(),
            hot=bool(today or self._count("runs", "day = ?", day.date)),
            strip=LastStrip(last["name"], tuple(s.code for s in last["shortfalls"]))
            if last
            else None,
            waiting=(*self._answering.to_pull(day.date), *self._needing.by_hand_to_pull(day.date)),
            needs=self._needing.welding_needs(day.date, by_hand=by_hand),
            standing=self._newest_standing(),
            read_h=self._advising.reading_counts_h(),
            volts_read=bool(self._count("conditions", "line_v IS NOT NULL")),
            damp=self._last_read.noted_damp(),
            advised=self._advising.advised_now(day.date),
            welding=welding,
            to_weld=to_weld,
            seams=self._count("seams", "TRUE"),
        )

    def _count(self, table: str, where: str, *values: object) -> int:
        """How many rows of a table of the job there are."""
        return self._reader.each_of(int, "count(*)", table, f"AND {where}", *values)[0]

    def _machines_listed(self) -> tuple[ListedMachine, ...]:
        rows = self._reader.of_job(MachineRow, AS_LISTED)
        return tuple(ListedMachine(row["name"], row["dial"]) for row in rows)

    def _read_lately(self) -> tuple[LastReading, ...]:
        now = self._reader.now()
        return tuple(
            LastReading(
                name, _in_units(value, KEPT_IN[name], self._reader.job.units), _hours(at, now)
            )
            for name, (value, at) in self._last_read.conditions(stamp(now)).items()
        )

    def _newest_standing(self) -> GoAheadNow | None:
        with contextlib.suppress(NoneYet):
            return standing_of(self._go_aheads.go_ahead_stands())
        return None

    def _laps_to_weld(self) -> tuple[tuple[DayLap, ...], tuple[DayLap, ...]]:
        """Runs open, newest last; seams not welded to their end, in the order listed."""
        seams, open_ = self._roof.seams(), self._runs.open_runs()
        lengths = {row["seam_key"]: row["length_m"] for row in seams}
        welding = tuple(self._in_work(run, lengths.get(run["seam_key"])) for run in open_)
        busy = {run["seam_key"] for run in open_}
        left = (self._left_of(row, *seam) for row, seam in self._with_welded(seams, busy))
        return welding, tuple(islice((lap for lap in left if lap is not None), _TO_COME))

    def _in_work(self, run: RunRow, length: float | None) -> DayLap:
        """A lap being welded."""
        checks = self._count(
            "bleeds", "seam_key = ? AND seen_utc >= ?", run["seam_key"], run["seen_utc"]
        )
        return DayLap(
            run["seam"],
            self._far(run["start_m"]),
            self._end(length),
            run["name"],
            checks,
            outside=self._last_check_outside(run),
        )

    def _with_welded(
        self, seams: list[SeamRow], busy: set[str]
    ) -> Iterator[tuple[SeamRow, tuple[list[Stretch], float]]]:
        """Seams that may be welded now, the stretches welded of each, and how near counts as done."""
        welded: dict[str, list[Stretch]] = {}
        last: dict[str, str] = {}
        for run in self._reader.part(_Welded, "runs", "AND end_m IS NOT NULL"):
            key = run["seam_key"]
            welded.setdefault(key, []).append(ordered(run["start_m"], run["end_m"]))
            last[key] = max(last.get(key, ""), run["finished_utc"])
        then = self._limits.tolerances()
        for row in seams:
            key = row["seam_key"]
            if row["kind"] != "T-joint" and key not in busy:
                yield row, (welded.get(key, []), then.at(last.get(key, "")))

    def _left_of(self, seam: SeamRow, welded: list[Stretch], slack: float) -> DayLap | None:
        """What is left to weld of a seam, from its first gap; None where it is welded to its end."""
        length = seam["length_m"]
        if welded and (length is None or to_its_end(welded, length, slack)):
            return None
        left = minus([(0.0, length)], welded, slack) if welded and length else []
        return DayLap(
            seam["name"],
            self._far(left[0][0] if left else 0.0),
            self._end(length),
            kind=seam["lap"],
            by_hand=seam["kind"] == "detail",
        )

    def _last_check_outside(self, run: RunRow) -> bool:
        """Whether the newest bleed check on a run was outside the limits."""
        own = self._runs.checks_on(run)
        return bool(own and self._runs.check_shortfalls(*own[-1]))

    def _probing_day(self) -> Day:
        now = self._reader.now()
        walks: list[tuple[str, DayLap]] = []
        open_: list[tuple[str, str]] = []
        hidden: list[str] = []
        warm: dict[str, str] = {}
        named: set[str | None] = set()
        for seam in sorted(self._roof.view(), key=lambda seam: bool(_side(seam))):
            state = seam["state"]
            open_ += [(seam["name"], name) for name in state.open]
            if _side(seam) in named:
                continue  # a T-joint is walked with the side lap it lies on
            covered = "covered" in seam["flags"]  # nobody probes what the next ply hides
            left = [] if covered else self._unprobed(seam, now)
            for cold_utc, welded_utc, lap in left:
                if cold_utc <= utc(now.isoformat()):
                    walks.append((welded_utc, lap))
                else:
                    warm[lap.seam] = self._clock_of(cold_utc)
            if covered and (state.unprobed or state.open or state.mended):
                hidden.append(seam["name"])
            if left or seam["name"] in hidden[-1:]:
                named.add(same_name(seam["name"]))
        walks.sort(key=lambda walk: walk[0])
        findings = [
            OpenFinding(row["name"], row["seam"], row["kind"], self._place(row))
            for row in self._reader.of_job(FindingRow, AS_SEEN)
            if (row["seam"], row["name"]) in open_
        ]
        return replace(
            self._beginning.day(),
            to_probe=tuple(lap for _at, lap in walks),
            findings=tuple(findings),
            hidden=tuple(hidden),
            warm=tuple(warm.items()),
            needs=self._needing.probing_needs(),
        )

    def _clock_of(self, at_utc: str) -> str:
        """The time of day of a time, on the job's clock."""
        return f"{datetime.fromisoformat(at_utc).astimezone(zone(self._reader.job.zone)):%H:%M}"

    def _unprobed(self, seam: SeamFound, now: datetime) -> list[tuple[str, str, DayLap]]:
        """Stretches of a seam to walk: from when each was cold, when it was welded or mended."""
        rows, state = seam["rows"], seam["state"]
        walks = []
        for start, end in in_reach(seam):
            of = [r for r in seam["welds"] if _meets(r, start, end)]
            last = max(of, key=lambda run: run["seen_utc"])
            age = _hours(last["seen_utc"], now)
            lap = DayLap(
                seam["name"], self._far(start), self._far(end), by=last["seen_by"], age_h=age
            )
            walks.append((str(last["cold_utc"]), last["seen_utc"], lap))
        for finding in [f for f in rows.findings if f["name"] in state.mended]:
            mends = [m for m in rows.mends if m["finding"] == finding["id"]]
            places = [ordered(r["start_m"], r["end_m"]) for r in [finding, *mends]]
            mended = max(mends, key=lambda mend: mend["seen_utc"])
            lap = DayLap(
                seam["name"],
                self._far(min(a for a, _b in places)),
                self._far(max(b for _a, b in places)),
                by=mended["seen_by"],
                age_h=_hours(mended["seen_utc"], now),
                mended=finding["name"],
            )
            walks.append((str(mended["cold_utc"]), mended["seen_utc"], lap))
        return walks

    def _evening_day(self) -> Day:
        day = self._probing_day()
        warned: dict[str, list[OpenWarning]] = {}
        for row in self._roof.warnings():
            warned.setdefault(row["run"], []).append(row)
        seals = [row for row in self._sealing.seals() if row["day"] == day.date]
        welding, _to_weld = self._laps_to_weld()
        return replace(
            day,
            welding=welding,
            needs=self._needing.evening_needs(),
            warned=tuple(
                Warned(run, rows[0]["seam"], tuple(r["code"] for r in rows))
                for run, rows in warned.items()
            ),
            seal=DaySeal(seals[-1]["name"], bool(seals[-1]["handed"])) if seals else None,
        )

    def _end(self, m: float | None) -> str | None:
        return None if m is None else self._far(m)

    def _far(self, m: float) -> str:
        """A distance as it is typed in the job's units."""
        return tape_typed(m, self._reader.job.units)

    def _place(self, row: FindingRow) -> str:
        start, end = self._far(row["start_m"]), self._far(row["end_m"])
        return start if start == end else f"{start}-{end}"


def standing_of(go_ahead: GoAhead) -> GoAheadNow:
    """A go-ahead with the rules that hold it down now.

    Args:
        go_ahead: the go-ahead.
    """
    in_force = [t for t in go_ahead.triggers if t.until_s is None and t.level == go_ahead.level]
    in_force = [t for t in in_force if t.code == "new_day"] or in_force  # all else follows from it
    why = tuple((f"moved_{t.code}", dict(t.values)) for t in in_force)
    return GoAheadNow(go_ahead.strip["name"], go_ahead.level, setting_of(go_ahead.strip), why)


def _side(seam: SeamFound) -> str | None:
    """The key of the side lap that a T-joint lies on; None of any other seam."""
    return seam["seam"]["joins"] if seam["seam"] else None


def _meets(run: RunOn, start: float, end: float) -> bool:
    """Whether a run that is finished touches a stretch."""
    if run["end_m"] is None:
        return False
    low, high = ordered(run["start_m"], run["end_m"])
    return low < end + SAME_PLACE_M and high > start - SAME_PLACE_M


def _hours(at: str, now: datetime) -> float:
    return max(0.0, (now - datetime.fromisoformat(at)).total_seconds() / 3600)


def _in_units(value: float, unit: str, units: str) -> str:
    shown = _US.get(unit, unit) if units == "us" else unit
    return f"{float(convert(Fraction(value), unit, shown)):.0f}{shown}"
