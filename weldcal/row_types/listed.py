"""Rows of what a job is set up with: the job itself, what it lists, what it adopted."""

# Not postponed: the tables are made from the annotations as types.
from weldcal.row_types.columns import NamedColumns, SeenColumns


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


class SameRow(SeenColumns):
    """Whether two names of two jobs are one thing of the firm."""

    what: str
    one_job: str
    one: str
    other_job: str
    other: str
    same: int
    note: str | None
