"""Many jobs looked back on: fault rates, strips to a go-ahead, speeds against temperature, drift.

Invariant: what is told of a group says how many rows it rests on, and a rate or
a slope its interval. A machine of one name is taken for one machine in all jobs.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from statistics import median
from typing import Any

from msgspec import Struct

from weldcal.quality.faults import PER_M, Sums, Work, dispersion_among, interval, sums_of
from weldcal.quality.speed_line import Line, line_of
from weldcal.records.fields import same_name
from weldcal.row_types import RunRow
from weldcal.words import mark

Row = dict[str, Any]
Key = tuple[str, ...]

BY = ("job", "machine", "sheet", "lap", "person", "month")
HAND = mark("by hand")  # stands for the machine of a run welded without one


class Wanted(Struct, frozen=True):
    """Filters; None lets everything through. Days are the jobs' own, ISO, both ends included."""

    machine: str | None = None
    sheet: str | None = None
    person: str | None = None
    since: str | None = None
    until: str | None = None


class Made(Struct, frozen=True, kw_only=True):
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


class MadeStrip(Made, frozen=True, kw_only=True):
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


class MadeRun(Made, frozen=True, kw_only=True):
    """A run.

    Attributes:
        row: as it is recorded.
        welded_m: 0 while it is not finished.
        probed_m: what of it was probed.
        faults: how many lie on what was probed.
    """

    row: RunRow
    welded_m: float
    probed_m: float
    faults: int


class Past(Struct, frozen=True):
    """What one job adds to the history, each in the order seen."""

    strips: list[MadeStrip]
    runs: list[MadeRun]
    measures: list[Made]


class Told(Struct, frozen=True):
    """The four tables, as rows of plain values (SI, unit in the key)."""

    faults: list[Row]
    strips: list[Row]
    lines: list[Row]
    speeds: list[Row]
    drift: list[Row]


def tell(jobs: Sequence[Past], wanted: Wanted, by: Sequence[str], sort: str | None = None) -> Told:
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
    told = Told(
        fault_rows(_run_sums(runs, by), by),
        _strip_rows(strips, by),
        lines,
        speeds,
        drift + _measured([*strips, *runs, *measures]),
    )
    if sort is None:
        return told
    return Told(*(_sorted(getattr(told, name), sort) for name in Told.__struct_fields__))


def _filter(wanted: Wanted) -> Callable[[Made], bool]:
    def keep(made: Made) -> bool:
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


def _key(made: Made, by: Sequence[str]) -> Key:
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
    """Runs of one group on one job: how many, m welded, and what of them was probed summed up."""

    runs: int
    welded_m: float
    probed: Sums


def fault_rows(groups: Mapping[Key, Mapping[str, RunSums]], by: Sequence[str]) -> list[Row]:
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
    rows = []
    for key, mine in groups.items():
        on = frozenset(mine)
        if on not in clumps:
            clumps[on] = _clumps(groups, {k for job in on for k in jobs[job]}, on)
        dispersion, known = clumps[on]
        all_of = _together(one.probed for one in mine.values())
        probed, n = all_of.length_m, all_of.faults
        low, high = interval(n, probed, dispersion) if probed > 0 else (None, None)
        rows.append(
            {
                **dict(zip(by, key, strict=True)),
                "runs": sum(one.runs for one in mine.values()),
                "welded_m": sum(one.welded_m for one in mine.values()),
                "probed_m": probed,
                "faults": n,
                "per_100ft": n / probed * PER_M if probed > 0 else None,
                "low": low,
                "high": high,
                "dispersion": dispersion,
                "dispersion_runs": known,
            }
        )
    return rows


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
        sums_of(Work(run.faults, run.probed_m, {}) for run in runs if run.probed_m > 0),
    )


def _strip_rows(strips: list[MadeStrip], by: Sequence[str]) -> list[Row]:
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


def morning_rows(groups: Mapping[Key, Mapping[int | None, int]], by: Sequence[str]) -> list[Row]:
    """Strips to the first go-ahead of a day, by group.

    Args:
        groups: a group's values -> strips it took (None: there was no go-ahead) -> mornings.
    """
    rows = []
    for key, found in groups.items():
        known = [n for n, times in _known(found) for _each in range(times)]
        rows.append(
            {
                **dict(zip(by, key, strict=True)),
                "mornings": sum(found.values()),
                "median_strips": median(known) if known else None,
                "most_strips": max(known, default=None),
                "without": found.get(None, 0),
            }
        )
    return rows


def _known(found: Mapping[int | None, int]) -> list[tuple[int, int]]:
    """Strips it took, and on how many mornings, the fewest first; mornings without left out."""
    return sorted((n, times) for n, times in found.items() if n is not None)


def _speeds(strips: list[MadeStrip]) -> list[Row]:
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


def _lines(speeds: list[Row]) -> tuple[list[Row], list[Row]]:
    """A line for each machine, sheet and lap kind, and by month how far off it strips lay."""
    kinds: dict[tuple[str, ...], list[Row]] = {}
    for row in speeds:
        kinds.setdefault((row["machine"], row["sheet"], row["lap"]), []).append(row)
    lines, drift = [], []
    for (machine, sheet, lap), mine in kinds.items():
        kind = {"machine": machine, "sheet": sheet, "lap": lap}
        found = line_of([(r["temperature_c"], r["speed_m_per_min"]) for r in mine])
        lines.append(line_row(kind, len(mine), found))
        if found is None:
            continue
        months: dict[str, list[float]] = {}
        for r in mine:
            off = math.log(r["speed_m_per_min"]) - found.height - found.slope * r["temperature_c"]
            months.setdefault(r["day"][:7], []).append(100 * (math.exp(off) - 1))
        drift += [
            _month(kind, month, "off the line", offs) for month, offs in sorted(months.items())
        ]
    return lines, drift


def line_row(kind: Row, strips: int, line: Line | None) -> Row:
    """A line as a row: the speed at 20 °C, and % per kelvin with its interval."""
    return {
        **kind,
        "strips": strips,
        "speed_at_20c_m_per_min": math.exp(line.height + 20 * line.slope) if line else None,
        "pct_per_k": 100 * line.slope if line else None,
        "low": 100 * line.low if line else None,
        "high": 100 * line.high if line else None,
    }


def _measured(rows: list[Made]) -> list[Row]:
    """Where somebody measured: true speed over the dial's, nozzle over set, by machine and month."""
    speeds: dict[tuple[str, str], list[float]] = {}
    nozzles: dict[tuple[str, str], list[float]] = {}
    for r in rows:
        key = (r.machine or "–", r.day[:7])
        if r.true_speed_m_per_min is not None and r.dial_m_per_min:
            speeds.setdefault(key, []).append(100 * (r.true_speed_m_per_min / r.dial_m_per_min - 1))
        if r.nozzle_measured_c is not None and r.nozzle_c:
            nozzles.setdefault(key, []).append(100 * (r.nozzle_measured_c / r.nozzle_c - 1))
    found = []
    for what, groups in (
        ("speed measured over dial", speeds),
        ("nozzle measured over set, in °C", nozzles),
    ):
        for (machine, month), offs in sorted(groups.items()):
            found.append(_month({"machine": machine, "sheet": "–", "lap": "–"}, month, what, offs))
    return found


def _month(kind: Row, month: str, what: str, offs: list[float]) -> Row:
    return drift_row(kind, month, what, len(offs), (median(offs), min(offs), max(offs)))


def drift_row(kind: Row, month: str, what: str, n: int, of: tuple[float, float, float]) -> Row:
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


def _sorted(rows: list[Row], column: str) -> list[Row]:
    if not rows or column not in rows[0]:
        return rows
    known = [r for r in rows if r[column] is not None]
    number = bool(known) and isinstance(known[0][column], int | float)
    known.sort(key=lambda r: r[column], reverse=number)
    return known + [r for r in rows if r[column] is None]


def columns(told: Told) -> list[str]:
    """Every column there is to sort by."""
    tables = (told.faults, told.strips, told.lines, told.speeds, told.drift)
    return list(dict.fromkeys(column for rows in tables for row in rows[:1] for column in row))
