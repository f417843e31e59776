"""The inspector's verbs: probe walks, findings, mends, peel samples.

Invariant: what was found is recorded where it was found, on a seam known or
not; a mend leaves its finding unprobed until a walk covers it again.
"""

from __future__ import annotations

import math
import re
import sys
from collections.abc import Sequence
from fractions import Fraction
from typing import TYPE_CHECKING, TypedDict

from weldcal.book.core import Note, Service
from weldcal.book.job_reader import AS_LISTED
from weldcal.errors import Misplaced
from weldcal.quality.coverage import Stretch, covers, ordered
from weldcal.quality.goahead import Shortfall, narrow
from weldcal.quality.probing import across_t_joints, mend_reach
from weldcal.quality.sheets import TJoint
from weldcal.quantities import Quantity
from weldcal.records.examples import example
from weldcal.records.fields import same_name
from weldcal.records.seam import Finding, Walk
from weldcal.records.times import seconds
from weldcal.row_types.work import FindingRow
from weldcal.rules.cold import Cooled, Walked, warm
from weldcal.tables.columns import utc
from weldcal.words import _

if TYPE_CHECKING:
    from typing_extensions import ReadOnly

    from weldcal.book.job_reader import JobReader
    from weldcal.book.limits import Limits
    from weldcal.book.runs import Runs


# The mark of a lap width below its limits.
NARROW = "narrow lap"
# The key of the end lap that meets at T-joint `j`, in SQL: `end_lap_key` says it of a row.
END_LAP = "substr(j.seam_key, 1, length(j.seam_key) - 1)"


class _Run(TypedDict):
    """A run, or a mend, of a seam."""

    seen_by: str
    seen_utc: str
    tick: int
    start_m: float
    end_m: float | None
    finished_utc: str | None


class WidthRead(TypedDict):
    """The columns of a lap width that its limits are compared with."""

    seam_key: ReadOnly[str]
    seen_utc: ReadOnly[str]
    overlap_mm: ReadOnly[float]
    bonded_mm: ReadOnly[float | None]


class _Joint(TypedDict):
    name: str
    place: str
    joins_at_m: float
    x0_m: float
    y0_m: float
    end_lap: str
    end_x_m: float
    end_y_m: float


class _Length(TypedDict):
    length_m: float | None


class Probing(Service):
    """What probing, mending and widths say of a seam."""

    _reader: JobReader
    _limits: Limits
    _runs: Runs

    def walk_notes(
        self, walk: Walk, findings: Sequence[Finding], names: Sequence[str]
    ) -> tuple[Note, ...]:
        """What is odd about a walk and what it found, by hand and from a sheet alike.

        Args:
            walk: as recorded.
            findings: what it found; names: their short names.
        """
        far = walk.start
        for one in (walk.end, *(f.start for f in findings), *(f.end for f in findings)):
            far = _further(far, one)
        notes = [*self._runs.seam_notes(walk.seam, far, walk.seen)]
        runs = self._runs_on(walk.seam)
        if walk.seen.by in {r["seen_by"] for r in runs}:
            notes.append(Note("self_probed", {"by": walk.seen.by}))
        notes += self._warm(walk, runs)
        span, slack = (
            ordered(walk.start.si("m"), walk.end.si("m")),
            self._runs.slack_then(walk.seen),
        )
        for finding in findings:
            place = ordered(finding.start.si("m"), finding.end.si("m"))
            if not covers([span], place, slack):
                notes.append(Note("outside_walk", {"kind": finding.kind, "at_m": place[0]}))
        for name, finding in zip(names, findings, strict=True):
            notes += self.across(name, finding)
        return tuple(notes)

    def _warm(self, walk: Walk, runs: Sequence[_Run]) -> list[Note]:
        """A note where a walk went over what was not cold yet."""
        begun = walk.started or walk.seen.at
        walked: Walked = {
            "seen_utc": utc(walk.seen.at),
            "tick": sys.maxsize,  # after all that is recorded
            "started_utc": utc(begun),
            "start_m": walk.start.si("m"),
            "end_m": walk.end.si("m"),
        }
        slack = self._runs.slack_then(walk.seen)
        mends = self._mends_on(walk.seam)
        cold = [
            one["cold_utc"]
            for one in (*map(self._cooled, runs), *map(self._cooled, mends))
            if one["cold_utc"] is not None and warm(walked, one, slack)
        ]
        if not cold:
            return []
        minutes_left = (seconds(max(cold)) - seconds(begun)) / 60
        return [Note("probed_warm", {"seam": walk.seam, "left_min": minutes_left})]

    def _cooled(self, run: _Run) -> Cooled:
        return {
            "seen_utc": run["seen_utc"],
            "tick": run["tick"],
            "start_m": run["start_m"],
            "end_m": run["end_m"],
            "cold_utc": self._limits.cold_from(run["finished_utc"]),
        }

    def mended(self, name: str) -> FindingRow:
        """The finding that a mend is of.

        Args:
            name: of the finding.

        Raises:
            Misplaced: the name is not of a finding.
        """
        why = _("a mend is of a finding; type its name, like F1")
        return self._reader.find_in(FindingRow, name, why)

    def mend_stretch(self, name: str) -> tuple[Quantity, Quantity, str]:
        """Where a mend of a finding should reach, by the limits' margin, and its seam.

        Args:
            name: of the finding.

        Raises:
            Misplaced: the name is not of a finding.
        """
        row = self.mended(name)
        start, end = self.mend_reach(row)
        return _metres(start), _metres(end), row["seam"]

    def mend_reach(self, finding: FindingRow) -> Stretch:
        """How far along its seam the mend of a finding should reach, m.

        Args:
            finding: its row.
        """
        margin = self._limits.limits()["mend_margin"].value.si("m")
        listed = self._reader.part(
            _Length, "seams", f"AND seam_key = ? {AS_LISTED}", finding["seam_key"]
        )
        place = ordered(finding["start_m"], finding["end_m"])
        return mend_reach(place, margin, listed[0]["length_m"] if listed else None)

    def width_shortfalls(self, width: WidthRead) -> tuple[Shortfall, ...]:
        """The shortfalls of a lap width by the limits in force when it was read.

        Args:
            width: its row: an end lap has a limit of its own.
        """
        kinds = self._reader.each_of(
            str, "kind", "seams", f"AND seam_key = ? {AS_LISTED}", width["seam_key"]
        )
        limits = self._limits.acceptance("", width["seen_utc"])
        end = kinds[:1] == ["end lap"]
        least = limits.lap_least_end_mm if end else limits.lap_least_side_mm
        return narrow(width["overlap_mm"], width["bonded_mm"], least, limits.bonded_least_mm)

    def strip_id(self, name: str) -> str:
        """The id of the strip a peel sample is of.

        Args:
            name: as typed: S and a number.

        Raises:
            Misplaced: the name is not of a strip; a seam needs a place.
        """
        if not re.fullmatch(r"[sS]\d+(\..+)?", name.strip()):
            raise Misplaced(
                text=name,
                why=_(
                    "say where on the seam, like: {peel}",
                    peel=example("peel", self._reader.job.units),
                ),
            )
        return self._reader.find(name)["id"]

    def across(self, name: str, finding: Finding) -> tuple[Note, ...]:
        """A note for each T-joint that a finding touches: it concerns another lap as well.

        Args:
            name: the finding's short name.
            finding: as recorded.
        """
        key = same_name(finding.seam)
        touched = across_t_joints(
            finding.seam, finding.start.si("m"), finding.end.si("m"), self._joints(key)
        )
        return tuple(
            Note(
                "t_joint",
                {
                    "finding": name,
                    "joint": j.name,
                    "seam": j.end_lap if same_name(j.side_lap) == key else j.side_lap,
                },
            )
            for j in touched
        )

    def _joints(self, seam_key: str) -> list[TJoint]:
        """The T-joints on a seam, its end lap known by the joint's own name: A3.2t is on A3.2."""
        rows = self._reader.select(
            _Joint,
            "SELECT j.name, j.place, j.joins_at_m, j.x0_m, j.y0_m, "
            "e.name AS end_lap, e.x0_m AS end_x_m, e.y0_m AS end_y_m "
            "FROM seams j JOIN seams e ON e.job = j.job "
            f"AND e.seam_key = {END_LAP} "
            "WHERE j.job = ?1 AND j.kind = 'T-joint' AND e.kind = 'end lap' "
            "AND j.x0_m IS NOT NULL AND e.x0_m IS NOT NULL "
            "AND j.joins IS NOT NULL AND (j.joins = ?2 OR e.seam_key = ?2)",
            (self._reader.job.id, seam_key),
        )
        return [
            TJoint(
                r["name"],
                (r["x0_m"], r["y0_m"]),
                r["place"],
                r["joins_at_m"],
                r["end_lap"],
                math.dist((r["x0_m"], r["y0_m"]), (r["end_x_m"], r["end_y_m"])),
            )
            for r in rows
        ]

    def _mends_on(self, seam: str) -> list[_Run]:
        """Mends of a seam's findings; each was finished when it was seen."""
        return self._reader.select(
            _Run,
            "SELECT seen_by, seen_utc, tick, start_m, end_m, seen_utc AS finished_utc FROM mends "
            "WHERE job = ? AND seam_key = ?",
            (self._reader.job.id, same_name(seam)),
        )

    def _runs_on(self, seam: str) -> list[_Run]:
        return self._reader.part(_Run, "runs", "AND seam_key = ?", same_name(seam))


def _further(a: Quantity, b: Quantity) -> Quantity:
    return a if a.si("m") > b.si("m") else b


def _metres(value: float) -> Quantity:
    # To a micrometre: exact enough that a margin typed in feet is met.
    number = Fraction(round(value * 1_000_000), 1_000_000)
    return Quantity(text=repr(float(number)), number=number, unit="m")
