"""What a typed line or a file came to: records as they would be kept, and what was refused."""

from __future__ import annotations

from msgspec import Struct

from weldcal.intake.probe_line import ProbeLine
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


class StripProposed(Struct, frozen=True):
    """A strip as it will be recorded once somebody says so.

    Attributes:
        as_on: short name of the strip that what was not typed was taken from, if any.
        taken: what was taken from it: names of the setting's fields.
        age_h: hours from that strip to this one.
    """

    strip: Strip
    as_on: str | None = None
    taken: tuple[str, ...] = ()
    age_h: float = 0.0


class WalkProposed(Struct, frozen=True):
    """A walk as it will be recorded once somebody says so; `by_list`: its length is the seam's."""

    walk: Walk
    found: tuple[Finding, ...]
    line: ProbeLine
    by_list: bool
