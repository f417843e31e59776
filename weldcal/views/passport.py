"""What a passport shows: a machine, sheet, instrument or person over the jobs it was on."""

from __future__ import annotations

from msgspec import Struct

from weldcal.row_types.machines import MeasureRow, RepairRow


class CalledOnJob(Struct, frozen=True):
    """A thing as one job calls it."""

    job: str
    job_name: str
    name: str


class KnownOnJob(Struct, frozen=True):
    """What one job knows of a thing: days it was on, strips and those that passed, laps welded.

    Of `welded_m`, `welded_again_m` lies where an earlier run had welded.
    """

    job: str
    called: str
    first_day: str | None
    last_day: str | None
    days: int
    strips: int
    passed: int
    welded_m: float
    welded_again_m: float
    measured: int


class Passport(Struct, frozen=True):
    """A thing over the jobs it was on, in the order they began.

    Attributes:
        measures, repairs: of a machine, all of them, in the order they were made.
        apart: of the same name on other jobs, but another thing as far as anybody said.
    """

    what: str
    name: str
    jobs: tuple[KnownOnJob, ...]
    measures: tuple[MeasureRow, ...]
    apart: tuple[CalledOnJob, ...]
    repairs: tuple[RepairRow, ...] = ()
