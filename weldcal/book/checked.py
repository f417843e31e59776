"""A note beside the book: as it lies there, it was checked and all held.

Invariant: the note only saves time on pages that are looked at all day (the roof,
the evening). It stands on the file's size and time, which whoever owns the device
can set: verify, dossier, seal, backup and restore never ask it.
"""

from __future__ import annotations

import contextlib
import os
from pathlib import Path


def clean(book: Path) -> bool:
    """Whether the book lies there as it did when it was last checked and all held."""
    try:
        return _path(book).read_text(encoding="utf-8", errors="surrogateescape") == _signature(book)
    except (OSError, ValueError):
        return False


def note(book: Path) -> None:
    """Note that all held; where nothing can be written, the next page checks again."""
    part = _path(book).with_suffix(f".{os.getpid()}")
    with contextlib.suppress(OSError):
        to = os.open(part, os.O_CREAT | os.O_WRONLY | os.O_TRUNC, 0o600)
        with os.fdopen(to, "w", encoding="utf-8", errors="surrogateescape") as file:
            file.write(_signature(book))
        part.replace(_path(book))


def _signature(book: Path) -> str:
    found = [str(book.resolve())]
    for file in (book, book.with_name(book.name + "-wal")):
        with contextlib.suppress(FileNotFoundError):
            seen = file.stat()
            if seen.st_size:
                found.append(f"{seen.st_ino} {seen.st_size} {seen.st_mtime_ns}")
    return "\n".join(found)


def _path(book: Path) -> Path:
    return book.with_name(book.name + ".checked")
