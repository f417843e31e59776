"""A seam's rows, judged: its state, and every flag beside it.

Invariant: nothing here reads a book. The roof, the trace and every page that is
handed on ask here, so that a seam never has two states.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
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
from weldcal.rules.on_seam import Tolerances
from weldcal.rules.welded import moment
from weldcal.views.rows import Marks
from weldcal.views.seam import SeamSeen

EVERYWHERE: Stretch = (0.0, math.inf)


class SeamFound(SeamSeen):
    """A seam of the roof with the rows it was judged by."""

    rows: SeamRows


class SeamVerdict(Struct, frozen=True):
    """What the record says of a seam."""

    state: SeamState
    flags: tuple[str, ...]
    disagreements: tuple[Disagreement, ...]


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

    def judged(self, key: str, rows: SeamRows, on_side: SeamRows) -> SeamVerdict:
        """A seam's state, its flags, and the walks that disagree on it.

        Args:
            key: the seam's.
            rows: what is on it.
            on_side: runs and walks of the side lap it lies on, where it is a T-joint.
        """
        record = self._record(key, rows, on_side)
        state = state_of(record)
        probed = {f["id"] for f in rows.findings if f["how"] == "probed"}
        findings = [f for f in record.findings if f.id in probed]
        apart = disagreements(findings, record.walks, record.mends, record.runs)
        flags = dict.fromkeys([*state.flags, *self._flags(key, rows, bool(apart))])
        return SeamVerdict(state, tuple(flags), apart)

    def state(self, key: str, rows: SeamRows, on_side: SeamRows) -> SeamState:
        """A seam's state alone; arguments as of `judged`."""
        return state_of(self._record(key, rows, on_side))

    def _record(self, key: str, rows: SeamRows, on_side: SeamRows) -> SeamRecord:
        """What is recorded of a seam, as much as its state follows from."""
        seam, spells = self.listed.get(key), self.spells.get(key, [])
        counted = _counted(rows, spells)
        if seam and seam["joins"]:
            return _joint(seam, counted, _counted(on_side, spells), self)
        return _record(seam, counted, self)

    def hidden(self, key: str) -> list[Stretch]:
        """The stretches of a seam that the next ply hides; of one hidden whole, as far as can be.

        Args:
            key: the seam's.
        """
        cover = self.covers.get(key)
        if cover is None:
            return []
        return [EVERYWHERE] if self._all_hidden(key, cover) else cover.stretches

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
        if seam and odd(seam["name"]):
            yield ODD
        if apart:
            yield "walks disagree"
        if cover and any(cover.since(*seen) for seen in _seen(rows)):
            yield "worked on after it was covered"
        if cover and any(cover.entered_since(w) for w in rows.walks):
            yield "entered after it was covered"


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


def _joint(seam: SeamRow, rows: SeamRows, side: SeamRows, context: SeamContext) -> SeamRecord:
    """A T-joint: welded and probed with the side lap it lies on, with findings of its own.

    It has no length: what reaches its place along the side lap is a point of it.
    """
    at = seam["joins_at_m"]
    if at is None:  # nobody said where along the side lap: nothing of that reaches it
        side, at = NOTHING, 0.0
    runs: list[RunOn] = [
        {**run, "start_m": 0.0, "end_m": 0.0}
        for run in side.runs
        if _reaches(run["start_m"], run["end_m"], at, context.slack.at(run["seen_utc"]))
    ]
    walks: list[WalkOn] = [
        {**walk, "start_m": 0.0, "end_m": 0.0}
        for walk in side.walks
        if _reaches(walk["start_m"], walk["end_m"], at, context.slack.at(walk["seen_utc"]))
    ]
    joined = replace(rows, runs=[*rows.runs, *runs], walks=[*rows.walks, *walks])
    return _record({**seam, "length_m": None}, joined, context)


def _reaches(start_m: float, end_m: float | None, at_m: float, slack_m: float) -> bool:
    return end_m is not None and covers([ordered(start_m, end_m)], (at_m, at_m), slack_m)


def _record(seam: SeamRow | None, rows: SeamRows, context: SeamContext) -> SeamRecord:
    slack = context.slack.at
    return SeamRecord(
        length=seam["length_m"] if seam else None,
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
