"""The daily sheet: one page, which says of a day what its evening page says."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path
from typing import Any

import pypdf
import pytest

from weldcal.book import Book
from weldcal.reports import daily, evening
from weldcal.reports.dossier.document import Bullets, Document, texts

MONDAY, TUESDAY = "2026-06-01", "2026-06-02"


def told(path: Path) -> str:
    """All words of a PDF."""
    return " ".join(" ".join(p.extract_text() for p in pypdf.PdfReader(path).pages).split())


def bullets(document: Document) -> list[str]:
    """Lines of the lists, in order."""
    blocks = [*document.lead, *(b for s in document.sections for b in s.blocks)]
    return [line for block in blocks if isinstance(block, Bullets) for line in block.items]


@pytest.mark.parametrize("day", [MONDAY, TUESDAY])
def test_it_says_of_the_day_what_the_evening_page_says(quarry: Any, day: str) -> None:
    """Line by line; strips by name with what they came to; tomorrow's start is not its matter."""
    with contextlib.closing(Book(quarry.book, clock=quarry.clock)) as book:
        e, rows = book.looking_back.day_sheet(day)
        page = evening.parts(book.looking_back.evening(day=day), "us")
    sheet = daily.document(e, rows, "us")
    today, go_aheads, opened = (part.lines for part in page[:3])
    strips = [line for line in today if line.startswith("strip ")]
    assert bullets(sheet) == [
        *(line for line in today if line not in strips),
        *go_aheads,
        *opened,
    ]
    everything = texts(sheet)
    for line in strips:
        name, came = line.removeprefix("strip ").split(",")[0], line.split(": ", 1)[1]
        assert any(cell.startswith(f"{name} ") for cell in everything)
        assert came in everything


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("what", [MONDAY, "--blank"])
def test_it_is_one_page_in_both_languages(
    quarry: Any, fresh: Any, tmp_path: Path, paper: str, language: str, what: str
) -> None:
    """With lines to sign on; HTML says the same title."""
    pdf, html = tmp_path / "d.pdf", tmp_path / "d.html"
    words = f"form daily {what} --paper {paper} --pdf {pdf} --html {html}"
    done = fresh(words, env={**os.environ, "WELDCAL_LANG": language})
    assert (done.returncode, done.stderr) == (0, "")
    assert len(pypdf.PdfReader(pdf).pages) == 1
    title = {"en": "Daily sheet", "es": "Hoja diaria"}[language]
    assert title in told(pdf)
    assert f"<title>{title}" in html.read_text()
    assert 'class="scroll fill' in html.read_text()


def test_it_has_what_a_representative_looks_for(quarry: Any, tmp_path: Path) -> None:
    """Weather, settings, widths, repairs with their finding, samples, who welded and who probed."""
    quarry.ok(f"form daily {MONDAY} --pdf {tmp_path / 'd.pdf'}")
    said = told(tmp_path / "d.pdf")
    for words in (
        "61 °F",
        "228 V",
        "blue, base, selvage, 932 °F",
        "1/4 3/16 5/16; bubbling none",
        "B2 A1, 20 ft 1/4 5/16",
        "M1 A2, 14 ft to 17 ft 6 in patch, hand welded F1",
        "P1 A1 25 ft 40.0 lbf/in",
        "119 ft, Ana Ruiz",
        "78 ft, Ben Okoro, Ana Ruiz",
        "Manufacturer's representative",
    ):
        assert words in said


def test_a_busy_day_still_fits_and_counts_what_it_leaves_out(job: Any, tmp_path: Path) -> None:
    """Twelve checks and nine readings: six rows each, the rest counted."""
    job.ok("seam add B1-B9 --length 33ft")
    job.day("07:00 strip record --nozzle 932 --speed 5.5 --bleed 1/4,3/16,5/16 --bubbling none")
    job.day("07:15 strip pull S1 good --parted compound")
    for n in range(1, 10):
        job.day(f"""
        {n + 7:02}:00 conditions --ambient {60 + n}F --sheet-temp 80F
        {n + 7:02}:10 seam start B{n} --nozzle 932 --speed 5.5
        {n + 7:02}:12 bleed B{n} 8 1/4,1/4
        {n + 7:02}:18 seam finish B{n} --to 33""")
    job.ok(f"form daily --pdf {tmp_path / 'd.pdf'}")
    assert len(pypdf.PdfReader(tmp_path / "d.pdf").pages) == 1
    said = told(tmp_path / "d.pdf")
    assert "Bleed checks: 3 more rows" in said
    assert "Weather and power as read: 3 more rows" in said


def test_a_lap_whose_bond_nobody_measured_stands_with_a_dash(job: Any, tmp_path: Path) -> None:
    job.ok("width A1 14 4in")
    job.ok(f"form daily --pdf {tmp_path / 'd.pdf'}")
    assert "T1 A1, 14 ft 4 in – Ana Ruiz" in told(tmp_path / "d.pdf")


def test_what_was_taken_back_is_in_no_table_of_it(quarry: Any, tmp_path: Path) -> None:
    """A strip taken back is named as taken back, and stands nowhere else."""
    quarry.ok(f"form daily --pdf {tmp_path / 'before.pdf'}")
    assert "S3 07:30 blue" in told(tmp_path / "before.pdf")
    quarry.ok("undo S3 --why 'wrong roof' --yes --by AR")
    quarry.ok(f"form daily --pdf {tmp_path / 'after.pdf'}")
    assert "S3 07:30 blue" not in told(tmp_path / "after.pdf")
    assert "taken back, counting for nothing" in told(tmp_path / "after.pdf")


def test_a_day_with_nothing_says_so_and_a_blank_has_no_day(job: Any, tmp_path: Path) -> None:
    """One sentence, exit code 2, for a day with --blank; none for a day that is none."""
    job.ok(f"form daily 2026-05-01 --pdf {tmp_path / 'd.pdf'}")
    assert "Nothing was welded or probed on this day." in told(tmp_path / "d.pdf")
    assert "a blank has no day" in job("form daily 2026-06-01 --blank").err
    assert job("form daily yesterday").code == 2


def test_the_page_of_a_day_gone_by_does_not_doubt_a_whole_record(quarry: Any) -> None:
    """The record itself is checked, not what it was that evening: its guards stand."""
    assert "NOT PROVED" not in quarry.ok(f"evening --day {MONDAY}").out
