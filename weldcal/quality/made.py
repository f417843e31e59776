"""What one job adds to the history: strips and runs made, and what was measured."""

from __future__ import annotations

from msgspec import Struct

from weldcal.row_types.work import RunRow


class MadeWith(Struct, frozen=True, kw_only=True):
    """What was made or measured with a machine or a hand tool.

    Attributes:
        id: of its record.
        job: the name of its job.
        day: the job's local day, ISO.
        seen_by: who made it.
        by_hand: 1 for a hand tool; None for a measurement.
        true_speed_m_per_min: travel speed as it was measured.
        dial_m_per_min: the same as the dial showed it.
        nozzle_c: what the nozzle was set to; `nozzle_measured_c`: what it was.
    """

    id: str
    job: str
    day: str
    machine: str | None
    sheet: str | None
    lap: str | None
    seen_by: str
    by_hand: int | None
    true_speed_m_per_min: float | None
    dial_m_per_min: float | None
    nozzle_c: float | None
    nozzle_measured_c: float | None


class MadeStrip(MadeWith, frozen=True, kw_only=True):
    """A test strip.

    Attributes:
        passed: it met the limits of its job.
        temperature_c: of the sheet, else of the air.
        true_m_per_min: travel speed by all that is known of the dial.
    """

    machine: str
    sheet: str
    lap: str
    name: str
    seen_utc: str
    passed: bool
    temperature_c: float | None
    true_m_per_min: float | None


class MadeRun(MadeWith, frozen=True, kw_only=True):
    """A run.

    Attributes:
        row: as it is recorded.
        welded_m: 0 while it is not finished; `again_m` of it lies where an earlier run had welded.
        probed_m: the part of it that was probed; `over_m` of it was welded over since.
        faults: how many lie on what was probed.
    """

    row: RunRow
    welded_m: float
    again_m: float
    probed_m: float
    over_m: float
    faults: int


class Past(Struct, frozen=True):
    """What one job adds to the history, each in the order seen."""

    strips: list[MadeStrip]
    runs: list[MadeRun]
    measures: list[MadeWith]
