"""A seam traced: all that is recorded of it, each thing with its own row.

Invariant: `what` is the word of the JSON document for a kind, and one class is one kind.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import ClassVar, TypedDict

from msgspec import Struct

from weldcal.quality.doubt import Doubt
from weldcal.quality.seam import SeamState
from weldcal.row_types.listed import SeamRow
from weldcal.row_types.record import WithdrawnRow
from weldcal.views import rows


class SeamEvent(Struct, frozen=True, kw_only=True):
    """Something recorded of a seam.

    Attributes:
        what: its kind.
        row: its own columns and what was worked out beside them.
        seen_utc, tick: what sorts the events.
    """

    what: ClassVar[str] = ""
    row: Mapping[str, object]
    seen_utc: str
    tick: int


class SeenEvent(SeamEvent, frozen=True, kw_only=True):
    """Something that somebody saw, not something recorded about it later."""

    row: rows.SeenAndMarked


class StripEvent(SeenEvent, frozen=True, kw_only=True):
    """The strip of a go-ahead that a run stands on."""

    what: ClassVar[str] = "strip"
    row: rows.JudgedStrip


class RunEvent(SeenEvent, frozen=True, kw_only=True):
    """A run."""

    what: ClassVar[str] = "run"
    row: rows.MarkedRun


class FinishEvent(SeenEvent, frozen=True, kw_only=True):
    """A finish whose start is not known here."""

    what: ClassVar[str] = "finish"
    row: rows.MarkedFinish


class BleedEvent(SeenEvent, frozen=True, kw_only=True):
    """A bleed check."""

    what: ClassVar[str] = "bleed"
    row: rows.JudgedBleed


class WidthEvent(SeenEvent, frozen=True, kw_only=True):
    """A lap width."""

    what: ClassVar[str] = "lap-width"
    row: rows.MarkedWidth


class WalkEvent(SeenEvent, frozen=True, kw_only=True):
    """A probe walk."""

    what: ClassVar[str] = "walk"
    row: rows.MarkedWalk


class FindingEvent(SeenEvent, frozen=True, kw_only=True):
    """A finding."""

    what: ClassVar[str] = "finding"
    row: rows.MarkedFinding


class MendEvent(SeenEvent, frozen=True, kw_only=True):
    """A mend."""

    what: ClassVar[str] = "mend"
    row: rows.MarkedMend


class PeelEvent(SeenEvent, frozen=True, kw_only=True):
    """A peel sample."""

    what: ClassVar[str] = "peel"
    row: rows.MarkedPeel


class CoverEvent(SeenEvent, frozen=True, kw_only=True):
    """A cover-up."""

    what: ClassVar[str] = "cover"
    row: rows.HidingCover


class OpeningEvent(SeenEvent, frozen=True, kw_only=True):
    """A covered seam opened up."""

    what: ClassVar[str] = "opening"
    row: rows.MarkedOpening


class EmbedEvent(SeenEvent, frozen=True, kw_only=True):
    """Granules embedded."""

    what: ClassVar[str] = "embed"
    row: rows.MarkedEmbedding


class PunchEvent(SeenEvent, frozen=True, kw_only=True):
    """An item of a visit."""

    what: ClassVar[str] = "punch"
    row: rows.PlacedPunch


class LeakStepEvent(SeenEvent, frozen=True, kw_only=True):
    """A step in the search of a leak."""

    what: ClassVar[str] = "leak-step"
    row: rows.PlacedLeakStep


class AmendEvent(SeamEvent, frozen=True, kw_only=True):
    """A correction, or something taken back or put back."""

    what: ClassVar[str] = "amend"
    row: rows.TracedAmendment


class SettleEvent(SeamEvent, frozen=True, kw_only=True):
    """A warning answered."""

    what: ClassVar[str] = "settle"
    row: rows.TracedWarning


class WithdrawnEvent(SeamEvent, frozen=True, kw_only=True):
    """What was taken back."""

    what: ClassVar[str] = "withdrawn"
    row: WithdrawnRow


_KINDS: dict[str, Callable[..., SeamEvent]] = {
    kind.what: kind for kind in (*SeenEvent.__subclasses__(), *SeamEvent.__subclasses__())
}


def event(what: str, row: Mapping[str, object], seen_utc: str, tick: int) -> SeamEvent:
    """An event of a kind by its word, of a row that has the columns of that kind."""
    return _KINDS[what](row=row, seen_utc=seen_utc, tick=tick)


class Apart(TypedDict):
    """A finding, and a walk over the same place that recorded nothing there.

    `after` is whether the walk came after the finding.
    """

    finding: str
    start_m: float
    end_m: float
    walk: str
    seen_by: str
    seen_local: str
    after: bool


class SeamTrace(Struct, frozen=True):
    """A seam with all that is recorded of it, in the order it was seen.

    Attributes:
        seam: its row; None where it is not listed.
        doubts: what failures put in doubt on it; None where there are too many to reckon.
    """

    key: str
    name: str
    seam: SeamRow | None
    flags: list[str]
    state: SeamState
    disagreements: list[Apart]
    events: list[SeamEvent]
    doubts: tuple[Doubt, ...] | None = ()
