"""The short check: what was there at the last whole check is unchanged, and what came since holds.

It serves pages that are looked at all day (the roof, the evening). Verify, dossier,
seal, backup and restore check the whole and never ask this.

Invariant: what is kept of the last check lies in a folder of the user's own, away from
the book, under a key made on this device. It proves, to whoever trusts that folder, that
every entry and every row that was there then is there now, byte for byte; that each entry
since is whole and follows from the one before; and that the rows it changed are those it
makes. It does not prove anything against a person who can read that folder: they own the
device. Indexes of the file, and seals anew, only a whole check looks at. Whenever it
cannot say that all holds, it says nothing, and the whole is checked.

Sums: the digests of rows under a secret key, added up modulo 2^256. Rows can be taken from
a sum and added to it without the others (multiset hash: Clarke et al. 2003, MSet-Add-Hash).
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
import time
from collections.abc import Iterable, Iterator
from hashlib import blake2b
from hmac import compare_digest
from pathlib import Path

import msgspec
from msgspec import Struct, msgpack
from msgspec.structs import replace

from weldcal import settings
from weldcal.log import chain, verifying
from weldcal.log.entry import GENESIS, Entry
from weldcal.log.reading import read_entry
from weldcal.tables import projector
from weldcal.tables.schema import SCHEMA_VERSION, TABLES, schema_version

# More entries than this at once are cheaper checked with all the others.
_MOST = 2000
# How long an unchanged file is taken for read (our number, no source).
_FRESH_S = 3600.0
# Kinds that others depend on: seals are held against the whole chain, days against their job.
_NEEDS_ALL = {"seal", "fork-settled", "job"}
_COLUMNS = ("hash", "id", "device", "seq", "tick", "kind", "job", "about", "body")
_ENTRIES, _FIRST = "entries", "first known"
_SIZE = 32
_encode = msgpack.Encoder().encode
_Row = tuple[object, ...]
# The columns of an entry, in order.
_EntryRow = tuple[str, str, str, int, int, str, str | None, str | None, str]


class HeldWhole(Struct, frozen=True):
    """What a check found whole.

    Attributes:
        version: of the derived tables.
        sums: table -> sum of its rows, hex; of the entries too, and of which copy was first known.
        heads: device -> sequence, hash and tick of its last entry; no device has two entries
            in one place.
        stamp: of the file when it was read (`store.stamp`); empty where that cannot be said.
        read_s: when it was read, seconds since 1970.
    """

    version: int
    sums: dict[str, str]
    heads: dict[str, tuple[int, str, int]]
    stamp: tuple[int, ...] = ()
    read_s: float = 0.0


def short(connection: sqlite3.Connection, book: Path, stamp: tuple[int, ...] = ()) -> bool:
    """Whether all still holds, by what was held last; False where only a whole check can say.

    Args:
        connection: of one moment.
        book: the file.
        stamp: of the file, taken before that moment; empty where it was not.
    """
    key = _key()
    held = _kept(book, key) if key else None
    if key is None or held is None:
        return False
    if stamp and stamp == held.stamp and 0 <= time.time() - held.read_s < _FRESH_S:
        return True
    try:
        now = _go_on(connection, held, key)
    except (sqlite3.DatabaseError, *projector.UNREADABLE):
        return False
    if now is None:
        return False
    _keep(book, replace(now, stamp=stamp, read_s=time.time()), key)
    return True


def hold(connection: sqlite3.Connection, book: Path, stamp: tuple[int, ...] = ()) -> None:
    """Hold what a whole check has just found whole; where nothing can be written, nothing is held.

    Args:
        connection: of the moment that was checked.
        book: the file.
        stamp: of the file, taken before that moment; empty where it was not.
    """
    heads: dict[str, tuple[int, str, int]] = {}
    rows = connection.execute("SELECT device, seq, hash, tick FROM entries ORDER BY device, seq")
    for device, seq, kept, tick in rows:
        if seq != heads.get(device, (0,))[0] + 1:
            return  # a fork, however settled: the whole is checked each time
        heads[device] = (seq, kept, tick)
    key = _key()
    if key is not None:
        sums = {name: _total(rows, name, key) for name, rows in _all_rows(connection)}
        held = HeldWhole(
            SCHEMA_VERSION, {n: f"{s:x}" for n, s in sums.items()}, heads, stamp, time.time()
        )
        _keep(book, held, key)


# -- going on from what was held --------------------------------------------------------


def _go_on(connection: sqlite3.Connection, held: HeldWhole, key: bytes) -> HeldWhole | None:
    """What can be held now; None where that cannot be said of it."""
    if held.version != schema_version(connection) or verifying.schema_faults(connection):
        return None
    sums = {name: int(kept, 16) for name, kept in held.sums.items()}
    fresh: list[_EntryRow] = []
    if _total(_known(connection, held, fresh), _ENTRIES, key) != sums[_ENTRIES]:
        return None
    heads = dict(held.heads)
    new = _chained(connection, fresh, heads) if len(fresh) <= _MOST else None
    if new is None:
        return None
    sums[_ENTRIES] = _added(sums[_ENTRIES], _total(fresh, _ENTRIES, key))
    for table, change in _changes(connection, new, key):
        sums[table] = _added(sums[table], change)
    for name, rows in _all_rows(connection):
        if name != _ENTRIES and _total(rows, name, key) != sums[name]:
            return None
    return HeldWhole(held.version, {name: f"{total:x}" for name, total in sums.items()}, heads)


def _known(
    connection: sqlite3.Connection, held: HeldWhole, fresh: list[_EntryRow]
) -> Iterator[_EntryRow]:
    """The entries up to what was held of each device; those beyond go into `fresh`."""
    ends = {device: seq for device, (seq, _hash, _tick) in held.heads.items()}
    rows: Iterator[_EntryRow] = _cursor(connection, _ENTRIES, _COLUMNS)
    for row in rows:
        if row[3] <= ends.get(row[2], 0):
            yield row
        elif len(fresh) <= _MOST:
            fresh.append(row)


def _chained(
    connection: sqlite3.Connection, fresh: list[_EntryRow], heads: dict[str, tuple[int, str, int]]
) -> list[Entry] | None:
    """Entries that came since, each whole and following from the one before; None if one is not.

    Args:
        connection: of the book.
        fresh: as kept.
        heads: of each device; moved on to the last.
    """
    found = []
    jobs = {job for (job,) in connection.execute("SELECT id FROM entries WHERE kind = 'job'")}
    for row in sorted(fresh, key=lambda row: (row[2], row[3])):
        entry = read_entry(row[-1], row[0])
        says = entry.says
        seq, before, tick = heads.get(says.device, (0, GENESIS, 0))
        columns = (
            entry.hash,
            says.id,
            says.device,
            says.seq,
            says.tick,
            says.kind,
            says.job,
            says.about,
        )
        follows = says.seq == seq + 1 and says.prev == before and says.tick > tick
        if row[:-1] != columns or not follows or says.kind in _NEEDS_ALL or says.about in jobs:
            return None
        same = connection.execute("SELECT count(*) FROM entries WHERE id = ?", (says.id,))
        if same.fetchone()[0] != 1:
            return None
        heads[says.device] = (says.seq, entry.hash, says.tick)
        found.append(entry)
    return found


def _changes(
    connection: sqlite3.Connection, new: list[Entry], key: bytes
) -> Iterator[tuple[str, int]]:
    """By table, what the entries since add to its sum and take from it."""
    begins, first = projector.derived_day_begins(connection), projector.first_known(connection)
    fresh = {entry.hash for entry in new}
    for subject in dict.fromkeys(entry.about for entry in new):
        after = chain.entries_about(connection, subject)
        before = [entry for entry in after if entry.hash not in fresh]
        for entries, sign in ((after, 1), (before, -1)):
            for table, row in (
                projector.rows_of(entries, begins, first.get(subject)) if entries else ()
            ):
                values = tuple(map(row.get, TABLES[table]))
                yield table, sign * _total([values], table, key)


# -- sums -------------------------------------------------------------------------------


def _all_rows(connection: sqlite3.Connection) -> Iterator[tuple[str, Iterable[_Row]]]:
    """Every table that the check holds, with its rows."""
    yield _ENTRIES, _cursor(connection, _ENTRIES, _COLUMNS)
    for table, columns in TABLES.items():
        yield table, _cursor(connection, table, columns)
    yield _FIRST, ((name, kept) for name, kept in projector.first_known(connection).items())


def _cursor(connection: sqlite3.Connection, table: str, columns: Iterable[str]) -> sqlite3.Cursor:
    """Rows of a table as plain tuples."""
    cursor = connection.cursor()
    cursor.row_factory = None
    listed = ", ".join(f'"{name}"' for name in columns)
    # From the table itself: an index may hide a row.
    return cursor.execute(f'SELECT {listed} FROM "{table}" NOT INDEXED')


def _total(rows: Iterable[_Row], table: str, key: bytes) -> int:
    total = 0
    person = table.encode()[:16]  # a row of one table is none of another
    for values in rows:
        digest = blake2b(_encode(values), key=key, digest_size=_SIZE, person=person).digest()
        total += int.from_bytes(digest, "big")
    return total % (1 << 8 * _SIZE)


def _added(total: int, change: int) -> int:
    return (total + change) % (1 << 8 * _SIZE)


# -- where it is kept -------------------------------------------------------------------


def _key() -> bytes | None:
    """The key of this device and user, made when first asked for; None where none can be kept."""
    path = settings.state_folder() / "check-key"
    with contextlib.suppress(OSError):
        if not path.exists():
            _write(path, os.urandom(_SIZE))
        kept = path.read_bytes()
        return kept if len(kept) == _SIZE else None
    return None


def _place(book: Path) -> Path:
    named = blake2b(os.fsencode(book.resolve()), digest_size=16).hexdigest()
    return settings.state_folder() / "checked" / f"{named}.json"


def _kept(book: Path, key: bytes) -> HeldWhole | None:
    """What was held last; None where nothing was, or somebody without the key wrote it."""
    try:
        sealed, _line, body = _place(book).read_bytes().partition(b"\n")
        if not compare_digest(sealed, _seal(body, key)):
            return None
        return msgspec.json.decode(body, type=HeldWhole)
    except (OSError, msgspec.MsgspecError):
        return None


def _keep(book: Path, held: HeldWhole, key: bytes) -> None:
    body = msgspec.json.encode(held)
    with contextlib.suppress(OSError):
        _write(_place(book), _seal(body, key) + b"\n" + body)


def _seal(body: bytes, key: bytes) -> bytes:
    return blake2b(body, key=key, digest_size=_SIZE).hexdigest().encode()


def _write(path: Path, data: bytes) -> None:
    """A file whole or not at all, its owner's only."""
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    part = path.with_suffix(f".{os.getpid()}")
    with os.fdopen(os.open(part, os.O_CREAT | os.O_WRONLY | os.O_TRUNC, 0o600), "wb") as file:
        file.write(data)
    part.replace(path)
