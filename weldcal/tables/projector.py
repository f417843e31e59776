"""From entries to rows: the one place that says what the tables hold.

Invariant: a subject's rows depend on its own entries only (and on the hour its
job's day begins), in the order of the chain; projecting an entry when it is
made, and rebuilding everything later, give the same content. Written through
the standard library's sqlite3 in the transaction of the entry.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from importlib import import_module
from itertools import groupby, islice
from operator import attrgetter, itemgetter
from typing import TYPE_CHECKING

from weldcal.errors import BadEntry, WeldcalError
from weldcal.log.chain import count_entries, entries_about
from weldcal.log.entry import Entry, unopened
from weldcal.long_work import Progress, no_progress, with_progress
from weldcal.tables.columns import TAKEN_BACK, Maker, Row, as_json, job_of, late_h, utc
from weldcal.tables.fold import Subject, fold
from weldcal.tables.schema import TABLES
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.row_types.record import AmendmentRow, WarningRow


# What is recorded all day first: most recordings need no other.
_MODULES = ("work_rows", "site_rows", "listed_rows", "record_rows")


@cache
def maker(kind: str) -> Maker | None:
    """What makes the rows of a kind of record; None where it has none.

    Args:
        kind: of its entry.
    """
    for module in _MODULES:
        rows: dict[str, Maker] = import_module(f"weldcal.tables.{module}").ROWS
        if kind in rows:
            return rows[kind]
    return None


_AT_ONCE = 500
# What is read of an entry: about, tick, device, seq, body, hash.
_Kept = tuple[str, int, str, int, str, str]
_OF_ENTRY = "about, tick, device, seq, body, hash"
_place = itemgetter(1, 2, 3)
# Entries of some kilobyte each that wait for others of their subject.
_MOST_HELD = 20_000
# All that a payload made by somebody else can raise on its way to a row.
UNREADABLE = (ValueError, KeyError, TypeError, AttributeError, ArithmeticError, WeldcalError)


def project(
    connection: sqlite3.Connection,
    subjects: Iterable[str],
    on_progress: Progress = no_progress,
    entries_by_subject: Mapping[str, list[Entry]] | None = None,
) -> None:
    """Rewrite the rows of these subjects from their entries.

    Args:
        connection: the book.
        subjects: ids of what the entries are about.
        on_progress: called with how far it is.
        entries_by_subject: all entries of each subject, in order, where the book had none before.

    Raises:
        BadEntry: an entry cannot be what its kind says; names the subject.
    """
    begins = dict(connection.execute("SELECT id, day_begins FROM jobs").fetchall())
    first = first_known(connection)
    wanted = dict.fromkeys(subjects)
    done = 0
    for chunk in in_parts(wanted):
        on_progress(_("tables"), done, len(wanted))
        done += len(chunk)
        places = ", ".join("?" * len(chunk))
        for table in ("readings", TAKEN_BACK) if entries_by_subject is None else ():
            connection.execute(f'DELETE FROM {table} WHERE "of" IN ({places})', chunk)
        rows: dict[str, list[Mapping[str, object]]] = {}
        for subject, group in _groups(connection, chunk, entries_by_subject):
            try:
                subject_rows = rows_of(list(group), begins, first.get(subject))
            except UNREADABLE as error:
                raise BadEntry(entry=subject, why=str(error)) from error
            if any(table == TAKEN_BACK for table, _row in subject_rows):
                _clear(connection, subject)
            for table, row in subject_rows:
                rows.setdefault(table, []).append(row)
        for table, table_rows in rows.items():
            _put(connection, table, table_rows)


def _groups(
    connection: sqlite3.Connection,
    chunk: list[str],
    entries_by_subject: Mapping[str, list[Entry]] | None,
) -> Iterator[tuple[str, Iterable[Entry]]]:
    """Each subject with its entries in order."""
    if entries_by_subject is not None:
        yield from ((subject, entries_by_subject[subject]) for subject in sorted(chunk))
        return
    places = ", ".join("?" * len(chunk))
    stream = connection.execute(
        f"SELECT about, body, hash FROM entries WHERE about IN ({places}) "
        "ORDER BY about, tick, device, seq",
        chunk,
    )
    for subject, group in groupby(stream, key=lambda row: row[0]):
        yield subject, (Entry(body, digest) for _about, body, digest in group)


def by_subject(entries: Iterable[Entry]) -> dict[str, list[Entry]]:
    """Entries by what they are about, in the order of the chain."""
    entries_of: dict[str, list[Entry]] = {}
    for entry in sorted(entries, key=attrgetter("says.tick", "says.device", "says.seq")):
        entries_of.setdefault(entry.says.about, []).append(entry)
    return entries_of


def fill(connection: sqlite3.Connection, on_progress: Progress = no_progress) -> None:
    """Fill empty tables with all rows, from the entries alone; what cannot be read makes none."""
    rows: dict[str, list[Mapping[str, object]]] = {}
    for table, row in derived(connection, [], on_progress):
        mine = rows.setdefault(table, [])
        mine.append(row)
        if len(mine) == _AT_ONCE:
            _put(connection, table, mine)
            mine.clear()
    for n, (table, left) in enumerate(rows.items()):
        on_progress(_("writing"), n, len(rows))
        _put(connection, table, left)


def derived(
    connection: sqlite3.Connection,
    unread: list[tuple[str, str]],
    on_progress: Progress = no_progress,
) -> Iterator[Row]:
    """All rows with their tables, subject after subject, from the entries alone.

    Args:
        connection: of the book.
        unread: filled with (subject, why) for each subject that cannot be read.
        on_progress: called with how far it is.
    """
    begins, first = derived_day_begins(connection), first_known(connection)
    for subject, mine in _subjects(connection, on_progress):
        try:
            mine.sort(key=_place)
            entries = [unopened(row[4], row[5]) for row in mine]
            subject_rows = rows_of(entries, begins, first.get(subject))
        except UNREADABLE as error:
            unread.append((subject, str(error)))
            continue
        yield from subject_rows


def _subjects(
    connection: sqlite3.Connection, on_progress: Progress
) -> Iterator[tuple[str, list[_Kept]]]:
    """Each subject with its entries: about, tick, device, seq, body, hash; in no order.

    Read in the table's own order: sorted, all of it would be written once more; by the index
    of subjects each entry would cost a page from anywhere. Where a subject has several
    entries, they are held until the last has come, and read at the end where that would be
    too many at once.
    """
    cursor = connection.cursor()
    cursor.row_factory = None
    missing: dict[str, int] = dict(
        cursor.execute("SELECT about, count(*) FROM entries GROUP BY about HAVING count(*) > 1")
    )
    waiting: dict[str, list[_Kept]] = {}
    late: dict[str, None] = {}
    entries_waiting = 0
    stream = cursor.execute(f"SELECT {_OF_ENTRY} FROM entries NOT INDEXED")
    for row in with_progress(stream, _("tables"), count_entries(connection), on_progress):
        about = row[0]
        if about not in missing:
            yield about, [row]
            continue
        if about in late:
            continue
        mine = waiting.setdefault(about, [])
        mine.append(row)
        entries_waiting += 1
        if len(mine) == missing[about]:
            entries_waiting -= len(waiting.pop(about))
            yield about, mine
        elif entries_waiting > _MOST_HELD:
            late |= dict.fromkeys(waiting)
            waiting, entries_waiting = {}, 0
    for some in in_parts(late):
        places = ", ".join("?" * len(some))
        rows = cursor.execute(
            f"SELECT {_OF_ENTRY} FROM entries WHERE about IN ({places}) ORDER BY about", some
        )
        for about, group in groupby(rows, key=itemgetter(0)):
            yield about, list(group)


def derived_day_begins(connection: sqlite3.Connection) -> dict[str, int]:
    """Each job's hour at which its day begins, from the entries: days depend on it."""
    jobs = connection.execute("SELECT about FROM entries WHERE kind = 'job'").fetchall()
    folded = [subject_of(connection, job) for (job,) in jobs]
    return {job.id: job.payload.get("day_begins", 0) for job in folded if job is not None}


def first_known(connection: sqlite3.Connection) -> dict[str, str]:
    """Id -> hash of the entry known first here, where a changed copy of it came later."""
    rows = connection.execute("SELECT name, value FROM local WHERE name LIKE 'first:%'")
    return {name.removeprefix("first:"): value for name, value in rows}


def subject_of(connection: sqlite3.Connection, about: str) -> Subject | None:
    """A subject as it stands; None where its first entry is not known here."""
    return fold(entries_about(connection, about), first_known(connection).get(about))


def note_first(connection: sqlite3.Connection, coming: Iterable[Entry]) -> None:
    """Note which entry was known first, where one of the same id comes now."""
    coming = list(coming)
    first: dict[str, str] = {}
    for some in in_parts([entry.id for entry in coming]):
        places = ", ".join("?" * len(some))
        for entry_id, digest in connection.execute(
            f"SELECT id, hash FROM entries WHERE id IN ({places}) ORDER BY tick, device, seq", some
        ):
            first.setdefault(entry_id, digest)
    for entry in coming:
        first_hash = first.get(entry.id)
        if first_hash is not None and first_hash != entry.hash:
            connection.execute(
                "INSERT OR IGNORE INTO local VALUES (?, ?)", (f"first:{entry.id}", first_hash)
            )


def in_parts(values: Iterable[str]) -> Iterator[list[str]]:
    """Values, as many at a time as one statement takes."""
    rest = iter(values)
    while some := list(islice(rest, _AT_ONCE)):
        yield some


def rows_of(
    entries: list[Entry], day_begins: dict[str, int], first: str | None = None
) -> list[Row]:
    """The rows of one subject, from its entries in order; none if its beginning is missing.

    Args:
        first: hash of the entry known first, where a changed copy of it came later.
    """
    subject = fold(entries, first)
    made_by = maker(subject.kind) if subject else None
    if subject is None or made_by is None:  # begun elsewhere, or by a newer program
        return []
    record = subject.record()
    begins = day_begins.get(subject.job or "", 0)
    own = made_by(subject, record, begins)
    if not subject.taken_back:
        return [*own, *_amendments(subject), *_warnings(subject, record)]
    from weldcal.tables import taken_back

    counting = [] if subject.withdrawn else [*own, *_warnings(subject, record)]
    return [*counting, *_amendments(subject), *taken_back.rows(subject, own)]


def _clear(connection: sqlite3.Connection, subject: str) -> None:
    """Drop what rows there are of a subject that may have been taken back since."""
    for table, columns in TABLES.items():
        connection.execute(f'DELETE FROM "{table}" WHERE id = ?', (subject,))
        if "of" in columns:
            connection.execute(f'DELETE FROM "{table}" WHERE "of" = ?', (subject,))


def _amendments(subject: Subject) -> list[Row]:
    rows: list[AmendmentRow] = [
        {
            "id": entry.id,
            "job": job_of(subject),
            "of": subject.id,
            "path": amend["path"],
            "old": as_json(amend.get("old")),
            "new": as_json(amend.get("new")),
            "why": amend["why"],
            "seen_by": amend["seen"]["by"],
            "entered_by": entry.who,
            "late_h": round(late_h(entry.at, amend["seen"]["at"]), 3),
            "entered_utc": utc(entry.at),
            "entered_local": entry.at,
            "replaces": amend["replaces"],
            "conflict": int(entry.id in subject.conflicts),
            "tick": entry.tick,
            "withdrawn": int(entry.id in subject.taken_back),
        }
        for entry, amend in subject.amendments
    ]
    return [("amendments", row) for row in rows]


def _warnings(subject: Subject, record: object) -> list[Row]:
    codes = getattr(record, "warnings", None)
    if not codes:
        return []
    done = {settle["of"]: (settle, entry) for entry, settle in subject.settled}
    rows: list[Row] = []
    for code in codes:
        warning = f"{subject.id}:{code}"
        settle, entry = done.get(warning, ({}, None))
        row: WarningRow = {
            "id": warning,
            "job": job_of(subject),
            "of": subject.id,
            "code": code,
            "done": settle.get("done"),
            "done_by": settle.get("seen", {}).get("by"),
            "done_utc": utc(entry.at) if entry else None,
            "done_local": entry.at if entry else None,
            "done_tick": entry.tick if entry else None,
        }
        rows.append(("warnings", row))
    return rows


def _put(connection: sqlite3.Connection, table: str, rows: list[Mapping[str, object]]) -> None:
    columns = list(TABLES[table])
    names = ", ".join(f'"{name}"' for name in columns)
    marks = ", ".join("?" * len(columns))
    connection.executemany(
        f'INSERT OR REPLACE INTO "{table}" ({names}) VALUES ({marks})',
        (tuple(map(row.get, columns)) for row in rows),
    )
