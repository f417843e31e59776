"""Seams, the runs that weld them, and what is found on them afterwards.

Invariant: a run is a stretch welded without a stop or a change. Distances are
along the seam from its chalked zero end. State is never stored here.
"""

from __future__ import annotations

from msgspec import Struct

from weldcal.quantities import Quantity
from weldcal.records.common import Conditions, Photo, Seen, Setting
from weldcal.records.fields import check


class Plan(Struct, frozen=True, kw_only=True):
    """Where a seam lies: from (x0, y0), its chalked zero end, to (x1, y1), from the plan's corner."""

    x0: Quantity
    y0: Quantity
    x1: Quantity
    y1: Quantity


class Seam(Struct, frozen=True, kw_only=True):
    """One lap to be welded, known beforehand.

    `joins` and `joins_at`: for a T-joint, the side lap it lies on and how far along.
    """

    name: str
    kind: str
    lap: str | None = None
    length: Quantity | None = None
    place: str | None = None
    area: str | None = None
    plan: Plan | None = None
    joins: str | None = None
    joins_at: Quantity | None = None


class RunStart(Struct, frozen=True, kw_only=True):
    """A run begins: from where, set how, on which go-ahead.

    Attributes:
        go_ahead: id of the strip it stands on, or None.
        by_hand: welded with a hand tool; the setting is the tool's, None where nobody said.
        warnings: codes of what was warned of before it began.
    """

    name: str
    seam: str
    seen: Seen
    start: Quantity
    setting: Setting | None = None
    conditions: Conditions
    go_ahead: str | None = None
    by_hand: bool = False
    roll_lot: str | None = None
    warnings: tuple[str, ...] = ()
    note: str | None = None


class RunFinish(Struct, frozen=True, kw_only=True):
    """A run ends, and why."""

    seam: str
    seen: Seen
    end: Quantity
    why: str | None = None
    power_lost: bool | None = None


class BleedCheck(Struct, frozen=True, kw_only=True):
    """Bleed-out read on a seam as it is welded."""

    name: str
    seam: str
    seen: Seen
    at: Quantity
    readings: tuple[Quantity, ...]
    bubbling: str | None = None
    note: str | None = None


class LapWidth(Struct, frozen=True, kw_only=True):
    """The width of a lap read at a place: how far the sheets overlap, how much of it is bonded.

    Attributes:
        overlap: from edge to edge, across the lap.
        bonded: of it, what holds; None where it was not opened or seen.
    """

    name: str
    seam: str
    seen: Seen
    at: Quantity
    overlap: Quantity
    bonded: Quantity | None = None
    note: str | None = None

    def __post_init__(self) -> None:
        """Refuse a width that cannot be (OutOfRange)."""
        for width in (self.overlap, self.bonded):
            if width is not None:
                check("lap_width", width)


class Walk(Struct, frozen=True, kw_only=True):
    """A probe drawn along a cold lap from one distance to another."""

    name: str
    seam: str
    seen: Seen
    start: Quantity
    end: Quantity
    started: str | None = None
    ended: str | None = None
    note: str | None = None


class Finding(Struct, frozen=True, kw_only=True):
    """Something wrong on a seam, from one distance to another.

    Attributes:
        walk: id of the probe walk that found it, where one did.
        peel: id of the peel sample whose cut it is.
    """

    name: str
    seam: str
    seen: Seen
    kind: str
    start: Quantity
    end: Quantity
    how: str
    depth: Quantity | None = None
    walk: str | None = None
    peel: str | None = None
    note: str | None = None
    photos: tuple[Photo, ...] = ()


def found_how(kind: str) -> str:
    """How a finding come upon along a lap was found, where nobody says: a probe finds voids, all else is seen."""
    return "probed" if kind == "void" else "seen"


class Mend(Struct, frozen=True, kw_only=True):
    """The repair of a finding; the mended length must be probed again.

    Attributes:
        nozzle: the hand tool's nozzle temperature, where it was welded.
        go_ahead: id of the hand strip it stands on, or None.
    """

    name: str
    seam: str
    finding: str
    seen: Seen
    start: Quantity
    end: Quantity
    method: str
    tool: str | None = None
    patch: Quantity | None = None
    note: str | None = None
    photos: tuple[Photo, ...] = ()
    nozzle: Quantity | None = None
    go_ahead: str | None = None


class Peel(Struct, frozen=True, kw_only=True):
    """A destructive sample cut from a seam or a strip.

    Attributes:
        sample_temp, pull_rate: how warm the sample was and how fast it was pulled; both
            decide the load.
    """

    name: str
    seen: Seen
    parted: str
    seam: str | None = None
    at: Quantity | None = None
    strip: str | None = None
    load: Quantity | None = None
    width: Quantity | None = None
    line_load: Quantity | None = None
    note: str | None = None
    sample_temp: Quantity | None = None
    pull_rate: Quantity | None = None
