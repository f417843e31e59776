"""Sheets of many rows: handed on in parts, shown page by page, and kept as they were shown."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

HEAD = "date,time,machine,sheet,nozzle (F),speed (ft/min),bleed-out (in),bubbling,bond"
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


def test_a_sheet_loaded_twice_at_one_moment_is_recorded_once(
    job: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another window loads it after it was compared with the book, before the lock."""
    from weldcal.book.recording.transactions import Transactions

    path = file(tmp_path, HEAD, *rows(3))
    writing = Transactions.writing
    other = iter([True])

    def meanwhile(self: Any, who: str, zone_name: str | None = None) -> Any:
        if next(other, False):
            job.ok("strip", "load", path, "--yes")
        return writing(self, who, zone_name)

    monkeypatch.setattr(Transactions, "writing", meanwhile)
    done = job.ok("strip", "load", path, "--yes")
    assert "0 recorded, 3 here already" in done.out
    assert len(job.query("SELECT * FROM strips")) == 3


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
