"""Rows and questions go in parts, so that a large book fits in memory: none is lost, none is twice."""

from __future__ import annotations

import contextlib
import json
import sqlite3
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest

from tests.keeping import forge
from tests.log.made import JOB, A, B, Made
from weldcal.log import chain, store
from weldcal.tables import projector, schema
from weldcal.tables.compare import table_faults

SEEN = {"at": "2026-06-01T07:00:00-06:00", "by": "Ana Ruiz"}


@pytest.fixture
def log(tmp_path: Path) -> Iterator[sqlite3.Connection]:
    """A job, five people and three sheets, by turns, and empty tables."""
    made = Made()
    job = {"name": "Mill roof", "units": "us", "zone": "America/Denver", "day_begins": 4}
    made.add("job", A, 1, id=JOB, about=JOB, kind="job", job=None, payload=job)
    after = "job"
    for n in range(5):
        made.add(f"p{n}", A, n + 2, after, kind="person", payload={"name": f"P{n}"})
        after = f"p{n}"
    north = {"degrees": {"text": "90", "number": "90", "unit": ""}, "seen": SEEN}
    made.add("n", B, 1, kind="north", payload=north)
    with contextlib.closing(store.create(tmp_path / "b.sqlite")) as connection:
        connection.row_factory = sqlite3.Row
        chain.insert(connection, made.entries.values())
        schema.create(connection)
        yield connection


def test_as_many_at_a_time_as_one_statement_takes() -> None:
    """Five hundred: SQLite's own bound was 999 values until 3.32 (sqlite.org/limits.html)."""
    values = [str(n) for n in range(1001)]
    parts = list(projector.in_parts(iter(values)))
    assert [len(part) for part in parts] == [500, 500, 1]
    assert [value for part in parts for value in part] == values
    assert list(projector.in_parts([])) == []


def test_tables_are_filled_in_parts(
    log: sqlite3.Connection, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A table's rows as soon as there are so many, the rest at the end; who watches hears of that."""
    put = projector._put
    came: list[tuple[str, int]] = []
    heard: list[tuple[str, int, int]] = []

    def watched(connection: sqlite3.Connection, table: str, rows: list[Mapping[str, Any]]) -> None:
        came.append((table, len(rows)))
        put(connection, table, rows)

    monkeypatch.setattr(projector, "_put", watched)
    monkeypatch.setattr(projector, "_AT_ONCE", 2)
    projector.fill(log, lambda *told: heard.append(told))
    people = [count for table, count in came if table == "people"]
    assert people == [2, 2, 1]
    assert [told[1:] for told in heard if told[0] == "writing"] == [(0, 3), (1, 3), (2, 3)]
    names = [row["name"] for row in log.execute("SELECT name FROM people ORDER BY name")]
    assert names == [f"P{n}" for n in range(5)]
    assert table_faults(log) == []


def test_a_day_begins_when_its_job_says(log: sqlite3.Connection) -> None:
    """From the entries and from the row alike; of a job nobody knows at midnight."""
    projector.fill(log)
    rows = dict(log.execute("SELECT id, day_begins FROM jobs").fetchall())
    assert projector.derived_day_begins(log) == rows == {JOB: 4}


def test_rows_written_anew_in_parts_are_the_same(
    log: sqlite3.Connection, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every subject of the book, two at a time; who watches hears how many are done."""
    projector.fill(log)
    rows = [tuple(row) for row in log.execute("SELECT * FROM people ORDER BY id")]
    subjects = [row[0] for row in log.execute("SELECT DISTINCT about FROM entries")]
    monkeypatch.setattr(projector, "_AT_ONCE", 2)
    heard: list[tuple[str, int, int]] = []
    projector.project(log, subjects + subjects[:1], lambda *told: heard.append(told))
    assert [told[1:] for told in heard] == [(0, 7), (2, 7), (4, 7), (6, 7)]
    assert [tuple(row) for row in log.execute("SELECT * FROM people ORDER BY id")] == rows
    assert table_faults(log) == []


def test_without_its_jobs_hour_a_day_begins_at_midnight() -> None:
    """Where the job is not known here, and where an older program's job says no hour."""
    seen = {"at": "2026-06-01T00:30:00-06:00", "by": "Ana Ruiz"}
    made = Made()
    north = {"degrees": {"text": "90", "number": "90", "unit": ""}, "seen": seen}
    made.add("n", B, 1, kind="north", payload=north)
    for begins, day in (({}, "2026-06-01"), ({JOB: 0}, "2026-06-01"), ({JOB: 1}, "2026-05-31")):
        ((table, row),) = projector.rows_of([made.entries["n"]], begins)
        assert (table, row["day"], row["hour"]) == ("norths", day, 0.5)


def test_what_was_taken_back_is_kept_as_json_in_one_order(log: sqlite3.Connection) -> None:
    """By name, signs of any language as they are: the same from every program."""
    made = Made()
    person = {"role": "operator", "name": "Peña", "initials": "P"}
    made.add("p", A, 1, kind="person", payload=person)
    back = {
        "path": "withdrawn", "of": forge.uuid(1), "new": True, "why": "twice", "seen": SEEN,
        "replaces": forge.uuid(1),
    }  # fmt: skip
    made.add("back", A, 2, "p", kind="amend", about=forge.uuid(1), payload=back)
    rows = dict(projector.rows_of(list(made.entries.values()), {}))
    said = rows["withdrawn"]["said"]
    assert said == json.dumps(json.loads(said), sort_keys=True, ensure_ascii=False)
    assert "Peña" in said
    assert rows["withdrawn"]["was_in"] == "people"
    assert "people" not in rows
