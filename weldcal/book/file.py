"""The book's file: opened for reading, and for writing where a transaction asks for it.

Invariant: an older book is brought up when it is opened, in one transaction, with a copy
beside it first; where it cannot be written, a copy in memory is read.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path

from weldcal.errors import BookTrouble, NewerBook, NoJob
from weldcal.log import store
from weldcal.tables.schema import SCHEMA_VERSION, schema_version

Clock = Callable[[], datetime]


class BookFile:
    """One SQLite file and the connection to it, opened when first needed.

    Attributes:
        path: the file itself: what lies beside a book (photos, its device) lies beside that.
        clock: the present, timezone-aware.
        clock_back: the latest time recorded on this device, where the clock went back
            since; noted by the last transaction.
    """

    def __init__(self, path: Path, clock: Clock) -> None:
        self.path = path.resolve() if path.is_symlink() else path
        self.clock = clock
        self.clock_back: str | None = None
        self._connection: sqlite3.Connection | None = None
        self._writable = False
        self._may_write: tuple[int, int] | None = None
        self._still: tuple[int, int, int] | None = None
        self._copied = False
        self.stamp: tuple[int, ...] = ()

    def close(self) -> None:
        """Close the file."""
        if self._connection is not None:
            self._connection.close()
            self._connection = None
            self._writable = False

    def reading(self) -> sqlite3.Connection:
        """The connection, for reading.

        Raises:
            NoJob: there is no book yet.
            BookTrouble: it cannot be opened.
        """
        if self._connection is None:
            if not self.path.exists():
                raise NoJob
            connection = self._opened()
            with store.trouble(self.path):
                version = schema_version(connection)
                if version != SCHEMA_VERSION:
                    self._may_write = None
                    connection = self._other_version(connection, version)
            if not self._writable:  # SQLite itself keeps a query from writing
                connection.execute("PRAGMA query_only = 1")
            connection.row_factory = sqlite3.Row
            self._connection = connection
        return self._connection

    def writable(self) -> sqlite3.Connection:
        """The connection, for writing.

        Raises:
            NoJob: there is no book yet.
            BookTrouble: it cannot be written.
        """
        if not self._writable or self._connection is None:
            if not self.path.exists():
                raise NoJob
            connection = self._for_writing()
            with store.trouble(self.path):
                self._bring_up(connection)
            connection.row_factory = sqlite3.Row
            self._connection = connection
            self._writable = True
        return self._connection

    def _opened(self) -> sqlite3.Connection:
        """A connection for reading, that may write too where that can be."""
        self._may_write = None
        if store.can_write(self.path):
            with suppress(BookTrouble):  # what is wrong is said below, where it matters to a reader
                connection = store.open_existing(self.path, write=True)
                self._may_write = store.which(self.path)
                return connection
        return store.open_existing(self.path, write=False)

    def _for_writing(self) -> sqlite3.Connection:
        """The connection that reads, where it may write too and the file is the same; else another."""
        same = self._may_write is not None and self._may_write == store.which(self.path)
        if self._connection is not None and same and store.can_write(self.path):
            self._connection.execute("PRAGMA query_only = 0")
            return self._connection
        self.close()
        return store.open_existing(self.path, write=True)

    @contextmanager
    def snapshot(self) -> Iterator[sqlite3.Connection]:
        """Everything read within is of one moment, whatever others write meanwhile."""
        connection = self.reading()
        if connection.in_transaction:
            yield connection
            return
        with store.trouble(self.path):
            # Before: what is written meanwhile makes it old. A copy of the book has none.
            self.stamp = () if self._copied else store.stamp(self.path)
            connection.execute("BEGIN")
            self._still = self.unchanged()
            try:
                yield connection
            finally:
                self._still = None
                connection.execute("ROLLBACK")

    @property
    def in_snapshot(self) -> bool:
        """Whether one moment is being read."""
        return self._still is not None

    def unchanged(self) -> tuple[int, int, int]:
        """The same as long as nobody has written to the book; within a snapshot nobody has."""
        if self._still is not None:
            return self._still
        connection = self.reading()
        version: int = connection.execute("PRAGMA data_version").fetchone()[0]
        return id(connection), connection.total_changes, version

    @contextmanager
    def instead(self, copy: sqlite3.Connection, clock: Clock) -> Iterator[None]:
        """Everything read within comes from a copy, at another present.

        Args:
            copy: the connection that takes the file's place.
            clock: its present.
        """
        kept = self._connection, self.clock, self._still, self._writable, self._may_write
        self._connection, self.clock, self._still, self._writable = copy, clock, None, False
        self._may_write = None
        self._copied = True
        try:
            yield
        finally:
            self._connection, self.clock, self._still, self._writable, self._may_write = kept
            self._copied = False

    def _other_version(self, connection: sqlite3.Connection, version: int) -> sqlite3.Connection:
        """A book of another version: an older one is brought up, a newer one is only read."""
        if version < SCHEMA_VERSION and store.can_write(self.path):
            connection.close()
            return self.writable()
        from weldcal.tables import schema

        copy = sqlite3.connect(":memory:", isolation_level=None)
        connection.backup(copy)
        connection.close()
        schema.rebuild(copy)
        return copy

    def _bring_up(self, connection: sqlite3.Connection) -> None:
        """Rebuild an older book's tables, in one transaction, with a copy beside it first.

        Raises:
            NewerBook: a later version made it.
        """
        version = schema_version(connection)
        if version > SCHEMA_VERSION:
            raise NewerBook(file=self.path, found=version, known=SCHEMA_VERSION)
        if version == SCHEMA_VERSION:
            return
        from weldcal.tables import schema

        with store.transaction(connection):
            if schema_version(connection) < SCHEMA_VERSION:  # another may have done it meanwhile
                store.safety_copy(self.path, f"before-{SCHEMA_VERSION}")
                schema.rebuild(connection)
