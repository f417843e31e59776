"""Rows of welding and of what was looked at: strips, runs, checks, findings, samples."""

# Not postponed: the tables are made from the annotations as types.
from typing import TypedDict

from weldcal.row_types.columns import (
    ConditionsColumns,
    SeenColumns,
    SettingColumns,
    StripSettingColumns,
)


class ConditionsRow(SeenColumns, ConditionsColumns):
    """Conditions read at one time."""

    pass


class StripRow(SeenColumns, StripSettingColumns, ConditionsColumns):
    """A test strip."""

    by_hand: int
    readings_n: int
    width_median_mm: float | None
    width_min_mm: float | None
    width_max_mm: float | None
    bubbling: str | None
    bond: str
    pulled_utc: str | None
    pulled_by: str | None
    parted: str | None
    bonded_mm: float | None
    smoke: int | None
    exposed_mat: int | None
    roll_lot: str | None
    source: str | None
    note: str | None
    photos: str


class ReadingRow(TypedDict):
    """One reading of bleed-out, of a strip or a bleed check."""

    id: str
    job: str
    of: str
    n: int
    width_mm: float
    text: str


class AdviceRow(SeenColumns):
    """Advice that was given: question and answer as JSON."""

    question: str
    answer: str
    version: str


class RunRow(SeenColumns, SettingColumns, ConditionsColumns):
    """A run of welding along a seam."""

    seam: str
    seam_key: str
    start_m: float
    end_m: float | None
    finished_utc: str | None
    finished_by: str | None
    why_finished: str | None
    power_lost: int | None
    by_hand: int
    go_ahead: str | None
    roll_lot: str | None
    warnings: str
    note: str | None


class FinishRow(SeenColumns):
    """The finish of a run whose start is on no device known yet."""

    seam: str
    seam_key: str
    end_m: float
    why: str | None


class BleedRow(SeenColumns):
    """A bleed check."""

    seam: str
    seam_key: str
    at_m: float
    readings_n: int
    width_median_mm: float | None
    width_min_mm: float | None
    width_max_mm: float | None
    bubbling: str | None
    note: str | None


class WidthRow(SeenColumns):
    """A lap width read on a seam."""

    seam: str
    seam_key: str
    at_m: float
    overlap_mm: float
    bonded_mm: float | None
    note: str | None


class WalkRow(SeenColumns):
    """A probe walk along a stretch of a seam."""

    seam: str
    seam_key: str
    start_m: float
    end_m: float
    started_utc: str | None
    ended_utc: str | None
    note: str | None


class FindingRow(SeenColumns):
    """A finding of the probe."""

    seam: str
    seam_key: str
    kind: str
    start_m: float
    end_m: float
    how: str
    depth_mm: float | None
    walk: str | None
    peel: str | None
    note: str | None
    photos: str


class MendRow(SeenColumns):
    """A mend of a finding."""

    seam: str
    seam_key: str
    finding: str
    start_m: float
    end_m: float
    method: str
    tool: str | None
    patch_mm: float | None
    note: str | None
    photos: str
    nozzle_c: float | None
    go_ahead: str | None


class PeelRow(SeenColumns):
    """A peel sample, of a seam or of a strip."""

    seam: str | None
    seam_key: str | None
    at_m: float | None
    strip: str | None
    load_n: float | None
    width_mm: float | None
    n_per_mm: float | None
    parted: str
    note: str | None
    sample_c: float | None
    pull_mm_per_min: float | None
