"""Sheets of many rows: handed on in parts, shown page by page, and kept as they were shown."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

HEAD = "date,time,machine,sheet,nozzle (F),speed (ft/min),bleed-out (in),bubbling,bond"
# Anything: so that the book knows this device.
RECORD = ("conditions", "--ambient", "60F")
PROBES = "date,seam,from (ft),to (ft),start,end,finding,at (ft),length (in),by"


def rows(count: int) -> list[str]:
    """Strips, one a minute; the speed tells which row it was."""
    return [
        f"2026-05-{1 + n // 600:02d},{7 + n % 600 // 60:02d}:{n % 60:02d},blue,base,932,"
        f"{5 + n % 3 / 2},1/4; 3/16,none,good"
        for n in range(count)
    ]


def file(tmp_path: Path, *lines: str) -> str:
    path = tmp_path / "many.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return str(path)


def test_rows_of_several_parts_keep_their_order_and_their_names(job: Any, tmp_path: Path) -> None:
    """2,300 rows, the last of them as the first two: all recorded once; loaded again, none."""
    made = rows(2298)
    path = file(tmp_path, HEAD, *made, *made[:2])
    done = job.ok("strip", "load", path, "--yes", "--json").json
    assert done["recorded"] == [f"S{n}" for n in range(1, 2301)]
    alike = [one["row"] for one in done["notes"] if one["code"] == "same_row"]
    assert alike == [2300, 2301]
    kept = job.query("SELECT name, source FROM strips ORDER BY tick")
    assert [row["source"] for row in kept] == [f"many.csv row {n}" for n in range(2, 2302)]
    assert [row["name"] for row in kept] == done["recorded"]
    job.ok("verify")
    again = job.ok("strip", "load", path, "--yes", "--json").json
    assert again["recorded"] == []
    assert again["recorded_before"] == 2300
    # One alike more than the book has is recorded, the others are here already.
    path = file(tmp_path, HEAD, *made, *made[:1], *made[:1])
    assert job.ok("strip", "load", path, "--yes", "--json").json["recorded"] == ["S2301"]


def test_walks_of_several_parts_with_their_findings(job: Any, tmp_path: Path) -> None:
    """A walk whose finding stands in the next row, across the border of a part."""
    lines = []
    for n in range(1100):
        day, clock = f"2026-05-{1 + n // 600:02d}", f"{7 + n % 600 // 60:02d}:{n % 60:02d}"
        lines += [f"{day},A1,0,33,,{clock},,,,Ben Okoro", ",,,,,,void,14.5,3,"]
    done = job.ok("probe", "load", file(tmp_path, PROBES, *lines), "--yes").out
    assert "Walks: 1100 recorded" in " ".join(done.split())
    found = job.query(
        "SELECT f.name AS finding, w.name AS walk FROM findings f JOIN walks w ON f.walk = w.id "
        "ORDER BY f.tick"
    )
    assert [(row["finding"], row["walk"]) for row in found] == [
        (f"F{n}", f"W{n}") for n in range(1, 1101)
    ]


def test_at_a_terminal_rows_are_shown_a_page_at_a_time(
    job: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Enter shows more; `end` goes on to what is odd about the rows not shown; then yes is asked."""
    from weldcal.cli import loading

    made = rows(60)
    made[58] = made[58].replace("2026-05", "2036-05")
    answers = iter(["", "end", "no"])
    monkeypatch.setattr(loading, "interactive", lambda: True)
    monkeypatch.setattr("builtins.input", lambda _question: next(answers))
    done = job("strip", "load", file(tmp_path, HEAD, *made))
    assert done.code != 0
    assert "- row 51: S50" in done.out
    assert "- row 52: S51" not in done.out
    assert "Row 60: That time is ahead of this device's clock." in " ".join(done.out.split())
    assert next(answers, None) is None
    assert job.query("SELECT * FROM strips") == []


def test_what_was_shown_is_kept_whatever_the_file_says_by_then(
    job: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Saved anew by somebody between the preview and the yes."""
    from weldcal.cli import loading

    path = file(tmp_path, HEAD, *rows(2))

    def answer(_question: str) -> str:
        file(tmp_path, HEAD, *(row.replace("932", "999") for row in rows(2)))
        return "yes"

    monkeypatch.setattr(loading, "interactive", lambda: True)
    monkeypatch.setattr("builtins.input", answer)
    job.ok("strip", "load", path)
    assert {row["nozzle_text"] for row in job.query("SELECT nozzle_text FROM strips")} == {"932"}


def before_lock(monkeypatch: pytest.MonkeyPatch, meanwhile: Callable[[], object]) -> None:
    """Have another window do something just before the next load takes the lock."""
    from weldcal.book.recording.transactions import Transactions

    writing = Transactions.writing
    first = iter([True])

    def waiting(self: Any, who: str, zone_name: str | None = None) -> Any:
        if next(first, False):
            meanwhile()
        return writing(self, who, zone_name)

    monkeypatch.setattr(Transactions, "writing", waiting)


@pytest.fixture
def at_home(job: Any) -> Any:
    """A book that this device has written to: what is loaded is made ready before the lock."""
    job.ok(*RECORD)
    return job


@pytest.mark.parametrize("book", ["job", "at_home"])
def test_a_sheet_loaded_twice_at_one_moment_is_recorded_once(
    request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, book: str
) -> None:
    """Another window loads it before the lock: it was compared with the book before, and made ready where that can be."""
    job = request.getfixturevalue(book)
    path = file(tmp_path, HEAD, *rows(3))
    before_lock(monkeypatch, lambda: job.ok("strip", "load", path, "--yes"))
    done = job.ok("strip", "load", path, "--yes")
    assert "0 recorded, 3 here already" in done.out
    assert len(job.query("SELECT * FROM strips")) == 3


@pytest.mark.parametrize("book", ["job", "at_home"])
def test_walks_loaded_twice_at_one_moment_are_recorded_once(
    request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, book: str
) -> None:
    """Their findings too: the other window has loaded a part of them."""
    job = request.getfixturevalue(book)
    walk = "2026-05-01,A1,0,33,,07:00,void,14.5,3,Ben Okoro"
    part = file(tmp_path, PROBES, walk)
    whole = tmp_path / "whole.csv"
    whole.write_text("\n".join([PROBES, walk, ",,,,,,void,20,2,"]) + "\n", encoding="utf-8")
    before_lock(monkeypatch, lambda: job.ok("probe", "load", part, "--yes"))
    job.ok("probe", "load", str(whole), "--yes")
    assert len(job.query("SELECT * FROM walks")) == 1
    found = job.query("SELECT name, start_m FROM findings ORDER BY tick")
    assert [row["name"] for row in found] == ["F1", "F2"]
    assert [round(row["start_m"] / 0.3048, 1) for row in found] == [14.5, 20]
    job.ok("verify")


def test_a_strip_recorded_meanwhile_keeps_its_name_and_its_place(
    at_home: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was made before the lock is made once more, after it."""
    other = file(tmp_path, HEAD, rows(4)[3])
    path = tmp_path / "sheet.csv"
    path.write_text("\n".join([HEAD, *rows(3)]) + "\n", encoding="utf-8")
    before_lock(monkeypatch, lambda: at_home.ok("strip", "load", other, "--yes"))
    done = at_home.ok("strip", "load", str(path), "--yes", "--json").json
    assert done["recorded"] == ["S2", "S3", "S4"]
    kept = at_home.query("SELECT name, source FROM strips ORDER BY tick")
    assert [(row["name"], row["source"]) for row in kept] == [
        ("S1", "many.csv row 2"),
        *((f"S{n}", f"sheet.csv row {n}") for n in (2, 3, 4)),
    ]
    at_home.ok("verify")


def test_others_can_record_while_a_sheet_is_made_ready(
    at_home: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nobody holds the write lock while entries and rows are made."""
    from weldcal.book.writing import Writer

    path = file(tmp_path, HEAD, *rows(1500))
    add_all, free = Writer.add_all, []

    def looking(self: Any, drafts: Any, *rest: Any) -> Any:
        with closing(sqlite3.connect(at_home.book, timeout=0, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            other.execute("ROLLBACK")
        free.append(True)
        return add_all(self, drafts, *rest)

    monkeypatch.setattr(Writer, "add_all", looking)
    at_home.ok("strip", "load", path, "--yes")
    assert free == [True, True]


def test_a_load_that_breaks_off_while_it_is_put_in_keeps_nothing(
    at_home: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After its entries, before their rows."""
    from weldcal.book.recording import loading

    path = file(tmp_path, HEAD, *rows(5))
    before = at_home.entries()
    insert = loading._insert

    def breaking(connection: Any, table: str, made: Any) -> None:
        if table == "strips":
            assert len(at_home.entries()) == len(before)  # another window sees none of it
            raise KeyboardInterrupt
        insert(connection, table, made)

    monkeypatch.setattr(loading, "_insert", breaking)
    assert at_home("strip", "load", path, "--yes").code == 130
    assert at_home.entries() == before
    at_home.ok("verify")


def test_a_load_that_breaks_off_keeps_nothing(
    job: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In the middle of the second part: no row of the first is there either."""
    from weldcal.book.writing import Writer

    path = file(tmp_path, HEAD, *rows(1500))
    before = job.entries()
    add_all, parts = Writer.add_all, iter([True, False])

    def breaking(self: Any, drafts: Any, *rest: Any) -> Any:
        if not next(parts):
            raise KeyboardInterrupt
        return add_all(self, drafts, *rest)

    monkeypatch.setattr(Writer, "add_all", breaking)
    assert job("strip", "load", path, "--yes").code == 130
    assert job.entries() == before
