"""What the office knows of its books: which packs were taken in, which book holds what.

Invariant: everything here follows from the books and the packs; lost, it is made anew. What
is not in it yet, because the power went, is found and put right when the office is opened.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Iterable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from msgspec import Struct

from weldcal.errors import BookTrouble, NotABook, NotWritten, reason
from weldcal.log import store
from weldcal.records.fields import same_name
from weldcal.views.office import PeopleGroup
from weldcal.words import mark

NAME = "office.sqlite"
ALONE = "in-use.sqlite"
BOOKS = "books"
JOB, DEVICE, PERSON = "job", "device", "person"
_SQL = """
CREATE TABLE IF NOT EXISTS packs (sha256 TEXT PRIMARY KEY, file TEXT, book TEXT) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS held (
    what TEXT, key TEXT, book TEXT, name TEXT, PRIMARY KEY (what, key, book)
) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS local (name TEXT PRIMARY KEY, value TEXT) WITHOUT ROWID;
"""
_SINCE = "SELECT count(*), (SELECT value FROM local WHERE name = ?) FROM packs"


class ListBroken(BookTrouble):
    """The office's list cannot be read; it follows from the books and the packs."""

    sentence = mark(
        "{file}, the office's list, cannot be read ({why}). Move it out of the office's folder "
        "and take every pack in again: the list is made anew."
    )


@contextmanager
def _trouble(path: Path) -> Iterator[None]:
    """SQLite's errors as ours.

    Raises:
        BookTrouble: in words of the office.
    """
    try:
        with store.trouble(path):
            yield
    except NotABook as error:
        raise ListBroken(file=path, why=error.values["why"]) from None


class Holds(Struct, frozen=True):
    """What a pack or a book has in it: devices, jobs (id -> name), people (folded -> as typed)."""

    devices: frozenset[str]
    jobs: dict[str, str]
    people: dict[str, str]


class Ledger:
    """The office's list, in a file of its own."""

    def __init__(self, folder: Path) -> None:
        """Open the list; it is made where there is none.

        Raises:
            NotWritten: the folder cannot be written.
        """
        self.path = folder / NAME
        try:
            (folder / BOOKS).mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise NotWritten(file=folder, why=reason(error)) from None
        with _trouble(self.path):
            # One at a time: held as long as the office is open, given back by whatever ends it.
            self._alone = sqlite3.connect(folder / ALONE, timeout=0, isolation_level=None)
            self._alone.execute("BEGIN EXCLUSIVE")
            self._connection = sqlite3.connect(self.path, timeout=30, isolation_level=None)
            try:
                self._connection.executescript(_SQL)
            except sqlite3.Error:
                self.close()
                raise

    def close(self) -> None:
        """Close the file."""
        self._connection.close()
        self._alone.close()

    def _rows(self, sql: str, values: Iterable[object] = ()) -> list[tuple[str, ...]]:
        with _trouble(self.path):
            return self._connection.execute(sql, tuple(values)).fetchall()

    def begun(self) -> bool:
        """Whether a first folder was taken in whole: who comes after it and is not known is a stranger."""
        return bool(self._rows("SELECT 1 FROM local WHERE name = 'begun'"))

    def begin(self) -> None:
        """Note that a first folder was taken in whole."""
        self._rows("INSERT OR REPLACE INTO local VALUES ('begun', '1')")

    def written(self, lake: str) -> None:
        """Note that the tables at this path hold every pack taken in so far."""
        sql = "INSERT OR REPLACE INTO local SELECT ?, count(*) FROM packs"
        self._rows(sql, (_noted(self.path.parent, lake),))

    def has(self, sha256: str) -> bool:
        """Whether a pack was taken in."""
        return bool(self._rows("SELECT 1 FROM packs WHERE sha256 = ?", (sha256,)))

    def books(self) -> list[str]:
        """The books' names, in order."""
        return [book for (book,) in self._rows("SELECT DISTINCT book FROM held ORDER BY book")]

    def jobs(self) -> dict[str, str]:
        """The book of every job, by its id."""
        return dict(self._pairs("SELECT key, book FROM held WHERE what = 'job' ORDER BY key"))

    def _pairs(self, sql: str) -> list[tuple[str, str]]:
        return [(one, other) for one, other in self._rows(sql)]

    def with_any(self, holds: Holds) -> list[str]:
        """Books that hold one of these devices or jobs, in order."""
        found: set[str] = set()
        for what, keys in ((DEVICE, holds.devices), (JOB, holds.jobs)):
            for key in keys:
                sql = "SELECT book FROM held WHERE what = ? AND key = ?"
                found.update(book for (book,) in self._rows(sql, (what, key)))
        return sorted(found)

    def knows(self, holds: Holds) -> bool:
        """Whether one of these devices, jobs or people is known here."""
        if self.with_any(holds):
            return True
        sql = "SELECT 1 FROM held WHERE what = 'person' AND key = ?"
        return any(self._rows(sql, (person,)) for person in holds.people)

    def note(self, book: str, holds: Holds, pack: tuple[str, str] | None = None) -> None:
        """Note what a book holds, and the pack (SHA-256, file) that brought it."""
        named = [
            *((DEVICE, key, book, key) for key in holds.devices),
            *((JOB, key, book, name) for key, name in holds.jobs.items()),
            *((PERSON, key, book, name) for key, name in holds.people.items()),
        ]
        with _trouble(self.path), store.transaction(self._connection):
            self._connection.executemany("INSERT OR REPLACE INTO held VALUES (?, ?, ?, ?)", named)
            if pack:
                self._connection.execute(
                    "INSERT OR REPLACE INTO packs VALUES (?, ?, ?)", (*pack, book)
                )

    def move(self, book: str, into: str) -> None:
        """What one book held, another holds from now on."""
        with _trouble(self.path), store.transaction(self._connection):
            self._connection.execute(
                "INSERT OR REPLACE INTO held SELECT what, key, ?, name FROM held WHERE book = ?",
                (into, book),
            )
            self._connection.execute("DELETE FROM held WHERE book = ?", (book,))
            self._connection.execute("UPDATE packs SET book = ? WHERE book = ?", (into, book))

    def groups(self) -> tuple[PeopleGroup, ...]:
        """Books that share people, in groups; the largest first."""
        at = {book: {book} for book in self.books()}
        people = self._rows("SELECT key, book FROM held WHERE what = 'person' ORDER BY key")
        first: dict[str, str] = {}
        for person, book in people:
            one, other = at[first.setdefault(person, book)], at[book]
            if one is not other:
                one |= other
                at.update(dict.fromkeys(other, one))
        found = {id(books): books for books in at.values()}
        groups = [self._group(sorted(books)) for books in found.values()]
        return tuple(sorted(groups, key=lambda group: (-len(group.books), group.books)))

    def _group(self, books: list[str]) -> PeopleGroup:
        names: dict[str, set[str]] = {JOB: set(), PERSON: set()}
        for book in books:
            sql = "SELECT what, name FROM held WHERE book = ? AND what <> 'device'"
            for what, name in self._rows(sql, (book,)):
                names[what].add(name)
        return PeopleGroup(tuple(books), tuple(sorted(names[JOB])), tuple(sorted(names[PERSON])))


def since_written(folder: Path, lake: str, jobs: Collection[str]) -> int | None:
    """How many packs came into an office since the tables at a path were written.

    Args:
        folder: the office's; it may be another machine's, and so not there.
        lake: the path.
        jobs: ids of the jobs that the tables hold.

    Returns:
        0 too where the tables are another office's; None where it was not noted when they were
        written: by a version that did not yet note it, or copied from another path.
    """
    try:
        uri = f"{(folder / NAME).resolve().as_uri()}?mode=ro"
        with closing(sqlite3.connect(uri, uri=True)) as connection:
            packs, noted = connection.execute(_SINCE, (_noted(folder, lake),)).fetchone()
            held = connection.execute("SELECT key FROM held WHERE what = 'job'").fetchall()
    except sqlite3.Error:
        return 0
    if noted is not None:
        return max(0, int(packs) - int(noted))
    return None if packs and any(job in jobs for (job,) in held) else 0


def _noted(folder: Path, lake: str) -> str:
    """Under which name it is noted that tables were written; those in the office's folder may
    move with it."""
    if "://" in lake:
        return f"lake {lake}"
    home, path = folder.absolute(), Path(lake).absolute()
    return f"lake {path.relative_to(home) if path.is_relative_to(home) else path}"


def folded(names: Iterable[str]) -> dict[str, str]:
    """Names of people, by the form under which two spellings are one."""
    return {same_name(name): name for name in names if name}
