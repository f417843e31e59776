"""Rows of what was measured, found and repaired at a machine."""

# Not postponed: the tables are made from the annotations as types.
from weldcal.row_types.columns import SeenColumns


class MeasureRow(SeenColumns):
    """A measurement of travel speed or nozzle temperature.

    Attributes:
        mark, mark_unit: what the dial showed.
        distance_m, time_s: measured travel; the time is the mean of `times_s`, a JSON list.
        nozzle_set_c, nozzle_measured_c: as set and as measured.
    """

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
    """A cause noted for what a machine did.

    Attributes:
        what: the cause, in words.
    """

    machine: str
    what: str
    note: str | None


class RepairRow(SeenColumns):
    """A repair of a machine.

    Attributes:
        what: what was done, in words.
    """

    machine: str
    what: str
    note: str | None
