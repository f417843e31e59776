"""A file is shown as it would be kept; only a typed yes keeps it; the notes are those of typing by hand."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

HEAD = "date,time,machine,sheet,nozzle (F),speed (ft/min),bleed-out (in),bubbling,bond"
ROW = "2026-06-01,09:00,blue,base,932,5.5,1/4; 3/16,none,good"
PROBES = "date,seam,from (ft),to (ft),start,end,finding,at (ft),length (in),by"


def file(tmp_path: Path, head: str, *rows: str) -> str:
    path = tmp_path / "typed.csv"
    path.write_text("\n".join([head, *rows, ""]), encoding="utf-8")
    return str(path)


def words(shown: str) -> str:
    return " ".join(shown.split())


def codes(done: Any) -> list[str]:
    return [note["code"] for note in done.json["notes"]]


@pytest.fixture
def site(job: Any) -> Any:
    """Evening of the job's first day; a machine whose dial goes from 1 to 20 is listed."""
    job.clock.set("18:00")
    job.ok("machine", "add", "green: ft/min 1-20 step 0.5")
    return job


def test_every_row_is_shown_and_nothing_kept_where_nobody_says_yes(
    site: Any, tmp_path: Path
) -> None:
    """No terminal, no --yes: the rows with their notes, exit code 2, the book as it was."""
    path = file(tmp_path, HEAD, ROW, ROW, ROW.replace("5.5", "4.5"))
    before = site.book.read_bytes()
    done = site("strip", "load", path)
    assert done.code == 2
    assert "--yes" in done.err
    assert site.book.read_bytes() == before
    shown = words(done.out)
    for row in ("row 2: S1", "row 3: S2", "row 4: S3", "4.5 ft/min", "1/4, 3/16 in"):
        assert row in shown
    assert "It says the same as row 2" in shown


@pytest.mark.parametrize(("typed", "kept"), [(["yes"], 1), (["", "", "no"], 0), (["", "yes"], 1)])
def test_enter_alone_keeps_nothing(
    site: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, typed: list[str], kept: int
) -> None:
    """At a terminal the answer is typed; Enter asks again."""
    from weldcal.cli import loading

    answers = iter(typed)
    monkeypatch.setattr(loading, "interactive", lambda: True)
    monkeypatch.setattr("builtins.input", lambda _question: next(answers))
    done = site("strip", "load", file(tmp_path, HEAD, ROW))
    assert len(site.query("SELECT * FROM strips")) == kept
    assert (done.code == 0) == bool(kept)
    assert next(answers, None) is None


def test_what_is_odd_is_told_at_load_as_by_hand(site: Any, tmp_path: Path) -> None:
    """A year ahead, a storm, a speed off the dial, a sheet far below the air: the same codes."""
    head = HEAD + ",wind (mph),ambient (F),sheet temp (F)"
    row = "2036-06-01,09:00,green,base,932,55,1/4; 3/16,none,good,120,80,4"
    by_file = codes(
        site.ok("strip", "load", file(tmp_path, head, row), "--yes", "--json", "--as-typed")
    )
    hand = site.ok(
        "strip record --machine green --sheet base --nozzle 932F --speed 55 --bleed 1/4,3/16 "
        '--bubbling none --bond good --wind 120 --ambient 80 --sheet-temp 4 --at "2036-06-01 09:00" '
        "--json --as-typed"
    )
    assert set(by_file) == set(codes(hand))
    assert {"ahead", "off_dial", "wind_hardly", "sheet_hardly"} <= set(by_file)
    shown = words(site.ok("strip", "load", file(tmp_path, head, row.replace("09:00", "09:30")), "--yes", "--as-typed").out)  # fmt: skip
    assert "55 is off green's dial, 1 to 20" in shown
    assert "Was 5.5 meant?" in shown


def test_a_good_speed_in_another_unit_is_no_slip(site: Any, tmp_path: Path) -> None:
    """1.68 m/min on a dial of 1 to 20 ft/min is 5.5 ft/min."""
    head = HEAD.replace("ft/min", "m/min")
    row = ROW.replace("blue", "green").replace("5.5", "1.68")
    done = site.ok("strip", "load", file(tmp_path, head, row), "--yes", "--json")
    assert "off_dial" not in codes(done)
    row = row.replace("1.68", "6.2")  # 20.3 ft/min
    done = site.ok("strip", "load", file(tmp_path, head, row), "--yes", "--json", "--as-typed")
    assert "off_dial" in codes(done)


def test_a_probe_sheets_oddities_are_told_at_load_as_by_hand(site: Any, tmp_path: Path) -> None:
    """Past the seam's end, a seam unknown, several seams in one name, a walk past midnight."""
    rows = (
        "2026-06-01,A1,0,33,13:00,13:10,void,40,3,Ben Okoro",
        "2026-06-01,Z9,0,33,13:20,13:30,,,,Ben Okoro",
        "2026-06-01,A1-A3,0,33,13:40,13:50,,,,Ben Okoro",
        "2026-06-01,A2,0,33,23:50,00:05,,,,Ben Okoro",
    )
    done = site.ok("probe", "load", file(tmp_path, PROBES, *rows), "--yes", "--json")
    told = {(note["row"], note["code"]) for note in done.json["notes"]}
    assert {(2, "past_end"), (2, "outside_walk"), (3, "unlisted")} <= told
    assert {(4, "several_seams"), (5, "pace")} <= told
    assert (3, "several_seams") not in told
    for line, code in (
        ('probe walk A1 0-33 --void "40+3in" --by BO --json', "past_end"),
        ("probe walk Z9 0-33 --by BO --json", "unlisted"),
        ("probe walk A1-A3 0-33 --by BO --json", "several_seams"),
        ("probe walk A2 0-33 --started 23:50 --at 00:05 --by BO --json", "pace"),
    ):
        assert code in codes(site.ok(line))


def test_a_preview_of_walks_shows_what_was_found(site: Any, tmp_path: Path) -> None:
    """The finding stands with its walk, in the units of the file; nothing is kept."""
    rows = ("2026-06-01,A1,0,33,13:00,13:10,void,14.5,3,Ben Okoro", ",,,,,,fishmouth,20,2,")
    before = site.entries()
    done = site("probe", "load", file(tmp_path, PROBES, *rows))
    assert done.code == 2
    assert site.entries() == before
    shown = words(done.out)
    assert "row 2: W1 A1, 0 ft–33 ft" in shown
    assert "F1 void 14.5 ft–" in shown
    assert "F2 fishmouth 20 ft–" in shown


def test_what_is_here_already_asks_nothing(site: Any, tmp_path: Path) -> None:
    """A file loaded again has no row to say yes to."""
    path = file(tmp_path, HEAD, ROW)
    site.ok("strip", "load", path, "--yes")
    assert "Strips: 0 recorded, 1 here already" in site.ok("strip", "load", path).out


def test_json_alone_is_not_a_yes(site: Any, tmp_path: Path) -> None:
    """A script that wants JSON says --yes as well."""
    before = site.entries()
    assert site("strip", "load", file(tmp_path, HEAD, ROW), "--json").code == 2
    assert site.entries() == before


def test_short_names_go_on_after_what_was_taken_back(site: Any, tmp_path: Path) -> None:
    """A name once given is never given again, in a load of many as by hand."""
    site.ok("strip", "load", file(tmp_path, HEAD, ROW, ROW), "--yes")
    site.ok("undo", "S2", "--why", "typed twice", "--yes")
    site.ok("strip", "load", file(tmp_path, HEAD, ROW.replace("5.5", "6")), "--yes")
    names = [json.loads(row["body"])["payload"].get("name") for row in site.query("SELECT body FROM entries WHERE kind = 'strip' ORDER BY tick")]  # fmt: skip
    assert names == ["S1", "S2", "S3"]


def test_a_walk_of_a_laid_seam_answers_in_the_jobs_units_and_says_when_it_began(
    site: Any,
) -> None:
    """A seam listed in metres on a US job; --started is shown before anybody says yes."""
    site.ok("seam add B1 --length 10m")
    site.clock.set("09:20")
    done = site("probe walk B1 --started 09:00 --by BO")
    shown = words(done.out)
    assert "0 ft to 32 ft 9 3/4 in (its listed length)" in shown
    assert "begun 09:00, ended 09:20" in shown
    assert "not said" not in shown
    site.ok("probe walk B1 --started 09:00 --by BO --yes")
    (walk,) = site.query("SELECT * FROM walks")
    assert walk["started_utc"].startswith("2026-06-01T15:00:00")


def test_a_probe_sheet_as_a_workbook_is_the_same_record(site: Any, tmp_path: Path) -> None:
    """Real dates and times of a workbook, and text of a CSV file, one after the other: nothing new."""
    from datetime import date, time

    from openpyxl import Workbook

    book = Workbook()
    page = book.active
    page.append(PROBES.split(","))
    page.append([date(2026, 6, 1), "A1", 0, 33, time(13, 0), time(13, 10), "void", 14.5, 3, "Ben Okoro"])  # fmt: skip
    path = tmp_path / "probes.xlsx"
    book.save(path)
    site.ok("probe", "load", str(path), "--yes")
    row = "2026-06-01,A1,0,33,13:00,13:10,void,14.5,3,Ben Okoro"
    again = site.ok("probe", "load", file(tmp_path, PROBES, row), "--yes")
    assert "Walks: 0 recorded, 1 here already. Findings: 0 recorded" in words(again.out)


def test_a_misspelt_probe_column_is_refused_with_the_nearest(site: Any, tmp_path: Path) -> None:
    """`Findng` would have made notes of every void."""
    path = file(tmp_path, PROBES.replace("finding", "Findng"), "2026-06-01,A1,0,33,,,void,3,2,BO")
    line = site.refused("probe", "load", path, "--yes")
    assert '"Findng"' in line
    assert '"finding"' in line


def test_a_slip_in_a_sheet_is_refused_where_nobody_is_asked(site: Any, tmp_path: Path) -> None:
    """A yes to all rows does not say a slip again: its row is named, and nothing is kept."""
    slip = ROW.replace("blue", "green").replace("5.5", "55")
    refused = words(site.refused("strip", "load", file(tmp_path, HEAD, ROW, slip), "--yes"))
    assert "Row 3: 55 is off green's dial, 1 to 20. 5.5?" in refused
    assert "--as-typed" in refused
    assert site.query("SELECT * FROM strips") == []


@pytest.mark.parametrize(
    ("typed", "kept"), [(("55", "yes"), 2), (("", "yes"), 1), (("5.5", "yes"), 1)]
)
def test_a_slip_in_a_sheet_is_asked_back_row_by_row(
    site: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, typed: tuple[str, ...], kept: int
) -> None:
    """Said again it is kept; else its row waits to be put right in the file."""
    from weldcal.cli import loading

    answers = iter(typed)
    monkeypatch.setattr(loading, "interactive", lambda: True)
    monkeypatch.setattr("builtins.input", lambda _question: next(answers))
    slip = ROW.replace("blue", "green").replace("5.5", "55")
    done = site.ok("strip", "load", file(tmp_path, HEAD, ROW, slip))
    assert len(site.query("SELECT * FROM strips")) == kept
    assert ("Row 3 is left out" in words(done.out)) == (kept == 1)
