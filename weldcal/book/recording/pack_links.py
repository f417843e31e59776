"""How the entries of a pack follow from one another, and from those of the book.

Invariant: what contradicts the book's links is refused, never merged.
"""

from __future__ import annotations

import sqlite3
from pathlib import Path

from weldcal.log import chain, pack
from weldcal.log.entry import GENESIS, MOST, Entry
from weldcal.words import _

# Device and sequence -> hash of each entry there, with its tick.
_Places = dict[tuple[str, int], dict[str, int]]


def _places(entries: list[Entry]) -> _Places:
    places: _Places = {}
    for entry in entries:
        says = entry.says
        places.setdefault((says.device, says.seq), {})[entry.hash] = says.tick
    return places


def check_links(path: Path, entries: list[Entry], places: _Places | None = None) -> None:
    """Each entry must hold the hash of one before it on its device, and a greater tick.

    Args:
        path: the pack.
        entries: its entries.
        places: of the entries known; those of the pack alone, where not given.

    Raises:
        BadPack: one does not.
    """
    by_place = _places(entries) if places is None else places
    for number, says in enumerate((entry.says for entry in entries), 1):
        first = {GENESIS: 0} if says.seq == 1 else None
        before = first or by_place.get((says.device, says.seq - 1))
        if before is not None and says.tick <= before.get(says.prev, MOST):
            raise pack.BadPack(
                file=path.name,
                why=_(
                    "entry {n} ({id}) does not follow from the one before it", n=number, id=says.id
                ),
            )


def check_places(connection: sqlite3.Connection, path: Path, entries: list[Entry]) -> None:
    """A pack's links must agree with what the book holds, before and after each of its entries.

    Args:
        connection: of the book.
        path: the pack.
        entries: its entries.

    Raises:
        BadPack: they do not.
    """
    places, around = _places(entries), _neighbours(connection, entries)
    for place, hashes in _places(around).items():
        places.setdefault(place, {}).update(hashes)
    check_links(path, entries, places)
    known_hashes = {entry.hash for entry in around}
    for entry in around:
        before = places.get((entry.device, entry.seq - 1), {})
        if before and not known_hashes & set(before) and entry.prev not in before:
            raise pack.BadPack(
                file=path.name,
                why=_(
                    "it holds another entry {n} of device {device} than this book's next one follows",
                    n=entry.seq - 1,
                    device=entry.device,
                ),
            )


def _neighbours(connection: sqlite3.Connection, entries: list[Entry]) -> list[Entry]:
    """The book's entries in the places of a pack's, and next to them."""
    spans: dict[str, tuple[int, int]] = {}
    for entry in entries:
        low, high = spans.get(entry.device, (entry.seq, entry.seq))
        spans[entry.device] = min(low, entry.seq), max(high, entry.seq)
    rows = [
        row
        for device, (low, high) in spans.items()
        for row in connection.execute(
            "SELECT body, hash FROM entries WHERE device = ? AND seq BETWEEN ? AND ?",
            (device, low - 1, high + 1),
        )
    ]
    return list(chain.readable(tuple(row) for row in rows))
