"""The chain: entries appended one after another per device, read back, recomputed.

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
from datetime import datetime, timedelta
from typing import Any

from msgspec import Struct

from weldcal.log.entry import FORMAT, GENESIS, Entry, Envelope, read_entry, seal_entry
from weldcal.long_work import Beat, counted, silent
from weldcal.words import _

ORDER = "ORDER BY tick, device, seq"
# Clocks of two devices differ by this much without anybody minding.
CLOCK_SLACK = timedelta(minutes=2)


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
    """A UUIDv7 (RFC 9562 §5.7): sorts by the millisecond it was made.

    Python has it from 3.14 on; the packages that bring it cost a twentieth of a recording.
    """
    bits = time.time_ns() // 1_000_000 << 80 | int.from_bytes(os.urandom(10), "big")
    bits = bits & ~(0xF << 76) | 0x7 << 76  # version
    bits = bits & ~(0x3 << 62) | 0x2 << 62  # variant
    return str(uuid.UUID(int=bits))


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
        made.append(entry)
    insert(connection, made)
    return made


def insert(connection: sqlite3.Connection, entries: Iterable[Entry]) -> None:
    """Put entries in; one that is there already stays as it is."""
    connection.executemany(
        "INSERT OR IGNORE INTO entries (hash, id, device, seq, tick, kind, job, about, body) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        ((e.hash, e.id, e.device, e.seq, e.tick, e.kind, e.job, e.about, e.body) for e in entries),
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


def entries(connection: sqlite3.Connection) -> Iterator[Entry]:
    """All readable entries, in order."""
    return readable(connection.execute(f"SELECT body, hash FROM entries {ORDER}"))


def count_entries(connection: sqlite3.Connection) -> int:
    """How many entries there are."""
    count: int = connection.execute("SELECT count(*) FROM entries").fetchone()[0]
    return count


def readable(rows: Iterable[tuple[Any, Any]]) -> Iterator[Entry]:
    """Entries of (body, hash) rows; one that was tampered with past reading is left to `verify_chain`."""
    for body, kept in rows:
        try:
            yield Entry(body, kept)
        except ValueError:
            continue


def leaves(connection: sqlite3.Connection) -> list[tuple[str, int, str]]:
    """(device, seq, hash) of every entry that no other follows; one a device where none forked."""
    found = {entry.hash: (entry.device, entry.seq) for entry in entries(connection)}
    followed = {entry.prev for entry in entries(connection)}
    return sorted((*place, kept) for kept, place in found.items() if kept not in followed)


def whole_heads(connection: sqlite3.Connection) -> dict[str, tuple[int, str]]:
    """For each device, the entry up to which nothing is missing and nothing forked."""
    heads: dict[str, tuple[int, str]] = {}
    stopped: set[str] = set()
    rows = connection.execute(
        "SELECT device, seq, count(*), max(hash) FROM entries GROUP BY device, seq ORDER BY device, seq"
    )
    for device, seq, count, kept in rows:
        if device in stopped:
            continue
        if count > 1 or seq != heads.get(device, (0, ""))[0] + 1:
            stopped.add(device)
        else:
            heads[device] = (seq, kept)
    return heads


def forks(connection: sqlite3.Connection) -> list[tuple[str, int]]:
    """(device, seq) of every place that two entries take."""
    rows = connection.execute(
        "SELECT device, seq FROM entries GROUP BY device, seq HAVING count(*) > 1 ORDER BY device, seq"
    )
    return [(device, seq) for device, seq in rows]


def file_faults(connection: sqlite3.Connection) -> list[Fault]:
    """What SQLite finds wrong with the entries' own pages: an index that hides one, a torn page."""
    said = [str(row[0]) for row in connection.execute("PRAGMA integrity_check(entries)")]
    return [] if said == ["ok"] else [Fault("-", "file", "ok", line) for line in said]


def verify_chain(connection: sqlite3.Connection, beat: Beat = silent) -> list[Fault]:
    """Recompute every hash and link; return all faults, none if the chain is whole."""
    beat(_("chain"), 0, 0)
    faults = file_faults(connection)
    links: list[_Link] = []
    count = count_entries(connection)
    # In the table's own order: asking by device costs a random page an entry.
    rows = connection.execute(
        "SELECT hash, id, device, seq, tick, kind, job, about, body FROM entries"
    )
    for row in counted(rows, _("chain"), count, beat):
        prev = None
        try:
            entry = read_entry(row[-1], row[0])
        except ValueError as error:
            faults.append(Fault(str(row[1]), "entry", "an entry as it was made", str(error)))
        else:
            s, prev = entry.says, entry.says.prev
            if tuple(row[1:8]) != (s.id, s.device, s.seq, s.tick, s.kind, s.job, s.about):
                faults += _column_faults(row, entry)
        links.append((row[2], row[3], row[0], row[1], prev))
    faults += _link_faults(links)
    twice = "SELECT id, count(*) FROM entries GROUP BY id HAVING count(*) > 1"
    faults += [
        Fault(entry_id, "id", "one entry with this id", str(count))
        for entry_id, count in connection.execute(twice)
    ]
    return faults


# Device, sequence, hash and id as kept, and the hash before, where the entry can be read.
_Link = tuple[Any, Any, Any, Any, str | None]


def _link_faults(links: list[_Link]) -> list[Fault]:
    """Forks, gaps and broken links of every device."""
    faults: list[Fault] = []
    last: dict[Any, tuple[Any, Any]] = {}
    try:
        links.sort()
    except TypeError:  # columns tampered with hold anything; each is a fault of its own already
        links.sort(
            key=lambda link: (str(link[0]), isinstance(link[1], int), str(link[1]), str(link[2]))
        )
    for device, seq, kept_hash, entry_id, prev in links:
        before_seq, before_hash = last.get(device, (0, GENESIS))
        if seq == before_seq:
            faults.append(
                Fault(str(entry_id), "fork", f"one entry {seq} of device {device}", "two")
            )
        elif not isinstance(before_seq, int) or seq != before_seq + 1:
            faults.append(
                Fault(
                    str(entry_id),
                    "gap",
                    f"entry after {before_seq} of device {device}",
                    f"entry {seq}",
                )
            )
        elif prev is not None and prev != before_hash:
            faults.append(Fault(str(entry_id), "link", str(before_hash), prev))
        last[device] = (seq, kept_hash)
    return faults


def _column_faults(row: tuple[Any, ...], entry: Entry) -> list[Fault]:
    """Where the columns kept for searching differ from what the entry says."""
    names = ("id", "device", "seq", "tick", "kind", "job", "about")
    kept = tuple(row[1:8])
    says = tuple(getattr(entry.says, name) for name in names)
    if kept == says:
        return []
    return [
        Fault(entry.id, f"column {name}", str(said), str(found))
        for name, said, found in zip(names, says, kept, strict=True)
        if said != found
    ]


def clock_warnings(connection: sqlite3.Connection) -> list[Fault]:
    """Where clocks went back on a device, or disagree between devices by over two minutes.

    These are no faults of the record: the order holds by `tick` and `seq`, not by clocks.
    """
    found: list[Fault] = []
    last: dict[str, datetime] = {}
    before: tuple[str, datetime] | None = None
    for entry in entries(connection):
        at = datetime.fromisoformat(entry.at)
        mine = last.get(entry.device)
        if mine is not None and at < mine - CLOCK_SLACK:
            found.append(Fault(entry.id, "clock went back", f"after {mine}", entry.at))
        elif before and before[0] != entry.device and at < before[1] - CLOCK_SLACK:
            found.append(Fault(entry.id, "clocks disagree", f"after {before[1]}", entry.at))
        last[entry.device] = at
        before = (entry.device, at)
    return found
