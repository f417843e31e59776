"""What the dossier shows: plain values, lengths in metres, times ISO 8601, names as shown.

Invariant: the pages take these structs and nothing else, so that a field nobody
filled is found before anything runs.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypedDict

from msgspec import Struct

from weldcal.quality.charts import Ewma, Individuals
from weldcal.quality.doubt import Doubts
from weldcal.quality.faults import ProbedPiece
from weldcal.quality.probing import Disagreement
from weldcal.quality.seam import SeamState
from weldcal.row_types.listed import (
    AreaRow,
    InstrumentRow,
    JobRow,
    LimitRow,
    MachineRow,
    PersonRow,
    SheetRow,
)
from weldcal.row_types.record import WithdrawnRow
from weldcal.row_types.site import LookRow, PunchRow
from weldcal.row_types.strips import StripRow
from weldcal.row_types.work import BleedRow
from weldcal.views import rows as viewed
from weldcal.views.fault import Fault
from weldcal.views.trace import SeamTrace
from weldcal.views.upkeep import LeakNow, ListLine, LookDue


class Lists(TypedDict):
    """The job's lists."""

    areas: list[AreaRow]
    sheets: list[SheetRow]
    machines: list[MachineRow]
    instruments: list[InstrumentRow]
    people: list[PersonRow]


class BleedChart(Struct, frozen=True):
    """Bleed checks of a go-ahead in the order they were seen, charted.

    Attributes:
        strip: the go-ahead's row; its readings tell the centre.
        rows: the bleed checks; `values_mm` their medians.
        doubt: seams welded from the first point out of control on.
    """

    strip: StripRow
    rows: list[BleedRow]
    values_mm: tuple[float, ...]
    single: Individuals
    average: Ewma | None
    doubt: tuple[str, ...]


class Mark(Struct, frozen=True, gc=False):
    """Something on a seam that is drawn where it lies, m from the seam's zero end.

    Attributes:
        what: open, mended (and not probed again), closed, sample or mend.
        kind: of the finding, its word in the record; empty for a mend and a sample.
    """

    what: str
    name: str
    kind: str
    start_m: float
    end_m: float


class SeamFacts(Struct, frozen=True):
    """One seam, summed up. Lengths in m.

    Attributes:
        place: area, then x and y of both ends, m; None where the plan has none.
        faults: findings other than cuts for samples.
        fault_m: length of the union of the faults.
        at: what a detail is welded around (drain, curb), or where a seam lies, in words.
        urgency: sorts the seams that want a page of their own, the worst first;
            empty for a seam with nothing to tell.
    """

    key: str
    name: str
    listed: bool
    kind: str | None
    lap: str | None
    length_m: float | None
    place: tuple[str | None, float, float, float, float] | None
    at: str | None
    state: SeamState
    flags: tuple[str, ...]
    disagreements: tuple[Disagreement, ...]
    runs: int
    walks: int
    faults: int
    fault_m: float
    mends: int
    samples: int
    marks: tuple[Mark, ...]
    urgency: tuple[int, ...]


class Roof(Struct, frozen=True):
    """What the roof is drawn from.

    Attributes:
        areas: rectangles as listed; those laid out have `x_m` and `y_m`, their low corner.
        doubts: what failures put in doubt; None where that was not worked out.
        north_deg: north on the plan, degrees clockwise from the plan's y; None if nobody said.
    """

    seams: Sequence[SeamFacts]
    areas: Sequence[AreaRow] = ()
    doubts: Doubts | None = None
    north_deg: float | None = None


class Counted(Struct):
    """How many records bear a mark, and the first of them by name."""

    n: int = 0
    names: list[str] = []
    worst_h: float = 0.0


class FitWeather(TypedDict):
    """Conditions that a fit's curve is drawn for, SI; None where nobody read them."""

    ambient_c: float | None
    sheet_c: float | None
    humidity_pct: float | None
    wind_m_per_s: float | None
    line_v: float | None


class DayFit(Struct, frozen=True):
    """The fit for one spell of strips: one day, machine, sheet, lap kind and weather.

    Attributes:
        at: conditions the curve is drawn for.
        points: (strip, speed m/min, reading mm, met the limits).
        curve: (speed, median, 5 %, 95 %) of the next strip, m/min and mm.
        used: (seam, speed m/min, length m, of it welded over again m) of the runs that stand on
            these strips.
        firm_jobs: other jobs of the firm whose knowledge the fit begins with.
    """

    day: str
    machine: str
    sheet: str
    lap: str
    nozzle_c: float
    at: FitWeather
    low_mm: float
    aim_mm: float
    high_mm: float
    strips: int
    points: list[tuple[str, float, float, bool]]
    curve: list[tuple[float, float, float, float]]
    used: list[tuple[str, float, float, float]]
    firm_jobs: int


class Dossier(Struct):
    """All that the dossier shows of a job.

    Attributes:
        north_deg: north on the plan, degrees clockwise from the plan's y; None if nobody said.
        integrity: how independent the proof is, counted.
        settled: forks that somebody settled, in words.
        unwatched: names of hot work whose end, or whole fire watch, is not recorded.
        pieces: the probed part of each run, with the faults on it.
    """

    job: JobRow
    made: str
    version: str
    people_shown: bool
    lists: Lists
    limits: list[viewed.LimitNow]
    limit_changes: list[LimitRow]
    seams: list[SeamFacts]
    traces: list[SeamTrace]
    untraced: int
    marks: dict[str, Counted]
    pieces: list[ProbedPiece]
    days: dict[str, dict[str, int]]
    strips: list[viewed.JudgedStrip]
    conditions: list[viewed.MarkedConditions]
    runs: list[viewed.MarkedRun]
    bleeds: list[viewed.ReadBleed]
    peels: list[viewed.MarkedPeel]
    fits: list[DayFit]
    unfitted: int
    warnings: list[viewed.OpenWarning]
    amendments: list[viewed.NamedAmendment]
    withdrawn: list[WithdrawnRow]
    seals: list[viewed.HandedSeal]
    entries: list[viewed.EntryCount]
    heads: list[viewed.DeviceHead]
    charts: list[BleedChart]
    doubts: Doubts | None
    faults: Sequence[Fault]
    clocks: Sequence[Fault]
    unwatched: list[str]
    north_deg: float | None
    integrity: list[Tell]
    settled: list[str]
    other: dict[str, list[dict[str, object]]]
    start_up: list[ListLine]
    looks_due: list[LookDue]
    looks: list[LookRow]
    punch: list[PunchRow]
    leaks: list[LeakNow]


class Tell(Struct, frozen=True):
    """One question on how independent the proof is, counted; never a mark for quality.

    Attributes:
        code: which question; `reports.dossier.integrity` has its words.
        n: how many; of: out of how many, None where there is no whole.
        names: the first of them, by name.
        by: "welder", "finder" or "other" -> how many were done by such a person.
    """

    code: str
    n: int
    of: int | None = None
    names: tuple[str, ...] = ()
    by: dict[str, int] = {}
