"""The row of each derived table: its columns, what they hold, and which may be empty.

Invariant: the tables are made from these; a column with a unit has it in its name (SI).
`list`s and objects are kept as JSON text.
"""

# Not postponed: the tables are made from the annotations as types.
from typing import TypedDict


class NamedColumns(TypedDict):
    """What every row of a subject has; `id` is the id of the entry that began it."""

    id: str
    job: str
    device: str
    tick: int
    name: str


class SeenColumns(NamedColumns):
    """What every observation's row begins with: when and by whom it was seen and entered."""

    seen_utc: str
    seen_local: str
    day: str
    hour: float
    seen_by: str
    entered_by: str
    entered_utc: str
    late_h: float
    instrument: str | None
    flags: str


class SettingColumns(TypedDict):
    """How the machine or hand tool was set; all None where no machine was used."""

    machine: str | None
    sheet: str | None
    lap: str | None
    nozzle_c: float | None
    nozzle_measured_c: float | None
    speed_m_per_min: float | None
    dial_mark: float | None
    speed_text: str | None
    speed_unit: str | None
    nozzle_text: str | None
    nozzle_unit: str | None
    true_speed_m_per_min: float | None
    air_flow_pct: float | None
    nozzle_width_mm: float | None
    roller_load_n: float | None
    setting_carried: str | None


class ConditionsColumns(TypedDict):
    """Weather, line voltage and damp; None is "not read"."""

    ambient_c: float | None
    sheet_c: float | None
    under_c: float | None
    humidity_pct: float | None
    wind_m_per_s: float | None
    line_v: float | None
    damp: int | None
    gust_m_per_s: float | None
    roll_c: float | None
    sky: str | None
    supply: str | None
    carried: str


class JobRow(NamedColumns):
    """A job."""

    units: str
    zone: str
    day_begins: int
    place: str | None


class AreaRow(NamedColumns):
    """An area of the roof."""

    length_m: float | None
    width_m: float | None
    x_m: float | None
    y_m: float | None
    slope: str | None
    over: str | None


class SheetRow(NamedColumns):
    """A sheet of the job."""

    description: str | None
    judged_by: str
    thickness_mm: float | None
    roll_width_mm: float | None
    roll_length_m: float | None
    peel_n_per_mm: float | None
    peel_source: str | None


class MachineRow(NamedColumns):
    """A machine or hand tool, and what its dial shows."""

    dial: str
    dial_low: float
    dial_high: float
    dial_step: float
    nozzle_low_c: float
    nozzle_high_c: float
    rated_v: float | None
    marks: str


class InstrumentRow(NamedColumns):
    """An instrument."""

    kind: str
    checked: str | None
    due: str | None


class PersonRow(NamedColumns):
    """A person."""

    initials: str | None
    role: str | None


class LimitRow(NamedColumns):
    """A limit that a job adopted."""

    number: str
    unit: str
    text: str
    source: str
    adopted_by: str | None
    from_utc: str


class ConditionsRow(SeenColumns, ConditionsColumns):
    """Conditions read at one time."""

    pass


class StripRow(SeenColumns, SettingColumns, ConditionsColumns):
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


class SeamRow(NamedColumns):
    """A seam: a lap or a T-joint."""

    seam_key: str
    kind: str
    lap: str | None
    length_m: float | None
    place: str | None
    area: str | None
    joins: str | None
    joins_at_m: float | None
    x0_m: float | None
    y0_m: float | None
    x1_m: float | None
    y1_m: float | None


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


class AdviceRow(SeenColumns):
    """Advice that was given: question and answer as JSON."""

    question: str
    answer: str
    version: str


class MeasureRow(SeenColumns):
    """A measurement of travel speed or nozzle temperature."""

    machine: str
    mark: float | None
    mark_unit: str | None
    distance_m: float | None
    time_s: float | None
    times_s: str
    speed_m_per_min: float | None
    nozzle_set_c: float | None
    nozzle_measured_c: float | None
    note: str | None


class CauseRow(SeenColumns):
    """A cause noted for what a machine did."""

    machine: str
    what: str
    note: str | None


class RepairRow(SeenColumns):
    """A repair of a machine."""

    machine: str
    what: str
    note: str | None


class HotWorkRow(SeenColumns):
    """Hot work: its permit, its end and its fire watch."""

    permit: str
    extinguisher: str
    deck: str
    facers: str | None
    cavities: str | None
    primer_wet: int | None
    watch_min: float
    watch_source: str
    ended_utc: str | None
    ended_local: str | None
    watched_until_utc: str | None
    watched_by: str | None
    watch_found: str | None
    note: str | None


class CoverRow(SeenColumns):
    """A cover-up of seams or stretches; lists are JSON."""

    area: str
    seams: str
    stretches: str
    unprobed: str


class RollRow(SeenColumns):
    """Rolls of one lot: how they were stored and conditioned."""

    lot: str
    sheet: str | None
    storage: str | None
    conditioning: str | None
    note: str | None


class LotDoubtRow(SeenColumns):
    """A lot in doubt."""

    lot: str
    why: str


class SubstrateRow(SeenColumns):
    """The substrate of an area before welding."""

    area: str
    dry: int | None
    primed: int | None
    clean: int | None
    note: str | None


class PunchRow(SeenColumns):
    """An item of a visitor's punch list."""

    visitor: str
    place: str
    what: str
    done: str | None
    done_by: str | None
    done_local: str | None
    look: str | None


class StartLineRow(SeenColumns):
    """A line of the job's start-up list."""

    line: str
    source: str


class StartAnswerRow(SeenColumns):
    """An answer to a line of the start-up list."""

    line: str
    answer: str
    note: str | None


class LookRow(SeenColumns):
    """A yearly look at an area, or at the whole roof."""

    area: str
    note: str | None


class OpeningRow(SeenColumns):
    """A covered seam that was opened up."""

    seam: str
    seam_key: str
    note: str | None


class EmbeddingRow(SeenColumns):
    """Granules embedded at a seam."""

    seam: str
    seam_key: str
    how: str | None


class NorthRow(SeenColumns):
    """Where north lies on the plan."""

    degrees: float


class DrawRow(SeenColumns):
    """A random draw of peel samples; lists are JSON."""

    seed: int
    stretches: str
    places: str


class SameRow(SeenColumns):
    """Whether two names of two jobs are one thing of the firm."""

    what: str
    one_job: str
    one: str
    other_job: str
    other: str
    same: int
    note: str | None


class LeakRow(SeenColumns):
    """A leak reported at a point of the plan."""

    x_m: float
    y_m: float
    where: str
    note: str | None


class LeakStepRow(TypedDict):
    """A step in the follow-up of a leak."""

    id: str
    job: str
    of: str
    step: str
    said: str
    place: str | None
    dry: int | None
    seen_by: str
    seen_utc: str
    seen_local: str
    tick: int
    entered_by: str
    late_h: float


class SealRow(SeenColumns):
    """A seal over the entries so far; heads and counts are JSON."""

    label: str
    entries: int
    heads: str
    counts: str
    code: str
    key: str | None
    signature: str | None


class HandedRow(TypedDict):
    """That a seal was handed to somebody."""

    id: str
    job: str
    of: str
    to: str
    how: str
    seen_by: str
    seen_utc: str
    seen_local: str
    tick: int
    entered_by: str
    late_h: float


class WarningRow(TypedDict):
    """A warning given when something was recorded, and how it was settled."""

    id: str
    job: str
    of: str
    code: str
    done: str | None
    done_by: str | None
    done_utc: str | None
    done_local: str | None
    done_tick: int | None


class AmendmentRow(TypedDict):
    """A correction; `old` and `new` are JSON."""

    id: str
    job: str
    of: str
    path: str
    old: str
    new: str
    why: str
    seen_by: str
    entered_by: str
    late_h: float
    entered_utc: str
    entered_local: str
    replaces: str
    conflict: int
    tick: int
    withdrawn: int


class WithdrawnRow(TypedDict):
    """What was taken back; `said` is what it said, as JSON."""

    id: str
    job: str
    of: str
    kind: str
    was_in: str | None
    name: str | None
    device: str
    tick: int
    seam: str | None
    seam_key: str | None
    seen_utc: str
    seen_local: str
    seen_by: str
    entered_by: str
    said: str
    why: str
    by: str
    withdrawn_by: str
    withdrawn_utc: str
    withdrawn_local: str
    added_to: int


TABLES: dict[str, type] = {
    "jobs": JobRow,
    "areas": AreaRow,
    "sheets": SheetRow,
    "machines": MachineRow,
    "instruments": InstrumentRow,
    "people": PersonRow,
    "limits": LimitRow,
    "conditions": ConditionsRow,
    "strips": StripRow,
    "readings": ReadingRow,
    "seams": SeamRow,
    "runs": RunRow,
    "finishes": FinishRow,
    "bleeds": BleedRow,
    "widths": WidthRow,
    "walks": WalkRow,
    "findings": FindingRow,
    "mends": MendRow,
    "peels": PeelRow,
    "advice": AdviceRow,
    "measures": MeasureRow,
    "causes": CauseRow,
    "repairs": RepairRow,
    "hot_work": HotWorkRow,
    "covers": CoverRow,
    "rolls": RollRow,
    "lot_doubts": LotDoubtRow,
    "substrates": SubstrateRow,
    "punch": PunchRow,
    "start_lines": StartLineRow,
    "start_answers": StartAnswerRow,
    "looks": LookRow,
    "openings": OpeningRow,
    "embeddings": EmbeddingRow,
    "norths": NorthRow,
    "draws": DrawRow,
    "sames": SameRow,
    "leaks": LeakRow,
    "leak_steps": LeakStepRow,
    "seals": SealRow,
    "handed": HandedRow,
    "warnings": WarningRow,
    "amendments": AmendmentRow,
    "withdrawn": WithdrawnRow,
}
