"""A seam's rows, judged: its state, and every flag beside it.

Invariant: nothing here reads a book. The roof, the trace and every page that is
handed on ask here, so that a seam never has two states.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import chain

from msgspec import Struct, structs
from msgspec.structs import replace

from weldcal.book.hiding import HowHidden, Spell
from weldcal.book.hiding import in_reach as in_reach_then
from weldcal.book.marks import ODD
from weldcal.book.seam_rows import NOTHING, FindingOn, MendOn, PeelPart, RunOn, SeamRows, WalkOn
from weldcal.quality.coverage import Stretch, covers, minus, ordered
from weldcal.quality.probing import Disagreement, disagreements
from weldcal.quality.seam import (
    Run,
    SeamFinding,
    SeamMend,
    SeamRecord,
    SeamState,
    SeamWalk,
    state_of,
)
from weldcal.records.odd_names import odd
from weldcal.row_types.listed import SeamRow
from weldcal.rules import on_plan
from weldcal.rules.on_seam import Tolerances
from weldcal.rules.welded import moment
from weldcal.views.rows import Marks
from weldcal.views.seam import SeamSeen

EVERYWHERE: Stretch = (0.0, math.inf)


class SeamFound(SeamSeen):
    """A seam of the roof with the rows on it.

    `welds` are the runs it was judged by: of a T-joint, those of both its laps, as points of it.
    """

    rows: SeamRows
    welds: Sequence[RunOn]


class SeamVerdict(Struct, frozen=True):
    """What the record says of a seam."""

    state: SeamState
    flags: tuple[str, ...]
    disagreements: tuple[Disagreement, ...]
    welds: Sequence[RunOn]


class SeamContext(Struct, frozen=True):
    """What a seam's state depends on besides its own rows.

    Attributes:
        listed: seam key -> its row (the first, where it is listed twice), in order.
        twice: keys listed twice.
        covers: keys of seams hidden now.
        warned: ids of runs with a warning not answered.
        corrected: key -> flags of the corrections of its own entry.
        slack: how near two places along a lap count as one, by when.
        spells: when each was hidden, those opened up since among them.
        bare: end laps over granules that nobody said are embedded.
    """

    listed: dict[str, SeamRow]
    twice: frozenset[str]
    covers: dict[str, HowHidden]
    warned: frozenset[str]
    corrected: dict[str, tuple[str, ...]]
    slack: Tolerances
    spells: dict[str, list[Spell]]
    bare: frozenset[str] = frozenset()

    def judged(self, key: str, rows: SeamRows, laps: Mapping[str, SeamRows]) -> SeamVerdict:
        """A seam's state, its flags, and the walks that disagree on it.

        Args:
            key: the seam's.
            rows: what is on it.
            laps: runs and walks of the laps that meet there, by key, where it is a T-joint.
        """
        counted = self._counted(key, rows, laps)
        record = _record(self.listed.get(key), counted, self)
        state = state_of(record)
        probed = {f["id"] for f in rows.findings if f["how"] == "probed"}
        findings = [f for f in record.findings if f.id in probed]
        apart = disagreements(findings, record.walks, record.mends, record.runs)
        flags = dict.fromkeys([*state.flags, *self._flags(key, rows, bool(apart))])
        return SeamVerdict(state, tuple(flags), apart, counted.runs)

    def state(self, key: str, rows: SeamRows, laps: Mapping[str, SeamRows]) -> SeamState:
        """A seam's state alone; arguments as of `judged`."""
        return state_of(_record(self.listed.get(key), self._counted(key, rows, laps), self))

    def _counted(self, key: str, rows: SeamRows, laps: Mapping[str, SeamRows]) -> SeamRows:
        """What is recorded of a seam, as it counts for its state."""
        seam, spells = self.listed.get(key), self.spells.get(key, [])
        counted = _counted(rows, spells)
        if seam and seam["joins"]:
            side = _counted(laps.get(seam["joins"], NOTHING), spells)
            return _joint(seam, counted, side, laps, self)
        return counted

    def hidden(self, key: str) -> list[Stretch]:
        """The stretches of a seam that the next ply hides; of one hidden whole, as far as can be.

        Args:
            key: the seam's.
        """
        cover = self.covers.get(key)
        if cover is None:
            return []
        return [EVERYWHERE] if self._all_hidden(key, cover) else cover.stretches

    def end_lap(self, joint: SeamRow) -> tuple[str, float] | None:
        """The key of the end lap that meets at a T-joint, and where along it, m.

        None where no such lap is listed, or either has no place on the plan.

        Args:
            joint: its row.
        """
        end = self.listed.get(end_lap_key(joint))
        ends, points = on_plan.ends(end), on_plan.ends(joint)
        if end is None or end["kind"] != "end lap" or ends is None or points is None:
            return None
        return end["seam_key"], math.dist(ends[0], points[0])

    def _all_hidden(self, key: str, cover: HowHidden) -> bool:
        seam = self.listed.get(key)
        return cover.all_of(seam["length_m"] if seam else None, self.slack)

    def _flags(self, key: str, rows: SeamRows, apart: bool) -> Iterator[str]:
        """Flags that stand beside those of the state."""
        cover = self.covers.get(key)
        if key in self.twice:
            yield "listed twice"
        if cover is not None:
            yield "covered" if self._all_hidden(key, cover) else "covered in part"
            if cover.unprobed:
                yield "covered unprobed"
        if key in self.bare and rows.runs:
            yield "granules not embedded"
        yield from self.corrected.get(key, ())
        yield from _marks(rows)
        seam = self.listed.get(key)
        if seam and seam["joins"] and self.end_lap(seam) is None:
            yield "end lap not listed"
        if seam and odd(seam["name"]):
            yield ODD
        if apart:
            yield "walks disagree"
        if cover and any(cover.since(*seen) for seen in _seen(rows)):
            yield "worked on after it was covered"
        if cover and any(cover.entered_since(w) for w in rows.walks):
            yield "entered after it was covered"


def end_lap_key(joint: SeamRow) -> str:
    """The key of the end lap that meets at a T-joint, by the joint's own name: A3.2t is on A3.2.

    Args:
        joint: its row.
    """
    return joint["seam_key"][:-1]


def meeting_at(seams: Iterable[SeamRow]) -> list[str]:
    """Keys of the laps that meet at those of some seams that are T-joints.

    Args:
        seams: as listed.
    """
    return [key for seam in seams if seam["joins"] for key in (seam["joins"], end_lap_key(seam))]


def in_reach(seam: SeamSeen) -> list[Stretch]:
    """Where a seam of the roof is unprobed and not hidden: what somebody can walk to.

    Args:
        seam: the seam.
    """
    return minus(seam["state"].unprobed, seam["hidden"])


def name_of(seam: SeamRow | None, rows: SeamRows) -> str:
    """A seam's name as listed, else as first typed.

    Args:
        seam: its row; None where nobody listed it.
        rows: what is on it.
    """
    if seam:
        return seam["name"]
    each: tuple[Iterable[PeelPart], ...] = structs.astuple(rows)
    return next(row["seam"] for part in each for row in part if row["seam"])


def _marks(rows: SeamRows) -> Iterator[str]:
    """The marks of all that is on a seam, in the order they become its flags."""
    each: tuple[Iterable[Marks], ...] = structs.astuple(rows)
    return (mark for part in each for row in part if row["marks"] for mark in row["marks"])


def _seen(rows: SeamRows) -> Iterator[tuple[str, Stretch | None]]:
    """When each thing on a seam was seen, UTC, and where, m; None where nobody said."""
    for run in rows.runs:
        end = run["start_m"] if run["end_m"] is None else run["end_m"]
        yield run["seen_utc"], ordered(run["start_m"], end)
    for finish in rows.finishes:
        yield finish["seen_utc"], None
    for part in chain(rows.walks, rows.findings, rows.mends):
        yield part["seen_utc"], ordered(part["start_m"], part["end_m"])
    for row in chain(rows.bleeds, rows.widths):
        yield row["seen_utc"], (row["at_m"], row["at_m"])
    for peel in rows.peels:
        yield peel["seen_utc"], None if peel["at_m"] is None else (peel["at_m"], peel["at_m"])


def _counted(rows: SeamRows, spells: list[Spell]) -> SeamRows:
    """A seam's rows as they count: nobody probes what the next ply hides.

    Nor does a walk count that was entered after it, for a time before: nobody can look again.
    """
    if not spells:
        return rows
    walks: list[WalkOn] = [
        {**walk, "start_m": low, "end_m": high}
        for walk in rows.walks
        for low, high in in_reach_then(
            spells,
            ordered(walk["start_m"], walk["end_m"]),
            walk["seen_utc"],
            walk["entered_utc"],
        )
    ]
    return replace(rows, walks=walks)


def _joint(
    seam: SeamRow,
    rows: SeamRows,
    side: SeamRows,
    laps: Mapping[str, SeamRows],
    context: SeamContext,
) -> SeamRows:
    """A T-joint: welded with both laps that meet there, probed with its side lap.

    It has no length: what reaches its place along a lap is a point of it, and nothing does
    before both laps are welded there. Where nobody knows which end lap that is, no walk on the
    side lap counts: the joint was perhaps not whole then.
    """
    at, end, slack = seam["joins_at_m"], context.end_lap(seam), context.slack
    runs = _runs_at(side.runs, at, slack)
    walks: list[WalkOn] = [
        {**walk, "start_m": 0.0, "end_m": 0.0}
        for walk in side.walks
        if end and _reaches(walk["start_m"], walk["end_m"], at, slack.at(walk["seen_utc"]))
    ]
    if end is not None:
        key, end_at = end
        on_end = _runs_at(laps.get(key, NOTHING).runs, end_at, slack)
        whole = bool(runs and on_end)
        runs, walks = ([*runs, *on_end], walks) if whole else ([], [])
    return replace(rows, runs=[*rows.runs, *runs], walks=[*rows.walks, *walks])


def _runs_at(runs: Sequence[RunOn], at_m: float | None, slack: Tolerances) -> list[RunOn]:
    """The runs of a lap that reach a T-joint on it, as points of the joint."""
    return [
        {**run, "start_m": 0.0, "end_m": 0.0}
        for run in runs
        if _reaches(run["start_m"], run["end_m"], at_m, slack.at(run["seen_utc"]))
    ]


def _reaches(start_m: float, end_m: float | None, at_m: float | None, slack_m: float) -> bool:
    """Whether a stretch reaches a place; not where nobody said either."""
    if end_m is None or at_m is None:
        return False
    return covers([ordered(start_m, end_m)], (at_m, at_m), slack_m)


def _record(seam: SeamRow | None, rows: SeamRows, context: SeamContext) -> SeamRecord:
    slack = context.slack.at
    return SeamRecord(
        length=seam["length_m"] if seam and not seam["joins"] else None,
        known=seam is not None,
        loose_finishes=len(rows.finishes),
        runs=tuple(_run(r, context) for r in rows.runs),
        walks=tuple(_walk(w, slack(w["seen_utc"])) for w in rows.walks),
        findings=tuple(_found(f, slack(f["seen_utc"])) for f in rows.findings),
        mends=tuple(_mend(m, slack(m["seen_utc"])) for m in rows.mends),
    )


def _run(r: RunOn, context: SeamContext) -> Run:
    slack_m = context.slack.at(r["finished_utc"] or r["seen_utc"])
    warned, by = r["id"] in context.warned, r["seen_by"]
    return Run(r["id"], r["start_m"], r["end_m"], moment(r), by, warned, r["cold_utc"], slack_m)


def _walk(w: WalkOn, slack_m: float) -> SeamWalk:
    began, by = w["started_utc"], w["seen_by"]
    return SeamWalk(w["start_m"], w["end_m"], moment(w), by, w["id"], began, slack_m)


def _found(f: FindingOn, slack_m: float) -> SeamFinding:
    walk = f["walk"]
    return SeamFinding(f["id"], f["name"], f["start_m"], f["end_m"], moment(f), walk, slack_m)


def _mend(m: MendOn, slack_m: float) -> SeamMend:
    cold = m["cold_utc"]
    return SeamMend(m["finding"], m["start_m"], m["end_m"], moment(m), cold, slack_m)
