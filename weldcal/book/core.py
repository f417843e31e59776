"""What services share: how they are made, what a verb gives back, the job worked on."""

from __future__ import annotations

from msgspec import Struct

from weldcal.views.note import Note as Note
from weldcal.views.note import Values


class Service(Struct, eq=False):
    """One theme of the book; its fields are what it is handed, and it holds nothing else."""


class Recorded(Struct, frozen=True):
    """What a verb recorded: ids, short name, and what to tell."""

    id: str
    name: str
    notes: tuple[Note, ...] = ()
    values: Values = {}


class JobRow(Struct, frozen=True):
    """The job being worked on."""

    id: str
    name: str
    units: str
    zone: str
    day_begins: int
    place: str | None = None
