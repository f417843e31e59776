"""What a file came to: its rows as they are kept, and what was refused."""

from __future__ import annotations

from msgspec import Struct

from weldcal.json_values import JsonObject
from weldcal.records.seam import Finding, Walk
from weldcal.records.strip import Strip
from weldcal.views.note import Note


class RowKept(Struct, frozen=True):
    """A row as it is kept: its number in the file, the record with its name, what is odd about it.

    Attributes:
        found: what a walk found, with the names given.
    """

    row: int
    record: Strip | Walk
    notes: tuple[Note, ...]
    found: tuple[Finding, ...] = ()


class LoadDone(Struct, frozen=True):
    """What a load came to: records and findings recorded, rows here already, rows refused."""

    recorded: int
    findings: int
    known: int
    refused: int


def plain(note: Note) -> JsonObject:
    """A note as JSON: its code and values, a shortfall by its own code."""
    short = note.values.get("shortfall")
    values = note.values if short is None else {"shortfall": short.code, **short.values}
    return {"code": note.code, **values}
