"""Packs: entries and photos carried from one device to another in one compressed file.

Invariant: a pack is taken whole or not at all. It is gzip over JSON lines: a
header, the entries in order with their hashes, the photos, and last the SHA-256
of every line before. Nothing in it names a path; nothing is believed that the
entries' own hashes and form do not bear out. The form is specified in
`shared/exchange.schema.json`.
"""

from __future__ import annotations

import base64
import gzip
import hashlib
import zlib
from collections.abc import Container, Iterable, Iterator
from pathlib import Path

import msgspec
from msgspec import Struct

from weldcal.errors import FileTrouble, NotWritten, WeldcalError, reason
from weldcal.json_values import Payload
from weldcal.log import photos
from weldcal.log.entry import Entry
from weldcal.log.reading import read_entry
from weldcal.long_work import Progress, atomic_write, no_progress, with_progress
from weldcal.words import _, mark

PACK = 1
GZIP = b"\x1f\x8b"  # how a pack begins (RFC 1952)
LARGEST_FILE = 2 * 2**30
MOST_ENTRIES = 2_000_000
LARGEST_TEXT = 4 * 2**30
# Hashes and pictures hardly compress, so an honest pack unfolds to some ten times its size.
MOST_UNFOLDED = 30
SMALL_TEXT = 64 * 2**20
LONGEST_LINE = photos.LARGEST * 4 // 3 + 1024


class BadPack(WeldcalError):
    """A pack that is cut, altered, foreign or hostile: refused whole."""

    sentence = mark("{file} was not taken in, nothing of it: {why}. Ask for a new pack.")


class OtherPack(BadPack):
    """A pack of another version: a new one would be refused as well."""

    sentence = mark("{file} was not taken in, nothing of it: {why}.")


class Header(Struct, frozen=True, tag_field="line", tag="header", forbid_unknown_fields=True):
    """First line: what follows, and the heads of the book it came from."""

    weldcal_pack: int
    made: str
    program: str
    entries: int
    photos: int
    heads: dict[str, tuple[int, str]]


class EntryLine(Struct, frozen=True, tag_field="line", tag="entry", forbid_unknown_fields=True):
    """One entry: its canonical JSON as text, and its hash."""

    hash: str
    body: str


class PhotoLine(Struct, frozen=True, tag_field="line", tag="photo", forbid_unknown_fields=True):
    """One photo: its SHA-256, and its bytes in base64."""

    sha256: str
    data: str


class End(Struct, frozen=True, tag_field="line", tag="end", forbid_unknown_fields=True):
    """Last line: SHA-256 of all lines before it."""

    sha256: str


Line = Header | EntryLine | PhotoLine | End
_decoder = msgspec.json.Decoder(Line)


def write(
    path: Path,
    header: Header,
    entries: Iterable[Entry],
    book: Path,
    names: Iterable[str],
    on_progress: Progress = no_progress,
) -> None:
    """Write a pack, whole or not at all; photos by name from beside `book`.

    Raises:
        FileTrouble: it cannot be written, or is there already.
    """
    try:
        # No time and no name in the gzip header: the same entries make the same file.
        with (
            atomic_write(path, fresh=True) as raw,
            gzip.GzipFile("", "wb", fileobj=raw, mtime=0) as file,
        ):
            _write_lines(file, header, entries, book, names, on_progress)
    except FileExistsError:
        raise FileTrouble(file=path, why=_("it is there already; type another name")) from None
    except OSError as error:
        raise NotWritten(file=path, why=reason(error)) from None


def _write_lines(
    file: gzip.GzipFile,
    header: Header,
    entries: Iterable[Entry],
    book: Path,
    names: Iterable[str],
    on_progress: Progress,
) -> None:
    total = hashlib.sha256()

    def put(line: Line) -> None:
        text = msgspec.json.encode(line) + b"\n"
        total.update(text)
        file.write(text)

    put(header)
    for entry in with_progress(entries, _("entries"), header.entries, on_progress):
        put(EntryLine(entry.hash, entry.body))
    for n, name in enumerate(names):
        on_progress(_("photos"), n, header.photos)
        data = (photos.folder(book) / name).read_bytes()
        put(PhotoLine(name, base64.b64encode(data).decode()))
    file.write(msgspec.json.encode(End(total.hexdigest())) + b"\n")


def header_of(path: Path) -> Header:
    """The first line of a pack.

    Raises:
        BadPack, FileTrouble: as for `lines`.
    """
    found = lines(path)
    first = next(found)
    for _line in found:  # to the end: a cut pack says nothing for sure; one line is held at a time
        pass
    assert isinstance(first, Header)  # `lines` lets nothing else be first
    return first


def lines(path: Path) -> Iterator[Line]:
    """The lines of a pack, the last one's hash checked before it is given.

    Raises:
        FileTrouble: the file cannot be read.
        BadPack: it is not a pack, cut, altered, or larger than a pack can be.
    """
    try:
        size = path.stat().st_size
        if size > LARGEST_FILE:
            raise BadPack(file=path.name, why=_("larger than a pack can be"))
        with path.open("rb") as raw, gzip.GzipFile(fileobj=raw) as file:
            yield from _lines(path, file, min(LARGEST_TEXT, SMALL_TEXT + MOST_UNFOLDED * size))
    except EOFError:
        raise BadPack(file=path.name, why=_("it is cut short")) from None
    except (gzip.BadGzipFile, zlib.error):
        why = _("it was altered on the way") if _is_gzip(path) else _("it is no pack")
        raise BadPack(file=path.name, why=why) from None
    except OSError as error:
        raise FileTrouble(file=path, why=reason(error)) from None


def _is_gzip(path: Path) -> bool:
    with path.open("rb") as raw:
        return raw.read(len(GZIP)) == GZIP


def _lines(path: Path, file: gzip.GzipFile, most: int) -> Iterator[Line]:
    total, taken, number, last = hashlib.sha256(), 0, 0, None
    while text := file.readline(LONGEST_LINE):
        number, taken = number + 1, taken + len(text)
        if taken > most:
            raise BadPack(file=path.name, why=_("it unfolds to more than a pack can hold"))
        if not text.endswith(b"\n"):
            raise BadPack(
                file=path.name, why=_("line {n} is cut or longer than any can be", n=number)
            )
        try:
            line = _decoder.decode(text)
        except (msgspec.MsgspecError, RecursionError, UnicodeDecodeError):
            head = _("it is no pack, or its first line was altered")
            why = _("line {n} was altered", n=number) if number > 1 else head
            raise BadPack(file=path.name, why=why) from None
        if isinstance(last, End) or isinstance(line, Header) != (number == 1):
            raise BadPack(file=path.name, why=_("line {n} is out of place", n=number))
        if isinstance(line, Header) and line.weldcal_pack != PACK:
            why = _("a newer weldcal made it: bring this one up to date, then type it again")
            raise OtherPack(file=path.name, why=why)
        if isinstance(line, End) and line.sha256 != total.hexdigest():
            raise BadPack(file=path.name, why=_("its last line does not match the rest: altered"))
        total.update(text)
        last = line
        yield line
    if not isinstance(last, End):
        raise BadPack(file=path.name, why=_("it has no end: cut"))


def entry_of(path: Path, line: EntryLine, number: int) -> Entry:
    """The entry of a line, checked.

    Raises:
        BadPack: names the entry.
    """
    try:
        return read_entry(line.body, line.hash)
    except (ValueError, TypeError):
        why = _("entry {n} ({hash}…) is not what it was", n=number, hash=line.hash[:12])
        raise BadPack(file=path.name, why=why) from None


def photo_of(path: Path, line: PhotoLine) -> bytes:
    """The bytes of a photo line, checked against their name.

    Raises:
        BadPack: they are not what the name says.
    """
    try:
        data = base64.b64decode(line.data, validate=True)
    except ValueError:
        data = b""
    if hashlib.sha256(data).hexdigest() != line.sha256 or photos.kind_of(data) is None:
        raise BadPack(
            file=path.name, why=_("photo {name}… is not what it was", name=line.sha256[:12])
        )
    return data


def pictures(path: Path, names: Container[str]) -> Iterator[tuple[str, bytes]]:
    """The photos of a pack by name, one held at a time: a pack may hold more than memory does.

    Raises:
        BadPack, FileTrouble: as for `lines`.
    """
    for line in lines(path):
        if isinstance(line, PhotoLine) and line.sha256 in names:
            yield line.sha256, photo_of(path, line)


def named_photos(payload: Payload) -> list[str]:
    """Names of the photos a payload holds."""
    found = payload.get("photos", [])
    return [p["sha256"] for p in found if isinstance(p, dict) and isinstance(p.get("sha256"), str)]
