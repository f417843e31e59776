"""The inspector's verbs: probe walks, findings, mends, peel samples.

Invariant: what was found is recorded where it was found, on a seam known or
not; a mend leaves its finding unprobed until a walk covers it again.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from msgspec.structs import replace

from weldcal.book.core import Note, Recorded
from weldcal.book.operator import Operator
from weldcal.errors import Misplaced, NoneYet
from weldcal.quality.coverage import Stretch, covers, ordered
from weldcal.quality.goahead import Shortfall, narrow
from weldcal.quality.layout import TJoint
from weldcal.quality.probing import across_t_joints, mend_reach
from weldcal.quantities import Quantity
from weldcal.records.fields import same_name
from weldcal.records.seam import Finding, LapWidth, Mend, Peel, Walk
from weldcal.rules.cold import warm
from weldcal.rules.welded import seconds
from weldcal.tables.columns import utc
from weldcal.words import _

# The mark of a lap width below its limits.
NARROW = "narrow lap"


class Inspector(Operator):
    """Verbs of the person who probes."""

    def record_walk(self, walk: Walk, findings: Sequence[Finding] = ()) -> Recorded:
        """Record a probe walk and what it found, together or not at all."""
        walk, findings = self.placed_in(walk), [self.placed_in(one) for one in findings]
        names = []
        with self.writing(self.typist(walk.seen.by)) as writer:
            named = replace(walk, name=writer.next_name("W", self.job.id))
            walk_id = writer.add("walk", named, job=self.job.id)
            for finding in findings:
                name = writer.next_name("F", self.job.id)
                writer.add("finding", replace(finding, name=name, walk=walk_id), job=self.job.id)
                names.append(name)
        notes = self.walk_notes(walk, findings, names)
        told = self.told("walks", walk_id)
        return Recorded(walk_id, named.name, (*told, *notes), {"findings": names})

    def walk_notes(
        self, walk: Walk, findings: Sequence[Finding], names: Sequence[str]
    ) -> tuple[Note, ...]:
        """What is odd about a walk and what it found, by hand and from a sheet alike."""
        far = walk.start
        for one in (walk.end, *(f.start for f in findings), *(f.end for f in findings)):
            far = _further(far, one)
        notes = [*self._seam_notes(walk.seam, far, walk.seen)]
        runs = self._runs(walk.seam)
        if walk.seen.by in {r["seen_by"] for r in runs}:
            notes.append(Note("self_probed", {"by": walk.seen.by}))
        notes += self._warm(walk, runs)
        span, slack = ordered(walk.start.si("m"), walk.end.si("m")), self.slack_then(walk.seen)
        for finding in findings:
            place = ordered(finding.start.si("m"), finding.end.si("m"))
            if not covers([span], place, slack):
                notes.append(Note("outside_walk", {"kind": finding.kind, "at_m": place[0]}))
        for name, finding in zip(names, findings, strict=True):
            notes += self._across(name, finding)
        return tuple(notes)

    def _warm(self, walk: Walk, runs: list[dict[str, Any]]) -> list[Note]:
        """A note where a walk went over what was not cold yet."""
        begun = walk.started or walk.seen.at
        row = {
            "seen_utc": utc(walk.seen.at),
            "tick": math.inf,
            "started_utc": utc(begun),
            "start_m": walk.start.si("m"),
            "end_m": walk.end.si("m"),
        }
        slack = self.slack_then(walk.seen)
        cold = [r["cold_utc"] for r in self.with_cold(runs, "finished_utc") if warm(row, r, slack)]
        if not cold:
            return []
        left = (seconds(max(cold)) - seconds(begun)) / 60
        return [Note("probed_warm", {"seam": walk.seam, "left_min": left})]

    def record_finding(self, finding: Finding) -> Recorded:
        """Record a finding by itself: seen, or cut."""
        finding = self.placed_in(finding)
        with self.writing(self.typist(finding.seen.by)) as writer:
            named = replace(finding, name=writer.next_name("F", self.job.id))
            finding_id = writer.add("finding", named, job=self.job.id)
        far = _further(finding.start, finding.end)
        notes = (
            *self.told("findings", finding_id),
            *self._seam_notes(finding.seam, far, finding.seen),
            *self._across(named.name, finding),
        )
        return Recorded(finding_id, named.name, notes)

    def record_mend(self, name: str, mend: Mend) -> Recorded:
        """Record the mend of a finding.

        Raises:
            Misplaced: the name is not of a finding.
        """
        row = self.find(name)
        if row["table"] != "findings":
            raise Misplaced(text=name, why=_("a mend is of a finding; type its name, like F1"))
        mend = self.placed_in(replace(mend, seam=row["seam"]))
        wanted = self._mend_reach(row)
        reach = ordered(mend.start.si("m"), mend.end.si("m"))
        short = not covers([reach], wanted, self.slack_then(mend.seen))
        notes = (Note("mend_short", {"from_m": wanted[0], "to_m": wanted[1]}),) if short else ()
        on = self._hand_strip(mend)
        with self.writing(self.typist(mend.seen.by)) as writer:
            named = replace(
                mend,
                name=writer.next_name("M", self.job.id),
                seam=row["seam"],
                finding=row["id"],
                go_ahead=on["id"] if on else None,
            )
            mend_id = writer.add("mend", named, job=self.job.id)
        seam = {"seam": row["seam"]}
        hidden = self._hidden(row["seam_key"], ordered(row["start_m"], row["end_m"]))
        again = Note("open_up", seam) if hidden else Note("probe_again", seam)
        stands = _stands_on(mend, on)
        return Recorded(mend_id, named.name, (*self.told("mends", mend_id), *notes, stands, again))

    def _hand_strip(self, mend: Mend) -> dict[str, Any] | None:
        """The hand strip that a mend stands on, by the verdict on its person's go-ahead."""
        from weldcal.book.standing import GoAheads

        assert isinstance(self, GoAheads)
        try:
            found = self.go_ahead_stands(mend.tool, at=mend.seen.at, hand=mend.seen.by)
        except NoneYet:
            return None
        return found.strip if found.permits else None

    def mend_stretch(self, name: str) -> tuple[Quantity, Quantity, str]:
        """Where a mend of a finding should reach, by the limits' margin, and its seam."""
        row = self.find(name)
        if row["table"] != "findings":
            raise Misplaced(text=name, why=_("a mend is of a finding; type its name, like F1"))
        start, end = self._mend_reach(row)
        return _metres(start), _metres(end), row["seam"]

    def _mend_reach(self, finding: dict[str, Any]) -> Stretch:
        margin = self.limits()["mend_margin"].value.si("m")
        listed = self.rows(
            "SELECT length_m FROM seams WHERE job = ? AND seam_key = ? ORDER BY tick",
            (self.job.id, finding["seam_key"]),
        )
        place = ordered(finding["start_m"], finding["end_m"])
        return mend_reach(place, margin, listed[0]["length_m"] if listed else None)

    def record_width(self, width: LapWidth) -> Recorded:
        """Record the width of a lap read at a place, judged by the limits in force."""
        with self.writing(self.typist(width.seen.by)) as writer:
            named = replace(width, name=writer.next_name("T", self.job.id))
            width_id = writer.add("lap-width", named, job=self.job.id)
        (row,) = self.rows("SELECT * FROM widths WHERE id = ?", (width_id,))
        short = (Note("too_narrow", {"shortfall": s}) for s in self.width_shortfalls(row))
        told = (*self.told("widths", width_id), *self._seam_notes(width.seam, width.at, width.seen))
        return Recorded(width_id, named.name, (*told, *short))

    def width_shortfalls(self, width: dict[str, Any]) -> tuple[Shortfall, ...]:
        """What of a lap width is below the limits in force when it was read.

        Args:
            width: its row: an end lap has a limit of its own.
        """
        kinds = self.rows(
            "SELECT kind FROM seams WHERE job = ? AND seam_key = ? ORDER BY tick, device",
            (self.job.id, width["seam_key"]),
        )
        limits = self.acceptance("", width["seen_utc"])
        end = bool(kinds) and kinds[0]["kind"] == "end lap"
        least = limits.lap_least_end_mm if end else limits.lap_least_side_mm
        return narrow(width["overlap_mm"], width["bonded_mm"], least, limits.bonded_least_mm)

    def strip_id(self, name: str) -> str:
        """The id of the strip a peel sample is of.

        Raises:
            Misplaced: the name is not of a strip; a seam needs a place.
        """
        if re.fullmatch(r"[sS]\d+(\..+)?", name.strip()):
            return str(self.find(name)["id"])
        raise Misplaced(text=name, why=_("say where on the seam, like: weldcal peel A12 12ft"))

    def record_peel(self, peel: Peel, cut: Finding | None = None) -> Recorded:
        """Record a peel sample; one cut from a seam leaves an open finding in its place."""
        names = []
        peel, cut = self.placed_in(peel), self.placed_in(cut) if cut is not None else None
        with self.writing(self.typist(peel.seen.by)) as writer:
            named = replace(peel, name=writer.next_name("P", self.job.id))
            peel_id = writer.add("peel", named, job=self.job.id)
            if cut is not None:
                name = writer.next_name("F", self.job.id)
                writer.add("finding", replace(cut, name=name, peel=peel_id), job=self.job.id)
                names.append(name)
        notes = self.told("peels", peel_id)
        if peel.seam and peel.at:
            notes += self._seam_notes(peel.seam, peel.at, peel.seen)
        loaded = peel.load is not None or peel.line_load is not None
        if loaded and (peel.sample_temp is None or peel.pull_rate is None):
            notes += (Note("load_bare", {}),)
        if cut is not None:
            notes += self._across(names[0], cut)
        return Recorded(peel_id, named.name, notes, {"findings": names})

    def _across(self, name: str, finding: Finding) -> tuple[Note, ...]:
        """A note of each T-joint that a finding touches: another lap is concerned as well."""
        here = same_name(finding.seam)
        touched = across_t_joints(
            finding.seam, finding.start.si("m"), finding.end.si("m"), self._joints(here)
        )
        return tuple(
            Note(
                "t_joint",
                {
                    "finding": name,
                    "joint": j.name,
                    "seam": j.end_lap if same_name(j.side_lap) == here else j.side_lap,
                },
            )
            for j in touched
        )

    def _joints(self, seam_key: str) -> list[TJoint]:
        """The T-joints on a seam, its end lap known by the joint's own name: A3.2t is on A3.2."""
        rows = self.rows(
            "SELECT j.name, j.place, j.joins_at_m, j.x0_m, j.y0_m, e.name AS end_lap, e.x0_m AS end_x_m, e.y0_m AS end_y_m "
            "FROM seams j JOIN seams e ON e.job = j.job AND e.seam_key = substr(j.seam_key, 1, length(j.seam_key) - 1) "
            "WHERE j.job = ?1 AND j.kind = 'T-joint' AND e.kind = 'end lap' AND j.x0_m IS NOT NULL AND e.x0_m IS NOT NULL "
            "AND j.joins IS NOT NULL AND (j.joins = ?2 OR e.seam_key = ?2)",
            (self.job.id, seam_key),
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

    def _runs(self, seam: str) -> list[dict[str, Any]]:
        return self.rows(
            "SELECT seen_by, seen_utc, tick, start_m, end_m, finished_utc FROM runs "
            "WHERE job = ? AND seam_key = ?",
            (self.job.id, same_name(seam)),
        )


def _stands_on(mend: Mend, strip: dict[str, Any] | None) -> Note:
    """On which hand strip a mend stands, or that there is none."""
    if strip is None:
        return Note("no_hand_strip", {"by": mend.seen.by, "tool": mend.tool})
    return Note("on_hand_strip", {"name": strip["name"]})


def _further(a: Quantity, b: Quantity) -> Quantity:
    return a if a.si("m") > b.si("m") else b


def _metres(value: float) -> Quantity:
    # To a micrometre: exact enough that a margin typed in feet is met.
    number = Fraction(round(value * 1_000_000), 1_000_000)
    return Quantity(text=repr(float(number)), number=number, unit="m")
