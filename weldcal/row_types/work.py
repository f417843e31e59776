"""Rows of welding and of what was looked at: runs, checks, findings, samples."""

# Not postponed: the tables are made from the annotations as types.
from typing import TypedDict

from weldcal.row_types.columns import (
    ConditionsColumns,
    MoreSettingColumns,
    SeenColumns,
    SpeedColumns,
)


class MaybeSetToColumns(TypedDict):
    """As `SetToColumns`; all None where no machine was used."""

    machine: str | None
    sheet: str | None
    lap: str | None
    nozzle_c: float | None


class MaybeNozzleTypedColumns(TypedDict):
    """As `NozzleTypedColumns`; all None where no machine was used."""

    nozzle_text: str | None
    nozzle_unit: str | None


class SettingColumns(MaybeSetToColumns, SpeedColumns, MaybeNozzleTypedColumns, MoreSettingColumns):
    """How the machine or hand tool was set for a run; all None where no machine was used."""


class OnColumns(TypedDict):
    """The seam as typed, and the form under which two spellings are one seam."""

    seam: str
    seam_key: str


class StageColumns(TypedDict):
    """What a row of its own for a later stage has: whose it is, who, when, how late."""

    id: str
    job: str
    of: str
    seen_by: str
    seen_utc: str
    seen_local: str
    tick: int
    entered_by: str
    late_h: float


class AdviceRow(SeenColumns):
    """Advice that was given.

    Attributes:
        question, answer: what went in and what came out, JSON objects; `records.advice_given`
            reads them.
        version: of the program that gave it.
    """

    question: str
    answer: str
    version: str


class RunColumns(TypedDict):
    """What a run has besides who saw it, its setting and the conditions.

    Attributes:
        seam: as typed; `seam_key`: folded.
        start_m, end_m: from the seam's zero end; `end_m` is None while it is open.
        finished_utc, finished_by: when and by whom it was finished; `why_finished`: in words.
        power_lost: 1 where it ended for want of power.
        by_hand: 1 where it was welded with a hand tool.
        go_ahead: id of the strip it stands on.
        warnings: codes of what was warned of before it began, a JSON list.
    """

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


class RunRow(SeenColumns, SettingColumns, ConditionsColumns, RunColumns):
    """A run of welding along a seam."""


class UnsetRun(SeenColumns, ConditionsColumns, RunColumns):
    """A run without a setting: its columns are left out, not written as empty."""


class FinishRow(SeenColumns):
    """The finish of a run whose start is on no device known yet.

    Attributes:
        end_m: from the seam's zero end; `why`: in words.
    """

    seam: str
    seam_key: str
    end_m: float
    why: str | None


class BleedRow(SeenColumns):
    """A bleed check.

    Attributes:
        at_m: from the seam's zero end.
        readings_n: how many readings; their median, least and most are beside it.
        bubbling: none, trace or heavy; None where nobody looked.
    """

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
    """A lap width read on a seam.

    Attributes:
        at_m: from the seam's zero end.
        overlap_mm: from edge to edge; `bonded_mm`: of it, what holds; None where nobody saw.
    """

    seam: str
    seam_key: str
    at_m: float
    overlap_mm: float
    bonded_mm: float | None
    note: str | None


class WalkRow(SeenColumns):
    """A probe walk along a stretch of a seam.

    Attributes:
        start_m, end_m: from the seam's zero end, in the order walked.
        started_utc, ended_utc: None where nobody said.
    """

    seam: str
    seam_key: str
    start_m: float
    end_m: float
    started_utc: str | None
    ended_utc: str | None
    note: str | None


class FindingRow(SeenColumns):
    """A finding of the probe, or of the eye.

    Attributes:
        kind: void, cold, fishmouth, scorched, wrinkle, blister, sample cut or other.
        start_m, end_m: from the seam's zero end.
        how: seen, probed or cut.
        walk: id of the walk that found it.
        peel: id of the sample whose cut it is.
        photos: names of photos, a JSON list.
    """

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
    """A mend of a finding.

    Attributes:
        finding: its id.
        start_m, end_m: how far the mend reaches, from the seam's zero end.
        method, tool: in words.
        patch_mm: size of the patch.
        nozzle_c: the hand tool's nozzle, where it was welded.
        go_ahead: id of the hand strip it stands on.
        photos: names of photos, a JSON list.
    """

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
    """A peel sample, of a seam or of a strip.

    Attributes:
        seam, at_m: where it was cut, from the seam's zero end; None where it is of a strip.
        strip: id of the strip.
        load_n: when it parted; `width_mm`: of the sample; `n_per_mm`: the one over the other.
        parted: in the compound, in the reinforcement, at the lap, or not parted.
        sample_c: how warm it was; `pull_mm_per_min`: how fast it was pulled.
    """

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
