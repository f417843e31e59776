"""What the dossier, the evening page and the history hold: plain values, and how rows become them.

Invariant: nothing here reads a book; lengths are metres, times ISO 8601, names
as they are or put out by `Names`.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from msgspec import Struct

from weldcal.book.dialling import Asked
from weldcal.book.faulting import SAMPLE
from weldcal.book.sampling import BleedChart
from weldcal.book.seams import Judged, Row, Rows, name_of
from weldcal.book.standing import GoAhead
from weldcal.log import chain
from weldcal.quality.coverage import covers, ordered, total
from weldcal.quality.doubt import Doubts
from weldcal.quality.faults import Piece
from weldcal.quality.probing import Disagreement
from weldcal.quality.seam import SeamState
from weldcal.quantities import Quantity
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.calibration import Advice

_FREE_TEXT = (
    "note",
    "said",
    "why",
    "done",
    "method",
    "tool",
    "place",
    "label",
    "how",
    "description",
    "watch_found",
)


class SeamFacts(Struct, frozen=True):
    """One seam, summed up. Lengths in m.

    Attributes:
        place: area, then x and y of both ends, m; None where the plan has none.
        faults: findings other than cuts for samples.
        fault_m: length of the union of the faults.
        probed_faults: kind -> how many of the faults lie on lap that was probed.
        marks: (what, from, to), `what` one of open, mended, closed, sample, mend.
        urgency: sorts the seams that want a page of their own, the worst first;
            empty for a seam with nothing to tell.
    """

    key: str
    name: str
    listed: bool
    kind: str | None
    lap: str | None
    length_m: float | None
    place: tuple[str | None, float, float, float, float] | None
    state: SeamState
    flags: tuple[str, ...]
    disagreements: tuple[Disagreement, ...]
    runs: int
    walks: int
    faults: int
    fault_m: float
    probed_faults: dict[str, int]
    mends: int
    samples: int
    marks: tuple[tuple[str, float, float], ...]
    urgency: tuple[int, ...]


class Counted(Struct):
    """How many records bear a mark, and the first of them by name."""

    n: int = 0
    names: list[str] = []
    worst_h: float = 0.0


class DayFit(Struct, frozen=True):
    """The fit for one spell of strips: one day, machine, sheet, lap kind and weather.

    Attributes:
        at: conditions the curve is drawn for, SI.
        points: (strip, speed m/min, reading mm, met the limits).
        curve: (speed, median, 5 %, 95 %) of the next strip, m/min and mm.
        used: (seam, speed m/min, length m) of the runs that stand on these strips.
    """

    day: str
    machine: str
    sheet: str
    lap: str
    nozzle_c: float
    at: dict[str, float | None]
    low_mm: float
    aim_mm: float
    high_mm: float
    strips: int
    points: list[tuple[str, float, float, bool]]
    curve: list[tuple[float, float, float, float]]
    used: list[tuple[str, float, float]]


class Dossier(Struct):
    """All that the dossier tells of a job.

    Attributes:
        unwatched: names of hot work whose end, or whole fire watch, is not recorded.
        kinds: kind of fault on probed lap and how many, the most frequent kind first.
        pieces: the probed part of each run, from which it is learnt how faults clump.
    """

    job: Row
    made: str
    version: str
    people_shown: bool
    lists: dict[str, list[Row]]
    limits: list[Row]
    limit_changes: list[Row]
    seams: list[SeamFacts]
    traces: list[Row]
    untraced: int
    marks: dict[str, Counted]
    kinds: list[tuple[str, int]]
    pieces: list[Piece]
    days: dict[str, dict[str, int]]
    strips: list[Row]
    conditions: list[Row]
    runs: list[Row]
    bleeds: list[Row]
    peels: list[Row]
    fits: list[DayFit]
    unfitted: int
    warnings: list[Row]
    amendments: list[Row]
    withdrawn: list[Row]
    seals: list[Row]
    entries: list[Row]
    heads: list[Row]
    charts: list[BleedChart]
    doubts: Doubts | None
    faults: list[chain.Fault]
    clocks: list[chain.Fault]
    unwatched: list[str]
    other: dict[str, list[Row]]


class Evening(Struct):
    """All that the evening page tells of a day."""

    job: Row
    day: str
    made: str
    seams: list[SeamFacts]
    welded_m: float
    probed_m: float
    runs: list[Row]
    walks: list[Row]
    findings: list[Row]
    mends: list[Row]
    strips: list[Row]
    go_aheads: list[GoAhead]
    doubts: Doubts | None
    warnings: list[Row]
    started: list[Started]
    ambient_c: float | None
    ambient_from: str | None
    gone_by: bool
    withdrawn: list[Row]


class Started(Struct, frozen=True):
    """Tomorrow's starting speed for one machine, sheet and lap kind; never recorded as advice."""

    asked: Asked | None
    advice: Advice | None
    machine: str
    sheet: str
    lap: str
    why_not: Exception | None = None


class Names:
    """Names as they are, or "person 1", "person 2" in the order met."""

    def __init__(self, shown: bool) -> None:
        self.shown = shown
        self._known: dict[str, str] = {}

    def __call__(self, name: str) -> str:
        """A name as it is to be shown."""
        if self.shown or not name:
            return name
        if name not in self._known:
            self._known[name] = _("person {n}", n=len(self._known) + 1)
        return self._known[name]

    def all(self, rows: Iterable[Row]) -> list[Row]:
        """Rows without names."""
        return [self.mask(row) for row in rows]

    def mask(self, row: Row) -> Row:
        """A row without names; names that free text repeats are put out of it as well."""
        if self.shown:
            return row
        masked = {
            k: self(v) if v and (k.endswith("_by") or k in ("to", "who")) else v
            for k, v in row.items()
        }
        if row.get("path") == "seen.by":
            for k in ("old", "new"):
                masked[k] = json.dumps(self(json.loads(row[k])), ensure_ascii=False)
        for k in _FREE_TEXT:
            if isinstance(row.get(k), str):
                masked[k] = self._put_out(row[k])
        return masked

    def _put_out(self, text: str) -> str:
        for name, put in self._known.items():
            if len(name) > 2:
                text = re.sub(rf"(?<!\w){re.escape(name)}(?!\w)", put, text)
        return text


_DATED = ("late", "ahead of the clock")


def facts(key: str, seam: Row | None, rows: Rows, judged: Judged) -> SeamFacts:
    """Sum one seam up from its rows, marked and in the order seen, and what they were judged to be."""
    state, flags = judged.state, judged.flags
    findings = rows.get("findings", [])
    faults = [f for f in findings if f["kind"] != SAMPLE]
    ever_warned = any(r["warnings"] != "[]" for r in rows.get("runs", []))
    odd = bool(findings) or ever_warned or bool({"amended", "conflict"} & set(flags))
    worst = (
        not state.open,
        not state.mended,
        "conflict" not in flags,
        "warned" not in flags,
        "amended" not in flags,
        -len(faults),
    )
    return SeamFacts(
        key=key,
        name=name_of(seam, rows),
        listed=seam is not None,
        kind=seam["kind"] if seam else None,
        lap=seam["lap"] if seam else None,
        length_m=seam["length_m"] if seam else None,
        place=_place(seam),
        state=state,
        flags=flags,
        disagreements=judged.disagreements,
        runs=len(rows.get("runs", [])),
        walks=len(rows.get("walks", [])),
        faults=len(faults),
        fault_m=total(ordered(f["start_m"], f["end_m"]) for f in faults),
        probed_faults=Counter(f["kind"] for f in faults if _on_probed(f, state)),
        mends=len(rows.get("mends", [])),
        samples=len(rows.get("peels", [])),
        marks=tuple(_marks_of(state, rows)),
        urgency=tuple(map(int, worst)) if odd else (),
    )


def _on_probed(fault: Row, state: SeamState) -> bool:
    """Whether a fault lies on welded lap that was probed: only there do faults and length tell a rate."""
    middle = (fault["start_m"] + fault["end_m"]) / 2
    here = (middle, middle)
    return covers(state.welded, here) and not covers(state.unprobed, here)


def _place(seam: Row | None) -> tuple[str | None, float, float, float, float] | None:
    ends = [seam.get(c) for c in ("x0_m", "y0_m", "x1_m", "y1_m")] if seam else [None]
    if seam is None or any(end is None for end in ends):
        return None
    x0, y0, x1, y1 = (float(end) for end in ends if end is not None)
    return seam.get("area"), x0, y0, x1, y1


def _marks_of(state: SeamState, rows: dict[str, list[Row]]) -> Iterator[tuple[str, float, float]]:
    for finding in rows.get("findings", []):
        name = finding["name"]
        what = "open" if name in state.open else "mended" if name in state.mended else "closed"
        if finding["kind"] != SAMPLE or what != "closed":
            yield what, *ordered(finding["start_m"], finding["end_m"])
    for mend in rows.get("mends", []):
        yield "mend", *ordered(mend["start_m"], mend["end_m"])
    for peel in rows.get("peels", []):
        if peel["at_m"] is not None:
            yield "sample", peel["at_m"], peel["at_m"]


def count_marks(marks: dict[str, Counted], table: str, rows: Iterable[Row]) -> None:
    """Count the marks of rows into `marks`."""
    for row in rows:
        found = list(row["marks"])
        if row.get("carried", "{}") not in ("{}", None):
            found.append("conditions carried over")
        for name in found:
            counted = marks.setdefault(name, Counted(names=[]))
            counted.n += 1
            if len(counted.names) < 8:
                counted.names.append(row["name"] or row.get("seam") or table)
            if name in _DATED:
                counted.worst_h = max(counted.worst_h, abs(row["late_h"] or 0.0))


def by_seam_m(rows: list[Row]) -> dict[str, float]:
    """Length of the union of stretches on each seam, m."""
    found: dict[str, list[tuple[float, float]]] = {}
    for row in rows:
        if row["end_m"] is not None:
            found.setdefault(row["seam_key"], []).append(ordered(row["start_m"], row["end_m"]))
    return {key: total(parts) for key, parts in found.items()}


def si_number(value: Quantity) -> float:
    """The number in mm where it is a width, else as it stands."""
    return value.si("mm") if value.dimension == "length" else float(value.number)
