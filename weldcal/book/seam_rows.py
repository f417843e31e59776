"""What is on one seam, as structs: as little as a state needs of each row, or all of it."""

# Not postponed: a struct's annotations would be compiled one by one.
from collections.abc import Sequence
from typing import TypedDict

from msgspec import Struct

from weldcal.views import rows as viewed


class OnSeam(TypedDict):
    """What the state of a seam and its flags follow from, of any row on it."""

    id: str
    seam: str
    seam_key: str
    seen_utc: str
    tick: int
    seen_by: str
    flags: str
    instrument: str | None
    day: str


class RunPart(OnSeam):
    """The same of a run."""

    start_m: float
    end_m: float | None
    machine: str | None
    sheet: str | None
    go_ahead: str | None
    finished_utc: str | None


class AtPart(OnSeam):
    """The same of a bleed check."""

    at_m: float


class WidthPart(AtPart):
    """The same of a lap width."""

    overlap_mm: float
    bonded_mm: float | None


class WalkPart(OnSeam):
    """The same of a walk."""

    start_m: float
    end_m: float
    started_utc: str | None
    ended_utc: str | None
    entered_utc: str


class FindingPart(OnSeam):
    """The same of a finding."""

    start_m: float
    end_m: float
    name: str
    how: str
    walk: str | None


class MendPart(OnSeam):
    """The same of a mend."""

    start_m: float
    end_m: float
    finding: str


class PeelPart(TypedDict):
    """The same of a peel sample: of a strip, where it names no seam."""

    id: str
    seam: str | None
    seam_key: str | None
    seen_utc: str
    tick: int
    seen_by: str
    flags: str
    instrument: str | None
    day: str
    at_m: float | None


class FinishOn(OnSeam, viewed.Marks):
    """A finish without its start, marked."""


class RunMarked(RunPart, viewed.Marks):
    """A run, marked."""


class RunOn(RunMarked):
    """A run, and from when its lap counts as cold, UTC; None while it is not finished."""

    cold_utc: str | None


class AtOn(AtPart, viewed.Marks):
    """A bleed check, marked."""


class WidthOn(WidthPart, viewed.Marks):
    """A lap width, marked."""


class WalkOn(WalkPart, viewed.Marks):
    """A walk, marked."""


class FindingOn(FindingPart, viewed.Marks):
    """A finding, marked."""


class MendMarked(MendPart, viewed.Marks):
    """A mend, marked."""


class MendOn(MendMarked):
    """A mend, and from when its lap counts as cold, UTC."""

    cold_utc: str | None


class PeelOn(PeelPart, viewed.Marks):
    """A peel sample, marked."""


class SeamRows(Struct, frozen=True):
    """What is on one seam, as much of it as its state and flags follow from."""

    runs: Sequence[RunOn] = ()
    finishes: Sequence[FinishOn] = ()
    bleeds: Sequence[AtOn] = ()
    widths: Sequence[WidthOn] = ()
    walks: Sequence[WalkOn] = ()
    findings: Sequence[FindingOn] = ()
    mends: Sequence[MendOn] = ()
    peels: Sequence[PeelOn] = ()


class WholeRows(SeamRows, frozen=True):
    """What is on one seam, all of it."""

    runs: Sequence[viewed.CooledRun] = ()
    finishes: Sequence[viewed.MarkedFinish] = ()
    bleeds: Sequence[viewed.MarkedBleed] = ()
    widths: Sequence[viewed.MarkedWidth] = ()
    walks: Sequence[viewed.MarkedWalk] = ()
    findings: Sequence[viewed.MarkedFinding] = ()
    mends: Sequence[viewed.CooledMend] = ()
    peels: Sequence[viewed.MarkedPeel] = ()


NOTHING = SeamRows()
NOTHING_WHOLE = WholeRows()
