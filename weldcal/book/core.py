"""What a verb gives back, and the job worked on."""

from __future__ import annotations

from typing import Any

from msgspec import Struct


class Note(Struct, frozen=True):
    """Something to tell about what was recorded: a code and its values."""

    code: str
    values: dict[str, Any]


class SpeedSeen(Struct, frozen=True):
    """The speed of a strip, as typed, and when it was seen."""

    seen_utc: str
    text: str
    unit: str


class Recorded(Struct, frozen=True):
    """What a verb recorded: ids, short name, and what to tell."""

    id: str
    name: str
    notes: tuple[Note, ...] = ()
    values: dict[str, Any] = {}


class JobRow(Struct, frozen=True):
    """The job being worked on."""

    id: str
    name: str
    units: str
    zone: str
    day_begins: int
    place: str | None = None
