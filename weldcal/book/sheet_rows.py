"""Rows of a sheet on their way into the book: what they say, named and drafted.

Invariant: what a row says, but for its name and its place in a file, is one text: two rows that
say the same have the same.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import TYPE_CHECKING

import msgspec
from msgspec import Struct
from msgspec.structs import replace

from weldcal.book.core import Note
from weldcal.json_values import Payload
from weldcal.log import chain
from weldcal.records.codec import encode
from weldcal.records.seam import Finding, Walk

if TYPE_CHECKING:
    from weldcal.book.writing import Writer

# What a record said -> ids of the records that said it.
Here = defaultdict[bytes, list[str]]


class WalkTyped(Struct, frozen=True):
    """A walk of a sheet before it has a name: its payload as JSON, and all that it says."""

    row: int
    walk: Walk
    found: tuple[Finding, ...]
    payload: bytes
    said: bytes


class WalkMade(Struct, frozen=True):
    """A walk of a sheet as it stands in the book; `new` and `found` are what was recorded now."""

    row: int
    id: str
    walk: Walk
    found: tuple[Finding, ...]
    new: bool
    said: bytes


def walk_made(
    writer: Writer, job: str, one: WalkTyped, here: tuple[Here, Here], drafts: list[chain.NewEntry]
) -> WalkMade:
    """Name a walk of a sheet and what it found, and draft it, but for what is here already.

    Args:
        writer: in whose transaction it is.
        job: its id.
        one: the walk as read.
        here: ids of what is here already.
        drafts: records to be written; those made are added.
    """
    walks, findings = here
    walk, new = one.walk, not walks[one.said]
    if new:
        walk_id = chain.new_id()
        walk = replace(walk, name=writer.next_name("W", job))
        payload = {**msgspec.json.decode(one.payload), "name": walk.name}
        drafts.append(chain.NewEntry("walk", payload, job, None, walk_id))
    else:
        walk_id = walks[one.said].pop()
    recorded = []
    for finding in one.found:
        payload = encode(replace(finding, walk=walk_id))
        if there := findings[said_of(payload)]:
            there.pop()
            continue
        named = replace(finding, walk=walk_id, name=writer.next_name("F", job))
        drafts.append(chain.NewEntry("finding", {**payload, "name": named.name}, job))
        recorded.append(named)
    return WalkMade(one.row, walk_id, walk, tuple(recorded), new, one.said)


def repeated(rows: Iterable[tuple[int, bytes]]) -> dict[int, tuple[Note, ...]]:
    """A note for each row that says what a row above it said.

    Args:
        rows: the number of each row, and what it says.
    """
    first: dict[bytes, int] = {}
    found: dict[int, tuple[Note, ...]] = {}
    for row, said in rows:
        above = first.setdefault(said, row)
        if above != row:
            found[row] = (Note("same_row", {"row": above}),)
    return found


def said_of(payload: Payload) -> bytes:
    """All a record says but its name and its place in a file.

    Args:
        payload: of the record.
    """
    kept = {key: value for key, value in payload.items() if key not in ("name", "source")}
    return msgspec.json.encode(kept, order="sorted")
