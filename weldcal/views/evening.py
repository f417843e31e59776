"""What the evening page shows of a day, and the daily sheet beside it."""

from __future__ import annotations

from msgspec import Struct

from weldcal.quality.doubt import Doubts
from weldcal.row_types.listed import AreaRow, JobRow
from weldcal.row_types.site import PunchRow
from weldcal.views import rows
from weldcal.views.dialled import Dialled
from weldcal.views.dossier import SeamFacts
from weldcal.views.fault import Fault
from weldcal.views.go_ahead import GoAhead
from weldcal.views.upkeep import LeakNow, ListLine, LookDue


class Evening(Struct):
    """All that the evening page shows of a day.

    Attributes:
        welded_m: length of the day's runs; a stretch welded twice counts twice.
        again_m: how much of each run of the job an earlier one had welded, by its id.
        probed_m: lap probed, each stretch once; `walked_over_m` of it was welded over since, by
            the key of the seam; `walked_m` with what was warm or hidden then.
        probed: the parts of the walks that count.
        peels: the day's samples.
    """

    job: JobRow
    day: str
    made: str
    seams: list[SeamFacts]
    areas: list[AreaRow]
    north_deg: float | None
    welded_m: float
    again_m: dict[str, float]
    probed_m: float
    walked_over_m: dict[str, float]
    walked_m: float
    probed: list[rows.MarkedWalk]
    runs: list[rows.MarkedRun]
    walks: list[rows.MarkedWalk]
    findings: list[rows.MarkedFinding]
    mends: list[rows.MarkedMend]
    peels: list[rows.MarkedPeel]
    strips: list[rows.JudgedStrip]
    go_aheads: list[GoAhead]
    doubts: Doubts | None
    warnings: list[rows.OpenWarning]
    started: list[Started]
    ambient_c: float | None
    ambient_from: str | None
    gone_by: bool
    conflicts: list[rows.Clash]
    punch: list[PunchRow]
    start_up: list[ListLine]
    looks_due: list[LookDue]
    leaks: list[LeakNow]
    withdrawn: list[rows.TakenBack]
    no_hot_work: bool
    unwatched: list[rows.WatchedHotWork]
    faults: list[Fault]


class Started(Struct, frozen=True):
    """Tomorrow's starting speed for one machine, sheet and lap kind; never recorded as advice."""

    machine: str
    sheet: str
    lap: str
    dialled: Dialled | None = None
    why_not: Exception | None = None


class DaySheet(Struct, frozen=True):
    """What was read, checked and cut on a day, in the order it was seen.

    Attributes:
        conditions: weather and power as read.
        bleeds: bleed checks, with their `readings` as typed.
        widths: the lap's overlap and bond, measured.
        peels: samples.
        mended: id -> name of the findings that the day's mends are of.
    """

    conditions: list[rows.MarkedConditions]
    bleeds: list[rows.ReadBleed]
    widths: list[rows.MarkedWidth]
    peels: list[rows.MarkedPeel]
    mended: dict[str, str]
