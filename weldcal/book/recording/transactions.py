"""The one way to write: a transaction that holds entries and the rows derived from them.

Invariant: when `writing` returns, entries and rows are both on disk, or neither is.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager, suppress
from datetime import datetime
from pathlib import Path
from typing import Protocol, TypeVar, cast

from msgspec import Struct

from weldcal.book import device
from weldcal.book.file import BookFile
from weldcal.book.job_reader import JobReader
from weldcal.book.writing import Writer
from weldcal.errors import BookUnwritable, NotABook, reason
from weldcal.log import store
from weldcal.records.common import Photo, Seen
from weldcal.records.times import present, zone
from weldcal.settings import path_of
from weldcal.words import _

S = TypeVar("S", bound=Struct)


class Observed(Protocol):
    """A record of what somebody saw or did."""

    @property
    def seen(self) -> Seen:
        """When, and by whom."""


class Transactions:
    """Opens transactions on a book, and makes its file."""

    def __init__(self, file: BookFile, reader: JobReader) -> None:
        self._file = file
        self._reader = reader
        self._pictures: dict[str, bytes] = {}

    @contextmanager
    def writing(self, who: str, zone_name: str | None = None) -> Iterator[Writer]:
        """One transaction: all that is added in it is on disk when it ends, or none.

        Args:
            who: who is typing.
            zone_name: the clock's zone where the job is only being made.
        """
        file = self._file
        connection = file.writable()
        kept: list[str] = []

        def undone() -> None:
            if self._pictures:
                from weldcal.log import photos

                photos.drop(file.path, kept)

        writing = store.transaction(connection, undone)
        with store.trouble(file.path), writing:
            at = self._now(zone_name)
            mine = device.of(connection, file.path)
            file.clock_back = device.clock_back(connection, mine, at)
            job = None if zone_name else self._reader.job.id
            yield Writer(connection, mine, at.isoformat(timespec="milliseconds"), who, job)
            if self._pictures:
                from weldcal.log import photos  # hardly a recording has any

                kept = photos.keep_all(file.path, self._pictures.items(), len(self._pictures))
            device.note(connection, file.path, mine)
        self._pictures = {}

    def by(self, seen: Seen) -> AbstractContextManager[Writer]:
        """A transaction of who is typing, where known; else of who saw it.

        Args:
            seen: when and by whom.
        """
        return self.writing(self._reader.typist(seen.by))

    def record(self, kind: str, record: Observed, about: str | None = None) -> str:
        """Record one thing in a transaction of its own; return the id of its entry.

        Args:
            kind: of the entry.
            record: what was seen or done.
            about: id of the record it is of; its own, where not given.
        """
        with self.by(record.seen) as writer:
            return writer.add(kind, record, about)

    def record_named(self, kind: str, record: S) -> tuple[str, S]:
        """Record one thing that gets a short name; the id of its entry, and what was recorded.

        Args:
            kind: of the entry.
            record: what was seen or done.
        """
        with self.by(cast("Observed", record).seen) as writer:
            named = writer.named(kind, record)
            return writer.add(kind, named), named

    def beforehand(self, who: str) -> Writer | None:
        """What a transaction begun now would write with, to make things ready; writes nothing.

        Args:
            who: who is typing.

        Returns:
            None where the device's id is given under the lock only: a copied or restored book.
        """
        file = self._file
        connection = file.writable()
        with store.trouble(file.path):
            mine = device.known_here(connection, file.path)
        if mine is None:
            return None
        at = self._now().isoformat(timespec="milliseconds")
        return Writer(connection, mine, at, who, self._reader.job.id)

    def _now(self, zone_name: str | None = None) -> datetime:
        """What the clock shows, in a zone or in that of the job."""
        return present(self._file.clock().astimezone(zone(zone_name or self._reader.job.zone)))

    def connection(self) -> sqlite3.Connection:
        """The connection, for writing what is no new entry of ours: packs, backups, rebuilds."""
        return self._file.writable()

    def close(self) -> None:
        """Close the file."""
        self._file.close()

    def photos(self, files: Sequence[str]) -> tuple[Photo, ...]:
        """Read pictures; they are kept beside the book with the record that names them.

        Args:
            files: the pictures.

        Raises:
            FileTrouble: one cannot be read.
        """
        if not files:
            return ()
        from weldcal.log.photos import read_photo

        taken = [read_photo(path_of(file)) for file in files]
        self._pictures |= {photo.sha256: data for photo, data in taken}
        return tuple(photo for photo, _data in taken)

    def make(self) -> None:
        """Make the file of a new book.

        Raises:
            NotABook, BookUnwritable: it cannot be made there.
        """
        from weldcal.tables import schema

        path = self._file.path
        if path.is_symlink():
            raise NotABook(file=path, why=_("it is a link to nowhere"))
        # Made under another name and moved into place whole: a book is never found half made.
        fresh = path.with_name(f"{path.name}.{os.urandom(4).hex()}.new")
        try:
            connection = self._new_file(fresh)
            with store.trouble(path):
                connection.execute("BEGIN")  # one wait for the disk, not one a table
                schema.create(connection)
                connection.execute("COMMIT")
                connection.close()
        except BaseException:
            with suppress(OSError):  # where its folder is none, there is no file either
                fresh.unlink(missing_ok=True)
            raise
        try:
            if not path.exists():
                fresh.rename(path)
        except OSError as error:
            raise BookUnwritable(file=path, why=reason(error)) from None
        finally:
            fresh.unlink(missing_ok=True)

    def _new_file(self, fresh: Path) -> sqlite3.Connection:
        try:
            return store.create(fresh)
        except BookUnwritable as error:  # nobody typed the name of the file beside
            raise BookUnwritable(file=self._file.path, why=error.values["why"]) from None
