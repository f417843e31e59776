"""What the office's pages show, gathered from the lake or from one book.

Invariant: nothing is recorded; every number comes with how many it rests on, and what may be
chance with its interval, by the functions that do it for one job.
"""

from __future__ import annotations

from collections.abc import Callable

from msgspec import structs

from weldcal.office import refits
from weldcal.office.firm import LakeFirm, Row
from weldcal.office.questions import MOMENTS, POINTS, measured, moments, mornings, run_sums
from weldcal.quality.crews import Done, compare
from weldcal.quality.faults import Sums
from weldcal.quality.history import fault_rows, morning_rows
from weldcal.quality.history_rows import DriftOf, MorningsOf
from weldcal.quality.speed_line import SpeedLine, line_through
from weldcal.views import office as views

_BAND_C = 10
# What makes two pieces of work alike: only such are compared (ours, no source). A sheet by its
# declared class, where it has one: two crews seldom say that their sheets are one.
_LIKE = "coalesce(nullif(sheet_class, ''), sheet_grp), lap, kind, weather"
# Each person's work: as it is, alone of its kind, and as so much of the firm's lap.
_LIKE_WORK = f"""
        WITH work AS (
            SELECT *, sum(faults) OVER like_it AS like_faults, sum(probed_m) OVER like_it AS like_m,
                count(DISTINCT person_name) OVER like_it AS who,
                sum(faults) OVER () AS all_faults, sum(probed_m) OVER () AS all_m
            FROM told_runs WHERE probed_m > 0 AND by_hand = 0 AND day >= ?
            WINDOW like_it AS (PARTITION BY {_LIKE})
        ), weighed AS (
            SELECT person_name, faults, probed_m, who, CASE WHEN all_faults = 0 THEN probed_m
                ELSE probed_m * (like_faults / like_m) / (all_faults / all_m) END AS like_m
            FROM work
        )
        SELECT person_name, count(*) AS pieces, sum(faults) AS faults, sum(probed_m) AS probed_m,
            coalesce(sum(probed_m) FILTER (who = 1), 0) AS alone_m, sum(like_m) AS like_m,
            coalesce(sum(faults * faults / like_m) FILTER (like_m > 0), 0) AS squares
        FROM weighed GROUP BY ALL ORDER BY probed_m DESC, person_name
        """
_DIAL, _NOZZLE = "speed measured over dial", "nozzle measured over set, in °C"
_WAS_MEASURED = (
    "(true_speed_m_per_min IS NOT NULL AND dial_m_per_min <> 0)"
    " OR (nozzle_measured_c IS NOT NULL AND nozzle_c <> 0)"
)


def machines(firm: LakeFirm, since: str = "") -> list[views.OfficeMachine]:
    """Machines that were on a job, and how they have drifted."""
    months: dict[tuple[str, str], list[DriftOf]] = {}
    for row in measured(firm, "day >= ?", [since]):
        months.setdefault((row["machine"], row["what"]), []).append(row)
    every = " UNION ALL ".join(
        f"SELECT machine_name, day FROM {table} WHERE {_WAS_MEASURED}"
        for table in ("told_strips", "told_runs", "told_measures")
    )
    rows = firm.ask(
        f"""
        SELECT s.machine_name AS name, count(DISTINCT job) AS jobs, max(day) AS last_day,
            count(*) AS strips, sum(passed) AS passed, any_value(m.measured) AS measured
        FROM told_strips s LEFT JOIN (
            SELECT machine_name, max(day) AS measured FROM ({every}) GROUP BY ALL
        ) m ON m.machine_name = s.machine_name
        WHERE by_hand = 0 AND day >= ? GROUP BY s.machine_name ORDER BY s.machine_name
        """,
        [since],
    )
    return [
        views.OfficeMachine(
            **{**row, "passed": int(row["passed"])},
            dial=_off(months.get((row["name"], _DIAL), [])),
            nozzle=_off(months.get((row["name"], _NOZZLE), [])),
        )
        for row in rows
    ]


def _off(months: list[DriftOf]) -> views.Off | None:
    if not months:
        return None
    *earlier, last = sorted(months, key=lambda row: row["month"])
    return views.Off(
        month=last["month"],
        n=last["n"],
        median_pct=last["median_pct"],
        least_pct=last["least_pct"],
        most_pct=last["most_pct"],
        before=(earlier[-1]["month"], earlier[-1]["median_pct"]) if earlier else None,
    )


def sheets(firm: LakeFirm, since: str = "") -> list[views.OfficeSheet]:
    """Sheets that a strip passed on, with their windows by temperature."""
    where = f"{POINTS} AND day >= ?"
    rows = firm.ask(
        f"SELECT sheet_name, lap, count(DISTINCT job) AS jobs, {MOMENTS} FROM told_strips "
        f"WHERE {where} GROUP BY sheet_name, lap ORDER BY sheet_name, lap",
        [since],
    )
    bands: dict[tuple[str, str], list[tuple[float, int]]] = {}
    for row in firm.ask(
        f"SELECT sheet_name, lap, round(temperature_c / {_BAND_C}) * {_BAND_C} AS at, "
        f"count(*) AS n FROM told_strips WHERE {where} GROUP BY ALL ORDER BY ALL",
        [since],
    ):
        bands.setdefault((row["sheet_name"], row["lap"]), []).append((row["at"], row["n"]))
    by = ("sheet", "lap")
    tried = {
        (row["sheet"], row["lap"]): row
        for row in morning_rows(mornings(firm, by, "day >= ?", [since]), by)
    }
    return [
        _sheet(row, bands[row["sheet_name"], row["lap"]], tried[row["sheet_name"], row["lap"]])
        for row in rows
    ]


def _sheet(row: Row, bands: list[tuple[float, int]], tried: MorningsOf) -> views.OfficeSheet:
    line = line_through(moments(row))
    per_k = (100 * line.slope, 100 * line.low, 100 * line.high) if line else None
    return views.OfficeSheet(
        name=row["sheet_name"],
        lap=row["lap"],
        jobs=row["jobs"],
        n=row["n"],
        pct_per_k=per_k,
        bands=tuple(views.SpeedBand(at, n, *line.at(at)) for at, n in bands) if line else (),
        mornings=tried["mornings"],
        median_strips=tried["median_strips"],
    )


def crews(firm: LakeFirm, since: str = "") -> views.CrewsBeside:
    """People who weld, compared on like work; the most work first."""
    rows = firm.ask(_LIKE_WORK, [since])
    by_person = {
        row["person_name"]: Done(
            row["probed_m"],
            row["alone_m"],
            Sums(row["pieces"], int(row["faults"]), row["like_m"], row["squares"]),
        )
        for row in rows
    }
    compared = compare(by_person)
    crew_rows = tuple(
        views.CrewRow(
            name=rate.level,
            probed_m=compared.done[rate.level].probed_m,
            alone_m=compared.done[rate.level].alone_m,
            faults=rate.faults,
            per_100ft=rate.per_100ft,
            low=rate.low,
            high=rate.high,
            flag=rate.flag,
            level=structs.astuple(compared.levels[rate.level]),
        )
        for rate in compared.rates.rates
    )
    return views.CrewsBeside(crew_rows, compared.rates.dispersion["operator"])


def roofs(firm: LakeFirm, since: str = "") -> list[views.OfficeRoof]:
    """Roofs that need somebody: machines taken out first, then open findings, then lap unprobed."""
    rows = firm.ask(
        """
        SELECT name, last_day, machines_out, open, mended, unprobed_m, warnings, conflicts
        FROM roofs WHERE (open > 0 OR mended > 0 OR unprobed_m > 0.005 OR warnings > 0
            OR conflicts > 0 OR machines_out <> '') AND coalesce(last_day, '') >= ?
        ORDER BY machines_out = '', open DESC, unprobed_m DESC, mended DESC, name, id
        """,
        [since],
    )
    return [views.OfficeRoof(**row) for row in rows]


def season(firm: LakeFirm, since: str = "") -> views.Season:
    """What was done and learnt since a day; since the year began in which work was last done."""
    if not since:
        (last,) = firm.ask("SELECT max(day) AS day FROM told_strips")
        since = f"{str(last['day'] or '0000')[:4]}-01-01"
    (strips,) = firm.ask(
        "SELECT count(DISTINCT job) AS jobs, count(*) AS strips, "
        "coalesce(sum(passed), 0) AS passed FROM told_strips WHERE day >= ?",
        [since],
    )
    (runs,) = firm.ask(
        "SELECT coalesce(sum(welded_m), 0) AS m, coalesce(sum(welded_again_m), 0) AS again_m "
        "FROM told_runs WHERE day >= ?",
        [since],
    )
    findings = firm.ask(
        f"SELECT kind, count(*) AS n FROM {firm.source('findings')} WHERE day >= ? "
        "GROUP BY kind ORDER BY n DESC, kind",
        [since],
    )
    rates: list[views.RatesWhen] = [
        {"when": when, **row}
        for when, where in (("before", "day < ?"), ("since", "day >= ?"))
        for row in fault_rows(run_sums(firm, ("lap",), where, [since]), ("lap",))
    ]
    return views.Season(
        since=since,
        jobs=strips["jobs"],
        strips=strips["strips"],
        passed=int(strips["passed"]),
        welded_m=runs["m"],
        welded_again_m=runs["again_m"],
        rates=tuple(rates),
        findings=tuple((row["kind"], row["n"]) for row in findings),
        lines=tuple(_lines(firm, since)),
        refits=tuple(refits.rows(firm.lake)),
    )


def _lines(firm: LakeFirm, since: str) -> list[views.LineRow]:
    """Each sheet's line with and without the strips since a day, in the middle of those."""
    sql = (
        f"SELECT sheet_name, lap, {MOMENTS} FROM told_strips WHERE {POINTS} AND {{}} "
        "GROUP BY sheet_name, lap ORDER BY sheet_name, lap"
    )
    before = {
        (row["sheet_name"], row["lap"]): line_through(moments(row))
        for row in firm.ask(sql.format("day < ?"), [since])
    }
    new = {
        (row["sheet_name"], row["lap"]): row for row in firm.ask(sql.format("day >= ?"), [since])
    }
    lines = []
    for row in firm.ask(sql.format("true")):
        key = (row["sheet_name"], row["lap"])
        if key not in new:
            continue
        at = round(new[key]["middle_c"])
        lines.append(
            views.LineRow(
                name=key[0],
                lap=key[1],
                new=new[key]["n"],
                temperature_c=at,
                before=_at(before.get(key), at),
                now=_at(line_through(moments(row)), at),
            )
        )
    return lines


def _at(line: SpeedLine | None, celsius: float) -> tuple[int, float, float, float] | None:
    return (line.n, *line.at(celsius)) if line else None


PAGES: dict[str, Callable[[LakeFirm, str], object]] = {
    "machines": machines,
    "sheets": sheets,
    "crews": crews,
    "roofs": roofs,
    "season": season,
}
