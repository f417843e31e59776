"""Exports: what any spreadsheet or database can read, and nothing it would run."""

from __future__ import annotations

import csv
import json
import re
import sqlite3
from pathlib import Path
from typing import Any

import pytest

from weldcal.tables.schema import TABLES

# Column -> why it has no unit in its name although it is a number or a time.
NO_UNIT = {
    "tick",
    "n",
    "readings_n",
    "entries",
    "damp",
    "degrees",
    "dry",
    "primed",
    "smoke",
    "exposed_mat",
    "by_hand",
    "power_lost",
    "primer_wet",
    "mark",
    "seed",
    "clean",
    "conflict",
    "withdrawn",
    "added_to",
    "day_begins",
    "same",
    "done_tick",
    "hour",
    "dial_mark",
    "dial_low",
    "dial_high",
    "dial_step",
}
UNITS = re.compile(r"_(mm|min|m|c|pct|v|n|h|m_per_s|m_per_min|n_per_mm|s|n)$|^n_per_mm$")


@pytest.fixture
def crew(job: Any) -> Any:
    """A job with names a spreadsheet would run."""
    job.ok("person", "add", '=HYPERLINK("http://x","y"): HX, operator')
    job.ok("seam", "add", "@SUM(1)", "--length", "33ft")
    job.ok("seam", "add", "--length", "33ft", "--", "-2+3")
    job.ok("area", "add", "+1+1")
    job.ok(
        "strip",
        "record",
        "--nozzle",
        "932",
        "--speed",
        "5.5",
        "--bleed",
        "1/4,1/4",
        "--bubbling",
        "none",
        "--note",
        "\t=1+1",
        "--by",
        '=HYPERLINK("http://x","y")',
    )
    job.ok("finding", "@SUM(1)", "wrinkle", "3-4", "--note", 'a,b;"c"\nd', "--by", "Ben Okoro")
    return job


def cells(folder: Path) -> list[tuple[str, str, str]]:
    """(table, column, cell) of every CSV."""
    return [
        (file.stem, column, cell)
        for file in sorted(folder.glob("*.csv"))
        for row in csv.DictReader(file.open(encoding="utf-8", newline=""))
        for column, cell in row.items()
    ]


def test_no_cell_is_a_formula(crew: Any, tmp_path: Path) -> None:
    """No text cell begins with = + - @ tab or return (CWE-1236); numbers stay numbers."""
    crew.ok("export", str(tmp_path / "t"))
    for table, column, cell in cells(tmp_path / "t"):
        if TABLES[table][column] is str:
            assert not cell.startswith(("=", "+", "-", "@", "\t", "\r")), (table, column, cell)
    names = [
        cell
        for table, column, cell in cells(tmp_path / "t")
        if (table, column) == ("seams", "name")
    ]
    assert "'@SUM(1)" in names


def test_both_forms_say_what_the_tables_say(crew: Any, tmp_path: Path) -> None:
    """JSON Lines: every row and value; CSV: the same number of rows, newlines and quotes within a cell kept."""
    crew.ok("export", str(tmp_path / "t"))
    for table in TABLES:
        rows = [dict(row) for row in crew.query(f"SELECT * FROM {table} ORDER BY rowid")]
        lines = (tmp_path / "t" / f"{table}.jsonl").read_text(encoding="utf-8").splitlines()
        assert [json.loads(line) for line in lines] == rows
        with (tmp_path / "t" / f"{table}.csv").open(encoding="utf-8", newline="") as file:
            assert len(list(csv.DictReader(file))) == len(rows)
    note = next(
        cell
        for table, column, cell in cells(tmp_path / "t")
        if (table, column) == ("findings", "note")
    )
    assert note == 'a,b;"c"\nd'


def test_every_number_has_its_unit_in_its_columns_name(crew: Any) -> None:
    """Or is a count, a flag, an hour of the day or a bare mark of a dial."""
    for table, columns in crew.ok("tables --json").json["tables"].items():
        for column in columns:
            if TABLES[table][column] is not str:
                assert UNITS.search(column) or column in NO_UNIT, (table, column)


def test_without_people_no_name_is_left(crew: Any, tmp_path: Path) -> None:
    """Also where a correction changed who it was, and to whom a seal went."""
    crew.ok("strip pull S1 good --by BO")
    crew.ok('amend S1 by "Ben Okoro" --why slip')
    crew.ok("seal")
    crew.ok('hand L1 --to "Zelda Quince"')
    crew.ok("limit set bleed_low 1/8in --source sheet --by BO")
    crew.ok("seam start A1 --nozzle 800 --speed 9")
    crew.ok("settle R1 asked --by BO")
    crew.ok("dial")
    crew.ok("export", str(tmp_path / "t"), "--no-people")
    everything = "".join(file.read_text(encoding="utf-8") for file in (tmp_path / "t").iterdir())
    for name in ("Ana", "Ruiz", "Ben", "Okoro", "Zelda", "Quince", "HYPERLINK"):
        assert name not in everything
    assert not (tmp_path / "t" / "people.csv").exists()
    assert "S1" in everything


def test_the_tables_can_be_read_by_any_program(crew: Any) -> None:
    """`weldcal tables` names what the file itself holds, table by table, column by column."""
    printed = crew.ok("tables --json").json
    with sqlite3.connect(printed["file"]) as connection:
        for table, columns in printed["tables"].items():
            found = [row[1] for row in connection.execute(f"PRAGMA table_info({table})")]
            assert found == columns
    shown = " ".join(crew.ok("tables").out.split())
    for table in TABLES:
        assert f"- {table}: id, " in shown


@pytest.mark.parametrize("where", ["a file", "below a file", "no right"])
def test_an_export_that_cannot_be_written_is_refused(crew: Any, tmp_path: Path, where: str) -> None:
    """Exit code 2, one sentence."""
    (tmp_path / "f").write_text("x")
    target = {
        "a file": tmp_path / "f",
        "below a file": tmp_path / "f" / "x",
        "no right": Path("/proc/x"),
    }[where]
    done = crew("export", str(target))
    assert done.code == 2
    assert "inside" not in done.err
