"""A typed-up probe sheet: the same record as the plain commands, every bad cell told, nothing twice."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from weldcal.intake.probes import headers

HEAD = "date,seam,from (ft),to (ft),start,end,finding,at (ft),length (in),depth (in),note,by\n"


def sheet(tmp_path: Path, *rows: str, head: str = HEAD) -> str:
    path = tmp_path / "probes.csv"
    path.write_text(head + "\n".join(rows) + "\n", encoding="utf-8")
    return str(path)


def contents(job: Any) -> list[dict[str, Any]]:
    """Walks and findings, without ids and what counts entries."""
    rows = [
        dict(r)
        for t in ("walks", "findings")
        for r in job.query(f"SELECT * FROM {t} ORDER BY name")
    ]
    for row in rows:
        for name in ("id", "tick", "walk", "device"):
            row.pop(name, None)
    return rows


def test_the_forms_columns_filled_in_are_the_same_record_as_the_plain_commands(
    job: Any, tmp_path: Path
) -> None:
    """The column names the form prints, two walks, two findings, loaded and typed."""
    assert HEAD.strip().split(",") == headers("us")
    job.clock.set("15:00")
    rows = (
        "2026-06-01,A1,0,33,13:10,13:20,void,14.5,3,1/2,wet,Ben Okoro",
        ",,,,,,fishmouth,20,2,,,",
        "2026-06-01,A2,0,33,13:30,13:40,,,,,,BO",
    )
    loaded = tmp_path / "loaded.sqlite"
    typed = job.book
    loaded.write_bytes(typed.read_bytes())
    job.ok(
        'probe A1 "13:10 to 13:20 sound 0 to 33, void 14.5 3in x 1/2in, fishmouth 20 2in note wet" --by BO --yes'
    )
    job.ok("probe A2 0-33 --started 13:30 --at 13:40 --by BO")
    by_hand = contents(job)
    job.book = loaded
    assert "Walks: 2 recorded" in job.ok("probe", "load", "--yes", sheet(tmp_path, *rows)).out
    assert contents(job) == by_hand
    job.ok("verify")


def test_a_row_without_a_date_is_of_the_day_above(job: Any, tmp_path: Path) -> None:
    """A crew writes the date once a day; before the first one it is today's."""
    job.clock.set("15:00")
    rows = (
        "2026-05-31,A1,0,33,13:10,13:20,,,,,,BO",
        ",A2,0,33,13:30,13:40,,,,,,BO",
        "2026-06-01,A3,0,33,09:00,09:10,,,,,,BO",
    )
    job.ok("probe", "load", "--yes", sheet(tmp_path, *rows))
    days = [row["day"] for row in job.query("SELECT day FROM walks ORDER BY name")]
    assert days == ["2026-05-31", "2026-05-31", "2026-06-01"]


def test_loaded_twice_nothing_is_recorded_twice(job: Any, tmp_path: Path) -> None:
    """The second time says that it is here; a row added since is taken."""
    rows = ["2026-05-31,A1,0,33,13:10,13:20,void,14.5,3,,,BO"]
    job.ok("probe", "load", "--yes", sheet(tmp_path, *rows))
    before = job.entries()
    shown = job.ok("probe", "load", "--yes", sheet(tmp_path, *rows)).out
    assert "1 here already" in " ".join(shown.split())
    assert job.entries() == before
    job.ok("probe", "load", "--yes", sheet(tmp_path, *rows, ",,,,,,void,20,1,,,"))
    assert len(job.entries()) == len(before) + 1
    (void,) = job.query("SELECT walk FROM findings WHERE start_m > 6")
    assert void["walk"] == job.query("SELECT id FROM walks")[0]["id"]


def test_what_was_corrected_since_is_here_already(job: Any, tmp_path: Path) -> None:
    """A walk and a finding amended after loading: the sheet loaded again records neither anew."""
    row = "2026-05-31,A1,0,33,13:10,13:20,void,14.5,3,,,BO"
    job.ok("probe", "load", "--yes", sheet(tmp_path, row))
    job.ok("amend W1 start 1 --why misread")
    job.ok("amend F1 depth 1in --why misread")
    before = job.entries()
    job.ok("probe", "load", "--yes", sheet(tmp_path, row))
    assert job.entries() == before


BAD = {
    ",B1,0,long,13:10,13:20,,,,,,BO": ("row 3", "to (ft)", "'long'", "not a number"),
    ",B1,0,,13:10,13:20,,,,,,BO": ("row 3", "to (ft)", "empty", "33"),
    ",B1,0,33,25:10,13:20,,,,,,BO": ("row 3", "start", "'25:10'", "time"),
    "31/31/2026,B1,0,33,,,,,,,,BO": ("row 3", "date", "'31/31/2026'", "2026-06-01"),
    ",B1,0,33,,,crack,3,,,,BO": ("row 3", "finding", "'crack'", "fishmouth"),
    ",B1,0,33,,,void,,,,,BO": ("row 3", "at (ft)", "empty", "14.5"),
    ",B1,0,33,,,,3,,,,BO": ("row 3", "finding", "empty", "void"),
    ",B1,0,33,,,void,3,2ft/min,,,BO": ("row 3", "length (in)", "'2ft/min'", "not one of its units"),
    ",B1,0,33,,,void,3,2,1,,BO,more": (
        "row 3",
        "beyond the last column",
        "'more'",
        "quotation marks",
    ),
    ",,,,,,,,,,,BO": ("row 3", "finding", "empty", "void"),
}


@pytest.mark.parametrize("row", BAD)
def test_a_bad_row_is_named_with_its_cell_and_nothing_is_recorded(
    job: Any, tmp_path: Path, row: str
) -> None:
    """Row, column, value and what would be accepted; with --keep-good the other rows are taken."""
    file = sheet(tmp_path, "2026-05-31,A1,0,33,13:10,13:20,,,,,,BO", row)
    before = job.entries()
    refused = job("probe", "load", "--yes", file)
    assert refused.code == 2
    for text in BAD[row]:
        assert text in refused.err
    assert job.entries() == before
    job.ok("probe", "load", "--yes", file, "--keep-good")
    assert [r["seam"] for r in job.query("SELECT seam FROM walks")] == ["A1"]


def test_a_finding_below_a_refused_walk_goes_to_no_other_walk(job: Any, tmp_path: Path) -> None:
    """It is refused with it, and the walk above both stays clean."""
    file = sheet(tmp_path, "2026-05-31,A1,0,33,,,,,,,,BO", ",B1,0,x,,,,,,,,BO", ",,,,,,void,3,2,,,")
    job.ok("probe", "load", "--yes", file, "--keep-good")
    assert job.query("SELECT 1 FROM findings") == []


def test_other_headers_units_and_what_is_not_known_are_kept(job: Any, tmp_path: Path) -> None:
    """Spanish headers, metres, a column of their own, no times: said in the note."""
    file = sheet(
        tmp_path,
        "A1;0;10;hueco;4,5;80;sol",
        head="Costura;desde (m);hasta (m);hallazgo;en (m);largo (mm);cielo\n",
    )
    job.ok("probe", "load", "--yes", file, "--by", "BO")
    (walk,) = job.query("SELECT end_m, note, ended_utc, seen_by FROM walks")
    assert tuple(walk) == (10.0, "time not given; cielo: sol", None, "Ben Okoro")
    (void,) = job.query("SELECT kind, start_m, end_m, how FROM findings")
    assert tuple(void) == ("void", 4.5, pytest.approx(4.58), "probed")


@pytest.mark.parametrize(
    ("head", "says"),
    [
        ("seam,note\n", '"to"'),
        ("seam,to,hasta\n", "both hold"),
        ("seam,to (kg)\n", "no unit of length"),
    ],
)
def test_a_sheet_that_cannot_be_one_is_refused_whole(
    job: Any, tmp_path: Path, head: str, says: str
) -> None:
    """Which column it lacks, or has twice, or in what unit."""
    refused = job("probe", "load", "--yes", sheet(tmp_path, "A1,33,3", head=head))
    assert refused.code == 2
    assert says in refused.err


def test_a_loaded_sheet_is_taken_back_whole(job: Any, tmp_path: Path) -> None:
    """It was one act."""
    job.ok(
        "probe",
        "load",
        "--yes",
        sheet(tmp_path, "2026-05-31,A1,0,33,,,void,3,2,,,BO", ",A2,0,33,,,,,,,,BO"),
    )
    job.ok("undo --yes")
    assert job.query("SELECT 1 FROM walks UNION SELECT 1 FROM findings") == []


def test_a_walk_without_its_beginning_starts_at_the_zero_end(job: Any, tmp_path: Path) -> None:
    """`to` alone is needed."""
    job.ok("probe", "load", "--yes", sheet(tmp_path, "2026-06-01,A1,,20,,,,,,,,BO"))
    (walk,) = job.query("SELECT start_m, end_m FROM walks")
    assert tuple(walk) == (0.0, pytest.approx(6.096))


def test_a_formula_without_its_result_is_refused_at_the_end_of_a_row_too(
    job: Any, tmp_path: Path
) -> None:
    """A program that writes workbooks keeps no results: the last cell is not simply blank."""
    from openpyxl import Workbook

    book = Workbook()
    book.active.append(["date", "seam", "from", "to"])
    book.active.append(["2026-06-01", "A1", 0, "=11*3"])
    path = tmp_path / "probes.xlsx"
    book.save(path)
    assert "cell D2 holds a formula without its result" in job.refused(
        "probe", "load", str(path), "--yes", "--by", "BO"
    )
