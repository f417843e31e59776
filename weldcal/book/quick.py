"""Typed lines completed: what was not typed is taken from the last strip or the seam list, and named.

Invariant: nothing is carried over unseen: what nobody typed stands in the
record as carried over, with when it was read or set.
"""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, TypedDict

from msgspec.structs import replace

from weldcal.book.core import Service
from weldcal.book.job_reader import AS_LISTED, NEWEST
from weldcal.book.seams import in_reach
from weldcal.errors import Missing
from weldcal.intake.kept import StripProposed, WalkProposed
from weldcal.records.codec import decode
from weldcal.records.common import Carried, Conditions, Seen, Setting
from weldcal.records.examples import example
from weldcal.records.fields import plain_name, same_name
from weldcal.records.seam import Finding, Walk, found_how
from weldcal.records.strip import Strip
from weldcal.records.times import read_beside, stamp
from weldcal.row_types.listed import SeamRow
from weldcal.tables.projector import subject_of
from weldcal.views.walk import SheetLine
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.dials import Dials
    from weldcal.book.job_reader import JobReader
    from weldcal.book.last_read import LastRead
    from weldcal.book.limits import Limits
    from weldcal.book.roof import SeamStates
    from weldcal.book.runs import Runs
    from weldcal.intake.probe_line import ProbeFound, ProbeLine
    from weldcal.intake.strip_line import ListedNames, StripLine


# What stays as it is on a machine until somebody sets it otherwise.
_STAYS_SET = ("air_flow", "nozzle_width", "roller_load")


_READ = ("ambient", "sheet_temp", "humidity", "wind", "line_voltage", "damp")


class _Last(TypedDict):
    id: str
    name: str
    machine: str
    sheet: str
    seen_local: str


class Quick(Service):
    """Reads a strip or a probe walk typed as one line."""

    _reader: JobReader
    _limits: Limits
    _dials: Dials
    _roof: SeamStates
    _runs: Runs
    _last_read: LastRead

    def names(self) -> ListedNames:
        """The machines and sheets a line may name."""
        from weldcal.intake.strip_line import ListedNames

        return ListedNames(
            tuple(self._reader.names_in("machines")), tuple(self._reader.names_in("sheets"))
        )

    def propose_strip(self, line: StripLine, seen: Seen) -> StripProposed:
        """The strip a line says, the rest as on the last strip and as last read.

        Args:
            line: as read.
            seen: when, and by whom.

        Raises:
            Missing: no speed, or no readings on a sheet that is judged by them.
            Unheard: no machine or sheet was named, and none can be carried over.
        """
        if line.speed is None:
            raise Missing(
                name=_("travel speed"),
                option=_("it first"),
                example=example("strip", self._reader.job.units),
            )
        row, last = self._last_strip(line)
        machine = self._named("machines", line.machine, last, _("machine"))
        sheet = self._named("sheets", line.sheet, last, _("sheet"))
        if not line.readings and self._limits.needs_readings(sheet):
            raise Missing(
                name=_("bleed-out"),
                option=_("the readings"),
                example=example("strip", self._reader.job.units),
            )
        setting, taken = self._setting_of(line, line.speed, (machine, sheet), row, last)
        read_now = Conditions(**{name: getattr(line, name) for name in _READ})
        strip = Strip(
            name="",
            seen=seen,
            setting=setting,
            conditions=self._last_read.carry_over(read_now, seen.at),
            readings=line.readings,
            bubbling=line.bubbling,
            bond=line.bond or "not tried",
            smoke=line.smoke,
            roll_lot=line.roll_lot,
            note=line.note,
        )
        if row is None:
            return StripProposed(strip)
        return StripProposed(strip, row["name"], taken, _hours(row["seen_local"], seen.at))

    def _setting_of(
        self,
        line: StripLine,
        speed: str,
        on: tuple[str, str],
        row: _Last | None,
        last: Setting | None,
    ) -> tuple[Setting, tuple[str, ...]]:
        """The setting on a machine and sheet, and which values were taken from the last strip."""
        machine, sheet = on
        listed = machine if machine in self._reader.names_in("machines") else None
        nozzle, lap = line.nozzle, line.lap
        taken = []
        if last is not None:
            named = (("machine", line.machine, "machines"), ("sheet", line.sheet, "sheets"))
            taken = [
                name
                for name, typed, table in named
                if typed is None and len(self._reader.names_in(table)) > 1
            ]
            taken += ["nozzle"] if nozzle is None else []
            taken += [name for name in _STAYS_SET if getattr(last, name) is not None]
            taken += ["lap"] if lap is None else []
            nozzle, lap = nozzle or last.nozzle, lap or last.lap
        if nozzle is None:
            raise Missing(name=_("nozzle temperature"), option=_("it"), example="nozzle 932")
        carried = (
            tuple(Carried(name=name, read_at=row["seen_local"]) for name in taken) if row else ()
        )
        setting = Setting(
            machine=machine,
            sheet=sheet,
            lap=lap or "selvage",
            nozzle=nozzle,
            speed=self._dials.read_speed(listed, speed),
            air_flow=last.air_flow if last else None,
            nozzle_width=last.nozzle_width if last else None,
            roller_load=last.roller_load if last else None,
            carried=carried or None,
        )
        return setting, tuple(taken)

    def _last_strip(self, line: StripLine) -> tuple[_Last | None, Setting | None]:
        """The job's last strip, on the machine and sheet named where they are; its setting as typed."""
        rows = self._reader.part(_Last, "strips", f"AND NOT by_hand {NEWEST}")
        for row in rows:
            if _same(line.machine, row["machine"]) and _same(line.sheet, row["sheet"]):
                subject = subject_of(self._reader.reading(), row["id"])
                if subject is not None:
                    return row, decode("strip", subject.payload).setting
        return None, None

    def _named(self, table: str, given: str | None, last: Setting | None, what: str) -> str:
        if given is None and last is not None:
            return last.machine if table == "machines" else last.sheet
        return self._reader.listed(table, given, what)[0]

    def propose_walk(self, seam: str, line: ProbeLine, seen: Seen) -> WalkProposed:
        """The walk a line says, and what it found; without a word of how far, the whole seam.

        Args:
            seam: its name.
            line: as read.
            seen: when, and by whom.

        Raises:
            Missing: nothing says how far, and the seam's length is not known.
            WordUnknown: a stretch between the parts that nobody said was probed.
        """
        from weldcal.intake.probe_line import walked

        rows = self._runs.seams_named(seam)
        name = rows[0]["name"] if rows else plain_name(_("seam"), seam)
        by_list = line.whole or not line.sound
        start, end = walked(line, self._runs.seam_length(seam) if by_list else None)
        began, ended = (
            stamp(read_beside(text, seen.at, self._reader.job.zone, _("time"))) if text else None
            for text in (line.started, line.ended)
        )
        seen = replace(seen, at=ended or seen.at)
        walk = Walk(
            name="",
            seam=name,
            seen=seen,
            start=start,
            end=end,
            started=began,
            ended=seen.at,
            note=line.note,
        )
        return WalkProposed(
            self._runs.placed_in(walk),
            tuple(self._runs.placed_in(_finding(one, name, seen)) for one in line.found),
            line,
            by_list,
        )

    def seams_for_paper(self, *, every: bool = False) -> list[SheetLine]:
        """The seams a probe sheet is to name: those welded, in reach and not probed, or all.

        Args:
            every: all of them.
        """
        if every:
            listed = self._reader.of_job(SeamRow, AS_LISTED)
            return [_whole(seam["name"], seam) for seam in listed]
        return [_whole(one["name"], one["seam"]) for one in self._roof.view() if in_reach(one)]


def _whole(name: str, seam: SeamRow | None) -> SheetLine:
    """A seam in full, as the probe sheet names it."""
    return {"name": name, "from_m": 0.0, "to_m": seam["length_m"] if seam else None, "note": ""}


def _same(given: str | None, known: str) -> bool:
    return given is None or same_name(given) == same_name(known)


def merged(first: StripLine, change: StripLine) -> StripLine:
    """A line with the values of another in place of its own.

    Args:
        first: the line.
        change: what is said instead.
    """
    given = {n: v for n in change.__struct_fields__ if (v := getattr(change, n)) not in (None, ())}
    return replace(first, **given)


def _finding(found: ProbeFound, seam: str, seen: Seen) -> Finding:
    """What a line says was found, as a record without its name yet."""
    return Finding(
        name="",
        seam=seam,
        seen=seen,
        kind=found.kind,
        start=found.at,
        end=found.past(),
        how=found_how(found.kind),
        depth=found.depth,
    )


def _hours(earlier: str, later: str) -> float:
    return (datetime.fromisoformat(later) - datetime.fromisoformat(earlier)).total_seconds() / 3600
