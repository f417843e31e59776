"""The office's pages on a lake of rows made by hand, each number worked out another way."""

from __future__ import annotations

import math
import statistics
from pathlib import Path
from typing import Any

import pytest

from weldcal.book.firmwide import FACTS
from weldcal.errors import NoneYet
from weldcal.office import pages, questions
from weldcal.office.firm import of_book, opened
from weldcal.office.lake import JobFiles, Lake, LakeBroken, form
from weldcal.quality.history import HistoryFilter
from weldcal.tables.schema import TABLES

Rows = dict[str, list[dict[str, Any]]]
BASE: dict[str, Any] = {
    "machine": "blue", "machine_key": "blue", "sheet": "base", "sheet_key": "base",
    "sheet_class": "", "lap": "selvage", "seen_by": "Ana Ruiz", "person_key": "ana ruiz",
    "by_hand": 0, "day": "2026-06-01", "units": "us", "machines_out": "", "open": 0, "mended": 0,
    "unprobed_m": 0.0, "warnings": 0, "conflicts": 0, "welded_m": 0.0, "probed_m": 0.0, "faults": 0,
    "welded_again_m": 0.0, "probed_welded_over_m": 0.0, "kind": "side lap", "weather": "mild", "passed": 1, "tick": 1, "device": "d1",
}  # fmt: skip


@pytest.fixture(autouse=True)
def _extra() -> None:
    for library in ("pyarrow", "fsspec", "duckdb"):
        pytest.importorskip(library, reason="needs the extra: pip install 'weldcal[office]'")


def job(lake: Lake, name: str, tick: int, home: str = "", **rows: list[dict[str, Any]]) -> None:
    """One job with rows of some tables; what a row does not say is as in BASE."""
    made = []
    for table, mine in rows.items():
        columns = FACTS.get(table) or TABLES[table]
        full = [{**BASE, "job": name, "id": f"{name}{n}", **row} for n, row in enumerate(mine, 1)]
        values = [tuple(row.get(column) for column in columns) for row in full]
        made.append((table, columns, "2026", values))
    lake.write_job(JobFiles(form(), name, f"{name} roof", "m", home, tick, "d1", ()), made)


@pytest.fixture
def lake(tmp_path: Path) -> Lake:
    """Nothing in it yet."""
    return Lake(str(tmp_path / "it's a lake"))


def test_the_units_are_those_of_most_jobs(lake: Lake) -> None:
    """Of two as many the first by name; of none, the United States'."""
    job(lake, "a", 1, roofs=[{"units": "us"}])
    with opened(lake) as firm:
        assert firm.units() == "us"
    job(lake, "b", 2, roofs=[{"units": "si"}])
    with opened(lake) as firm:
        assert firm.units() == "si"
    job(lake, "c", 3, roofs=[{"units": "us"}])
    with opened(lake) as firm:
        assert firm.units() == "us"
    job(lake, "a", 1)
    job(lake, "b", 2)
    job(lake, "c", 3)
    with opened(lake) as firm:
        assert firm.units() == "us"
        assert pages.roofs(firm) == pages.machines(firm) == pages.sheets(firm) == []


def test_roofs_that_need_somebody_in_the_order_of_need(lake: Lake) -> None:
    """Machines out first, then open findings, lap unprobed, mends; half a centimetre is nothing."""
    rows = [
        {"name": "done"},
        {"name": "half a cm", "unprobed_m": 0.005},
        {"name": "cm", "unprobed_m": 0.01},
        {"name": "mended", "mended": 1},
        {"name": "open", "open": 1},
        {"name": "open, lap", "open": 1, "unprobed_m": 3.0},
        {"name": "out", "machines_out": "blue"},
        {"name": "warned", "warnings": 1},
        {"name": "contradicted", "conflicts": 2},
        {"name": "early", "open": 9, "last_day": "2026-05-31"},
    ]
    job(lake, "a", 1, roofs=[{"last_day": "2026-06-01", **row} for row in rows])
    with opened(lake) as firm:
        found = pages.roofs(firm, "2026-06-01")
        assert [row.name for row in pages.roofs(firm)][:2] == ["out", "early"]
    names = ["out", "open, lap", "open", "cm", "mended", "contradicted", "warned"]
    assert [row.name for row in found] == names
    assert (found[0].machines_out, found[5].conflicts, found[6].warnings) == ("blue", 2, 1)


def _strips() -> list[dict[str, Any]]:
    """Five that passed on base at five temperatures, a failure, and two on another sheet."""
    at = ((4.9, 1.50), (14.0, 1.66), (16.0, 1.64), (25.0, 1.86), (37.0, 2.12))
    passed = [
        {"day": f"2026-0{4 + n // 2}-0{1 + n}", "n": n + 1, "temperature_c": t, "true_m_per_min": v}
        for n, (t, v) in enumerate(at)
    ]
    failed = [{**passed[1], "n": 1, "passed": 0}, {**passed[2], "n": 2, "passed": 0}]
    cap = [
        {**passed[4], "sheet": "cap", "sheet_key": "cap", "n": 9},
        {**passed[4], "sheet": "cap", "sheet_key": "cap", "n": 8, "passed": 0},
    ]
    return [*passed, *failed, *cap]


def test_a_sheets_line_is_that_of_least_squares(lake: Lake) -> None:
    """ln of the speed over the temperature, by scipy, with t at 95 %; bands of ten degrees."""
    stats = pytest.importorskip("scipy.stats")
    job(lake, "a", 1, told_strips=_strips())
    with opened(lake) as firm:
        base, cap = pages.sheets(firm)
        lately = pages.sheets(firm, "2026-06-05")
    points = [(s["temperature_c"], math.log(s["true_m_per_min"])) for s in _strips()[:5]]
    line = stats.linregress(*zip(*points, strict=True))
    half = stats.t.ppf(0.975, 3) * line.stderr
    wanted = [100 * one for one in (line.slope, line.slope - half, line.slope + half)]
    assert base.pct_per_k == pytest.approx(wanted, rel=1e-6)
    assert [(band.temperature_c, band.n) for band in base.bands] == [(0, 1), (10, 1), (20, 1), (30, 1), (40, 1)]  # fmt: skip
    speed = math.exp(line.intercept + line.slope * 20)
    assert base.bands[2].m_per_min == pytest.approx(speed, rel=1e-6)
    assert base.bands[2].low < speed < base.bands[2].high
    assert (base.name, base.lap, base.jobs, base.n) == ("base", "selvage", 1, 5)
    assert (cap.name, cap.n, cap.pct_per_k, cap.bands) == ("cap", 1, None, ())
    assert (cap.mornings, cap.median_strips) == (1, 2)
    assert base.mornings == 5
    assert [sheet.n for sheet in lately] == [1, 1]


def test_how_far_a_machine_is_off_by_month(lake: Lake) -> None:
    """The last month beside the one before it; strips, runs and measurements count alike."""
    speeds = {"true_speed_m_per_min": 1.8, "dial_m_per_min": 2.0}  # a tenth slow
    strips = [
        {**speeds, "day": "2026-04-01"},
        {**speeds, "day": "2026-05-02", "true_speed_m_per_min": 2.1, "passed": 0},
        {"day": "2026-06-01"},
        {"day": "2026-06-02", "by_hand": 1},
    ]
    runs = [{**speeds, "day": "2026-06-03", "true_speed_m_per_min": 2.2}]
    measures = [
        {**speeds, "day": "2026-06-04", "true_speed_m_per_min": 2.4},
        {"day": "2026-06-05", "nozzle_c": 500.0, "nozzle_measured_c": 490.0},
    ]
    job(lake, "a", 1, told_strips=strips, told_runs=runs, told_measures=measures)
    with opened(lake) as firm:
        (row,) = pages.machines(firm)
        assert pages.machines(firm, "2026-07-01") == []
        (lately,) = pages.machines(firm, "2026-06-01")
    assert (row.name, row.jobs, row.strips, row.passed) == ("blue", 1, 3, 2)
    assert (row.last_day, row.measured) == ("2026-06-01", "2026-06-05")
    assert row.dial is not None and row.nozzle is not None and lately.dial is not None
    assert (row.dial.month, row.dial.n) == ("2026-06", 2)
    found = (row.dial.median_pct, row.dial.least_pct, row.dial.most_pct)
    assert found == pytest.approx((15.0, 10.0, 20.0))
    assert row.dial.before == ("2026-05", pytest.approx(5.0))
    assert (row.nozzle.median_pct, row.nozzle.before) == (pytest.approx(-2.0), None)
    assert lately.dial.before is None


def test_a_season_begins_with_the_year_of_the_last_strip(lake: Lake) -> None:
    """What was done since, rates before and since, each sheet's line without and with the new."""
    strips = [{**one, "day": f"2025{one['day'][4:]}"} for one in _strips()[:4]] + _strips()
    runs = [
        {"day": "2025-06-01", "welded_m": 10.0, "probed_m": 10.0, "faults": 2},
        {
            "day": "2026-06-01",
            "welded_m": 7.0,
            "welded_again_m": 2.0,
            "probed_m": 5.0,
            "probed_welded_over_m": 1.0,
            "faults": 1,
        },
    ]
    found = [{"kind": kind, "day": "2026-06-01"} for kind in ("void", "wrinkle", "void")]
    job(lake, "a", 1, told_strips=strips, told_runs=runs)
    job(lake, "b", 2, told_strips=[{**_strips()[0], "day": "2026-01-01"}], findings=found)
    with opened(lake) as firm:
        season = pages.season(firm)
        later = pages.season(firm, "2026-06-05")
    assert (season.since, season.jobs, season.strips, season.passed) == ("2026-01-01", 2, 10, 7)
    assert (season.welded_m, season.welded_again_m) == (7.0, 2.0)
    assert [r["probed_welded_over_m"] for r in season.rates] == [0.0, 1.0]
    assert season.findings == (("void", 2), ("wrinkle", 1))
    assert [(r["when"], r["faults"]) for r in season.rates] == [("before", 2), ("since", 1)]
    base, cap = season.lines
    new = [one["temperature_c"] for one in [*_strips()[:5], _strips()[0]]]
    assert (base.name, base.lap, base.new) == ("base", "selvage", 6)
    assert base.temperature_c == round(statistics.mean(new))
    assert base.before is not None and base.now is not None
    assert (base.before[0], base.now[0]) == (4, 10)
    assert base.now[2] < base.now[1] < base.now[3]
    assert (cap.name, cap.before, cap.now) == ("cap", None, None)
    assert (later.since, later.strips, later.findings) == ("2026-06-05", 3, ())
    assert season.refits == ()


def test_an_empty_year_is_a_season_too(lake: Lake) -> None:
    """Jobs, and nothing welded."""
    job(lake, "a", 1)
    with opened(lake) as firm:
        season = pages.season(firm)
    assert (season.since, season.jobs, season.strips, season.passed) == ("0000-01-01", 0, 0, 0)
    assert (season.welded_m, season.rates, season.findings, season.lines) == (0, (), (), ())


def test_machines_of_one_name_are_told_apart_by_their_jobs(lake: Lake) -> None:
    """One home goes on calling a thing as its last job does; another home's is another thing,
    named by the first job it was on; what nobody else has keeps its name alone."""
    blue, own = {"name": "blue"}, {"name": "red"}
    job(lake, "a", 1, "h1", machines=[blue, own], told_strips=[{}, {"machine_key": "red", "machine": "red"}])  # fmt: skip
    job(lake, "b", 2, "h1", machines=[{"name": "Blue"}], told_strips=[{"machine": "Blue"}])
    job(lake, "c", 3, "h2", machines=[blue], told_strips=[{}])
    with opened(lake) as firm:
        groups = firm.groups("machine")
        names = [row.name for row in pages.machines(firm)]
        keys = firm.ask("SELECT job, machine_name FROM told_strips ORDER BY job, id")
    assert groups["a", "blue"] == groups["b", "blue"]
    assert len({groups["a", "blue"], groups["c", "blue"], groups["a", "red"]}) == 3
    assert names == ["Blue (a roof)", "blue (c roof)", "red"]
    assert [(row["job"], row["machine_name"]) for row in keys] == [
        ("a", "Blue (a roof)"),
        ("a", "red"),
        ("b", "Blue (a roof)"),
        ("c", "blue (c roof)"),
    ]


def test_what_somebody_said_is_one_thing_is_one(lake: Lake) -> None:
    """A machine of two homes, said to be the same; the person's name comes from the list of people."""
    same = {"what": "machine", "one_job": "a", "one": "blue", "other_job": "b", "other": "old blue", "same": 1}  # fmt: skip
    ana = [{"name": "Ana Ruiz de la O"}]
    strips = [{"person_key": "ana ruiz de la o", "seen_by": "ana"}]
    job(lake, "a", 1, "h1", machines=[{"name": "blue"}], people=ana, told_strips=strips)
    job(lake, "b", 2, "h2", machines=[{"name": "old blue"}], sames=[same])
    with opened(lake) as firm:
        groups = firm.groups("machine")
        (row,) = firm.ask("SELECT person_name, machine_name FROM told_strips")
    assert groups == {
        ("a", "blue"): groups["b", "old blue"],
        ("b", "old blue"): groups["a", "blue"],
    }
    assert row == {"person_name": "Ana Ruiz de la O", "machine_name": "old blue"}


def test_a_file_that_cannot_be_read_is_one_sentence(lake: Lake) -> None:
    """Of the size it should have; a lake with nothing in it says what to type; a question that
    is wrong in itself is no fault of the lake."""
    with pytest.raises(NoneYet, match="weldcal office lake"), opened(lake):
        pass
    job(lake, "a", 1, told_strips=[{}], findings=[{"kind": "void"}])
    with opened(lake) as firm:
        with pytest.raises(Exception, match="no_such_table"):
            firm.ask("SELECT * FROM no_such_table")
        path = Path(lake.files("findings")[0])
        path.write_bytes(b"x" * path.stat().st_size)
        with pytest.raises(LakeBroken):
            firm.ask(f"SELECT * FROM {firm.source('findings')}")
    path.write_bytes(b"x")
    with pytest.raises(LakeBroken), opened(lake) as firm:
        pages.season(firm)


def test_a_lake_in_a_bucket_is_asked_as_well() -> None:
    """The memory of this process stands for one."""
    lake = Lake("memory://asked")
    job(lake, "a", 1, roofs=[{"units": "si"}])
    try:
        with opened(lake) as firm:
            assert firm.units() == "si"
    finally:
        lake.fs.rm("/asked", recursive=True)


def test_a_book_that_is_not_there_is_no_job(tmp_path: Path) -> None:
    """And no file is made for it."""
    from weldcal.errors import NoJob

    with pytest.raises(NoJob), of_book(tmp_path / "gone.sqlite"):
        pass
    assert list(tmp_path.iterdir()) == []


# -- the look back -----------------------------------------------------------------------------


def test_the_look_back_by_machine_and_month(lake: Lake) -> None:
    """Runs by group, mornings, drift; on a sheet only what was measured on one; hand work apart."""
    speeds = {"true_speed_m_per_min": 1.8, "dial_m_per_min": 2.0}
    strips = [
        {"n": 1, "passed": 0},
        {"n": 2},
        {"n": 3, "sheet": "cap", "sheet_key": "cap", "machine": "", "by_hand": 1},
    ]
    runs = [
        {**speeds, "welded_m": 5.0, "probed_m": 4.0, "faults": 2},
        {**speeds, "welded_m": 3.0, "day": "2026-07-01"},
        {"welded_m": 2.0, "machine": "", "machine_key": "", "by_hand": 1, "person_key": "bo"},
    ]
    measures = [{**speeds, "sheet": None, "sheet_key": ""}]
    job(lake, "a", 1, told_strips=strips, told_runs=runs, told_measures=measures)

    def asked(by: list[str], **wanted: str) -> Any:
        given = dict.fromkeys(("machine", "sheet", "person", "since", "until"))
        with opened(lake) as firm:
            return questions.history_tables(firm, by, HistoryFilter(**{**given, **wanted}))

    whole = asked(["machine", "month"])
    rates = [(r["machine"], r["month"], r["runs"], r["faults"]) for r in whole.faults]
    assert sorted(rates) == [
        ("blue", "2026-06", 1, 2),
        ("blue", "2026-07", 1, 0),
        ("by hand", "2026-06", 1, 0),
    ]
    assert [(r["month"], r["n"]) for r in whole.drift] == [("2026-06", 2), ("2026-07", 1)]
    assert [r["n"] for r in asked(["lap"], sheet="BASE").drift] == [1, 1]
    assert [r["runs"] for r in asked(["lap"], person="Bo").faults] == [1]
    assert [r["runs"] for r in asked(["lap"], machine="BLUE").faults] == [2]
    assert [r["runs"] for r in asked(["lap"], since="2026-06-02").faults] == [1]
    assert [r["runs"] for r in asked(["lap"], until="2026-06-30").faults] == [2]
