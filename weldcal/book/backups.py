"""Backups, and a book put back from one.

Invariant: a copy is verified before it bears its name; a restore never drops
what only the present book holds.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from weldcal.book.packing import Packing
from weldcal.errors import BookTrouble, FileTrouble, NoJob, NotABook, NotWritten, reason
from weldcal.log import chain, photos, store
from weldcal.log.entry import Entry
from weldcal.long_work import Beat, part_of, silent
from weldcal.words import _, mark


class Backups(Packing):
    """The verbs `backup` and `restore`."""

    def backup(self, path: Path, beat: Beat = silent) -> int:
        """Copy the book while others write, and verify the copy; the number of entries.

        Raises:
            NoJob: there is no book yet.
            FileTrouble: it cannot be written, is there already, or does not verify.
        """
        if not self.path.exists():
            raise NoJob
        if path.exists():
            raise FileTrouble(file=path, why=_("it is there already; type another name"))
        part = part_of(path)
        try:
            os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
            source = store.open_existing(self.path, write=False)
            try:
                count = _copy(source, part, beat)
            finally:
                source.close()
            _fsync(part)
            with _photos_too(self.path, path, beat):
                part.rename(path)
        except sqlite3.Error as error:
            raise FileTrouble(file=path, why=str(error)) from None
        except OSError as error:
            raise NotWritten(file=path, why=reason(error)) from None
        finally:
            part.unlink(missing_ok=True)
        return count

    def restore(self, path: Path, beat: Beat = silent) -> tuple[int, Path | None]:
        """Put a backup in the book's place, unless the book holds what the backup lacks.

        Returns:
            the number of entries, and where a damaged book was moved to.

        Raises:
            BookTrouble: the backup is no book, or lacks entries of the present one.
        """
        if not path.exists():
            raise FileTrouble(file=path, why=_("there is no such file; check its name and folder"))
        source = store.open_existing(path, write=False)
        try:
            with store.trouble(path):
                faults = chain.verify_chain(source, beat)
                kept = {row[0] for row in source.execute("SELECT hash FROM entries")}
            if faults:
                raise FileTrouble(
                    file=path, why=_("it does not verify ({what})", what=faults[0].what)
                )
            damaged = self.path.exists() and self._damaged()
            with _photos_too(path, self.path, beat):
                if self.path.exists() and not damaged:
                    return self._bring_in(path, source, kept, beat), None
                return self._replace_with(source, beat, aside=damaged)
        finally:
            source.close()

    def _damaged(self) -> bool:
        """Whether the file in the book's place is no book any more."""
        try:
            self.reading()
        except NotABook:
            self.close()
            return True
        return False

    def _set_aside(self) -> Path:
        """Move a file that is no book any more aside, with what lies beside it; where to."""
        number, aside = 1, self.path.with_name(f"{self.path.name}.damaged")
        while aside.exists():
            number += 1
            aside = self.path.with_name(f"{self.path.name}.damaged-{number}")
        for side in ("", "-wal", "-shm"):
            beside = self.path.with_name(self.path.name + side)
            if beside.exists():
                beside.rename(aside.with_name(aside.name + side))
        return aside

    def _bring_in(self, path: Path, source: sqlite3.Connection, kept: set[str], beat: Beat) -> int:
        """Take a backup's entries into the book under the write lock: nobody's work is lost between."""
        connection = self._for_writing()
        with store.trouble(self.path):
            found = [Entry(*row) for row in source.execute("SELECT body, hash FROM entries")]
            connection.execute("BEGIN IMMEDIATE")
            try:
                here = {row[0] for row in connection.execute("SELECT hash FROM entries")}
                if here - kept:
                    raise NewerWork(file=path, n=len(here - kept))
                chain.insert(connection, found)
                self._project(connection, found, beat)
                connection.execute("DELETE FROM local WHERE name = 'device'")
                connection.execute("COMMIT")
            except BaseException:
                if connection.in_transaction:
                    connection.execute("ROLLBACK")
                raise
        return len(found)

    def _replace_with(
        self, source: sqlite3.Connection, beat: Beat, *, aside: bool
    ) -> tuple[int, Path | None]:
        self.close()
        part = part_of(self.path)
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
            count = _copy(source, part, beat)
            _fsync(part)
            moved = self._set_aside() if aside else None
            for side in ("-wal", "-shm"):
                self.path.with_name(self.path.name + side).unlink(missing_ok=True)
            part.rename(self.path)
        except (OSError, sqlite3.Error) as error:
            raise FileTrouble(file=self.path, why=str(error)) from None
        finally:
            part.unlink(missing_ok=True)
        return count, moved


class NewerWork(BookTrouble):
    """A restore that would drop what only the present book holds."""

    sentence = mark(
        "{file} lacks entries that this book holds ({n}); nothing was restored. "
        "Keep this book: weldcal backup, or weldcal merge for a pack of the other."
    )


def _copy(source: sqlite3.Connection, path: Path, beat: Beat) -> int:
    """SQLite's online copy, checked: integrity of the file, every hash and link; entries copied."""

    def copied(_status: int, left: int, total: int) -> None:
        beat(_("copying"), total - left, total)

    target = sqlite3.connect(path, isolation_level=None)
    try:
        source.backup(target, pages=2000, progress=copied)
        target.execute("PRAGMA journal_mode = DELETE")
        wrong = target.execute("PRAGMA integrity_check").fetchone()[0]
        faults = chain.verify_chain(target, beat)
        if wrong != "ok" or faults:
            raise FileTrouble(file=path, why=_("the copy does not verify"))
        target.execute("PRAGMA journal_mode = WAL")
        return chain.count_entries(target)
    finally:
        target.close()


@contextmanager
def _photos_too(source: Path, to: Path, beat: Beat) -> Iterator[None]:
    """Photos copied beside what the block makes; taken back where it does not come to its end."""
    place, kept = photos.folder(source), []
    names = sorted(photo.name for photo in place.iterdir()) if place.is_dir() else []
    try:
        for n, name in enumerate(names):
            beat(_("photos"), n, len(names))
            if photos.fault(source, name) is None and photos.fault(to, name) is not None:
                photos.keep(to, name, (place / name).read_bytes())
                kept.append(name)
        yield
    except BaseException:
        photos.drop(to, kept)
        raise


def _fsync(path: Path) -> None:
    file = os.open(path, os.O_RDONLY)
    try:
        os.fsync(file)
    finally:
        os.close(file)
