"""The chain: entries appended one after another per device, and read back.

Invariant: within a device, `seq` counts 1, 2, 3 ... and each entry holds the
hash of the one before. `tick` is a Lamport clock, greater than that of every
entry known when an entry was made, so (tick, device, seq) orders entries by
what was known, whatever the clocks said.
"""

from __future__ import annotations

import os
import sqlite3
import time
import uuid
from collections.abc import Iterable, Iterator
from datetime import timedelta

from msgspec import Struct

from weldcal.json_values import Payload
from weldcal.log.entry import FORMAT, GENESIS, Entry, Envelope, seal_entry
from weldcal.views.fault import Fault as Fault

ORDER = "ORDER BY tick, device, seq"
# Of the table `entries`.
COLUMNS = ("hash", "id", "device", "seq", "tick", "kind", "job", "about", "body")
# Clocks of two devices differ by this much without anybody minding.
CLOCK_SLACK = timedelta(minutes=2)


class NewEntry(Struct, frozen=True):
    """What an entry will say, before it has its place in the chain."""

    kind: str
    payload: Payload
    job: str | None
    about: str | None = None
    id: str | None = None


def new_id() -> str:
    """A UUIDv7 (RFC 9562 §5.7): sorts by the millisecond it was made.

    Python has it from 3.14 on; the packages that bring it cost a twentieth of a recording.
    """
    bits = time.time_ns() // 1_000_000 << 80 | int.from_bytes(os.urandom(10), "big")
    bits = bits & ~(0xF << 76) | 0x7 << 76  # version
    bits = bits & ~(0x3 << 62) | 0x2 << 62  # variant
    return str(uuid.UUID(int=bits))


def append(
    connection: sqlite3.Connection, device: str, at: str, who: str, drafts: Iterable[NewEntry]
) -> list[Entry]:
    """Append drafts to the device's chain, inside the caller's transaction.

    A draft without `about` begins a subject of its own.
    """
    row = connection.execute(
        "SELECT seq, hash FROM entries WHERE device = ? ORDER BY seq DESC LIMIT 1", (device,)
    ).fetchone()
    seq, prev = row or (0, GENESIS)
    tick = connection.execute("SELECT max(tick) FROM entries").fetchone()[0] or 0
    appended = []
    for draft in drafts:
        seq, tick = seq + 1, tick + 1
        entry_id = draft.id or new_id()
        entry = seal_entry(
            Envelope(
                v=FORMAT,
                id=entry_id,
                device=device,
                seq=seq,
                tick=tick,
                at=at,
                who=who,
                kind=draft.kind,
                job=draft.job,
                about=draft.about or entry_id,
                payload=draft.payload,
                prev=prev,
            )
        )
        prev = entry.hash
        appended.append(entry)
    insert(connection, appended)
    return appended


def insert(connection: sqlite3.Connection, entries: Iterable[Entry]) -> None:
    """Insert entries; one that is there already stays as it is."""
    connection.executemany(
        f"INSERT OR IGNORE INTO entries ({', '.join(COLUMNS)}) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            (e.hash, s.id, s.device, s.seq, s.tick, s.kind, s.job, s.about, e.body)
            for e in entries
            for s in (e.says,)
        ),
    )


def entries_about(connection: sqlite3.Connection, subject: str) -> list[Entry]:
    """All readable entries of one subject, in order."""
    return list(
        readable(
            connection.execute(
                f"SELECT body, hash FROM entries WHERE about = ? {ORDER}", (subject,)
            )
        )
    )


def copies_of(connection: sqlite3.Connection, entry_id: str, first: str | None) -> list[Entry]:
    """The readable entries of an id but the one known first (by hash; the first in order if None)."""
    rows = connection.execute(f"SELECT body, hash FROM entries WHERE id = ? {ORDER}", (entry_id,))
    copies = list(readable(rows))
    first_hash = first or (copies[0].hash if copies else None)
    return [entry for entry in copies if entry.hash != first_hash]


def entries(connection: sqlite3.Connection) -> Iterator[Entry]:
    """All readable entries, in order."""
    return readable(connection.execute(f"SELECT body, hash FROM entries {ORDER}"))


def entries_of_kind(connection: sqlite3.Connection, kind: str) -> Iterator[Entry]:
    """All readable entries of a kind, in order."""
    # No index has the kind, and by that of ticks each entry would cost a page from anywhere.
    return readable(
        connection.execute(
            "SELECT body, hash FROM entries WHERE kind = ? ORDER BY +tick, device, seq", (kind,)
        )
    )


def entries_in_any_order(connection: sqlite3.Connection) -> Iterator[Entry]:
    """All readable entries in file order: sorting a large book would read it twice."""
    return readable(connection.execute("SELECT body, hash FROM entries NOT INDEXED"))


def count_entries(connection: sqlite3.Connection) -> int:
    """How many entries there are."""
    count: int = connection.execute("SELECT count(*) FROM entries").fetchone()[0]
    return count


def readable(rows: Iterable[tuple[str, str]]) -> Iterator[Entry]:
    """Entries of (body, hash) rows; one that cannot be read is left to `verifying`."""
    for body, digest in rows:
        try:
            yield Entry(body, digest)
        except ValueError:
            continue


def leaves(connection: sqlite3.Connection) -> list[tuple[str, int, str]]:
    """(device, seq, hash) of every entry that no other follows: one for each unforked device."""
    places = {entry.hash: (entry.device, entry.seq) for entry in entries(connection)}
    followed = {entry.prev for entry in entries(connection)}
    return sorted((*place, digest) for digest, place in places.items() if digest not in followed)


def whole_heads(connection: sqlite3.Connection) -> dict[str, tuple[int, str]]:
    """For each device, the entry up to which nothing is missing and nothing forked."""
    heads: dict[str, tuple[int, str]] = {}
    stopped: set[str] = set()
    rows = connection.execute(
        "SELECT device, seq, count(*), max(hash) FROM entries GROUP BY device, seq ORDER BY device, seq"
    )
    for device, seq, count, digest in rows:
        if device in stopped:
            continue
        if count > 1 or seq != heads.get(device, (0, ""))[0] + 1:
            stopped.add(device)
        else:
            heads[device] = (seq, digest)
    return heads
