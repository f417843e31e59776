"""The crew's book: opened, read, written. What every verb stands on.

Invariant: one transaction holds an entry and the rows derived from it; when
`writing` returns, both are on disk.
"""

from __future__ import annotations

import shlex
import sqlite3
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from msgspec import Struct

from weldcal import settings
from weldcal.book import device
from weldcal.book.writing import LETTERS, Writer
from weldcal.errors import (
    Ambiguous,
    Missing,
    NewerBook,
    NoJob,
    NoneYet,
    NoPerson,
    Unheard,
    Withdrawn,
)
from weldcal.log import photos, store
from weldcal.records.common import Seen
from weldcal.records.fields import plain_name, same_name
from weldcal.records.notes import USUAL_REASONS
from weldcal.records.times import present, read_time, stamp, zone
from weldcal.tables.schema import SCHEMA_VERSION, schema_version
from weldcal.words import _

Clock = Callable[[], datetime]


class Note(Struct, frozen=True):
    """Something to tell about what was recorded: a code and its values."""

    code: str
    values: dict[str, Any]


class Recorded(Struct, frozen=True):
    """What a verb recorded: ids, short name, and what to tell."""

    id: str
    name: str
    notes: tuple[Note, ...] = ()
    values: dict[str, Any] = {}


class JobRow(Struct, frozen=True):
    """The job being worked on."""

    id: str
    name: str
    units: str
    zone: str
    day_begins: int
    place: str | None = None


class BookCore:
    """An open book. Verbs are in the mixins of this package."""

    def __init__(
        self,
        path: Path | str,
        *,
        job: str | None = None,
        by: str | None = None,
        clock: Clock = lambda: datetime.now(UTC),
    ) -> None:
        """Name a book; it is opened when first needed.

        Args:
            path: the file.
            job: name (or id) of the job to work on, instead of the last one used.
            by: who is typing.
            clock: the present, timezone-aware.
        """
        named = Path(path)
        # The file itself: what lies beside a book (photos, its device) lies beside that.
        self.path = named.resolve() if named.is_symlink() else named
        self._job_name = job or settings.job_name()
        self._by = by or settings.person()
        self._clock = clock
        self._connection: sqlite3.Connection | None = None
        self._writable = False
        self._clock_back: str | None = None
        self._pictures: dict[str, bytes] = {}
        self._job_kept: tuple[Any, JobRow] | None = None
        self._still: tuple[int, int, int] | None = None

    def close(self) -> None:
        """Close the file."""
        if self._connection is not None:
            self._connection.close()
            self._connection = None
            self._writable = False

    # -- reading ---------------------------------------------------------------

    def reading(self) -> sqlite3.Connection:
        """The connection, for reading.

        Raises:
            NoJob: there is no book yet.
            BookTrouble: it cannot be opened.
        """
        if self._connection is None:
            if not self.path.exists():
                raise NoJob
            connection = store.open_existing(self.path, write=False)
            with store.trouble(self.path):
                version = schema_version(connection)
                if version != SCHEMA_VERSION:
                    connection = self._other_version(connection, version)
            connection.row_factory = sqlite3.Row
            self._connection = connection
        return self._connection

    def _other_version(self, connection: sqlite3.Connection, version: int) -> sqlite3.Connection:
        """A book of another version: an older one is brought up, a newer one is only read."""
        if version < SCHEMA_VERSION and store.can_write(self.path):
            connection.close()
            return self._for_writing()
        from weldcal.tables import schema

        copy = sqlite3.connect(":memory:", isolation_level=None)
        connection.backup(copy)
        connection.close()
        schema.rebuild(copy)
        return copy

    @contextmanager
    def snapshot(self) -> Iterator[sqlite3.Connection]:
        """Everything read within is of one moment, whatever others write meanwhile."""
        connection = self.reading()
        if connection.in_transaction:
            yield connection
            return
        with store.trouble(self.path):
            connection.execute("BEGIN")
            self._still = self.unchanged()
            try:
                yield connection
            finally:
                self._still = None
                connection.execute("ROLLBACK")

    def rows(self, sql: str, values: Iterable[Any] = ()) -> list[dict[str, Any]]:
        """Rows of a query as dictionaries."""
        connection = self.reading()
        with store.trouble(self.path):
            return [dict(row) for row in connection.execute(sql, tuple(values))]

    def local(self, name: str) -> str | None:
        """A preference kept on this device only, never evidence."""
        found = self.rows("SELECT value FROM local WHERE name = ?", (name,))
        return found[0]["value"] if found else None

    # -- writing ---------------------------------------------------------------

    @contextmanager
    def writing(self, who: str, zone_name: str | None = None) -> Iterator[Writer]:
        """One transaction: all that is added in it is on disk when it ends, or none.

        Args:
            who: who is typing.
            zone_name: the clock's zone where the job does not exist yet.
        """
        connection = self._for_writing()
        kept: list[str] = []
        with store.trouble(self.path):
            connection.execute("BEGIN IMMEDIATE")
            try:
                at = present(self._clock().astimezone(zone(zone_name or self.job.zone)))
                mine = device.of(connection, self.path)
                self._clock_back = device.clock_back(connection, mine, at)
                writer = Writer(connection, mine, at.isoformat(timespec="milliseconds"), who)
                yield writer
                if self._pictures:
                    kept = photos.keep_all(self.path, self._pictures.items(), len(self._pictures))
                device.note(connection, self.path, mine)
                connection.execute("COMMIT")
                self._pictures = {}
            except BaseException:
                if connection.in_transaction:
                    connection.execute("ROLLBACK")
                photos.drop(self.path, kept)
                raise

    def set_local(self, name: str, value: str) -> None:
        """Keep a preference on this device."""
        connection = self._for_writing()
        with store.trouble(self.path):
            connection.execute("INSERT OR REPLACE INTO local VALUES (?, ?)", (name, value))

    def _for_writing(self) -> sqlite3.Connection:
        if not self._writable or self._connection is None:
            if not self.path.exists():
                raise NoJob
            self.close()
            connection = store.open_existing(self.path, write=True)
            with store.trouble(self.path):
                self._bring_up(connection)
            connection.row_factory = sqlite3.Row
            self._connection = connection
            self._writable = True
        return self._connection

    def _bring_up(self, connection: sqlite3.Connection) -> None:
        """Derive an older book's tables anew, in one transaction, with a copy beside it first.

        Raises:
            NewerBook: a later version made it.
        """
        version = schema_version(connection)
        if version > SCHEMA_VERSION:
            raise NewerBook(file=self.path, found=version, known=SCHEMA_VERSION)
        if version == SCHEMA_VERSION:
            return
        from weldcal.tables import schema

        connection.execute("BEGIN IMMEDIATE")
        try:
            if schema_version(connection) < SCHEMA_VERSION:  # another may have done it meanwhile
                store.copy_beside(self.path, f"before-{SCHEMA_VERSION}")
                schema.rebuild(connection)
            connection.execute("COMMIT")
        except BaseException:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
            raise

    # -- who, when, which ----------------------------------------------------------

    def unchanged(self) -> tuple[int, int, int]:
        """The same as long as nobody has written to the book; within a snapshot nobody has."""
        if self._still is not None:
            return self._still
        connection = self.reading()
        version: int = connection.execute("PRAGMA data_version").fetchone()[0]
        return id(connection), connection.total_changes, version

    @property
    def job(self) -> JobRow:
        """The job worked on: the one named, else the last used, else the newest.

        Raises:
            NoJob: there is none.
            Unheard: no job of that name.
        """
        now = (*self.unchanged(), self._job_name)
        if self._job_kept is None or self._job_kept[0] != now:
            self._job_kept = (now, self._job())
        return self._job_kept[1]

    def _job(self) -> JobRow:
        jobs = self.rows(
            "SELECT id, name, units, zone, day_begins, place FROM jobs ORDER BY tick, device"
        )
        if not jobs:
            raise NoJob
        wanted = self._job_name
        if wanted is None:
            used = self.local("job")
            chosen = [job for job in jobs if job["id"] == used] or jobs[-1:]
        else:
            chosen = [
                job for job in jobs if same_name(wanted) in (job["id"], same_name(job["name"]))
            ]
            if not chosen:
                known = ", ".join(job["name"] for job in jobs)
                raise Unheard(what=_("job"), text=wanted, known=known)
        return JobRow(**chosen[-1])

    def now(self) -> datetime:
        """The present, on the job's clock."""
        return self._clock().astimezone(zone(self.job.zone))

    def person(self, given: str | None = None) -> str:
        """Who did it: as given, else who is typing; known people by name or initials.

        Raises:
            NoPerson: nobody was named.
        """
        name = given or self._by or self.local("me")
        if not name:
            raise NoPerson
        for person in self.rows("SELECT name, initials FROM people WHERE job = ?", (self.job.id,)):
            if same_name(name) in (same_name(person["name"]), same_name(person["initials"] or "")):
                return str(person["name"])
        return plain_name(_("person"), name)

    def unnamed(self, given: str | None = None) -> str:
        """Who did it, where a name may be left out."""
        try:
            return self.person(given)
        except NoPerson:
            return "not named"

    def typist(self, seen_by: str) -> str:
        """Who is typing, where known; else who saw it."""
        name = self._by or self.local("me")
        return self.person(name) if name else seen_by

    def seen(self, by: str | None, at: str | None, instrument: str | None = None) -> Seen:
        """Who saw it and when; `at` as typed, now if not given."""
        now = self.now() if at else present(self.now())
        moment = read_time(at, now, _("time")) if at else now
        return Seen(at=stamp(moment), by=self.person(by), instrument=instrument)

    def find(self, name: str) -> dict[str, Any]:
        """The row of a short name (S7, F3; `S7.4c` where two devices gave it), with `table`.

        Raises:
            Unheard, Ambiguous: with what is known.
        """
        wanted, _dot, device = name.strip().partition(".")
        letter = wanted[:1].upper()
        if letter not in LETTERS:
            raise Unheard(what=_("record"), text=name, known=", ".join(f"{x}1…" for x in LETTERS))
        table, what = LETTERS[letter]
        found = self.rows(
            f"SELECT * FROM {table} WHERE job = ? AND upper(name) = upper(?) AND device LIKE ?",
            (self.job.id, wanted, device + "%"),
        )
        if not found:
            self._refuse_withdrawn(name, table)
            last = self.rows(
                f"SELECT name FROM {table} WHERE job = ? ORDER BY tick DESC LIMIT 5", (self.job.id,)
            )
            known = ", ".join(row["name"] for row in last) or _("none yet")
            raise Unheard(what=_(what), text=name, known=known)
        return {**self.only_one(found, what, name), "table": table}

    def only_one(self, found: list[dict[str, Any]], what: str, name: str) -> dict[str, Any]:
        """The one row of a short name.

        Raises:
            Ambiguous: two devices gave it.
        """
        if len(found) > 1:
            known = ", ".join(f"{row['name']}.{row['device'][:4]}" for row in found)
            raise Ambiguous(what=_(what), text=name, known=known)
        return found[0]

    def names_in(self, table: str) -> list[str]:
        """Names of a table's things on this job, the first listed first; of jobs, all."""
        if table == "jobs":
            rows = self.rows("SELECT name FROM jobs ORDER BY tick, device")
        else:
            rows = self.rows(
                f"SELECT name FROM {table} WHERE job = ? ORDER BY tick, device", (self.job.id,)
            )
        return [row["name"] for row in rows]

    def _refuse_withdrawn(self, name: str, table: str) -> None:
        """Say so where a record of that name was taken back.

        Raises:
            Withdrawn: with who, why and how to put it back.
        """
        wanted, _dot, device = name.strip().partition(".")
        for row in self.rows(
            "SELECT withdrawn_by, why FROM withdrawn WHERE job = ? AND was_in = ? "
            "AND upper(name) = upper(?) AND device LIKE ?",
            (self.job.id, table, wanted, device + "%"),
        ):
            why = _(row["why"]) if row["why"] in USUAL_REASONS else row["why"]
            raise Withdrawn(text=name, by=row["withdrawn_by"], why=why)

    def listed(self, table: str, given: str | None, what: str) -> tuple[str, bool]:
        """The name of a machine, sheet ... as listed, and whether it is.

        Not given: the only one, where there is only one.

        Raises:
            NoneYet, Missing: not given, and none is listed, or several.
        """
        names = self.names_in(table)
        if given is None:
            if len(names) == 1:
                return names[0], True
            thing = table.removesuffix("s")
            if not names:
                raise NoneYet(
                    what=what, then=_("List one; how: weldcal {thing} add --help", thing=thing)
                )
            shown = ", ".join(f"--{thing} {shlex.quote(name)}" for name in names[:6])
            raise Missing(name=what, option=f"--{thing}", example=shown)
        for name in names:
            if same_name(name) == same_name(given):
                return name, True
        return plain_name(what, given), False
