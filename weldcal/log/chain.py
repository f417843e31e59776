"""The chain: entries appended one after another per device, read back, recomputed.

Invariant: within a device, `seq` counts 1, 2, 3 ... and each entry holds the
hash of the one before. `tick` is a Lamport clock, greater than that of every
entry known when an entry was made, so (tick, device, seq) orders entries by
what was known, whatever the clocks said.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator
from typing import Any

import uuid_utils
from msgspec import Struct

from weldcal.log.entry import FORMAT, GENESIS, Entry, digest, envelope_fault, seal_entry

ORDER = "ORDER BY tick, device, seq"


class Draft(Struct, frozen=True):
    """What an entry will say, before it has its place in the chain."""

    kind: str
    payload: dict[str, Any]
    job: str | None
    about: str | None = None
    id: str | None = None


class Fault(Struct, frozen=True):
    """Something wrong with the record: where, what was expected, what was found."""

    entry: str
    what: str
    expected: str
    found: str


def new_id() -> str:
    """A UUIDv7 (RFC 9562): sorts by the time it was made."""
    return str(uuid_utils.uuid7())


def append(
    connection: sqlite3.Connection, device: str, at: str, who: str, drafts: Iterable[Draft]
) -> list[Entry]:
    """Append drafts to the device's chain, inside the caller's transaction.

    A draft without `about` begins a subject of its own.
    """
    row = connection.execute(
        "SELECT seq, hash FROM entries WHERE device = ? ORDER BY seq DESC LIMIT 1", (device,)
    ).fetchone()
    seq, prev = row or (0, GENESIS)
    tick = connection.execute("SELECT max(tick) FROM entries").fetchone()[0] or 0
    made = []
    for draft in drafts:
        seq, tick = seq + 1, tick + 1
        entry_id = draft.id or new_id()
        entry = seal_entry(
            {
                "v": FORMAT, "id": entry_id, "device": device, "seq": seq, "tick": tick, "at": at,
                "who": who, "kind": draft.kind, "job": draft.job, "about": draft.about or entry_id,
                "payload": draft.payload, "prev": prev,
            }
        )  # fmt: skip
        insert(connection, [entry])
        prev = entry.hash
        made.append(entry)
    return made


def insert(connection: sqlite3.Connection, entries: Iterable[Entry]) -> None:
    """Put entries in; one that is there already stays as it is."""
    connection.executemany(
        "INSERT OR IGNORE INTO entries (hash, id, device, seq, tick, kind, job, about, body) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            (e.hash, e.id, e.device, e.seq, e.tick, e.kind, e.job, e.about, e.body)
            for e in entries
        ),
    )  # fmt: skip


def entries_about(connection: sqlite3.Connection, subject: str) -> list[Entry]:
    """All entries of one subject, in order."""
    rows = connection.execute(f"SELECT body, hash FROM entries WHERE about = ? {ORDER}", (subject,))
    return [Entry(*row) for row in rows]  # fmt: skip


def entries(connection: sqlite3.Connection) -> Iterator[Entry]:
    """All entries, in order."""
    for row in connection.execute(f"SELECT body, hash FROM entries {ORDER}"):
        yield Entry(*row)


def heads(connection: sqlite3.Connection) -> dict[str, tuple[int, str]]:
    """The last sequence and hash of every device."""
    rows = connection.execute(
        "SELECT device, seq, hash FROM entries e WHERE seq = "
        "(SELECT max(seq) FROM entries WHERE device = e.device) ORDER BY device, hash"
    )
    return {device: (seq, head) for device, seq, head in rows}


def verify_chain(connection: sqlite3.Connection) -> list[Fault]:
    """Recompute every hash and link; return all faults, none if the chain is whole."""
    faults: list[Fault] = []
    last: dict[str, tuple[int, str]] = {}
    columns = "hash, id, device, seq, tick, kind, job, about, body"
    for row in connection.execute(f"SELECT {columns} FROM entries ORDER BY device, seq, hash"):
        faults += _entry_faults(row)
        _, entry_id, device, seq = row[:4]
        before_seq, before_hash = last.get(device, (0, GENESIS))
        if seq == before_seq:
            faults.append(
                Fault(entry_id, "fork", f"one entry {seq} of device {device}", "two")
            )  # fmt: skip
        elif seq != before_seq + 1:
            faults.append(
                Fault(entry_id, "gap", f"entry {before_seq + 1} of device {device}", f"entry {seq}")
            )
        else:
            prev = _prev(row[-1])
            if prev != before_hash:
                faults.append(Fault(entry_id, "link", before_hash, str(prev)))
        last[device] = (seq, row[0])
    return faults


def _entry_faults(row: tuple[Any, ...]) -> list[Fault]:
    kept_hash, entry_id, device, seq, tick, kind, job, about, body = row
    found = digest(body.encode())
    if found != kept_hash:
        return [Fault(entry_id, "hash", kept_hash, found)]
    try:
        says = json.loads(body)
    except ValueError:
        return [Fault(entry_id, "body", "JSON", body[:40])]
    fault = envelope_fault(says)
    if fault:
        return [Fault(entry_id, "envelope", "the form of an entry", fault)]
    columns = {"id": entry_id, "device": device, "seq": seq, "tick": tick, "kind": kind, "job": job, "about": about}  # fmt: skip
    return [
        Fault(entry_id, f"column {name}", str(says[name]), str(value))
        for name, value in columns.items()
        if says[name] != value
    ]


def _prev(body: str) -> Any:
    try:
        says = json.loads(body)
        return says.get("prev") if isinstance(says, dict) else None
    except ValueError:
        return None
