"""Questions about the record's independence, counted from its tables.

Invariant: nothing is judged here: who took a failure back, what was entered late,
who probed whose lap. The page says beside each number what it counts.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations
from typing import TYPE_CHECKING, TypedDict

from weldcal.book.core import Named
from weldcal.records.odd_names import odd, skeleton
from weldcal.row_types.record import WithdrawnRow
from weldcal.row_types.site import HotWorkRow
from weldcal.row_types.work import WalkRow
from weldcal.views.dossier import SeamFacts, Tell
from weldcal.views.rows import MarkedWalk

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.marks import Marking

_MOST = 12
# Path of a value, its last part -> what it says of a failure.
_FAILED = {"parted": ("at the lap",), "bond": ("cold",), "bubbling": ("heavy",)}
_LATE_ON = ("runs", "bleeds", "walks", "findings", "mends", "peels")


class _Welded(TypedDict):
    """Who welded on a seam."""

    seam_key: str
    seen_by: str
    finished_by: str | None


class _Corrected(TypedDict):
    """A correction, by whom, of what; `old` and `new` are JSON."""

    path: str
    old: str
    new: str
    by_whom: str
    id: str
    name: str
    seam_key: str | None
    seen_by: str


class _Span(TypedDict):
    """From when to when somebody was on a seam, UTC."""

    id: str
    name: str
    seam_key: str | None
    seen_by: str
    a: str
    z: str


class _Checked(TypedDict):
    """A seam, and whether a bleed check lies on it."""

    seam: str
    checked: int


def tell(reader: JobReader, marks: Marking, seams: Sequence[SeamFacts]) -> list[Tell]:
    """Every question, counted.

    Args:
        reader, marks: of the job.
        seams: its seams, summed up.
    """
    welders = _welders(reader)
    return [
        _undone(reader, welders),
        _amended(reader, welders),
        _late(reader),
        _flagged("entered_after_cover", seams, "entered after it was covered"),
        _flagged("worked_on_after_cover", seams, "worked on after it was covered"),
        _marked(reader, marks, "too_fast", "walked too fast to probe"),
        _flagged("too_soon", seams, "probed warm"),
        _two_places(reader),
        _flagged("self_probed", seams, "probed by its operator", of_walked=True),
        *_days(reader),
        _no_bleed(reader),
        _alike(reader),
    ]


def _named(code: str, names: Iterable[str], of: int | None = None, **by: int) -> Tell:
    every = list(names)
    return Tell(code, len(every), of, tuple(dict.fromkeys(every))[:_MOST], by)


def _welders(reader: JobReader) -> dict[str, set[str]]:
    """Seam key -> who welded it."""
    by_seam: dict[str, set[str]] = {}
    for row in reader.part(_Welded, "runs"):
        by_seam.setdefault(row["seam_key"], set()).update(
            name for name in (row["seen_by"], row["finished_by"]) if name
        )
    return by_seam


def _who(by: str, finder: str | None, welders: set[str]) -> str:
    """The welder of the seam first, even if the finder is the same person."""
    return "welder" if by in welders else "finder" if by == finder else "other"


def _undone(reader: JobReader, welders: dict[str, set[str]]) -> Tell:
    """Findings and failed samples and strips that were taken back."""
    rows = reader.of_job(WithdrawnRow, 'AND id = "of" ORDER BY withdrawn_utc')
    failed = [row for row in rows if _failure(row["kind"], json.loads(row["said"] or "{}"))]
    (total,) = reader.each_of(int, "count(*)", "findings")
    by = Counter(
        _who(r["withdrawn_by"], r["seen_by"], _welded(r["seam_key"], r["seen_by"], welders))
        for r in failed
    )
    withdrawn = [row for row in failed if row["kind"] == "finding"]
    return _named("undone", [r["name"] or "" for r in failed], total + len(withdrawn), **by)


def _welded(seam_key: str | None, strip_by: str, welders: dict[str, set[str]]) -> set[str]:
    """Who welded it: the seam, or, where it lies on none, the strip."""
    return {strip_by} if seam_key is None else welders.get(seam_key, set())


def _failure(kind: str, values: dict[str, object]) -> bool:
    if kind == "finding":
        return values.get("kind") != "cut"
    return any(values.get(name) in bad for name, bad in _FAILED.items())


def _amended(reader: JobReader, welders: dict[str, set[str]]) -> Tell:
    """Failures that a correction made something else."""
    rows = reader.select(
        _Corrected,
        "SELECT a.path, a.old, a.new, a.seen_by AS by_whom, t.id, t.name, t.seam_key, t.seen_by FROM amendments a "
        "JOIN (SELECT id, name, seam_key, seen_by FROM peels UNION ALL "
        "SELECT id, name, NULL, seen_by FROM strips UNION ALL "
        'SELECT id, name, seam_key, seen_by FROM bleeds) t ON t.id = a."of" '
        "WHERE a.job = ? AND a.withdrawn = 0 ORDER BY a.tick, a.id",
        (reader.job.id,),
    )
    into_pass = [row for row in rows if _into_pass(row)]
    by = Counter(
        _who(r["by_whom"], r["seen_by"], _welded(r["seam_key"], r["seen_by"], welders))
        for r in into_pass
    )
    return _named("amended", [r["name"] for r in into_pass], None, **by)


def _into_pass(row: _Corrected) -> bool:
    bad = _FAILED.get(row["path"].rpartition(":")[2].rpartition(".")[2], ())
    return json.loads(row["old"]) in bad and json.loads(row["new"]) not in bad


def _late(reader: JobReader) -> Tell:
    found: list[str] = []
    of = 0
    for table in _LATE_ON:
        of += reader.each_of(int, "count(*)", table)[0]
        late = reader.part(Named, table, "AND flags LIKE '%\"late\"%'")
        found += [row["name"] for row in late]
    return _named("late", found, of)


def _flagged(code: str, seams: Sequence[SeamFacts], flag: str, *, of_walked: bool = False) -> Tell:
    asked = [s for s in seams if s.walks or not of_walked]
    return _named(code, [s.name for s in asked if flag in s.flags], len(asked))


def _marked(reader: JobReader, marks: Marking, code: str, mark: str) -> Tell:
    walks = reader.of_job(WalkRow)
    rows = marks.marked(MarkedWalk, walks)
    timed = [row for row in rows if row["started_utc"] and row["ended_utc"]]
    return _named(code, [row["name"] for row in timed if mark in row["marks"]], len(timed))


def _two_places(reader: JobReader) -> Tell:
    """Walks and runs of one person on two seams at one time."""
    spans: dict[str, list[tuple[str, str, str, str]]] = {}
    of = 0
    for table, begun, ended in (
        ("walks", "started_utc", "ended_utc"),
        ("runs", "seen_utc", "finished_utc"),
    ):
        for row in reader.select(
            _Span,
            f"SELECT id, name, seam_key, seen_by, {begun} AS a, {ended} AS z FROM {table} "
            f"WHERE job = ? AND {begun} IS NOT NULL AND {ended} IS NOT NULL",
            (reader.job.id,),
        ):
            of += 1
            span = row["a"], row["z"], row["seam_key"] or "", row["name"]
            spans.setdefault(row["seen_by"], []).append(span)
    names = [pair for own in spans.values() for pair in _overlapping(sorted(own))]
    return _named("two_places", names, of)


def _overlapping(own: list[tuple[str, str, str, str]]) -> Iterator[str]:
    """`W3 + R2` for each that begins while an earlier one still goes on elsewhere."""
    longest = ("", "", "", "")
    for one in own:
        if one[0] < longest[1] and one[2] != longest[2]:
            yield f"{longest[3]} + {one[3]}"
        longest = max(longest, one, key=lambda span: span[1])


def _days(reader: JobReader) -> Iterator[Tell]:
    """Days welded without hot work recorded, and hot work without its whole watch."""
    from weldcal.book.site import watched_whole, welded_without_hot_work

    welded = reader.each_of(str, "DISTINCT day", "runs", "ORDER BY day")
    work = reader.of_job(HotWorkRow, "ORDER BY seen_utc")
    yield _named("no_permit", welded_without_hot_work(reader), len(welded))
    short = [row["name"] for row in work if not watched_whole(row)]
    yield _named("no_watch", short, len(work))


def _no_bleed(reader: JobReader) -> Tell:
    """Seams welded by machine on which nobody read the bleed-out."""
    rows = reader.select(
        _Checked,
        "SELECT min(seam) AS seam, seam_key IN (SELECT seam_key FROM bleeds WHERE job = ?1) AS checked "
        "FROM runs WHERE job = ?1 AND by_hand = 0 GROUP BY seam_key ORDER BY min(tick), seam_key",
        (reader.job.id,),
    )
    return _named("no_bleed", [row["seam"] for row in rows if not row["checked"]], len(rows))


def _alike(reader: JobReader) -> Tell:
    """Names with signs nobody sees, and pairs of names that look the same."""
    found, of = [], 0
    for table in ("people", "machines", "sheets", "seams"):
        names = list(dict.fromkeys(reader.names_in(table)))
        of += len(names)
        found += [name for name in names if odd(name)]
        looks: dict[str, list[str]] = {}
        for name in names:
            looks.setdefault(skeleton(name), []).append(name)
        found += [f"{a} / {b}" for same in looks.values() for a, b in combinations(same[:_MOST], 2)]
    return _named("alike", found, of)
