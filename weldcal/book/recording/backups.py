"""Backups, and a book put back from one.

Invariant: a copy is checked before it bears its name, and what is wrong in it is
said; a restore never drops what only the present book holds.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from weldcal.book import proof
from weldcal.book.core import Service
from weldcal.errors import BookTrouble, FileTrouble, NoJob, NotABook, NotWritten, reason
from weldcal.log import chain, photos, store, verifying
from weldcal.log.entry import Entry
from weldcal.long_work import Progress, no_progress, part_of
from weldcal.words import _, mark

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.recording.packing import Packing
    from weldcal.book.recording.transactions import Transactions


class Restored(Struct, frozen=True):
    """What a restore came to: entries, where a damaged book was moved to, and what is still wrong."""

    entries: int
    aside: Path | None
    faults: list[chain.Fault]


class Backups(Service):
    """Backs the book up, and restores it."""

    _reader: JobReader
    _transactions: Transactions
    _packing: Packing

    def backup(
        self, path: Path, on_progress: Progress = no_progress
    ) -> tuple[int, list[chain.Fault]]:
        """Copy the book while others write, and check the copy.

        A book with faults is copied as it is: a copy of what there is beats none.

        Args:
            path: where the copy goes.
            on_progress: called with how far it is.

        Returns:
            the number of entries, and what is wrong in the copy.

        Raises:
            NoJob: there is no book yet.
            FileTrouble: it cannot be written, or is there already.
        """
        if not self._reader.path.exists():
            raise NoJob
        if path.exists():
            raise FileTrouble(file=path, why=_("it is there already; type another name"))
        part = part_of(path)
        try:
            os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
            source = store.open_existing(self._reader.path, write=False)
            try:
                count, faults = _copy(source, part, on_progress)
            finally:
                source.close()
            photos.sync(part)
            with _photos_too(self._reader.path, path, on_progress):
                part.rename(path)
        except sqlite3.Error as error:
            raise FileTrouble(file=path, why=str(error)) from None
        except OSError as error:
            raise NotWritten(file=path, why=reason(error)) from None
        finally:
            part.unlink(missing_ok=True)
        return count, faults

    def restore(self, path: Path, on_progress: Progress = no_progress) -> Restored:
        """Put a backup in the book's place, unless the book holds what the backup lacks.

        What a merge may leave (gaps, forks) comes with it and is reported. Tables and triggers
        are rebuilt from the entries, so that nothing of a forged table is brought in.

        Args:
            path: the backup.
            on_progress: called with how far it is.

        Raises:
            BookTrouble: the backup is no book, or lacks entries of the present one.
        """
        if not path.exists():
            raise FileTrouble(file=path, why=_("there is no such file; check its name and folder"))
        source = store.open_existing(path, write=False)
        try:
            with store.trouble(path):
                faults = verifying.verify_chain(source, on_progress)
                backup_hashes = {row[0] for row in source.execute("SELECT hash FROM entries")}
            unfit = [fault for fault in faults if not _comes_of_a_merge(fault)]
            if unfit:
                raise Damaged(file=path, what=_(unfit[0].what), entry=unfit[0].entry)
            damaged = self._reader.path.exists() and self._damaged()
            with _photos_too(path, self._reader.path, on_progress):
                if self._reader.path.exists() and not damaged:
                    return self._bring_in(path, source, backup_hashes, on_progress)
                return self._replace_with(source, on_progress, aside=damaged)
        finally:
            source.close()

    def rebuild(self, on_progress: Progress = no_progress) -> int:
        """Drop the derived tables and rebuild them from the entries; return the number of entries.

        Triggers that guard the entries are put back, and foreign ones dropped.

        Args:
            on_progress: called with how far it is.
        """
        connection = self._transactions.connection()
        with store.trouble(self._reader.path):
            proof.rebuild(connection, on_progress)
            return chain.count_entries(connection)

    def _damaged(self) -> bool:
        """Whether the file in the book's place is no book any more."""
        try:
            self._reader.reading()
        except NotABook:
            self._transactions.close()
            return True
        return False

    def _set_aside(self) -> Path:
        """Move a file that is no book any more aside, with its side files; return the new path."""
        number, aside = 1, self._reader.path.with_name(f"{self._reader.path.name}.damaged")
        while aside.exists():
            number += 1
            aside = self._reader.path.with_name(f"{self._reader.path.name}.damaged-{number}")
        for side in ("", "-wal", "-shm"):
            file = self._reader.path.with_name(self._reader.path.name + side)
            if file.exists():
                file.rename(aside.with_name(aside.name + side))
        return aside

    def _bring_in(
        self, path: Path, source: sqlite3.Connection, backup_hashes: set[str], on_progress: Progress
    ) -> Restored:
        """Take a backup's entries into the book under the write lock: nobody's work is lost between."""
        connection = self._transactions.connection()
        with store.trouble(self._reader.path):
            entries = [Entry(*row) for row in source.execute("SELECT body, hash FROM entries")]
            with store.transaction(connection):
                in_book = {row[0] for row in connection.execute("SELECT hash FROM entries")}
                if in_book - backup_hashes:
                    raise NewerWork(file=path, n=len(in_book - backup_hashes))
                chain.insert(connection, entries)
                self._packing.project(connection, entries, on_progress)
                connection.execute("DELETE FROM local WHERE name = 'device'")
                checked = proof.check(connection, on_progress)
        return Restored(checked[0], None, checked[1])

    def _replace_with(
        self, source: sqlite3.Connection, on_progress: Progress, *, aside: bool
    ) -> Restored:
        """Copy a backup to the book's place."""
        self._transactions.close()
        part = part_of(self._reader.path)
        try:
            self._reader.path.parent.mkdir(parents=True, exist_ok=True)
            os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
            count, faults = _copy(source, part, on_progress, anew=True)
            photos.sync(part)
            moved = self._set_aside() if aside else None
            for side in ("-wal", "-shm"):
                self._reader.path.with_name(self._reader.path.name + side).unlink(missing_ok=True)
            part.rename(self._reader.path)
        except (OSError, sqlite3.Error) as error:
            raise FileTrouble(file=self._reader.path, why=str(error)) from None
        finally:
            part.unlink(missing_ok=True)
        return Restored(count, moved, faults)


class NewerWork(BookTrouble):
    """A restore that would drop what only the present book holds."""

    sentence = mark(
        "{file} lacks entries that this book holds ({n}); nothing was restored. "
        "Keep this book: weldcal backup, or weldcal merge for a pack of the other."
    )


class Damaged(BookTrouble):
    """A backup whose entries are not what they were."""

    sentence = mark(
        "{file} was not restored: {what} of entry {entry} is not as it was made. "
        "See all of it: weldcal --book {file} verify. Restore another backup, or merge a pack."
    )


# What an ordinary merge may leave behind it: nothing of it means that an entry was changed.
_OF_A_MERGE = ("gap", "fork", "link", "tick", "id")


def _comes_of_a_merge(fault: chain.Fault) -> bool:
    return fault.what in _OF_A_MERGE


def _copy(
    source: sqlite3.Connection, path: Path, on_progress: Progress, *, anew: bool = False
) -> tuple[int, list[chain.Fault]]:
    """SQLite's online copy, checked as the book is; entries copied, and what is wrong in it.

    Args:
        anew: rebuild tables and triggers that do not hold, from the entries.
    """

    def copied(_status: int, left: int, total: int) -> None:
        on_progress(_("copying"), total - left, total)

    target = sqlite3.connect(path, isolation_level=None)
    target.row_factory = sqlite3.Row
    try:
        source.backup(target, pages=2000, progress=copied)
        target.execute("PRAGMA journal_mode = DELETE")
        wrong = target.execute("PRAGMA integrity_check").fetchone()[0]
        count, faults = proof.check(target, on_progress)
        if anew and any(fault.what.startswith(("table", "schema")) for fault in faults):
            proof.rebuild(target, on_progress)
            count, faults = proof.check(target, on_progress)
        if wrong != "ok" and not any(fault.what == "file" for fault in faults):
            faults.append(chain.Fault("-", "file", "ok", str(wrong)))
        target.execute("PRAGMA journal_mode = WAL")
        return count, faults
    finally:
        target.close()


@contextmanager
def _photos_too(source: Path, to: Path, on_progress: Progress) -> Iterator[None]:
    """Photos copied beside what the block makes; removed where the block fails."""
    place, copied = photos.folder(source), []
    names = sorted(photo.name for photo in place.iterdir()) if place.is_dir() else []
    try:
        for n, name in enumerate(names):
            on_progress(_("photos"), n, len(names))
            if photos.fault(source, name) is None and photos.fault(to, name) is not None:
                photos.keep(to, name, (place / name).read_bytes())
                copied.append(name)
        yield
    except BaseException:
        photos.drop(to, copied)
        raise
