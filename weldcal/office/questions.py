"""The look back on all jobs, from the lake: the four tables of `weldcal history`.

Invariant: SQL only sums up; rates, intervals and lines come from the sums, by the functions
that work out those of one book.
"""

from __future__ import annotations

from collections.abc import Sequence

from weldcal.office.firm import LakeFirm, Row
from weldcal.quality.faults import Sums
from weldcal.quality.history import (
    HAND,
    HistoryFilter,
    HistoryTables,
    Key,
    RunSums,
    drift_row,
    fault_rows,
    line_row,
    morning_rows,
)
from weldcal.quality.history_rows import DriftOf, Kind, LineOf
from weldcal.quality.speed_line import Moments, line_through
from weldcal.records.fields import same_name

_BY = {
    "job": "job_name",
    "machine": "machine_name",
    "sheet": "sheet_name",
    "lap": "lap",
    "person": "seen_by",
    "month": "substr(day, 1, 7)",
}
_KIND = "machine_name AS machine, sheet_name AS sheet, lap"
# A strip's point of the line: passed, with a temperature and a speed that somebody knows.
POINTS = "passed = 1 AND temperature_c IS NOT NULL AND true_m_per_min > 0"
# n, ends, means and sums from the means of (temperature, ln of the speed).
MOMENTS = """
    count(*) AS n, min(temperature_c) AS low_c, max(temperature_c) AS high_c,
    avg(temperature_c) AS middle_c, avg(ln(true_m_per_min)) AS level,
    regr_sxx(ln(true_m_per_min), temperature_c) AS across,
    regr_sxy(ln(true_m_per_min), temperature_c) AS along,
    regr_syy(ln(true_m_per_min), temperature_c) AS up
"""
_MEASURING = ("told_strips", "told_runs", "told_measures")
_MEASURED = (
    ("speed measured over dial", "true_speed_m_per_min", "dial_m_per_min"),
    ("nozzle measured over set, in °C", "nozzle_measured_c", "nozzle_c"),
)


def history_tables(firm: LakeFirm, by: Sequence[str], wanted: HistoryFilter) -> HistoryTables:
    """Fault rates, strips to a go-ahead, lines and drift of all jobs; no speeds one by one."""
    where, values = _where(wanted)
    lines = _lines(firm, where, values)
    of = _MEASURING[:-1] if wanted.sheet else _MEASURING  # a machine is measured on no sheet
    return HistoryTables(
        fault_rows(run_sums(firm, by, where, values), by),
        morning_rows(mornings(firm, by, where, values), by),
        lines,
        [],
        [*_off_the_line(firm, where, values), *measured(firm, where, values, of)],
    )


def _where(wanted: HistoryFilter) -> tuple[str, list[str]]:
    """The filters as SQL, and their values."""
    asked = {
        "machine_key = ?": same_name(wanted.machine) if wanted.machine else None,
        "sheet_key = ?": same_name(wanted.sheet) if wanted.sheet else None,
        "person_key = ?": same_name(wanted.person) if wanted.person else None,
        "day >= ?": wanted.since,
        "day <= ?": wanted.until,
    }
    parts = [sql for sql, value in asked.items() if value is not None]
    return " AND ".join(["true", *parts]), [value for value in asked.values() if value is not None]


def _keys(by: Sequence[str]) -> str:
    hand = f"CASE WHEN by_hand <> 0 THEN '{HAND}' ELSE '–' END"
    return ", ".join(f"coalesce(nullif({_BY[name]}, ''), {hand}) AS by_{name}" for name in by)


def run_sums(
    firm: LakeFirm, by: Sequence[str], where: str = "true", values: Sequence[str] = ()
) -> dict[Key, dict[str, RunSums]]:
    """Runs summed up, by group and job."""
    rows = firm.ask(
        f"""
        SELECT {_keys(by)}, job, count(*) AS runs, sum(welded_m) AS welded_m,
            sum(welded_again_m) AS again_m, sum(probed_welded_over_m) AS over_m,
            count(*) FILTER (probed_m > 0) AS pieces,
            coalesce(sum(faults) FILTER (probed_m > 0), 0) AS faults,
            coalesce(sum(probed_m) FILTER (probed_m > 0), 0) AS probed_m,
            coalesce(sum(faults * faults / probed_m) FILTER (probed_m > 0), 0) AS squares
        FROM told_runs WHERE {where} GROUP BY ALL ORDER BY ALL
        """,
        values,
    )
    by_key: dict[Key, dict[str, RunSums]] = {}
    for row in rows:
        probed = Sums(row["pieces"], int(row["faults"]), row["probed_m"], row["squares"])
        sums = RunSums(row["runs"], row["welded_m"], row["again_m"], probed, row["over_m"])
        by_key.setdefault(_key(row, by), {})[row["job"]] = sums
    return by_key


def _key(row: Row, by: Sequence[str]) -> Key:
    return tuple(str(row[f"by_{name}"]) for name in by)


def mornings(
    firm: LakeFirm, by: Sequence[str], where: str, values: Sequence[str]
) -> dict[Key, dict[int | None, int]]:
    """Mornings by group and by the strips it took to the first go-ahead."""
    names = [f"by_{name}" for name in by]
    firsts = ", ".join(f"arg_min({name}, n) AS {name}" for name in names)
    rows = firm.ask(
        f"""
        WITH numbered AS (
            SELECT *, {_keys(by)},
                row_number() OVER (PARTITION BY job, day, machine, sheet, lap ORDER BY n) AS nth
            FROM told_strips WHERE {where}
        ), mornings AS (
            SELECT {firsts}, min(nth) FILTER (passed = 1) AS took
            FROM numbered GROUP BY job, day, machine, sheet, lap
        )
        SELECT {", ".join(names)}, took, count(*) AS times FROM mornings GROUP BY ALL ORDER BY ALL
        """,
        values,
    )
    mornings_by_key: dict[Key, dict[int | None, int]] = {}
    for row in rows:
        mornings_by_key.setdefault(_key(row, by), {})[row["took"]] = row["times"]
    return mornings_by_key


def _lines(firm: LakeFirm, where: str, values: Sequence[str]) -> list[LineOf]:
    """A line for each machine, sheet and lap kind, kept beside the strips for `_off_the_line`."""
    rows = firm.ask(
        f"SELECT {_KIND}, {MOMENTS} FROM told_strips WHERE {POINTS} AND {where} "
        "GROUP BY ALL ORDER BY ALL",
        values,
    )
    firm.run(
        "CREATE OR REPLACE TABLE line_of (machine VARCHAR, sheet VARCHAR, lap VARCHAR, "
        "height DOUBLE, slope DOUBLE)"
    )
    lines = []
    for row in rows:
        kind = _kind(row)
        line = line_through(moments(row))
        if line:
            firm.run(
                "INSERT INTO line_of VALUES (?, ?, ?, ?, ?)",
                [kind["machine"], kind["sheet"], kind["lap"], line.height, line.slope],
            )
        lines.append(line_row(kind, row["n"], line))
    return lines


def moments(row: Row) -> Moments:
    """The columns of `MOMENTS` as the input of a line."""
    return Moments(**{name: row[name] for name in Moments.__struct_fields__})


def _off_the_line(firm: LakeFirm, where: str, values: Sequence[str]) -> list[DriftOf]:
    off = "100 * (exp(ln(s.true_m_per_min) - l.height - l.slope * s.temperature_c) - 1)"
    rows = firm.ask(
        f"""
        SELECT l.machine, l.sheet, l.lap, substr(s.day, 1, 7) AS month, {_spread(off)}
        FROM told_strips s JOIN line_of l
            ON l.machine = s.machine_name AND l.sheet = s.sheet_name AND l.lap = s.lap
        WHERE {POINTS} AND {where}
        GROUP BY ALL ORDER BY ALL
        """,
        values,
    )
    return [_drifted(row, "off the line") for row in rows]


def measured(
    firm: LakeFirm,
    where: str = "true",
    values: Sequence[str] = (),
    tables: Sequence[str] = _MEASURING,
) -> list[DriftOf]:
    """Where somebody measured: true speed over the dial's, nozzle over set, by machine and month."""
    drifts = []
    for what, real, shown in _MEASURED:
        every = " UNION ALL ".join(
            f"SELECT coalesce(nullif(machine_name, ''), '–') AS machine, day, "
            f"100 * ({real} / {shown} - 1) AS off FROM {table} "
            f"WHERE {real} IS NOT NULL AND {shown} <> 0 AND {where}"
            for table in tables
        )
        rows = firm.ask(
            f"SELECT machine, '–' AS sheet, '–' AS lap, substr(day, 1, 7) AS month, {_spread('off')} "
            f"FROM ({every}) GROUP BY ALL ORDER BY ALL",
            [*values] * len(tables),
        )
        drifts += [_drifted(row, what) for row in rows]
    return drifts


def _spread(value: str) -> str:
    return f"count(*) AS n, median({value}) AS mid, min({value}) AS least, max({value}) AS most"


def _kind(row: Row) -> Kind:
    return {"machine": row["machine"], "sheet": row["sheet"], "lap": row["lap"]}


def _drifted(row: Row, what: str) -> DriftOf:
    return drift_row(
        _kind(row), row["month"], what, row["n"], (row["mid"], row["least"], row["most"])
    )
