"""A seam as pages show it: its row, its state, every flag, and what must be done on it first."""

from __future__ import annotations

from typing import TypedDict

from msgspec import Struct

from weldcal.quality.coverage import Stretch
from weldcal.quality.probing import Disagreement
from weldcal.quality.seam import SeamState
from weldcal.row_types.listed import SeamRow


class SeamSeen(TypedDict):
    """A seam, listed or only heard of.

    `seam` is its row, None where it is not listed; `hidden` what of it the next ply hides.
    """

    name: str
    seam: SeamRow | None
    state: SeamState
    flags: list[str]
    hidden: list[Stretch]
    disagreements: tuple[Disagreement, ...]


class First(Struct, frozen=True):
    """What must be done before a place is hidden: weld, mend, probe, probe_again or doubt."""

    seam: str
    code: str
    stretch: Stretch | None
    finding: str | None = None
