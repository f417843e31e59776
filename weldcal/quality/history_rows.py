"""Rows of the history's tables: plain values, SI, the unit in the key.

Invariant: what is not known is None; the columns that rows are grouped by are those asked for.
"""

from __future__ import annotations

from typing import TypedDict


class Grouped(TypedDict, total=False):
    """What rows can be grouped by."""

    job: str
    machine: str
    sheet: str
    lap: str
    person: str
    month: str


class FaultsOf(Grouped):
    """Fault rate of a group with its interval, and from how many runs it is known how they clump.

    Of what runs welded, `welded_again_m` lies where an earlier one had welded; of what was probed,
    `probed_welded_over_m` was welded over since. Less these, both are what the roof shows.
    """

    runs: int
    welded_m: float
    welded_again_m: float
    probed_m: float
    probed_welded_over_m: float
    faults: int
    per_100ft: float | None
    low: float | None
    high: float | None
    dispersion: float
    dispersion_runs: int


class MorningsOf(Grouped):
    """Strips it took until the first go-ahead of a day; `without`: days that had none."""

    mornings: int
    median_strips: float | None
    most_strips: int | None
    without: int


class Kind(TypedDict):
    """A machine on a sheet, for one kind of lap."""

    machine: str
    sheet: str
    lap: str


class GoAheadSpeed(Kind):
    """A strip that met the limits."""

    job: str
    day: str
    strip: str
    temperature_c: float
    speed_m_per_min: float
    nozzle_c: float | None


class LineOf(Kind):
    """A line through speeds against temperature: % per kelvin with its 95 % interval."""

    strips: int
    speed_at_20c_m_per_min: float | None
    pct_per_k: float | None
    low: float | None
    high: float | None


class DriftOf(Kind):
    """How far off a month's values lay, %."""

    month: str
    what: str
    n: int
    median_pct: float
    least_pct: float
    most_pct: float
