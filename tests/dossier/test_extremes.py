"""No data, a single strip, metric units, a roof laid out, many seams."""

from __future__ import annotations

from typing import Any

import html5lib
import pytest

from tests.dossier.conftest import MONDAY, Made, run

JOB = 'job new "Bare" --units {units} --zone Europe/Madrid --by "Ana Ruiz" --sheet "base: base sheet" --machine "blue: {dial}"'


@pytest.mark.parametrize(
    ("units", "dial"), [("us", "ft/min 1-20 step 0.5"), ("si", "m/min 0.5-6 step 0.1")]
)
def test_a_job_with_no_data_has_a_dossier(book_path: Any, units: str, dial: str) -> None:
    """Every section says that there is nothing; page 1 does not call nothing in order."""
    run(book_path, MONDAY, JOB.format(units=units, dial=dial))
    made = Made(book_path)
    html5lib.HTMLParser(strict=True).parse(made.html)
    assert made.pdf.startswith(b"%PDF")
    answers = {row[0]: row[1] for row in made.table("What is open").rows}
    assert answers["Welded lap not probed"] == "nothing welded"
    assert made.figures() == {}
    totals = {row[0]: row[1:] for row in made.table("Totals").rows}
    assert totals["Lap probed"][1] == ""  # a share of nothing is none


def test_a_single_strip_is_drawn(book_path: Any) -> None:
    """One strip: one fit, its three readings, in metric units."""
    run(book_path, MONDAY, JOB.format(units="si", dial="m/min 0.5-6 step 0.1"))
    run(
        book_path,
        MONDAY,
        "strip record --nozzle 500 --speed 1.7 --bleed 6,5,8 --bubbling none --by AR",
    )
    made = Made(book_path)
    (fit,) = made.figures().values()
    assert fit.table.rows[0] == ("strip S1", "1.70", "6 5 8", "did not meet the limits")
    assert "m/min" in fit.svg
    assert "mm" in fit.svg
    assert made.pdf.startswith(b"%PDF")


def test_a_roof_laid_out_is_drawn_where_it_lies(book_path: Any) -> None:
    """Areas with coordinates are plans to scale, one an area; loose seams are bars and say so."""
    run(book_path, MONDAY, JOB.format(units="us", dial="ft/min 1-20 step 0.5"))
    run(book_path, MONDAY, 'roof lay "A 60ft x 18ft" --roll-width 39.4in --roll-length 33ft')
    run(book_path, MONDAY, "seam add X1 --length 10ft")
    made = Made(book_path)
    figures = made.figures()
    assert {"legend", "plan-A", "bars-1"} <= set(figures)
    assert "holds no places" in figures["bars-1"].caption
    assert "to scale" in figures["plan-A"].caption


def test_a_plan_keeps_its_proportions(book_path: Any) -> None:
    """A side lap of 60 ft is drawn 60/20 times as long as the scale bar of 20 ft says."""
    import re
    import sqlite3

    run(book_path, MONDAY, JOB.format(units="us", dial="ft/min 1-20 step 0.5"))
    run(book_path, MONDAY, 'roof lay "A 60ft x 18ft" --roll-width 39.4in --roll-length 33ft')
    svg = Made(book_path).figures()["plan-A"].svg
    lines = [
        tuple(map(float, m))
        for m in re.findall(
            r'<path d="M([\d.]+) ([\d.]+)L([\d.]+) ([\d.]+)" stroke="#595959" stroke-width="1.2"',
            svg,
        )
    ]
    (bar,) = re.findall(
        r'<path d="M48 ([\d.]+)L([\d.]+) \1" stroke="#1a1a1a" stroke-width="2"', svg
    )
    feet = float(re.findall(r">(\d+) ft</text>", svg)[-1])
    per_m = (float(bar[1]) - 48) / feet / 0.3048
    drawn = sorted(((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5 / per_m for x0, y0, x1, y1 in lines)
    listed = sqlite3.connect(book_path).execute(
        "SELECT length_m FROM seams WHERE x0_m <> x1_m OR y0_m <> y1_m"
    )
    assert drawn == pytest.approx(sorted(m for (m,) in listed), abs=0.02)


def test_many_seams_are_small_bars_and_short_rows(book_path: Any) -> None:
    """2,100 seams: every one in the table, drawn small, every eighth named; cells stay few."""
    run(book_path, MONDAY, JOB.format(units="us", dial="ft/min 1-20 step 0.5"))
    run(book_path, MONDAY, "seam add A1-A1000 --length 33ft")
    run(book_path, MONDAY, "seam add B1-B1000 --length 33ft")
    run(book_path, MONDAY, "seam add C1-C100 --length 33ft")
    made = Made(book_path)
    seams = made.table("Seams")
    assert len(seams.rows) == 2100
    assert seams.rows[0][0] == ". A1"
    small = [f for name, f in made.figures().items() if name.startswith("bars")]
    assert sum(f.svg.count('stroke-dasharray="2 3"') for f in small) == 2100


def test_what_is_left_to_the_csv_is_counted(made: Any, monkeypatch: Any, dossier_of: Any) -> None:
    """With room for one seam's page, the most urgent has it, and the rest are counted."""
    from weldcal.book import dossier

    whole = len(made.facts.traces)
    monkeypatch.setattr(dossier, "MOST_TRACED", 1)
    short = dossier_of(made.book)
    assert [t.name for t in short.facts.traces] == ["A1"]
    assert short.facts.untraced == whole - 1
    told = next(s for s in short.document.sections if s.title == "Seams with something to tell")
    assert f"{whole - 1} more" in told.blocks[1].text


def test_t_joints_and_what_is_hidden_are_as_on_the_roof(book_path: Any) -> None:
    """A laid roof, a side lap and an end lap on it welded and probed, the area covered, a walk after that."""
    from datetime import timedelta

    from weldcal.book import Book

    at = MONDAY + timedelta(hours=8)
    for step, words in enumerate(
        (
            JOB.format(units="us", dial="ft/min 1-20 step 0.5"),
            'roof lay "A 60ft x 9ft" --roll-width 39.4in --roll-length 33ft',
            "seam start A1.1 --nozzle 932 --speed 5.5 --by AR",
            "seam finish A1.1 --to end --by AR",
            "seam start A1 --nozzle 932 --speed 5.5 --by AR",
            "seam finish A1 --to 60 --by AR",
            "probe A1 0-60 --by BO",
            "seam start A2 --nozzle 932 --speed 5.5 --by AR",
            "seam finish A2 --to 60 --by AR",
            "cover A --by AR",
            "probe A2 0-60 --by BO",
        )
    ):
        run(book_path, at + timedelta(minutes=10 * step), words)
    made = Made(book_path)
    roof = {found["name"]: found for found in Book(book_path).roof.view()}
    assert [s.name for s in made.facts.seams] == list(roof)
    for seam in made.facts.seams:  # read in batches here, at once there
        assert (seam.state, list(seam.flags)) == (
            roof[seam.name]["state"],
            roof[seam.name]["flags"],
        )
    flags = {s.name: s.flags for s in made.facts.seams}
    assert "worked on after it was covered" in flags["A2"]
    assert any(
        s.kind == "T-joint" and s.state.state == "probed with no open finding"
        for s in made.facts.seams
    )
    answers = {row[0]: row[2] for row in made.table("What is unproven").rows}
    assert answers["Recorded on a seam while the next ply hid it"] == "A2"
    assert answers["Covered by the next ply without being probed clean"].startswith("A2")
