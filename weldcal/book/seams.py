"""A seam's rows, judged: its state, and every flag beside it.

Invariant: nothing here reads a book. The roof, the trace and every page that is
handed on ask here, so that a seam never has two states.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from msgspec import Struct

from weldcal.book.hiding import Cover
from weldcal.book.marks import ODD
from weldcal.quality.coverage import Stretch, covers, minus, ordered
from weldcal.quality.probing import Disagreement, disagreements
from weldcal.quality.seam import Found, Mend, Run, SeamRecord, SeamState, Walk, state_of
from weldcal.records.odd_names import odd
from weldcal.rules.tolerance import Tolerances
from weldcal.views.seam import SeamSeen

# Tables of what is on a seam, in the order their marks become its flags.
ON_SEAMS = ("runs", "finishes", "bleeds", "widths", "walks", "findings", "mends", "peels")
Row = dict[str, Any]
EVERYWHERE: Stretch = (0.0, math.inf)
Rows = dict[str, list[Row]]  # by table, marked, in the order seen


class SeamFound(SeamSeen):
    """A seam of the roof with the rows it was judged by."""

    rows: Rows


class Judged(Struct, frozen=True):
    """What the record says of a seam."""

    state: SeamState
    flags: tuple[str, ...]
    disagreements: tuple[Disagreement, ...]


class Beside(Struct, frozen=True):
    """What bears on seams beside their own rows.

    Attributes:
        listed: seam key -> its row (the first, where it is listed twice), in order.
        twice: keys listed twice.
        covers: keys of seams hidden now.
        warned: ids of runs with a warning not answered.
        corrected: key -> flags of the corrections of its own entry.
        slack: how near two places along a lap count as one, by when.
        bare: end laps over granules that nobody said are embedded.
    """

    listed: dict[str, Row]
    twice: frozenset[str]
    covers: dict[str, Cover]
    warned: frozenset[str]
    corrected: dict[str, tuple[str, ...]]
    slack: Tolerances
    bare: frozenset[str] = frozenset()

    def judged(self, key: str, rows: Rows, on_side: Rows) -> Judged:
        """A seam's state, its flags, and the walks that disagree on it.

        Args:
            on_side: runs and walks of the side lap it lies on, where it is a T-joint.
        """
        seam, cover = self.listed.get(key), self.covers.get(key)
        counted = _counted(rows, cover)
        if seam and seam["joins"]:
            record = _joint(seam, counted, _counted(on_side, cover), self)
        else:
            record = _record(seam, counted, self)
        state = state_of(record)
        probed = {f["id"] for f in rows.get("findings", []) if f["how"] == "probed"}
        found = [f for f in record.findings if f.id in probed]
        apart = disagreements(found, record.walks, record.mends, record.runs)
        flags = dict.fromkeys([*state.flags, *self._flags(key, rows, bool(apart))])
        return Judged(state, tuple(flags), apart)

    def hidden(self, key: str) -> list[Stretch]:
        """The stretches of a seam that the next ply hides; of one hidden whole, as far as can be."""
        cover = self.covers.get(key)
        if cover is None:
            return []
        return [EVERYWHERE] if self._all_hidden(key, cover) else cover.stretches

    def _all_hidden(self, key: str, cover: Cover) -> bool:
        seam = self.listed.get(key)
        return cover.all_of(seam["length_m"] if seam else None, self.slack)

    def _flags(self, key: str, rows: Rows, apart: bool) -> Iterator[str]:
        """Flags that stand beside those of the state."""
        cover = self.covers.get(key)
        if key in self.twice:
            yield "listed twice"
        if cover is not None:
            yield "covered" if self._all_hidden(key, cover) else "covered in part"
            if cover.unprobed:
                yield "covered unprobed"
        if key in self.bare and rows.get("runs"):
            yield "granules not embedded"
        yield from self.corrected.get(key, ())
        yield from (m for table in ON_SEAMS for row in rows.get(table, ()) for m in row["marks"])
        seam = self.listed.get(key)
        if seam and odd(seam["name"]):
            yield ODD
        if apart:
            yield "walks disagree"
        if cover and any(cover.since(r) for part in rows.values() for r in part):
            yield "worked on after it was covered"
        if cover and any(cover.entered_since(w) for w in rows.get("walks", [])):
            yield "entered after it was covered"


def in_reach(found: SeamSeen) -> list[Stretch]:
    """Where a seam of the roof is unprobed and not hidden: what somebody can walk to."""
    return minus(found["state"].unprobed, found["hidden"])


def name_of(seam: Row | None, rows: Rows) -> str:
    """A seam's name as listed, else as first typed."""
    if seam:
        return str(seam["name"])
    return str(next(r["seam"] for table in ON_SEAMS for r in rows.get(table, ())))


def _counted(rows: Rows, cover: Cover | None) -> Rows:
    """A seam's rows as they count: nobody probes what the next ply hides.

    Nor does a walk count that was entered after it, for a time before: nobody can look again.
    """
    if cover is None:
        return rows
    return {**rows, "walks": cover.counted(rows.get("walks", []))}


def _joint(seam: Row, rows: Rows, side: Rows, beside: Beside) -> SeamRecord:
    """A T-joint: welded and probed with the side lap it lies on, with findings of its own.

    It has no length: what reaches its place along the side lap is a point of it.
    """
    at = seam["joins_at_m"]

    def here(row: Row) -> bool:
        end = row["end_m"]
        return end is not None and covers(
            [ordered(row["start_m"], end)], (at, at), beside.slack.at(row["seen_utc"])
        )

    point = {"start_m": 0.0, "end_m": 0.0}
    joined = dict(rows)
    for table in ("runs", "walks"):
        joined[table] = rows.get(table, []) + [
            {**r, **point} for r in side.get(table, []) if here(r)
        ]
    return _record({**seam, "length_m": None}, joined, beside)


def _record(seam: Row | None, rows: Rows, beside: Beside) -> SeamRecord:
    slack = beside.slack.at
    return SeamRecord(
        length=seam["length_m"] if seam else None,
        known=seam is not None,
        loose_finishes=len(rows.get("finishes", [])),
        runs=tuple(
            Run(
                r["id"],
                r["start_m"],
                r["end_m"],
                _when(r),
                r["seen_by"],
                r["id"] in beside.warned,
                r["cold_utc"],
                slack(r["finished_utc"] or r["seen_utc"]),
            )
            for r in rows.get("runs", [])
        ),
        walks=tuple(
            Walk(
                w["start_m"],
                w["end_m"],
                _when(w),
                w["seen_by"],
                w["id"],
                w["started_utc"],
                slack(w["seen_utc"]),
            )
            for w in rows.get("walks", [])
        ),
        findings=tuple(
            Found(
                f["id"],
                f["name"],
                f["start_m"],
                f["end_m"],
                _when(f),
                f["walk"],
                slack(f["seen_utc"]),
            )
            for f in rows.get("findings", [])
        ),
        mends=tuple(
            Mend(
                m["finding"],
                m["start_m"],
                m["end_m"],
                _when(m),
                m["cold_utc"],
                slack(m["seen_utc"]),
            )
            for m in rows.get("mends", [])
        ),
    )


def _when(row: Row) -> tuple[str, int]:
    return row["seen_utc"], row["tick"]
