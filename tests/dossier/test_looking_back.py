"""The evening page and the history, as the foreman types them."""

from __future__ import annotations

import csv
import math
import re
from itertools import pairwise
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from weldcal.quality import history

FT = 0.3048


def test_the_evening_tells_the_day(quarry: Any) -> None:
    """Welded, probed, found; what is open; what comes first tomorrow."""
    said = quarry.ok("evening").out
    assert "- welded: 66 ft in 2 runs (A5, A6)" in said
    assert "- probed: 33 ft in 1 walk" in said
    assert "- strip S3, 8.1 ft/min: go-ahead" in said
    assert "- findings open: A1 F4, A2 F2" in said
    assert "- warnings not answered: R5 A5" in said
    first = said.split("FIRST TOMORROW")[1]
    order = [
        first.index(w)
        for w in (
            "mend what is open",
            "probe mends again",
            "answer warnings",
            "probe what is cold",
            "run a test strip",
        )
    ]
    assert order == sorted(order)


def test_a_go_ahead_that_no_longer_stands_says_why(quarry: Any) -> None:
    """Nine hours and more after the strip of 07:30."""
    assert "S3 (blue, base, selvage): void, " in " ".join(quarry.ok("evening").out.split())


@pytest.mark.parametrize("columns", ["40", "80"])
def test_the_page_fits_the_screen(quarry: Any, monkeypatch: Any, columns: str) -> None:
    """No line is longer than the screen is wide."""
    monkeypatch.setenv("COLUMNS", columns)
    assert max(map(len, quarry.ok("evening").out.splitlines())) <= int(columns)


def test_tomorrows_start_is_the_fits_answer_for_that_morning(quarry: Any) -> None:
    """Asked for tomorrow at the ambient given: the same as the dial says when asked then, and warmer is faster."""
    start = quarry.ok("evening --ambient 55F --json").json["start"][0]
    warm = quarry.ok("evening --ambient 90F --json").json["start"][0]
    assert start["speed_m_per_min"] < warm["speed_m_per_min"]
    assert start["is_go_ahead"] is start["recorded"] is False
    quarry.clock.set("07:00", days=1)
    dialled = quarry.ok("dial --ambient 55F --json").json
    assert start["speed_m_per_min"] == dialled["speed_m_per_min"]
    assert start["chance"] == dialled["forecast"]["chance"]


def test_a_day_gone_by_has_no_start_that_knew_more_than_it(quarry: Any) -> None:
    """Monday's page has no starting speed: Tuesday's strips are known by now."""
    said = quarry.ok("evening --day 2026-06-01").out
    assert "TO START WITH" not in said
    assert "- welded: 119 ft in 4 runs" in said


def test_the_evening_goes_on_paper(quarry: Any, tmp_path: Path) -> None:
    """One HTML file and one sheet of PDF, with the roof drawn."""
    import pypdf

    quarry.ok("evening", "--html", str(tmp_path / "e.html"), "--pdf", str(tmp_path / "e.pdf"))
    assert "<svg" in (tmp_path / "e.html").read_text()
    assert len(pypdf.PdfReader(tmp_path / "e.pdf").pages) == 1


def test_history_rates_are_the_tables(quarry: Any) -> None:
    """Faults tied to the run that welded their place; probed lengths of runs; by hand: two wrinkles and voids."""
    (row,) = quarry.ok("history --by machine --json").json["faults"]
    faults = quarry.query("SELECT count(*) AS n FROM findings WHERE kind <> 'sample cut'")[0]["n"]
    welded = quarry.query("SELECT sum(end_m - start_m) AS m FROM runs")[0]["m"]
    assert (row["runs"], row["faults"]) == (6, faults)
    assert row["welded_m"] == pytest.approx(welded)
    assert row["probed_m"] == pytest.approx((33 + 33 + 12 - 0 + 33) * FT)
    assert row["per_100ft"] == pytest.approx(faults / row["probed_m"] * 100 * FT)
    # Of A1, A2 and A6 all was probed, of A5 12 ft; chance alone would clump as much.
    assert (row["dispersion"], row["dispersion_runs"]) == (pytest.approx(1.0), 4)


def test_history_tells_the_interval_that_faults_tells(job: Any) -> None:
    """Where all that is welded is probed, both commands give one interval, wider than chance alone."""
    from scipy.stats import chi2

    job.ok("seam add Q1-Q6 --length 33ft")
    for n in range(1, 7):
        voids = " ".join(f"--void {at}+2in" for at in range(3, 31, 4)) if n == 1 else ""
        job.day(f"""
            {7 + n:02d}:00 seam start Q{n} --nozzle 932 --speed 5.5
            {7 + n:02d}:07 seam finish Q{n} --to 33
            {7 + n:02d}:30 probe Q{n} 0-33 {voids} --by BO
        """)
    (told,) = job.ok("history --by machine --json").json["faults"]
    rates = job.ok("faults --json").json["rates"]
    (same,) = [rate for rate in rates if rate["factor"] == "machine"]
    assert (told["low"], told["high"]) == pytest.approx((same["low"], same["high"]))
    assert told["high"] > chi2.ppf(0.975, 16) / 2 / 1.98
    # One seam of six with all 7: Pearson's 35 over 5.
    assert (told["dispersion"], told["dispersion_runs"]) == (pytest.approx(7.0), 6)
    assert "dispersion 7.00, from 6 runs" in " ".join(job.ok("history --by machine").out.split())


def test_the_same_counts_have_one_interval_on_every_page(job: Any) -> None:
    """Runs probed in part, and one by hand: faults, history and the dossier agree, and say why.

    Each command had its own choice of lap to learn from how faults clump.
    """
    job.ok("seam add Q1-Q6 --length 33ft")
    for n in range(1, 7):
        voids = " ".join(f"--void {at}+2in" for at in range(3, 15, 3)) if n == 2 else ""
        how = "--by-hand" if n == 6 else "--nozzle 932 --speed 5.5"
        job.day(f"""
            {7 + n:02d}:00 seam start Q{n} {how}
            {7 + n:02d}:07 seam finish Q{n} --to 33
            {7 + n:02d}:30 probe Q{n} 0-{16 if n % 2 == 0 else 33} {voids} --by BO
        """)
    rates = job.ok("faults --json").json["rates"]
    (person,) = [rate for rate in rates if rate["factor"] == "operator"]
    (told,) = job.ok("history --by person --json").json["faults"]
    (of_job,) = job.ok("history --by job --json").json["faults"]
    drawn = rate_of_all(job.book)
    assert (person["faults"], told["faults"], drawn.n) == (4, 4, 4)
    ends = [(r["low"], r["high"]) for r in (person, told, of_job)]
    assert ends[1:] == [pytest.approx(ends[0])] * 2
    assert (drawn.low, drawn.high) == pytest.approx(ends[0])
    # 16 ft of Q2 hold all 4 of 147 ft: Pearson's, by hand.
    expected = 4 * 16 / 147
    squares = (4 - expected) ** 2 / expected + 4 * 131 / 147
    assert drawn.dispersion == pytest.approx(squares / 5)
    assert told["dispersion"] == pytest.approx(squares / 5)
    by_hand = [r for r in rates if (r["factor"], r["level"]) == ("machine", "by hand")]
    assert [(r["faults"], r["length_m"]) for r in by_hand] == [(0, pytest.approx(16 * FT))]


def rate_of_all(path: Path) -> Any:
    """The rate of all faults as the dossier's first pages have it."""
    from weldcal.book import Book
    from weldcal.reports.dossier.totals import all_faults

    book = Book(path)
    try:
        found = book.dossiers.dossier()
    finally:
        book.close()
    return all_faults(found.pieces, "us")


def test_a_job_has_the_same_interval_whatever_other_jobs_the_book_holds(job: Any) -> None:
    """How faults clump is learnt from the jobs that a row tells of."""
    job.day("""
        07:00 seam start A1 --nozzle 932 --speed 5.5
        07:07 seam finish A1 --to 33
        07:30 probe A1 0-33 --void 3+2in --void 6+2in --by BO
        08:00 seam start A2 --nozzle 932 --speed 5.5
        08:07 seam finish A2 --to 33
        08:30 probe A2 0-33 --by BO
    """)
    (before,) = job.ok("history --by job --json").json["faults"]
    job.ok(
        'job new "Mill" --units us --zone America/Denver --by "Ana Ruiz" '
        '--sheet "base: base sheet" --machine "blue: ft/min 1-20 step 0.5" '
        '--person "Ana Ruiz: AR, operator"'
    )
    job.ok("seam add M1-M3 --length 33ft")
    for n in range(1, 4):
        voids = " ".join(f"--void {at}+2in" for at in range(2, 32, 3)) if n == 1 else ""
        job.day(f"""
            {9 + n:02d}:00 seam start M{n} --nozzle 932 --speed 5.5
            {9 + n:02d}:07 seam finish M{n} --to 33
            {9 + n:02d}:30 probe M{n} 0-33 {voids}
        """)
    after = job.ok("history --by job --json").json["faults"]
    assert [row for row in after if row["job"] == "School roof"] == [before]
    assert len({row["dispersion"] for row in after}) == 2
    assert "job by job" in " ".join(job.ok("history --by job").out.split())


def test_history_counts_strips_to_a_go_ahead(quarry: Any) -> None:
    """Two on Monday, one on Tuesday."""
    (row,) = quarry.ok("history --by job --json").json["strips"]
    assert (row["mornings"], row["median_strips"], row["most_strips"], row["without"]) == (
        2,
        1.5,
        2,
        0,
    )


def test_filters_and_sorting(quarry: Any) -> None:
    """By day, person and machine; numbers from the largest."""
    assert quarry.ok("history --since 2026-06-02 --json").json["faults"][0]["runs"] == 2
    assert quarry.ok("history --until 2026-06-01 --json").json["faults"][0]["runs"] == 4
    assert quarry.ok("history --person 'Ben Okoro' --json").json["faults"] == []
    assert quarry.ok("history --machine Blue --json").json["faults"][0]["runs"] == 6
    days = quarry.ok("history --sort temperature_c --json").json["speeds"]
    assert [r["temperature_c"] for r in days] == sorted(
        (r["temperature_c"] for r in days), reverse=True
    )


def test_history_as_csv_and_pages(quarry: Any, tmp_path: Path) -> None:
    """A file a table; the same rows as JSON has; a page with its charts."""
    quarry.ok(
        "history",
        "--csv",
        str(tmp_path / "h"),
        "--html",
        str(tmp_path / "h.html"),
        "--pdf",
        str(tmp_path / "h.pdf"),
    )
    told = quarry.ok("history --json").json
    for name in ("faults", "strips", "lines", "speeds", "drift"):
        with (tmp_path / f"h-{name}.csv").open(newline="") as file:
            assert len(list(csv.DictReader(file))) == len(told[name])
    assert (tmp_path / "h.pdf").read_bytes().startswith(b"%PDF")
    assert "<svg" in (tmp_path / "h.html").read_text()


def test_the_measured_speed_is_told_as_drift(quarry: Any) -> None:
    """8.1 ft/min measured at 8 on the dial: +1.25 %."""
    (row,) = [
        r
        for r in quarry.ok("history --json").json["drift"]
        if r["what"] == "speed measured over dial"
    ]
    assert (row["n"], row["month"]) == (1, "2026-06")
    assert row["median_pct"] == pytest.approx(1.25)


def test_the_line_is_that_of_statsmodels() -> None:
    """Slope, height and 95 % interval of ln speed on temperature, against another hand."""
    import numpy as np
    import statsmodels.api as sm

    points = [(5.0, 1.3), (12.0, 1.45), (20.0, 1.62), (33.0, 1.9), (41.0, 2.2), (28.0, 1.75)]
    found = history.line_of(points)
    assert found is not None
    other = sm.OLS(np.log([v for _c, v in points]), sm.add_constant([c for c, _v in points])).fit()
    low, high = other.conf_int(0.05)[1]
    assert (found.height, found.slope) == pytest.approx(tuple(other.params))
    assert (found.low, found.high) == (pytest.approx(low), pytest.approx(high))


def test_a_line_needs_four_strips_and_five_kelvin() -> None:
    """Else none is told."""
    assert history.line_of([(5.0, 1.3), (15.0, 1.5), (25.0, 1.7)]) is None
    assert history.line_of([(5.0, 1.3), (6.0, 1.3), (7.0, 1.3), (9.0, 1.3)]) is None
    found = history.line_of([(c, math.exp(0.1 + 0.012 * c)) for c in (0.0, 10.0, 20.0, 30.0)])
    assert found is not None
    assert found.slope == pytest.approx(0.012)


def test_days_are_written_out_in_headings_only(quarry: Any, tmp_path: Path) -> None:
    """With their weekday, as the reader's locale has it (2026-06-02 was a Tuesday); tables keep ISO dates."""
    assert "TODAY, TUESDAY, JUNE 2, 2026" in quarry.ok("evening").out
    quarry.ok("dossier", str(tmp_path / "d"), "--only", "html")
    text = (tmp_path / "d.html").read_text()
    assert "<h3>Monday, June 1, 2026</h3>" in text
    assert "<td>2026-06-01" in text
    quarry.ok("evening", "--html", str(tmp_path / "e.html"))
    assert "evening of Tuesday, June 2, 2026</h1>" in (tmp_path / "e.html").read_text()


@pytest.mark.parametrize("line", ["evening --day", "history --since", "history --until"])
def test_a_day_that_is_none_is_told_how_a_day_is_typed(quarry: Any, line: str) -> None:
    """Not how a time is, which these do not read."""
    told = quarry.refused(f"{line} noon")
    assert told.endswith("'noon' is not a day. Type it like 2026-06-01.")


def test_a_dial_measured_is_told_against_the_speed_its_mark_shows(job: Any) -> None:
    """20 ft in 240 s is 5 ft/min behind a mark of 5.5: -9.1 %, in whichever unit the dial reads."""
    job.ok('machine add "metric: m/min 0.3-7 step 0.1"')
    job.ok('machine add "bare: marks 1-10 step 0.5"')
    for machine, mark in (("blue", "5.5"), ("metric", "1.6764m/min"), ("bare", "4")):
        job.ok(f"machine measure {machine} --mark {mark} --distance 20ft --time 240s")
    told = job.ok("history --json").json["drift"]
    found = {row["machine"]: row for row in told if row["what"] == "speed measured over dial"}
    assert set(found) == {"blue", "metric"}  # a bare mark shows no speed
    for row in found.values():
        assert row["median_pct"] == pytest.approx(100 * (5 / 5.5 - 1), abs=0.01)


@pytest.fixture
def lawful(job: Any) -> Any:
    """Four go-ahead strips on one law: a tenth faster with every 10 °F, from 5 ft/min at 50 °F."""
    for n in range(4):
        job.day(f"""
            {8 + n:02d}:00 conditions --ambient 60F --sheet-temp {50 + 10 * n}F --wind 5mph
            {8 + n:02d}:05 strip record --nozzle 932 --speed 5 --true-speed {5 * 1.1**n:.6f} --bleed 1/4,1/4,1/4 --bubbling none
            {8 + n:02d}:20 strip pull S{n + 1} good --parted compound
        """)
    return job


def test_strips_on_one_law_have_that_law_for_a_line(lawful: Any) -> None:
    """ln 1.1 over 10 °F, that is 5.556 K; at 20 °C, 68 °F, 1.8 tens from the first."""
    (line,) = lawful.ok("history --json").json["lines"]
    assert (line["machine"], line["sheet"], line["strips"]) == ("blue", "base", 4)
    slope = 100 * math.log(1.1) * 9 / 50
    assert [line[name] for name in ("pct_per_k", "low", "high")] == [pytest.approx(slope)] * 3
    assert line["speed_at_20c_m_per_min"] == pytest.approx(5 * FT * 1.1**1.8)
    said = " ".join(lawful.ok("history").out.split())
    assert "+1.0 %" in said  # ln 1.1 is 0.953 per cent per °F
    drift = [r for r in lawful.ok("history --json").json["drift"] if r["what"] == "off the line"]
    assert [(r["n"], r["month"]) for r in drift] == [(4, "2026-06")]
    assert [drift[0][of] for of in ("median_pct", "least_pct", "most_pct")] == [
        pytest.approx(0, abs=1e-3)
    ] * 3


def test_a_line_is_drawn_through_the_strips_it_is_of(lawful: Any, tmp_path: Path) -> None:
    """On one law every dot lies on it; it ends at the coldest and the warmest; and scales fit."""
    lawful.ok("history", "--html", str(tmp_path / "h.html"))
    page = (tmp_path / "h.html").read_text()
    drawing = ElementTree.fromstring(page[page.index("<svg") : page.index("</svg>") + 6])
    paths = [part.get("d", "") for part in drawing.iter() if part.tag.endswith("path")]
    (along,) = [found for found in map(_numbers, paths) if len(found) == 21]
    dots = [
        (float(part.get("cx", "nan")), float(part.get("cy", "nan")))
        for part in drawing.iter()
        if part.tag.endswith("circle")
    ]
    assert len(dots) == 4
    assert along[0] == pytest.approx(dots[0], abs=0.2)
    assert along[-1] == pytest.approx(dots[-1], abs=0.2)
    # 21 places evenly apart in temperature: those left and right of each dot are level with it.
    for across, down in dots[1:3]:
        left = max(place for place in along if place[0] <= across)
        right = min(place for place in along if place[0] > across)
        share = (across - left[0]) / (right[0] - left[0])
        assert down == pytest.approx(left[1] + share * (right[1] - left[1]), abs=0.3)
    # Evenly apart in temperature; heights above the bottom as the speeds are.
    steps = [b[0] - a[0] for a, b in pairwise(dots)]
    assert steps == [pytest.approx(steps[0], abs=0.2)] * 3
    rises = [a[1] - b[1] for a, b in pairwise(dots)]
    assert rises[1] / rises[0] == pytest.approx(1.1, abs=0.02)
    assert rises[2] / rises[1] == pytest.approx(1.1, abs=0.02)
    cells = re.findall(
        r'2026-06-01</td><td class="r">(\d+)</td><td class="r">([\d.]+)</td></tr>', page
    )
    assert cells == [("50", "5.00"), ("60", "5.50"), ("70", "6.05"), ("80", "6.65")]


def _numbers(path: str) -> list[tuple[float, float]]:
    """The places of a path, in order."""
    found = [float(number) for number in re.findall(r"-?\d+(?:\.\d+)?", path)]
    return list(zip(found[::2], found[1::2], strict=False))
