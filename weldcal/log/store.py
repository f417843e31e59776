"""The book as a file: opened, recognised, made durable; errors in plain words.

Invariant: a book is an SQLite file with our application id, in WAL mode with
`synchronous=FULL`, readable by its owner only. Entries can be inserted, never
updated or deleted: triggers hold that against a slip; the chain, against more.
"""

from __future__ import annotations

import errno
import os
import re
import shutil
import sqlite3
import sys
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path

from weldcal import errors
from weldcal.words import _

APPLICATION_ID = 0x574C4443
_MISSING = "^no such (table|column)|has no column named"  # SQLite's own words
BOOK_FORMAT = 1

ENTRIES_SQL = """
CREATE TABLE entries (
    hash TEXT PRIMARY KEY,
    id TEXT NOT NULL,
    device TEXT NOT NULL,
    seq INTEGER NOT NULL,
    tick INTEGER NOT NULL,
    kind TEXT NOT NULL,
    job TEXT,
    about TEXT NOT NULL,
    body TEXT NOT NULL
) WITHOUT ROWID;
CREATE INDEX entries_device ON entries (device, seq);
CREATE INDEX entries_about ON entries (about);
CREATE INDEX entries_tick ON entries (tick);
CREATE INDEX entries_id ON entries (id);
CREATE TRIGGER entries_no_update BEFORE UPDATE ON entries
BEGIN SELECT RAISE(ABORT, 'entries are never changed'); END;
CREATE TRIGGER entries_no_delete BEFORE DELETE ON entries
BEGIN SELECT RAISE(ABORT, 'entries are never deleted'); END;
CREATE TABLE local (name TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
"""


def create(path: Path) -> sqlite3.Connection:
    """Make a new, empty book.

    Raises:
        BookUnwritable: no file can be made there.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except FileExistsError:  # a file stands where its folder would be
        error = NotADirectoryError(errno.ENOTDIR, "")
        raise errors.BookUnwritable(file=path, why=errors.reason(error)) from None
    except OSError as error:
        raise errors.BookUnwritable(file=path, why=errors.reason(error)) from None
    try:
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    except OSError as error:
        raise errors.BookUnwritable(file=path, why=errors.reason(error)) from None
    with trouble(path):
        connection = _connect(path, "rwc")
        connection.execute("PRAGMA journal_mode = WAL")
        connection.executescript(
            f"PRAGMA application_id = {APPLICATION_ID}; PRAGMA user_version = {BOOK_FORMAT};"
            f"BEGIN; {ENTRIES_SQL} COMMIT;"
        )
    return connection


def open_existing(path: Path, *, write: bool) -> sqlite3.Connection:
    """Open a book.

    Args:
        path: the file.
        write: it will be written.

    Raises:
        NotABook: the file is something else.
        NewerBook: made by a later version, and `write` was asked.
        BookUnwritable: `write` was asked where nothing can be written.
    """
    if path.is_dir():
        raise errors.NotABook(file=path, why=_("it is a folder"))
    if write and not can_write(path):
        raise errors.BookUnwritable(file=path, why=_("read-only"))
    with trouble(path):
        connection = _connect(path, "rw") if write else _connect_reading(path)
        if connection.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
            raise errors.NotABook(file=path, why=_("an SQLite file of something else"))
        version = connection.execute("PRAGMA user_version").fetchone()[0]
    if write and version > BOOK_FORMAT:
        raise errors.NewerBook(file=path, found=version, known=BOOK_FORMAT)
    return connection


def _connect(path: Path, mode: str) -> sqlite3.Connection:
    connection = sqlite3.connect(
        f"{path.absolute().as_uri()}?mode={mode}", uri=True, timeout=30, isolation_level=None
    )
    connection.execute("PRAGMA synchronous = FULL")
    if sys.platform == "darwin":
        connection.execute("PRAGMA fullfsync = 1")  # fsync alone leaves the drive's cache dirty
    return connection


def _connect_reading(path: Path) -> sqlite3.Connection:
    try:
        connection = _connect(path, "rw")
        connection.execute("SELECT 1 FROM sqlite_master").fetchone()
        return connection
    except sqlite3.OperationalError:
        return _connect_immutable(path)


def _connect_immutable(path: Path) -> sqlite3.Connection:
    """A book on a disk that cannot hold WAL's side files; what its WAL holds is read too."""
    wal = path.with_name(path.name + "-wal")
    if not (wal.exists() and wal.stat().st_size):
        return _connect(path, "ro&immutable=1")
    import tempfile  # brings random along, and nearly no book needs it

    with tempfile.TemporaryDirectory() as place:
        for file in (path, wal):
            shutil.copy(file, place)
        copied = sqlite3.connect(Path(place) / path.name)
        memory = sqlite3.connect(":memory:", isolation_level=None)
        try:
            copied.backup(memory)
        finally:
            copied.close()
    return memory


def stamp(path: Path) -> tuple[int, ...]:
    """Which file a book is, its size, and when it was last written to; its log of writes too."""
    parts: list[int] = []
    for file in (path, path.with_name(f"{path.name}-wal")):
        with suppress(OSError):
            is_now = file.stat()
            if is_now.st_size:  # an empty log comes and goes with whoever reads the book
                times = is_now.st_mtime_ns, is_now.st_ctime_ns
                parts += is_now.st_ino, is_now.st_size, *times
    return tuple(parts)


def which(path: Path) -> tuple[int, int]:
    """Which file lies at a path: another may be moved there."""
    stat = path.stat()
    return stat.st_dev, stat.st_ino


def can_write(path: Path) -> bool:
    """Whether a book can be written where it lies."""
    return os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)


def safety_copy(path: Path, why: str) -> Path:
    """Copy a book beside itself before something is done to it; never over another copy."""
    number, target = 1, path.with_name(f"{path.name}.{why}")
    while target.exists():
        number += 1
        target = path.with_name(f"{path.name}.{why}-{number}")
    try:
        os.close(os.open(target, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    except OSError as error:  # what may stand there by now is somebody else's
        raise errors.BookUnwritable(file=path, why=errors.reason(error)) from None
    try:
        with closing(_connect(path, "ro")) as source, closing(sqlite3.connect(target)) as copy:
            source.backup(copy)
    except BaseException:
        target.unlink()
        raise
    return target


@contextmanager
def transaction(
    connection: sqlite3.Connection, undone: Callable[[], None] = lambda: None
) -> Iterator[None]:
    """All that is written within is on disk when it ends, or none of it: then `undone` is called."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        undone()
        raise


@contextmanager
def trouble(path: Path) -> Iterator[None]:
    """Turn SQLite's errors into ours, one plain sentence each."""
    try:
        yield
    except errors.BookTrouble:
        raise
    except sqlite3.OperationalError as error:
        if str(error) == "disk I/O error":
            raise errors.BookSilent(file=path) from error
        if re.search(_MISSING, str(error)):
            raise errors.TableMissing(file=path, why=str(error)) from error
        raise errors.BookUnwritable(file=path, why=_plain(error)) from error
    except sqlite3.DatabaseError as error:
        raise errors.NotABook(file=path, why=_plain(error)) from error


def _plain(error: sqlite3.Error) -> str:
    text = str(error)
    sentences = {
        "database or disk is full": _("the disk is full"),
        "attempt to write a readonly database": _("read-only"),
        "database is locked": _("another program holds it; try again"),
        "unable to open database file": _("it cannot be opened"),
        "file is not a database": _("the file holds something else"),
    }
    return sentences.get(text, text)
