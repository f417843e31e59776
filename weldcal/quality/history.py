"""History of many jobs: fault rates, strips to a go-ahead, speeds against temperature, drift.

Invariant: every figure of a group says how many rows it rests on, and a rate or
a slope its interval. A machine of one name is taken for one machine in all jobs.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from statistics import median
from typing import TypeVar, cast

from msgspec import Struct

from weldcal.quality.faults import PER_M, Sums, Work, dispersion_among, interval, sums_of
from weldcal.quality.history_rows import (
    DriftOf,
    FaultsOf,
    GoAheadSpeed,
    Grouped,
    Kind,
    LineOf,
    MorningsOf,
)
from weldcal.quality.made import MadeRun, MadeStrip, MadeWith, Past
from weldcal.quality.speed_line import SpeedLine, line_of
from weldcal.records.fields import same_name
from weldcal.words import mark

R = TypeVar("R", bound=Mapping[str, object])
Key = tuple[str, ...]

BY = ("job", "machine", "sheet", "lap", "person", "month")
HAND = mark("by hand")  # stands for the machine of a run welded without one


class HistoryFilter(Struct, frozen=True):
    """Filters; None lets everything through. Days are the jobs' own, ISO, both ends included."""

    machine: str | None = None
    sheet: str | None = None
    person: str | None = None
    since: str | None = None
    until: str | None = None


class HistoryTables(Struct, frozen=True):
    """The four tables, as rows of plain values (SI, unit in the key)."""

    faults: list[FaultsOf]
    strips: list[MorningsOf]
    lines: list[LineOf]
    speeds: list[GoAheadSpeed]
    drift: list[DriftOf]


def tell(
    jobs: Sequence[Past], wanted: HistoryFilter, by: Sequence[str], sort: str | None = None
) -> HistoryTables:
    """Look back on jobs.

    Args:
        jobs: as the book gives them.
        by: what fault rates and strips are grouped by, of `BY`.
        sort: a column; tables that have it are sorted by it, numbers from the largest.
    """
    keep = _filter(wanted)
    strips = [s for job in jobs for s in job.strips if keep(s)]
    runs = [r for job in jobs for r in job.runs if keep(r)]
    measures = [m for job in jobs for m in job.measures if wanted.sheet is None and keep(m)]
    speeds = _speeds(strips)
    lines, drift = _lines(speeds)
    tables = HistoryTables(
        fault_rows(_run_sums(runs, by), by),
        _strip_rows(strips, by),
        lines,
        speeds,
        drift + _measured([*strips, *runs, *measures]),
    )
    if sort is None:
        return tables
    return HistoryTables(
        _sorted(tables.faults, sort),
        _sorted(tables.strips, sort),
        _sorted(tables.lines, sort),
        _sorted(tables.speeds, sort),
        _sorted(tables.drift, sort),
    )


def _filter(wanted: HistoryFilter) -> Callable[[MadeWith], bool]:
    def keep(made: MadeWith) -> bool:
        return (
            (wanted.machine is None or _same(made.machine, wanted.machine))
            and (wanted.sheet is None or _same(made.sheet, wanted.sheet))
            and (wanted.person is None or _same(made.seen_by, wanted.person))
            and (wanted.since is None or made.day >= wanted.since)
            and (wanted.until is None or made.day <= wanted.until)
        )

    return keep


def _same(a: str | None, b: str) -> bool:
    return same_name(a or "") == same_name(b)


def _key(made: MadeWith, by: Sequence[str]) -> Key:
    values = {
        "job": made.job,
        "machine": made.machine,
        "sheet": made.sheet,
        "lap": made.lap,
        "person": made.seen_by,
        "month": made.day[:7],
    }
    hand = HAND if made.by_hand else "–"
    return tuple(values[name] or hand for name in by)


class RunSums(Struct, frozen=True):
    """Runs of one group on one job, and the probed part of them summed up.

    Attributes:
        again_m: of `welded_m`, what an earlier run had welded.
        over_m: of what was probed, what was welded over since.
    """

    runs: int
    welded_m: float
    again_m: float
    probed: Sums
    over_m: float


def fault_rows(groups: Mapping[Key, Mapping[str, RunSums]], by: Sequence[str]) -> list[FaultsOf]:
    """Fault rates by group, each with its interval.

    How faults clump is taken of all runs of the jobs a group was on, each group at its own rate.

    Args:
        groups: a group's values, in the order of `by` -> job -> its sums there.
    """
    jobs: dict[str, list[Key]] = {}
    for key, mine in groups.items():
        for job in mine:
            jobs.setdefault(job, []).append(key)
    clumps: dict[frozenset[str], tuple[float, int]] = {}
    rows: list[FaultsOf] = []
    for key, mine in groups.items():
        on = frozenset(mine)
        if on not in clumps:
            clumps[on] = _clumps(groups, {k for job in on for k in jobs[job]}, on)
        dispersion, runs_n = clumps[on]
        all_of = _together(sums.probed for sums in mine.values())
        probed, n = all_of.length_m, all_of.faults
        low, high = interval(n, probed, dispersion) if probed > 0 else (None, None)
        rows.append(
            {
                **_grouped(by, key),
                "runs": sum(sums.runs for sums in mine.values()),
                "welded_m": sum(sums.welded_m for sums in mine.values()),
                "welded_again_m": sum(sums.again_m for sums in mine.values()),
                "probed_m": probed,
                "probed_welded_over_m": sum(sums.over_m for sums in mine.values()),
                "faults": n,
                "per_100ft": n / probed * PER_M if probed > 0 else None,
                "low": low,
                "high": high,
                "dispersion": dispersion,
                "dispersion_runs": runs_n,
            }
        )
    return rows


def _grouped(by: Sequence[str], key: Key) -> Grouped:
    """A group's own columns."""
    return cast("Grouped", dict(zip(by, key, strict=True)))


def _clumps(
    groups: Mapping[Key, Mapping[str, RunSums]], keys: Iterable[Key], jobs: frozenset[str]
) -> tuple[float, int]:
    """How faults clump on the probed lap of some jobs, each group at its own rate.

    Taken of the same pieces as `weldcal faults` takes: the same counts have the same interval.

    Returns:
        The dispersion, and from how many runs.
    """
    levels = [
        _together(one.probed for job, one in groups[key].items() if job in jobs) for key in keys
    ]
    levels = [level for level in levels if level.pieces]
    return dispersion_among(levels), sum(level.pieces for level in levels)


def _together(parts: Iterable[Sums]) -> Sums:
    pieces, faults, length, squares = 0, 0, 0.0, 0.0
    for part in parts:
        pieces, faults = pieces + part.pieces, faults + part.faults
        length, squares = length + part.length_m, squares + part.squares
    return Sums(pieces, faults, length, squares)


def _run_sums(runs: list[MadeRun], by: Sequence[str]) -> dict[Key, dict[str, RunSums]]:
    groups: dict[Key, dict[str, list[MadeRun]]] = {}
    for run in runs:
        groups.setdefault(_key(run, by), {}).setdefault(run.job, []).append(run)
    return {key: {job: _summed(mine) for job, mine in jobs.items()} for key, jobs in groups.items()}


def _summed(runs: list[MadeRun]) -> RunSums:
    return RunSums(
        len(runs),
        sum(run.welded_m for run in runs),
        sum(run.again_m for run in runs),
        sums_of(Work(run.faults, run.probed_m, {}) for run in runs if run.probed_m > 0),
        sum(run.over_m for run in runs),
    )


def _strip_rows(strips: list[MadeStrip], by: Sequence[str]) -> list[MorningsOf]:
    """Strips it took on a day, for one machine, sheet and lap kind, until the first go-ahead."""
    mornings: dict[tuple[str | None, ...], list[MadeStrip]] = {}
    for strip in strips:
        key = (strip.job, strip.day, strip.machine, strip.sheet, strip.lap)
        mornings.setdefault(key, []).append(strip)
    groups: dict[Key, Counter[int | None]] = {}
    for mine in mornings.values():
        took = next((n for n, strip in enumerate(mine, 1) if strip.passed), None)
        groups.setdefault(_key(mine[0], by), Counter())[took] += 1
    return morning_rows(groups, by)


def morning_rows(
    groups: Mapping[Key, Mapping[int | None, int]], by: Sequence[str]
) -> list[MorningsOf]:
    """Strips to the first go-ahead of a day, by group.

    Args:
        groups: a group's values -> strips it took (None: there was no go-ahead) -> mornings.
    """
    rows: list[MorningsOf] = []
    for key, mornings in groups.items():
        counts = [n for n, times in _known(mornings) for _each in range(times)]
        rows.append(
            {
                **_grouped(by, key),
                "mornings": sum(mornings.values()),
                "median_strips": median(counts) if counts else None,
                "most_strips": max(counts, default=None),
                "without": mornings.get(None, 0),
            }
        )
    return rows


def _known(mornings: Mapping[int | None, int]) -> list[tuple[int, int]]:
    """(strips, mornings), the fewest first; mornings without a go-ahead left out."""
    return sorted((n, times) for n, times in mornings.items() if n is not None)


def _speeds(strips: list[MadeStrip]) -> list[GoAheadSpeed]:
    return [
        {
            "job": s.job,
            "machine": s.machine,
            "sheet": s.sheet,
            "lap": s.lap,
            "day": s.day,
            "strip": s.name,
            "temperature_c": s.temperature_c,
            "speed_m_per_min": s.true_m_per_min,
            "nozzle_c": s.nozzle_c,
        }
        for s in strips
        if s.passed and s.temperature_c is not None and s.true_m_per_min is not None
    ]


def _lines(speeds: list[GoAheadSpeed]) -> tuple[list[LineOf], list[DriftOf]]:
    """A line for each machine, sheet and lap kind, and by month how far off it strips lay."""
    kinds: dict[tuple[str, str, str], list[GoAheadSpeed]] = {}
    for row in speeds:
        kinds.setdefault((row["machine"], row["sheet"], row["lap"]), []).append(row)
    lines, drift = list[LineOf](), list[DriftOf]()
    for (machine, sheet, lap), mine in kinds.items():
        kind: Kind = {"machine": machine, "sheet": sheet, "lap": lap}
        fitted = line_of([(r["temperature_c"], r["speed_m_per_min"]) for r in mine])
        lines.append(line_row(kind, len(mine), fitted))
        if fitted is None:
            continue
        months: dict[str, list[float]] = {}
        for r in mine:
            off = math.log(r["speed_m_per_min"]) - fitted.height - fitted.slope * r["temperature_c"]
            months.setdefault(r["day"][:7], []).append(100 * (math.exp(off) - 1))
        drift += [
            _month(kind, month, "off the line", offs) for month, offs in sorted(months.items())
        ]
    return lines, drift


def line_row(kind: Kind, strips: int, line: SpeedLine | None) -> LineOf:
    """A line as a row: the speed at 20 °C, and % per kelvin with its interval."""
    return {
        **kind,
        "strips": strips,
        "speed_at_20c_m_per_min": math.exp(line.height + 20 * line.slope) if line else None,
        "pct_per_k": 100 * line.slope if line else None,
        "low": 100 * line.low if line else None,
        "high": 100 * line.high if line else None,
    }


def _measured(rows: list[MadeWith]) -> list[DriftOf]:
    """Measurements by month: true speed over the dial's, nozzle over set, by machine and month."""
    speeds: dict[tuple[str, str], list[float]] = {}
    nozzles: dict[tuple[str, str], list[float]] = {}
    for r in rows:
        key = (r.machine or "–", r.day[:7])
        if r.true_speed_m_per_min is not None and r.dial_m_per_min:
            speeds.setdefault(key, []).append(100 * (r.true_speed_m_per_min / r.dial_m_per_min - 1))
        if r.nozzle_measured_c is not None and r.nozzle_c:
            nozzles.setdefault(key, []).append(100 * (r.nozzle_measured_c / r.nozzle_c - 1))
    drift_rows = []
    for what, groups in (
        ("speed measured over dial", speeds),
        ("nozzle measured over set, in °C", nozzles),
    ):
        for (machine, month), offs in sorted(groups.items()):
            drift_rows.append(
                _month({"machine": machine, "sheet": "–", "lap": "–"}, month, what, offs)
            )
    return drift_rows


def _month(kind: Kind, month: str, what: str, offs: list[float]) -> DriftOf:
    return drift_row(kind, month, what, len(offs), (median(offs), min(offs), max(offs)))


def drift_row(kind: Kind, month: str, what: str, n: int, of: tuple[float, float, float]) -> DriftOf:
    """A month's drift as a row; `of` is the median, the least and the most, %."""
    return {
        **kind,
        "month": month,
        "what": what,
        "n": n,
        "median_pct": of[0],
        "least_pct": of[1],
        "most_pct": of[2],
    }


def _sorted(rows: list[R], column: str) -> list[R]:
    if not rows or column not in rows[0]:
        return rows
    with_value = [r for r in rows if r[column] is not None]
    number = bool(with_value) and isinstance(with_value[0][column], int | float)
    with_value.sort(key=lambda r: _place(r[column]), reverse=number)
    return with_value + [r for r in rows if r[column] is None]


def _place(value: object) -> tuple[float, str]:
    """Where a value comes among those of its column."""
    return (value, "") if isinstance(value, int | float) else (0.0, str(value))


def columns(tables: HistoryTables) -> list[str]:
    """Every column there is to sort by."""
    lists = (tables.faults, tables.strips, tables.lines, tables.speeds, tables.drift)
    return list(dict.fromkeys(column for rows in lists for row in rows[:1] for column in row))
