"""Rows as pages show them: a table's columns, and what the book works out beside them.

Invariant: `marks` are what is odd about a row; the names here are those of the book's own rows.
"""

from __future__ import annotations

from typing import TypedDict

from msgspec import Struct

from weldcal.quality.coverage import Stretch
from weldcal.quality.goahead import Shortfall
from weldcal.row_types import site, work
from weldcal.row_types.columns import SeenColumns
from weldcal.row_types.machines import MeasureRow
from weldcal.row_types.record import AmendmentRow, HandedRow, SealRow, WarningRow
from weldcal.row_types.strips import ConditionsRow, StripRow
from weldcal.views.note import Note


class Marks(TypedDict):
    """What is odd about a row: late, by another, on no list."""

    marks: list[str]


class SeenAndMarked(Marks):
    """What every row that somebody saw has: when, by whom, who entered it, its marks."""

    name: str
    seen_local: str
    seen_by: str
    entered_by: str


class MarkedConditions(ConditionsRow, Marks):
    """Conditions, marked."""


class TriedStrip(StripRow):
    """A strip with its readings (numbers and as typed), and what it falls short of.

    `shortfalls` is empty where it met the limits in force when it was seen.
    """

    widths_mm: list[float]
    readings: list[str]
    shortfalls: tuple[Shortfall, ...]


class JudgedStrip(TriedStrip, Marks):
    """A strip judged, and marked."""


class MarkedRun(work.RunRow, Marks):
    """A run, marked."""


class CooledRun(MarkedRun):
    """A run, and from when its lap counts as cold, UTC; None while it is not finished."""

    cold_utc: str | None


class MarkedFinish(work.FinishRow, Marks):
    """A finish without its start, marked."""


class MarkedBleed(work.BleedRow, Marks):
    """A bleed check, marked."""


class ReadBleed(MarkedBleed):
    """A bleed check, marked, with its readings as typed."""

    readings: list[str]


class JudgedBleed(ReadBleed, total=False):
    """A bleed check, and its shortfalls by the limits in force when it was seen.

    One that was taken back was never judged.
    """

    shortfalls: tuple[Shortfall, ...]


class MarkedWidth(work.WidthRow, Marks):
    """A lap width, marked."""


class MarkedWalk(work.WalkRow, Marks):
    """A probe walk, marked."""


class MarkedFinding(work.FindingRow, Marks):
    """A finding, marked."""


class MarkedMend(work.MendRow, Marks):
    """A mend, marked."""


class CooledMend(MarkedMend):
    """A mend, and from when its lap counts as cold, UTC."""

    cold_utc: str | None


class MarkedPeel(work.PeelRow, Marks):
    """A peel sample, marked."""


class MarkedHotWork(site.HotWorkRow, Marks):
    """Hot work, marked."""


class WatchedHotWork(MarkedHotWork):
    """Hot work, and what its page says of the fire watch."""

    watch_notes: tuple[Note, ...]


class MarkedMeasure(MeasureRow, Marks):
    """A measurement of a machine, marked."""


class MarkedCover(site.CoverRow, Marks):
    """A cover-up, marked."""


class MarkedPunch(site.PunchRow, Marks):
    """An item of a visit, marked."""


class HidingCover(SeenColumns, Marks):
    """A cover-up as one seam sees it: the stretches of it that were hidden, none for all of it."""

    area: str
    seams: str
    unprobed: str
    stretches: tuple[Stretch, ...]


class MarkedOpening(site.OpeningRow, Marks):
    """An opening, marked."""


class MarkedEmbedding(site.EmbeddingRow, Marks):
    """Granules embedded, marked."""


class PlacedPunch(MarkedPunch):
    """An item of a visit that lies on a seam."""

    seam_key: str | None


class PlacedLeakStep(site.LeakStepRow, Marks):
    """A step in the search of a leak that lies on a seam; `name` is the leak's."""

    name: str
    seam_key: str | None


class NamedAmendment(AmendmentRow):
    """A correction with the name of what it corrects."""

    name: str


class TracedAmendment(NamedAmendment):
    """A correction on a seam; `of_kind` is the later stage of a record it takes or puts back."""

    of_kind: str | None


class TracedWarning(WarningRow):
    """A warning that was answered, with the name of what it stands with."""

    name: str


class OpenWarning(WarningRow):
    """A warning with the run it stands with, or the cover-up, where `area` is 1."""

    seam: str
    area: int
    run: str
    seen_local: str
    seen_by: str
    tick: int


class HandedSeal(SealRow):
    """A seal and to whom it was handed."""

    handed: list[HandedRow]


class LimitNow(TypedDict):
    """A limit in force: `si` is its number in SI, `adopted_by` None for a default."""

    name: str
    means: str
    text: str
    unit: str
    si: float
    source: str
    adopted_by: str | None


class EntryCount(TypedDict):
    """Entries of one kind by one person."""

    who: str
    kind: str
    n: int
    first: str
    last: str


class DeviceHead(TypedDict):
    """The last entry of a device."""

    device: str
    seq: int
    hash: str


class Called(TypedDict):
    """What an entry is called by: `was_in` is its table, None for a later stage of a record."""

    name: str | None
    kind: str
    was_in: str | None


class TakenBack(Called):
    """An entry taken back, with the columns that a list of them shows."""

    id: str
    seam: str | None
    withdrawn_local: str


class EntrySaid(Called):
    """What an entry said, by whom and when: `said` is JSON."""

    seam: str | None
    said: str
    seen_by: str
    seen_local: str


class Clash(Struct, frozen=True):
    """A value corrected apart and not settled since.

    Attributes:
        name: of the record: S3, or a seam's.
        path: of the value within it, as in `records.amendable`.
        said: (new value as JSON, who), in the record's order; the last one counts.
    """

    name: str
    path: str
    said: tuple[tuple[str, str], ...]


class Lot(Struct, frozen=True):
    """A lot: rows of its rolls, why it is in doubt, and (seam, from, to) of the runs it went into."""

    lot: str
    rolls: list[site.RollRow]
    doubts: list[site.LotDoubtRow]
    laps: list[tuple[str, float, float | None]]
