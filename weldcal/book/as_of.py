"""The book as it was at the end of a day gone by.

Invariant: the book itself is not touched: a copy in memory holds what was seen by then, and
its tables follow from that. Paper typed up later counts for the day it tells of.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta

from weldcal.book.job_reader import JobReader
from weldcal.records.fields import same_name
from weldcal.records.times import zone

# What a job is set up with: it has no moment at which it was seen.
_SET_UP = {"job", "person", "sheet", "machine", "instrument"}


@contextmanager
def as_of(reader: JobReader, day: str) -> Iterator[None]:
    """Everything asked within is answered as of the end of a day of the job.

    Args:
        reader: of the job.
        day: the job's local day, ISO.
    """
    begins = datetime.fromisoformat(day).replace(tzinfo=zone(reader.job.zone))
    end = (begins + timedelta(days=1, hours=reader.job.day_begins)).astimezone(UTC)
    copy = sqlite3.connect(":memory:", isolation_level=None)
    reader.reading().backup(copy)
    _forget_after(copy, end)
    copy.row_factory = sqlite3.Row
    try:
        with reader.instead(copy, lambda: end - timedelta(seconds=1)):
            yield
    finally:
        copy.close()


def _forget_after(copy: sqlite3.Connection, end: datetime) -> None:
    """Leave out of a copy what was seen after a moment, and derive its tables anew."""
    from weldcal.tables import schema

    late: list[str] = []
    seams: dict[str, str] = {}  # hash -> key of a seam listed later
    on: set[str] = set()  # keys of seams that something kept lies on
    for hash_, kind, body in copy.execute("SELECT hash, kind, body FROM entries").fetchall():
        entry = json.loads(body)
        payload: dict[str, object] = entry["payload"]
        seen, seam = payload.get("seen"), payload.get("seam")
        at = str(seen["at"] if isinstance(seen, dict) and "at" in seen else entry["at"])
        if kind in _SET_UP or datetime.fromisoformat(at) < end:
            if kind != "seam" and isinstance(seam, str):
                on.add(same_name(seam))
        elif kind == "seam":
            seams[hash_] = same_name(str(payload["name"]))
        else:
            late.append(hash_)
    # A list typed up after the work it tells of is still its list.
    late += [hash_ for hash_, key in seams.items() if key not in on]
    copy.execute("DROP TRIGGER IF EXISTS entries_no_delete")
    copy.executemany("DELETE FROM entries WHERE hash = ?", [(one,) for one in late])
    schema.rebuild(copy)
