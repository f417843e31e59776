"""What is recorded of rolls, of the substrate, and of visits to the roof.

Invariant: what a visitor asked for stays open until somebody says what was done about it.
"""

from __future__ import annotations

from msgspec import Struct

from weldcal.records.common import Seen


class Roll(Struct, frozen=True, kw_only=True):
    """Rolls of one lot delivered to the roof.

    Attributes:
        lot: as printed on the wrapper; runs name it as their roll lot.
        storage: how they stand, like "upright, covered, on pallets".
        conditioning: how they were warmed or cooled before use, like "24 h at 60F".
    """

    lot: str
    seen: Seen
    sheet: str | None = None
    storage: str | None = None
    conditioning: str | None = None
    note: str | None = None


class LotDoubt(Struct, frozen=True, kw_only=True):
    """A lot put in doubt, and why: the maker's word, a failed test."""

    lot: str
    seen: Seen
    why: str


class Substrate(Struct, frozen=True, kw_only=True):
    """The substrate of an area looked at before welding."""

    area: str
    seen: Seen
    dry: bool | None = None
    primed: bool | None = None
    clean: bool | None = None
    note: str | None = None


class PunchItem(Struct, frozen=True, kw_only=True):
    """Something a visitor wants done.

    Attributes:
        visitor: who asked for it, like "owner's representative".
        place: a seam and a distance, an area: as people say it.
        what: what is to be done.
        look: id of the yearly look it was found on, where it was.
    """

    name: str
    seen: Seen
    visitor: str
    place: str
    what: str
    look: str | None = None


class PunchDone(Struct, frozen=True, kw_only=True):
    """What was done about an item, and who signs it off."""

    seen: Seen
    done: str
