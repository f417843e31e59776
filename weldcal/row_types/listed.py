"""Rows of what a job is set up with: the job itself, what it lists, what it adopted."""

# Not postponed: the tables are made from the annotations as types.
from weldcal.row_types.columns import NamedColumns, SeenColumns


class JobRow(NamedColumns):
    """A job.

    Attributes:
        units: us or si, what a bare number means.
        zone: IANA time zone.
        day_begins: local hour at which the job's day begins.
        place: where it is, in words or as coordinates.
    """

    units: str
    zone: str
    day_begins: int
    place: str | None


class AreaRow(NamedColumns):
    """An area of the roof: a rectangle of the plan, where it is laid out.

    Attributes:
        length_m, width_m: along x and y of the plan.
        x_m, y_m: its low corner; None where it is not laid out.
        slope: which way water runs on it: x+, x-, y+ or y-.
        over: name of the area it lies over as the next ply; None for the first ply.
    """

    length_m: float | None
    width_m: float | None
    x_m: float | None
    y_m: float | None
    slope: str | None
    over: str | None


class SheetRow(NamedColumns):
    """A sheet of the job.

    Attributes:
        judged_by: bleed-out or bond.
        peel_n_per_mm: the least load of a peel sample per width that its maker asks for.
        peel_source: who says so.
    """

    description: str | None
    judged_by: str
    thickness_mm: float | None
    roll_width_mm: float | None
    roll_length_m: float | None
    peel_n_per_mm: float | None
    peel_source: str | None


class SeamRow(NamedColumns):
    """A seam: a lap, a T-joint or a detail.

    Attributes:
        seam_key: its name folded, the same for every spelling.
        kind: side lap, end lap, night tie-in, detail or T-joint.
        lap: the lap kind: selvage, granules, sand or film.
        place: what a detail is welded around, or where it lies, in words.
        joins: key of the side lap that a T-joint lies on; `joins_at_m`: how far along it.
        x0_m, y0_m: its zero end on the plan; `x1_m`, `y1_m`: its far end; None where not laid out.
    """

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
    """A machine or hand tool, and what its dial shows.

    Attributes:
        dial: the unit its dial shows: ft/min, m/min, or mark for bare numbers.
        dial_low, dial_high, dial_step: what the dial can be set to, in that unit.
        nozzle_low_c, nozzle_high_c: what the nozzle may be set to, °C.
        rated_v: the voltage it is built for.
        marks: marks tied to speeds when it was listed: [mark, m/min], a JSON list.
    """

    dial: str
    dial_low: float
    dial_high: float
    dial_step: float
    nozzle_low_c: float
    nozzle_high_c: float
    rated_v: float | None
    marks: str


class InstrumentRow(NamedColumns):
    """An instrument.

    Attributes:
        checked: day of its last check; `due`: day by which the next is; ISO.
    """

    kind: str
    checked: str | None
    due: str | None


class PersonRow(NamedColumns):
    """A person."""

    initials: str | None
    role: str | None


class LimitRow(NamedColumns):
    """A limit that a job adopted.

    Attributes:
        name: which limit.
        number: exact, as text; `unit`: what it is in; `text`: as typed.
        adopted_by: who adopted it.
        from_utc: in force from then on.
    """

    number: str
    unit: str
    text: str
    source: str
    adopted_by: str | None
    from_utc: str


class SameRow(SeenColumns):
    """Whether two names of two jobs are one thing of the firm.

    Attributes:
        what: machine, sheet, instrument or person.
        one_job, one: id of a job, and the folded name there; `other_job`, `other`: likewise.
        same: 1 where they are one, 0 where they are not.
    """

    what: str
    one_job: str
    one: str
    other_job: str
    other: str
    same: int
    note: str | None
