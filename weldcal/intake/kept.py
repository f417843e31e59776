"""What a file came to: its rows as they are kept, and what was refused."""

from __future__ import annotations

from msgspec import Struct

from weldcal.intake.row import Refusal
from weldcal.json_values import JsonObject
from weldcal.records.seam import Finding, Walk
from weldcal.records.strip import Strip
from weldcal.views.note import Note


class RowKept(Struct, frozen=True):
    """A row as it is kept: its number in the file, the record with its name, what is odd about it.

    Attributes:
        found: what a walk found, with the names given.
        slips: of the notes, those of values that are likely slips of the hand.
    """

    row: int
    name: str
    record: Strip | Walk
    notes: tuple[Note, ...]
    found: tuple[Finding, ...] = ()
    slips: tuple[Note, ...] = ()


class LoadDone(Struct, frozen=True):
    """What a load came to: names given, refusals, columns not known, how much was here already."""

    names: tuple[str, ...]
    refused: tuple[Refusal, ...]
    ignored: tuple[str, ...]
    known: int = 0
    kept: tuple[RowKept, ...] = ()

    def as_dict(self) -> JsonObject:
        """As one JSON document."""
        return {
            "recorded": list(self.names),
            "refused": [
                {"row": r.row, "column": r.column, "value": r.value, "why": r.why}
                for r in self.refused
            ],
            "columns_not_known": list(self.ignored),
            "recorded_before": self.known,
            "notes": [
                {"row": one.row, "name": one.name, **plain(note)}
                for one in self.kept
                for note in one.notes
            ],
        }


def plain(note: Note) -> JsonObject:
    """A note as JSON: its code and values, a shortfall by its own code."""
    short = note.values.get("shortfall")
    values = note.values if short is None else {"shortfall": short.code, **short.values}
    return {"code": note.code, **values}
