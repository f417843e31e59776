"""Rows of what happens on a roof beside welding: machines, fire, plies, visits, leaks."""

# Not postponed: the tables are made from the annotations as types.
from typing import TypedDict

from weldcal.row_types.columns import SeenColumns


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


class NorthRow(SeenColumns):
    """Where north lies on the plan."""

    degrees: float


class DrawRow(SeenColumns):
    """A random draw of peel samples; lists are JSON."""

    seed: int
    stretches: str
    places: str


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
