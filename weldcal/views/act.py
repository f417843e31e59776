"""What is about to be taken back or put back."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from weldcal.views.rows import EntrySaid


class ActPart(Struct, frozen=True, kw_only=True):
    """One entry of an act.

    Attributes:
        kind: of the record it is of.
        row: what it says, as `tables.taken_back` keeps it.
        hangs_on: names of what hangs on it and stays.
    """

    kind: str
    row: EntrySaid
    hangs_on: tuple[str, ...] = ()


class Act(Struct, frozen=True):
    """What goes back together: `back` puts it back where it was taken back before."""

    parts: Sequence[ActPart]
    back: bool
