"""One check of a book, whatever asks: verify, dossier, seal, backup, restore, evening, roof.

Invariant: it reads one connection, of one moment, and mends nothing. What a seal
seals is reached again from its heads, hash by hash.
"""

from __future__ import annotations

import sqlite3
from datetime import datetime

from msgspec import Struct

from weldcal.log import chain, seal, signing, store, verifying
from weldcal.log.entry import Entry
from weldcal.long_work import Progress, no_progress
from weldcal.records.codec import decode
from weldcal.records.seal import Seal
from weldcal.records.times import moment_of
from weldcal.tables.schema import SCHEMA_VERSION, schema_version


class Since(Struct, frozen=True):
    """What a seal sealed, and what came of it.

    Attributes:
        entries_since: recorded after it.
        corrected: (id of what was sealed, path, by whom, when) of each correction or
            taking back recorded since.
        ends: (device, sequence, when entered) of the last entry of each device now.
        clocks_back: how often the clock of a device went back among what is sealed.
    """

    entries_since: int
    corrected: tuple[tuple[str, str, str, str], ...]
    ends: tuple[tuple[str, int, str], ...]
    clocks_back: int


def check(
    connection: sqlite3.Connection, on_progress: Progress = no_progress
) -> tuple[int, list[chain.Fault]]:
    """Recompute the chain, derive the tables anew, check the schema and every seal recorded.

    Args:
        connection: its rows can be read by name.
        on_progress: called with how far it is.

    Returns:
        How many entries were read, and all faults.
    """
    from weldcal.tables import compare

    read = verifying.read_chain(connection, on_progress)
    faults = verifying.schema_faults(connection) + read.faults
    if schema_version(connection) == SCHEMA_VERSION:  # another's are made anew when it is opened
        faults += compare.table_faults(connection, on_progress)
    for entry in read.seals:
        faults += seal_faults(entry, read.links, signed=signing.possible())
    return chain.count_entries(connection), faults


def make_anew(connection: sqlite3.Connection, on_progress: Progress = no_progress) -> None:
    """Tables derived anew from the entries; their guards put right; in one transaction.

    Args:
        connection: of the book.
        on_progress: called with how far it is.
    """
    from weldcal.tables import schema

    with store.transaction(connection):
        verifying.put_schema_right(connection)
        schema.rebuild(connection, on_progress)


def open_forks(connection: sqlite3.Connection) -> list[verifying.EntryAt]:
    """Where two entries take one place, and nobody settled it.

    Args:
        connection: of the book.
    """
    forks = verifying.forks(connection)
    settled = verifying.settled_forks(connection) if forks else []
    return [
        place
        for place in forks
        if not verifying.is_settled(place, verifying.branches_at(connection, *place), settled)
    ]


def links(connection: sqlite3.Connection) -> dict[str, str]:
    """The hash of every entry, with that of the one before it on its device.

    Args:
        connection: of the book.
    """
    return {entry.hash: entry.prev for entry in chain.entries(connection)}


def _sealed(kept: Seal, links: dict[str, str]) -> set[str]:
    """Hashes of the entries that a seal covers and this book holds."""
    sealed: set[str] = set()
    for head in kept.heads:
        at = head.hash
        while at in links and at not in sealed:
            sealed.add(at)
            at = links[at]
    return sealed


def seal_faults(
    entry: Entry, links: dict[str, str], *, signed: bool, key: str | None = None
) -> list[chain.Fault]:
    """What of a seal does not hold.

    Args:
        entry: the seal's.
        links: of every entry in the book.
        signed: check its signature, where it has one.
        key: the public key that stands on the paper, hex; the seal must be signed with it.
    """
    try:
        kept: Seal = decode("seal", entry.payload)
    except ValueError as error:
        return [chain.Fault(entry.id, "seal", "a seal", str(error))]
    statement = seal.statement(entry.job or "", kept)
    faults = []
    if seal.code(statement) != kept.code:
        faults.append(chain.Fault(entry.id, "seal", kept.code, seal.code(statement)))
    for head in kept.heads:
        if head.hash not in links:
            what = f"sealed entry {head.seq} of device {head.device}"
            faults.append(chain.Fault(entry.id, what, head.hash, "not in this book"))
    count = len(_sealed(kept, links))
    if count != kept.entries:
        faults.append(chain.Fault(entry.id, "seal count", str(kept.entries), str(count)))
    if signed and kept.signature and not signing.holds(kept.key or "", kept.signature, statement):
        faults.append(chain.Fault(entry.id, "signature", "of this seal", "of something else"))
    if key is not None and (kept.key != key or not kept.signature):
        found = kept.key if kept.signature and kept.key else "not signed"
        faults.append(chain.Fault(entry.id, "signature", f"by key {key}", found))
    return faults


def since(connection: sqlite3.Connection, entry: Entry) -> Since:
    """What came of what a seal sealed: entries since, corrections of it, the order within it.

    Args:
        connection: of the book.
        entry: that of the seal.
    """
    try:
        sealed = _sealed(decode("seal", entry.payload), links(connection))
    except ValueError:
        sealed = set()
    covered: set[str] = set()
    later: list[Entry] = []
    ends: dict[str, tuple[str, int, str]] = {}
    times: dict[str, datetime] = {}
    back = 0
    for one in chain.entries(connection):
        if one.device not in ends or one.seq > ends[one.device][1]:
            ends[one.device] = (one.device, one.seq, one.at)
        if one.hash not in sealed:
            later.append(one)
            continue
        covered.add(one.id)
        at = moment_of(one.at)
        if at is not None:
            before = times.get(one.device)
            back += before is not None and at < before - chain.CLOCK_SLACK
            times[one.device] = at
    amends = [one for one in later if one.kind == "amend" and one.about in covered]
    return Since(
        entries_since=len([one for one in later if one.hash != entry.hash]),
        corrected=tuple((a.about, str(a.payload.get("path")), a.who, a.at) for a in amends),
        ends=tuple(sorted(ends.values())),
        clocks_back=back,
    )
