"""The record's own check: file, schema, hashes, links, counts, forks, clocks.

Invariant: nothing is mended here; every difference is named. Within a device
each entry follows one that is there, and its tick is greater than that one's.
"""

from __future__ import annotations

import contextlib
import math
import sqlite3
from collections.abc import Iterable, Iterator
from datetime import datetime
from functools import cache
from itertools import groupby
from operator import attrgetter, itemgetter
from typing import Any

from msgspec import MsgspecError, Struct, json

from weldcal.log import store
from weldcal.log.chain import CLOCK_SLACK, Fault, count_entries, entries_of_kind, readable
from weldcal.log.entry import GENESIS, Entry
from weldcal.log.reading import read_entry
from weldcal.long_work import Progress, no_progress, with_progress
from weldcal.records.codec import decode
from weldcal.records.notes import ForkSettled
from weldcal.records.times import moment_of
from weldcal.words import _

# Device, sequence, hash and id as kept; the hash before and the tick (None and 0 of one unreadable).
_Link = tuple[Any, Any, Any, Any, str | None, int]
EntryAt = tuple[str, int]


class ChainRead(Struct, frozen=True):
    """The chain as it was read.

    Attributes:
        faults: all that is wrong with it.
        links: hash of every readable entry -> the hash before it.
        seals: the readable entries of seals, in order.
    """

    faults: list[Fault]
    links: dict[str, str]
    seals: list[Entry]


class Settled(Struct, frozen=True):
    """A fork that somebody settled: where, between which entries, by whom, when, in what words."""

    device: str
    seq: int
    hashes: frozenset[str]
    by: str
    at: str
    done: str


def file_faults(connection: sqlite3.Connection) -> list[Fault]:
    """What SQLite finds wrong with the entries' own pages: an index that hides one, a torn page."""
    report = [str(row[0]) for row in connection.execute("PRAGMA integrity_check(entries)")]
    return [] if report == ["ok"] else [Fault("-", "file", "ok", line) for line in report]


def schema_faults(connection: sqlite3.Connection) -> list[Fault]:
    """What of the entries' table was dropped or changed, and triggers and views that are not ours.

    A foreign trigger can drop or change what is recorded next; a foreign index that wants
    unique values can keep an entry out.
    """
    kept = _schema(connection)
    faults = []
    for name in sorted(kept.keys() | _own_schema().keys()):
        wanted, found = _own_schema().get(name), kept.get(name)
        if wanted != found:
            faults.append(
                Fault(
                    "-", f"schema: {name}", wanted or "no such thing", found or "gone from the book"
                )
            )
    return faults


def _schema(connection: sqlite3.Connection) -> dict[str, str]:
    """Kind and name -> SQL of all that guards the entries, and of every trigger and view."""
    rows = connection.execute(
        "SELECT type, name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite\\_%' ESCAPE '\\' "
        "AND (tbl_name IN ('entries', 'local') OR type IN ('trigger', 'view'))"
    )
    return {f"{kind} {name}": " ".join(str(sql).split()) for kind, name, sql in rows}


@cache
def _own_schema() -> dict[str, str]:
    with contextlib.closing(sqlite3.connect(":memory:")) as connection:
        connection.executescript(store.ENTRIES_SQL)
        return _schema(connection)


def put_schema_right(connection: sqlite3.Connection) -> None:
    """Drop foreign triggers, views and indexes of the entries, and make those that are gone anew.

    A changed table is left: what it holds is the record.
    """
    own = _own_schema()
    for name in [fault.what.removeprefix("schema: ") for fault in schema_faults(connection)]:
        kind, _space, called = name.partition(" ")
        if kind == "table":
            continue
        quoted = called.replace('"', '""')
        connection.execute(f'DROP {kind.upper()} IF EXISTS "{quoted}"')
        if name in own:
            connection.execute(own[name])


def verify_chain(
    connection: sqlite3.Connection, on_progress: Progress = no_progress
) -> list[Fault]:
    """Recompute every hash and link; return all faults, none if the chain is whole."""
    return read_chain(connection, on_progress).faults


def read_chain(connection: sqlite3.Connection, on_progress: Progress = no_progress) -> ChainRead:
    """Recompute every hash, link and count."""
    on_progress(_("chain"), 0, 0)
    faults = file_faults(connection)
    links: list[_Link] = []
    noted: list[Entry] = []  # a search by kind would read everything once more
    count = count_entries(connection)
    # In the table's own order: asking by device costs a random page an entry.
    rows = connection.execute(
        "SELECT hash, id, device, seq, tick, kind, job, about, body FROM entries"
    )
    for row in with_progress(rows, _("chain"), count, on_progress):
        prev, tick = None, 0
        try:
            entry = read_entry(row[-1], row[0])
        except ValueError as error:
            faults.append(Fault(str(row[1]), "entry", "an entry as it was made", str(error)))
        else:
            s, prev, tick = entry.says, entry.says.prev, entry.says.tick
            if s.kind in ("seal", "fork-settled"):
                noted.append(entry)
            says = (s.id, s.device, s.seq, s.tick, s.kind, s.job, s.about)
            if (found := tuple(row[1:8])) != says:
                faults += _column_faults(s.id, says, found)
        links.append((row[2], row[3], row[0], row[1], prev, tick))
    noted.sort(key=attrgetter("tick", "device", "seq"))
    faults += _link_faults(links, _settled(noted))
    twice = "SELECT id, count(*) FROM entries GROUP BY id HAVING count(*) > 1"
    faults += [
        Fault(entry_id, "id", "one entry with this id", str(count))
        for entry_id, count in connection.execute(twice)
    ]
    seals = [entry for entry in noted if entry.kind == "seal"]
    return ChainRead(faults, {link[2]: link[4] for link in links if link[4] is not None}, seals)


def _link_faults(links: list[_Link], settled: list[Settled]) -> list[Fault]:
    """Forks that nobody settled, gaps, broken links and counts that do not rise, of every device."""
    faults: list[Fault] = []
    # Columns tampered with hold anything: what is no count comes after those that are.
    links.sort(
        key=lambda link: (
            str(link[0]),
            link[1] if isinstance(link[1], int) else math.inf,
            str(link[2]),
        )
    )
    for device, mine in groupby(links, key=itemgetter(0)):
        last: Any = 0
        before: dict[Any, int] = {GENESIS: 0}
        for seq, group in groupby(mine, key=itemgetter(1)):
            place = list(group)
            if not isinstance(last, int) or seq != last + 1:
                expected = f"entry after {last} of device {device}"
                faults.append(Fault(str(place[0][3]), "gap", expected, f"entry {seq}"))
            else:
                faults += [fault for link in place for fault in _follows(link, before)]
            hashes = [link[2] for link in place]
            if _forks_here(place) and not is_settled((device, seq), hashes, settled):
                expected = f"one entry {seq} of device {device}"
                faults.append(Fault(str(place[-1][3]), "fork", expected, "two"))
            last, before = seq, {link[2]: link[5] for link in place}
    return faults


def _follows(link: _Link, before: dict[Any, int]) -> Iterator[Fault]:
    """What is wrong between an entry and the one it follows."""
    _device, _seq, _hash, entry_id, prev, tick = link
    if prev is None:
        return
    if prev not in before:
        yield Fault(str(entry_id), "link", " or ".join(map(str, before)), prev)
    elif tick <= before[prev]:
        yield Fault(str(entry_id), "tick", f"more than {before[prev]}, the one before's", str(tick))


def _forks_here(place: list[_Link]) -> bool:
    """Whether two entries follow one: two branches that go on are one fork, where they part."""
    return len({link[4] for link in place}) < len(place)


def is_settled(place: EntryAt, hashes: Iterable[str], settled: list[Settled]) -> bool:
    """Whether somebody settled a fork of exactly these entries."""
    return any((s.device, s.seq) == place and s.hashes.issuperset(hashes) for s in settled)


def forks(connection: sqlite3.Connection) -> list[EntryAt]:
    """(device, seq) of every place where two entries follow one, settled or not."""
    return sorted({(device, seq) for device, seq, _kept in _branches(connection)})


def branches_at(connection: sqlite3.Connection, device: str, seq: int) -> list[str]:
    """The hashes of the entries that part at a place; none where it is no fork."""
    return sorted(kept for d, s, kept in _branches(connection) if (d, s) == (device, seq))


def _branches(connection: sqlite3.Connection) -> Iterator[tuple[str, int, str]]:
    rows = connection.execute(
        "SELECT body, hash FROM entries WHERE (device, seq) IN "
        "(SELECT device, seq FROM entries GROUP BY device, seq HAVING count(*) > 1)"
    )
    found = list(readable(rows))
    prevs = [(e.device, e.seq, e.prev) for e in found]
    for entry in found:
        if prevs.count((entry.device, entry.seq, entry.prev)) > 1:
            yield entry.device, entry.seq, entry.hash


def settled_forks(connection: sqlite3.Connection) -> list[Settled]:
    """The forks that somebody settled by an entry, in order."""
    return _settled(entries_of_kind(connection, "fork-settled"))


def _settled(entries: Iterable[Entry]) -> list[Settled]:
    """What those entries that settle a fork say."""
    found = []
    for entry in entries:
        if entry.kind != "fork-settled":
            continue
        with contextlib.suppress(ValueError):
            settlement: ForkSettled = decode("fork-settled", entry.payload)
            by, at = settlement.seen.by, settlement.seen.at
            hashes = frozenset(settlement.hashes)
            found.append(
                Settled(settlement.device, settlement.seq, hashes, by, at, settlement.done)
            )
    return found


def _column_faults(
    entry_id: str, says: tuple[object, ...], kept: tuple[object, ...]
) -> list[Fault]:
    """Where the columns kept for searching differ from what the entry says."""
    names = ("id", "device", "seq", "tick", "kind", "job", "about")
    return [
        Fault(entry_id, f"column {name}", str(expected), str(actual))
        for name, expected, actual in zip(names, says, kept, strict=True)
        if expected != actual
    ]


class _Dated(Struct):
    """What of an entry its clock's check needs; the rest of its body is passed over."""

    id: str
    device: str
    at: str


def _dated_entries(connection: sqlite3.Connection) -> Iterator[_Dated]:
    """All readable entries, in order."""
    read = json.Decoder(_Dated).decode
    # Sorted as a whole: by the index of ticks each entry would cost a page from anywhere.
    for (body,) in connection.execute("SELECT body FROM entries ORDER BY +tick, device, seq"):
        with contextlib.suppress(MsgspecError, UnicodeError, TypeError):
            yield read(body)


def clock_warnings(connection: sqlite3.Connection) -> list[Fault]:
    """Where clocks went back on a device, or disagree between devices by over two minutes.

    These are no faults of the record: the order holds by `tick` and `seq`, not by clocks.
    A time that cannot be read is a fault of its entry, reported there.
    """
    found: list[Fault] = []
    last: dict[str, datetime] = {}
    before: tuple[str, datetime] | None = None
    for entry in _dated_entries(connection):
        at = moment_of(entry.at)
        if at is None:
            continue
        mine = last.get(entry.device)
        if mine is not None and at < mine - CLOCK_SLACK:
            found.append(Fault(entry.id, "clock went back", f"after {mine}", entry.at))
        elif before and before[0] != entry.device and at < before[1] - CLOCK_SLACK:
            found.append(Fault(entry.id, "clocks disagree", f"after {before[1]}", entry.at))
        last[entry.device] = at
        before = (entry.device, at)
    return found
