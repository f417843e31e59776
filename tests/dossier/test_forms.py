"""Sheets of paper: one page each, read back by the loaders under the names they print."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import pypdf
import pytest

SIZES = {"letter": (612, 792), "a4": (595.28, 841.89)}


def pages(path: Path) -> list[Any]:
    return list(pypdf.PdfReader(path).pages)


def text(path: Path) -> str:
    return " ".join(" ".join(page.extract_text() for page in pages(path)).split())


@pytest.mark.parametrize("paper", SIZES)
@pytest.mark.parametrize(
    ("form", "holds"),
    [
        (
            "strip",
            ("extinguisher", "bleed 1 (in)", "sheet temp (F)", "School roof", "weldcal strip load"),
        ),
        (
            "probe",
            ("length (in)", "finding", "School roof", "weldcal probe load", "licensed practice"),
        ),
        ("card --from 50F --to 120F", ("extinguisher", "CARD", "120 °F", "ft/min")),
    ],
)
def test_a_form_is_one_page_of_its_paper_with_cautions_units_and_the_job(
    go_ahead: Any, tmp_path: Path, form: str, holds: tuple[str, ...], paper: str
) -> None:
    """Letter and A4; the table lies across, the card upright."""
    file = tmp_path / "form.pdf"
    go_ahead.ok(f"form {form} --paper {paper} --pdf {file}")
    (page,) = pages(file)
    across = (page.mediabox.width, page.mediabox.height)
    wanted = SIZES[paper] if form.startswith("card") else SIZES[paper][::-1]
    assert across == pytest.approx(wanted, abs=1)
    shown = text(file)
    for one in holds:
        assert one in shown


def test_the_strip_sheets_columns_filled_in_are_the_same_record_as_the_plain_command(
    job: Any, tmp_path: Path
) -> None:
    """Under the names it prints, typed up as they stand."""
    names = job.ok(f"form strip --json --pdf {tmp_path / 's.pdf'}").json["columns"]
    cells = {
        "date": "2026-06-01",
        "time": "06:55",
        "machine": "blue",
        "nozzle (F)": "932",
        "speed (ft/min)": "5.5",
        "bleed 1 (in)": "1/4",
        "bleed 2 (in)": "3/16",
        "bleed 3 (in)": "1/4",
        "bleed 4 (in)": "5/16",
        "bubbling": "none",
        "bond": "good",
        "ambient (F)": "61",
        "sheet temp (F)": "74",
        "wind (mph)": "5",
        "operator": "Ana Ruiz",
        "note": "first",
    }
    assert set(names) == set(cells)
    file = tmp_path / "typed.csv"
    with file.open("w", newline="") as out:
        csv.writer(out).writerows([names, [cells[name] for name in names]])
    job.ok("strip", "load", "--yes", str(file))
    job.ok(
        "strip record --at 06:55 --nozzle 932 --speed 5.5 --bleed 1/4,3/16,1/4,5/16 --bubbling none --bond good "
        "--ambient 61 --sheet-temp 74 --wind 5 --note first"
    )
    one, other = (dict(row) for row in job.query("SELECT * FROM strips ORDER BY tick"))
    for name in ("id", "tick", "name", "source"):
        del one[name], other[name]
    assert one == other


def test_the_probe_sheet_names_what_is_to_be_probed(job: Any, tmp_path: Path) -> None:
    """Welded and unprobed only, or every seam; with lengths, and blank rows to go on."""
    job.day("07:30 seam start A1 --by-hand\n07:40 seam finish A1 --to 33")
    file = tmp_path / "p.pdf"
    assert job.ok(f"form probe --json --pdf {file}").json["rows"] == 0
    assert job.ok(f"form probe --seams --json --pdf {file}").json["rows"] == 1
    assert "A1 0 33" in text(file)
    assert job.ok(f"form probe --all --json --pdf {file}").json["rows"] == 3
    job.ok("seam add B1-B60 --length 10m")
    job.ok(f"form probe --all --pdf {file}")
    assert len(pages(file)) > 1
    assert all("length (in)" in page.extract_text() for page in pages(file))


def test_a_metric_jobs_sheets_are_metric(weldcal: Any, tmp_path: Path) -> None:
    """Units of the job, A4 unless asked otherwise; a dial of bare marks has none."""
    weldcal.ok('job new "Schule" --units si --by Ana --sheet "base: x" --machine "red: mark 1-10"')
    names = weldcal.ok(f"form strip --json --pdf {tmp_path / 's.pdf'}").json["columns"]
    assert {"speed", "bleed 1 (mm)", "nozzle (C)", "wind (m/s)"} <= set(names)
    (page,) = pages(tmp_path / "s.pdf")
    assert page.mediabox.width == pytest.approx(841.89, abs=1)


def test_a_form_that_cannot_be_written_is_said(job: Any, tmp_path: Path) -> None:
    """One line; a paper nobody knows as well."""
    assert job(f"form strip --pdf {tmp_path / 'no' / 's.pdf'}").code == 2
    assert "letter, a4" in job("form strip --paper a3").err
