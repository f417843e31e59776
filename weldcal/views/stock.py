"""What pages show of rolls."""

from __future__ import annotations

from msgspec import Struct

from weldcal.row_types import LotDoubtRow, RollRow


class Lot(Struct, frozen=True):
    """A lot: rows of its rolls, why it is in doubt, and (seam, from, to) of the runs it went into."""

    lot: str
    rolls: list[RollRow]
    doubts: list[LotDoubtRow]
    laps: list[tuple[str, float, float | None]]
