"""Which device writes to a book, and whether its clock went back.

Invariant: two copies of a book never write under one id. What tells is a note
beside the book: which device wrote here last, in which file, and how far. A
copy has none, or another file; a restored book is not so far.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
from datetime import datetime
from pathlib import Path

from weldcal.log import chain
from weldcal.records.times import moment_of


def of(connection: sqlite3.Connection, book: Path) -> str:
    """This device's id; a book that was copied or restored takes a new one.

    Args:
        connection: for writing.
        book: the file.
    """
    if known := known_here(connection, book):
        return known
    device = os.urandom(6).hex()
    _remember(connection, _kept(connection), device)
    connection.execute("INSERT OR REPLACE INTO local VALUES ('device', ?)", (device,))
    return device


def known_here(connection: sqlite3.Connection, book: Path) -> str | None:
    """This device's id; None where a book was copied or restored, and the next to write takes a new one.

    Args:
        connection: of the book.
        book: the file.
    """
    device, noted = _kept(connection), _noted(book)
    if device is None or noted is None:
        return None
    is_it = noted[:2] == (device, _home(book)) and noted[2] <= _far(connection, device)
    return device if is_it else None


def _kept(connection: sqlite3.Connection) -> str | None:
    row = connection.execute("SELECT value FROM local WHERE name = 'device'").fetchone()
    return None if row is None else str(row[0])


def all_here(connection: sqlite3.Connection) -> set[str]:
    """The ids under which this book was ever written here: a restored one took a new one.

    Args:
        connection: of the book.
    """
    found = connection.execute("SELECT value FROM local WHERE name IN ('device', 'devices')")
    return {device for (value,) in found for device in str(value).split()}


def _remember(connection: sqlite3.Connection, before: str | None, now: str) -> None:
    known = all_here(connection) | {now, *([before] if before else [])}
    connection.execute(
        "INSERT OR REPLACE INTO local VALUES ('devices', ?)", (" ".join(sorted(known)),)
    )


def note(connection: sqlite3.Connection, book: Path, device: str) -> None:
    """Note how far this device writes, under the lock and just before it is so.

    A note that cannot be written, or is ahead because the commit failed, costs a new id.

    Args:
        connection: the transaction's.
        book: the file.
        device: the id that writes.
    """
    part = _path(book).with_suffix(f".{os.getpid()}")
    with contextlib.suppress(OSError):
        opened = os.open(part, os.O_CREAT | os.O_WRONLY | os.O_TRUNC, 0o600)
        with os.fdopen(opened, "w") as file:
            file.write(f"{device} {_home(book)} {_far(connection, device)}\n")
        part.replace(_path(book))


def clock_back(connection: sqlite3.Connection, device: str, at: datetime) -> str | None:
    """The time of the device's last entry, where the clock now stands before it.

    Args:
        connection: of the book.
        device: the id that writes.
        at: what the clock shows.
    """
    row = connection.execute(
        "SELECT body, hash FROM entries WHERE device = ? ORDER BY seq DESC LIMIT 1", (device,)
    ).fetchone()
    if row is None:
        return None
    last = next((entry.at for entry in chain.readable([tuple(row)])), None)
    before = moment_of(last) if last is not None else None
    return str(last) if before and at < before - chain.CLOCK_SLACK else None


def written_further(connection: sqlite3.Connection, book: Path) -> tuple[str, int, int] | None:
    """The place where the note says that its device wrote more than the book holds.

    The end was cut off, an older copy lies in the book's place, or the last recording
    failed: the note alone cannot tell which.

    Args:
        connection: of the book.
        book: the file.

    Returns:
        The device, its last entry here, its last entry noted.
    """
    noted = _noted(book)
    if noted is None or noted[2] <= _far(connection, noted[0]):
        return None
    return noted[0], _far(connection, noted[0]), noted[2]


def _far(connection: sqlite3.Connection, device: str) -> int:
    """The sequence of the device's last entry."""
    last = connection.execute(
        "SELECT max(seq) FROM entries WHERE device = ? AND typeof(seq) = 'integer'", (device,)
    )
    return last.fetchone()[0] or 0


def _noted(book: Path) -> tuple[str, str, int] | None:
    try:
        device, home, seq = _path(book).read_text().split()
        return device, home, int(seq)
    except (OSError, ValueError):
        return None


def _home(book: Path) -> str:
    return f"{os.uname().nodename}:{book.stat().st_ino}"


def _path(book: Path) -> Path:
    return book.with_name(book.name + ".device")
