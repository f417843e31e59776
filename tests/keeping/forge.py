"""What a forger has: a text editor, SHA-256, gzip and the published form. Nothing of weldcal.

Invariant: packs are read and written here from `shared/exchange.md` alone, so a
test that uses this says something about the form, not about the program.
"""

from __future__ import annotations

import base64
import contextlib
import gzip
import hashlib
import json
import sqlite3
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

ZEROS = "0" * 64
DEVICE = "5742a9000001"
PNG = b"\x89PNG\r\n\x1a\n"
PHOTO = PNG + b"invented"
Entry = tuple[str, str]  # body, hash


def uuid(number: int) -> str:
    """An id in the form ids have (RFC 9562, version 7)."""
    return f"00000000-0000-7000-8000-{number:012x}"


def canonical(value: Any) -> str:
    """RFC 8785 of text, whole numbers, booleans, lists and objects with plain keys."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def sealed(says: dict[str, Any]) -> Entry:
    """The entry that says this, with a hash that fits."""
    body = canonical(says)
    return body, hashlib.sha256(body.encode()).hexdigest()


def envelope(**says: Any) -> dict[str, Any]:
    """The first entry a strange device would make."""
    return {
        "v": 1,
        "id": uuid(1),
        "device": DEVICE,
        "seq": 1,
        "tick": 1,
        "at": "2026-06-01T07:00:00-06:00",
        "who": "Ana Ruiz",
        "kind": "telepathy",
        "job": None,
        "about": says.get("id", uuid(1)),
        "payload": {},
        "prev": ZEROS,
        **says,
    }


def entries_of(book: Path) -> list[Entry]:
    """A book's entries, in order."""
    with contextlib.closing(sqlite3.connect(book)) as connection:
        return connection.execute(
            "SELECT body, hash FROM entries ORDER BY tick, device, seq"
        ).fetchall()


def pack(path: Path, entries: Iterable[Entry], photos: Iterable[bytes] = (), **header: Any) -> Path:
    """Write a pack whose every count and hash fits."""
    entries, photos = list(entries), list(photos)
    heads: dict[str, Any] = {}
    for body, kept in entries:
        with contextlib.suppress(ValueError, TypeError, KeyError, RecursionError):
            says = json.loads(body)
            heads[says["device"]] = [says["seq"], kept]
    first = {
        "line": "header",
        "weldcal_pack": 1,
        "made": "2026-06-01T12:00:00-06:00",
        "program": "0",
        "entries": len(entries),
        "photos": len(photos),
        "heads": heads,
        **header,
    }
    lines = [first, *({"line": "entry", "hash": kept, "body": body} for body, kept in entries)]
    lines += [
        {
            "line": "photo",
            "sha256": hashlib.sha256(data).hexdigest(),
            "data": base64.b64encode(data).decode(),
        }
        for data in photos
    ]
    return pack_lines(path, [json.dumps(line).encode() for line in lines])


def pack_lines(path: Path, lines: Iterable[bytes]) -> Path:
    """Write these lines and an end that fits them."""
    text = b"".join(line + b"\n" for line in lines)
    end = json.dumps({"line": "end", "sha256": hashlib.sha256(text).hexdigest()}).encode()
    path.write_bytes(gzip.compress(text + end + b"\n", 1, mtime=0))
    return path


def lines_of(path: Path) -> list[bytes]:
    """The lines of a pack, without its end."""
    return gzip.decompress(path.read_bytes()).splitlines()[:-1]


def rewrite(book: Path, change: Callable[[dict[str, Any]], dict[str, Any] | None]) -> None:
    """Change what entries say (None: drop it), then recompute every later hash and link.

    This is what the owner of a device can do, and a plain verify cannot tell.
    """
    made, prev, seqs = [], {}, {}
    for body, _kept in entries_of(book):
        says = change(json.loads(body))
        if says is None:
            continue
        device = says["device"]
        seqs[device] = seqs.get(device, 0) + 1
        says |= {"prev": prev.get(device, ZEROS), "seq": seqs[device]}
        body, kept = sealed(says)
        prev[device] = kept
        made.append(
            (
                kept,
                *(says[k] for k in ("id", "device", "seq", "tick", "kind", "job", "about")),
                body,
            )
        )
    with contextlib.closing(sqlite3.connect(book)) as connection, connection, unguarded(connection):
        connection.execute("DELETE FROM entries")
        connection.executemany("INSERT INTO entries VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", made)


@contextlib.contextmanager
def unguarded(connection: sqlite3.Connection) -> Iterator[None]:
    """Without the triggers that guard the entries; a careful forger puts them back."""
    triggers = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
    kept = connection.execute(triggers).fetchall()
    for name, _sql in kept:
        connection.execute(f"DROP TRIGGER {name}")
    yield
    for _name, sql in kept:
        connection.execute(sql)


def spoil(book: Path, sql: str, *values: object) -> None:
    """Change a book's file behind its triggers."""
    with contextlib.closing(sqlite3.connect(book)) as connection, connection, unguarded(connection):
        connection.execute(sql, values)
