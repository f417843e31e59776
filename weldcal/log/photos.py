"""Photos beside the book, named by what they hold.

Invariant: a photo's file name is the SHA-256 of its bytes, so a changed photo
no longer has its name; nothing outside the photos' folder is ever touched.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
from collections.abc import Iterable
from pathlib import Path

from weldcal.errors import FileTrouble, reason
from weldcal.long_work import Progress, atomic_write, no_progress
from weldcal.records.common import PHOTO_NAME as NAME
from weldcal.records.common import Photo
from weldcal.words import _

LARGEST = 25 * 1024 * 1024

# First bytes of the kinds of picture phones make (PNG: ISO/IEC 15948; JPEG: ISO/IEC 10918-1;
# WebP: RFC 9649; HEIF: ISO/IEC 23008-12).
_KINDS = (
    (b"\x89PNG\r\n\x1a\n", 0, "png"),
    (b"\xff\xd8\xff", 0, "jpeg"),
    (b"WEBP", 8, "webp"),
    (b"ftyp", 4, "heif"),
)


def folder(book: Path) -> Path:
    """Where a book's photos are."""
    return book.with_name(book.name + ".photos")


def read_photo(source: Path) -> tuple[Photo, bytes]:
    """A picture: what the record holds of it, and its bytes.

    Raises:
        FileTrouble: no picture can be read there.
    """
    try:
        if source.stat().st_size > LARGEST:
            raise FileTrouble(file=source, why=_("larger than {n} MB", n=LARGEST // 2**20))
        data = source.read_bytes()
    except OSError as error:
        raise FileTrouble(file=source, why=reason(error)) from None
    kind = kind_of(data)
    if kind is None:
        raise FileTrouble(file=source, why=_("not a PNG, JPEG, WebP or HEIF picture"))
    name = hashlib.sha256(data).hexdigest()
    return Photo(sha256=name, size=len(data), kind=kind, file=source.name), data


def kind_of(data: bytes) -> str | None:
    """The kind of picture, by its first bytes."""
    for start, at, kind in _KINDS:
        if data[at : at + len(start)] == start:
            return kind
    return None


def keep(book: Path, name: str, data: bytes) -> None:
    """Put a photo under its name, whole or not at all; on disk when this returns.

    Raises:
        FileTrouble: it cannot be kept.
    """
    place = folder(book)
    final = place / name
    try:
        place.mkdir(mode=0o700, parents=True, exist_ok=True)
        if fault(book, name) is None:
            return  # a changed one is put right by the true one
        with atomic_write(final) as file:
            file.write(data)
        try:
            sync(place)
            sync(place.parent)
        except BaseException:
            final.unlink(missing_ok=True)
            raise
    except OSError as error:
        raise FileTrouble(file=final, why=reason(error)) from None


def sync(place: Path) -> None:
    """Put a file on disk, or a folder's names: a file under a name that is not is lost with it."""
    opened = os.open(place, os.O_RDONLY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)


def keep_all(
    book: Path,
    pictures: Iterable[tuple[str, bytes]],
    count: int,
    on_progress: Progress = no_progress,
) -> list[str]:
    """Keep pictures by name; the names of those that were not there. All of them, or none.

    Args:
        book: the file beside which they are kept.
        pictures: names and bytes, each asked for when it is kept.
        count: how many there are.
        on_progress: called for each.

    Raises:
        FileTrouble: one cannot be kept.
    """
    new: list[str] = []
    try:
        for n, (name, data) in enumerate(pictures):
            on_progress(_("photos"), n, count)
            if fault(book, name) is not None:
                keep(book, name, data)
                new.append(name)
    except BaseException:
        drop(book, new)
        raise
    return new


def drop(book: Path, names: list[str]) -> None:
    """Remove photos just kept, whose record was refused; the folder too, if it is empty."""
    for name in names:
        (folder(book) / name).unlink(missing_ok=True)
    with contextlib.suppress(OSError):
        folder(book).rmdir()


def fault(book: Path, photo_name: str) -> str | None:
    """What is wrong with a photo the record names, or None."""
    if not NAME.fullmatch(photo_name):
        return "not a photo's name"
    try:
        if (folder(book) / photo_name).stat().st_size > LARGEST:
            return "larger than a photo can be"
        data = (folder(book) / photo_name).read_bytes()
    except OSError:
        return "no such file"
    digest = hashlib.sha256(data).hexdigest()
    return None if digest == photo_name else digest
