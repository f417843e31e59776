"""The book as it was at the end of a past day.

Invariant: the book itself is not touched: a copy on disk, in no folder, holds what was seen by
then, and its tables follow from that. Paper typed up later counts for the day it tells of.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta

from weldcal.book.job_reader import JobReader
from weldcal.log import chain, store
from weldcal.log.entry import Entry
from weldcal.records.fields import same_name
from weldcal.records.times import moment_of, zone

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
    copy = sqlite3.connect("", isolation_level=None)  # a file of SQLite's own, gone when closed
    try:
        _copy_until(reader.reading(), copy, end)
        copy.row_factory = sqlite3.Row
        with reader.instead(copy, lambda: end - timedelta(seconds=1)):
            yield
    finally:
        copy.close()


def _copy_until(source: sqlite3.Connection, copy: sqlite3.Connection, end: datetime) -> None:
    """Copy what was seen before a moment, and derive its tables."""
    from weldcal.tables import schema

    copy.execute("PRAGMA journal_mode = OFF")
    copy.execute("PRAGMA cache_size = -32768")
    copy.executescript(store.ENTRIES_SQL)
    copy.execute("DROP TRIGGER entries_no_delete")
    copy.execute("BEGIN")
    local = source.execute("SELECT name, value FROM local")
    copy.executemany("INSERT INTO local VALUES (?, ?)", map(tuple, local))
    later: dict[str, str] = {}  # hash -> key of a seam listed later
    on: set[str] = set()  # keys of seams that something kept lies on
    chain.insert(copy, _seen_before(source, end, later, on))
    # A list typed up after the work it tells of is still its list.
    none = [(hash_,) for hash_, key in later.items() if key not in on]
    copy.executemany("DELETE FROM entries WHERE hash = ?", none)
    copy.execute("COMMIT")
    schema.rebuild(copy)


def _seen_before(
    source: sqlite3.Connection, end: datetime, later: dict[str, str], on: set[str]
) -> Iterator[Entry]:
    """Entries of what was seen before a moment, and all listed seams.

    Args:
        source: the book.
        end: the moment.
        later: filled with the seams listed after it: hash -> key.
        on: filled with the keys of seams that something seen before it lies on.
    """
    for entry in chain.entries_in_any_order(source):
        seen = entry.payload.get("seen")
        at = moment_of(seen["at"] if isinstance(seen, dict) and "at" in seen else entry.at)
        if entry.kind in _SET_UP or at is None or at < end:
            seam = entry.payload.get("seam")
            if entry.kind != "seam" and isinstance(seam, str):
                on.add(same_name(seam))
        elif entry.kind == "seam":
            later[entry.hash] = same_name(str(entry.payload.get("name")))
        else:
            continue
        yield entry
