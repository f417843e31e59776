"""Questions over all jobs: the lake's answers are those of one book that holds them all."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from tests.bench.office import answered


def near(a: Any, b: Any) -> bool:
    if isinstance(a, float) and isinstance(b, float):
        return math.isclose(a, b, rel_tol=1e-9, abs_tol=1e-9)
    return bool(a == b)


def alike(found: list[dict[str, Any]], other: list[dict[str, Any]]) -> None:
    def order(row: dict[str, Any]) -> list[str]:
        return [str(value) for value in row.values() if isinstance(value, str)]

    found, other = sorted(found, key=order), sorted(other, key=order)
    assert len(found) == len(other)
    for one, two in zip(found, other, strict=True):
        assert [k for k in two if not near(one[k], two[k])] == [], (one, two)


@pytest.mark.parametrize("by", ["job", "job,machine,sheet", "lap", "person,month", "sheet,lap"])
def test_the_lake_answers_as_one_book_does(season: Any, by: str) -> None:
    """Counts, rates, intervals, dispersion, mornings: by another route, on the same entries."""
    for job in ("Barn roof", "Dock roof"):  # crews' things of one name are several to the office
        for what, name in (("machine", "blue"), ("sheet", "base")):
            season.ok(f'--job "Mill roof" {what} same {name} --with "{job}" --by "Ana Ruiz"')
    here = season.ok(f"history --json --by {by}").json
    lake = season.ok(f"office history --here --json --by {by}").json
    for table in ("faults", "strips", "lines", "drift"):
        assert here[table]
        alike(lake[table], here[table])


def test_the_lake_answers_as_the_books_do_where_names_are_apart(season: Any) -> None:
    """By job, from the office's three books, against the one that merged them."""
    here = season.ok("history --json --by job").json
    lake = season.ok("office history --json --by job").json
    for table in ("faults", "strips"):
        alike(lake[table], here[table])


def test_filters_are_those_of_the_history(season: Any) -> None:
    """Machine in another spelling, days, a sheet nobody has."""
    for asked in ('--machine " BLUE" --since 2026-06-02', "--until 2026-06-03", "--sheet cap"):
        here = season.ok(f"history --json --by job {asked}").json
        lake = season.ok(f"office history --json --by job {asked}").json
        for table in ("faults", "strips"):
            alike(lake[table], here[table])


def test_the_tables_are_those_of_the_history(season: Any) -> None:
    """The same words, from the same renderer."""
    here = season.ok("history --by job").out.splitlines()
    lake = season.ok("office history --by job").out.splitlines()
    assert set(here[:5]) <= set(lake)  # jobs of one rate stand in any order


def test_two_crews_machines_of_one_name_are_two_until_said_otherwise(season: Any) -> None:
    """Told apart by the job they began on."""
    found = season.ok("office history --json --by machine").json["faults"]
    assert {row["machine"] for row in found} == {
        "blue (Mill roof)",
        "blue (Barn roof)",
        "blue (Dock roof)",
    }


def test_memory_is_bounded(season: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """DuckDB's own limit is set."""
    from weldcal.office import firm
    from weldcal.office.lake import Lake
    from weldcal.settings import lake_url

    with firm.opened(Lake(lake_url())) as asked:
        (row,) = asked.ask("SELECT current_setting('memory_limit') AS most")
    assert float(row["most"].split()[0]) < 600


def test_an_empty_lake_says_what_to_type(weldcal: Any) -> None:
    """One line."""
    done = weldcal("office history")
    assert done.code == 2
    assert "weldcal office lake" in done.err


def test_the_bench_asks_what_the_pages_ask(season: Any, tmp_path: Path) -> None:
    """It runs by hand, seldom: a rename must not break it unseen."""
    took = answered(tmp_path / "office" / "lake")
    assert {"load", "season", "history", "all", "MB"} <= set(took)
