"""Cover-up of part of an area: stretches and bands, what can be walked then, the release sheet."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldcal.book.covering import Bounds
from weldcal.book.hiding import Spell, in_reach
from weldcal.quality.coverage import minus, total
from weldcal.quality.leak import along_within

FT = 0.3048


@pytest.fixture
def roof(welded_whole: Any) -> Any:
    """A1 probed clean, A2 unprobed, A3 with a void at 20 ft; 14:00."""
    welded_whole.day("""
        10:00 probe A1 0-33 --by BO
        10:10 probe A3 0-33 --void 20+2in --by BO
    """)
    welded_whole.clock.set("14:00")
    return welded_whole


def names(document: Any) -> list[tuple[str, str, list[float] | None]]:
    """What is to be done first: seam, what, feet."""
    return [
        (f["seam"], f["code"], f["stretch"] and [round(m / FT, 3) for m in f["stretch"]])
        for f in document
    ]


def test_half_an_area_is_covered_and_the_rest_can_still_be_probed(roof: Any) -> None:
    """A1 to A3, 0 to 15 ft: what lies beyond is in reach, and a walk counts there only."""
    done = roof.ok("cover A1-A3 --stretch 0-15 --json").json
    assert done["seams"] == []
    assert "covered in part" in roof.seam("A1")["flags"]
    assert "covered unprobed" not in roof.seam("A1")["flags"]
    assert "covered unprobed" in roof.seam("A2")["flags"]
    assert "covered unprobed" not in roof.seam("A3")["flags"]  # its void lies at 20 ft
    roof.clock.set("15:00")
    roof.ok("probe A2 0-33 --by BO")
    assert roof.seam("A2")["unprobed_stretches_m"] == [[0.0, pytest.approx(15 * FT)]]
    assert "worked on after it was covered" in roof.seam("A2")["flags"]
    page = " ".join(roof.ok("roof").out.split())
    assert "hidden unprobed 0–15 ft: open up" in page
    assert "hidden by the next ply, 0–15 ft" in roof.ok("trace A2").out
    roof.ok("open-up A2")
    roof.clock.set("15:30")
    roof.ok("probe A2 0-15 --by BO")
    assert roof.seam("A2")["state"] == "probed with no open finding"
    assert "opened up" in roof.ok("trace A2").out
    roof.ok("verify")


@pytest.mark.parametrize(
    ("stretch", "whole"), [("0-33", True), ("33-0", True), ("0-32", False), ("1-33", False)]
)
def test_a_stretch_from_end_to_end_covers_the_lap_itself(
    roof: Any, stretch: str, whole: bool
) -> None:
    """A lap of 33 ft: all of it is recorded as the lap, whatever its length is said to be later."""
    done = roof.ok(f"cover A1 --stretch {stretch} --json").json
    assert done["seams"] == (["A1"] if whole else [])
    assert ("covered in part" in roof.seam("A1")["flags"]) is not whole


def test_a_bleed_check_on_a_hidden_stretch_is_work_after_it_was_covered(roof: Any) -> None:
    """The roof says so of a place as the trace does; of one beside the stretch neither does."""
    roof.ok("cover A1-A3 --stretch 0-15")
    roof.clock.set("15:00")
    roof.ok("bleed A1 5 1/4 --by AR")
    roof.ok("bleed A3 25 1/4 --by AR")
    for seam, worked in (("A1", True), ("A3", False)):
        traced = roof.ok(f"trace {seam} --json").json["flags"]
        for flags in (roof.seam(seam)["flags"], traced):
            assert ("worked on after it was covered" in flags) == worked


def test_what_is_beyond_can_be_covered_later_and_the_whole_is_covered_then(roof: Any) -> None:
    roof.ok("cover A1 --stretch 0-15")
    assert roof.ok("cover A1 --stretch 15-end --json").code == 0
    assert "covered" in roof.seam("A1")["flags"]
    assert "covered already" in roof.refused("cover A1 --stretch 3-10")


def test_what_must_be_done_first_is_listed_within_the_stretch_only(roof: Any) -> None:
    """The void at 20 ft of A3 does not hold up the first 15 ft."""
    assert names(roof.ok("cover A --stretch 0-15 --look --json").json) == [
        ("A2", "probe", [0.0, 15.0])
    ]
    assert names(roof.ok("cover A --stretch 15-33 --look --json").json)[:2] == [
        ("A2", "probe", [15.0, 33.0]),
        ("A3", "mend", [20.0, 20.167]),
    ]
    said = " ".join(roof.ok("cover A3 --stretch 15-33 --look").out.split())
    assert "A3, 20 ft to 20 ft 2 in: mend F1, then probe it" in said
    assert "in doubt" in said  # what the void put in doubt beside it
    assert "nothing to be done first" in roof.ok("cover A1 --stretch 0-15 --look").out


def test_the_release_sheet_is_written_with_the_same_rows(roof: Any, tmp_path: Path) -> None:
    """A PDF with a line a row, to be signed."""
    pdf = tmp_path / "release.pdf"
    made = roof.ok("form", "release", "A", "--stretch", "0-15", "--pdf", str(pdf), "--json").json
    assert made["rows"] == 1
    assert pdf.read_bytes().startswith(b"%PDF")
    from pypdf import PdfReader

    text = " ".join(" ".join(page.extract_text().split()) for page in PdfReader(pdf).pages)
    assert "Release for the next ply: A" in text
    assert "A2" in text and "probe it" in text and "Released by (inspector)" in text


def test_a_band_of_the_plan_takes_what_lies_between_two_lines(job: Any) -> None:
    """Rows of 39.4 in along x on 60 ft by 20 ft: from y 0 to 6 ft lie side laps 1 (3 ft) and 2 (6.07 ft is out)."""
    job.ok('roof lay "C 60ft x 20ft" --roll-width 39.4in --roll-length 33ft')
    job.ok("cover C --y 0-6ft")
    hidden = {s["name"]: s["flags"] for s in job.ok("roof --json").json["seams"]}
    assert "covered" in hidden["C1"] and hidden["C2"] == []
    assert "covered" in hidden["C1.1"]
    assert "covered in part" in hidden["C2.1"]  # from 3.04 to 6 of 6.07 ft
    job.ok("cover C --x 0-20ft")
    hidden = {s["name"]: s["flags"] for s in job.ok("roof --json").json["seams"]}
    assert "covered in part" in hidden["C5"]


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("cover A1-A3 --stretch 40-50", "laps within these bounds"),
        ("cover A1-A3 --stretch 3", "not a stretch"),
        ("cover A1-A3 --x 0-3", "laps within these bounds"),
        ("cover A1-A3 --x 0-3 --y 0-3", "one of --stretch, --x and --y"),
        ("cover Z1-Z3", "Z1-Z3"),
    ],
)
def test_what_cannot_be_covered_is_refused_in_one_line(roof: Any, line: str, why: str) -> None:
    assert why in roof.refused(line)


@given(a=st.floats(-30, 30), b=st.floats(-30, 30), low=st.floats(-40, 40), wide=st.floats(0, 40))
def test_a_band_takes_the_share_of_a_lap_that_lies_in_it(
    a: float, b: float, low: float, wide: float
) -> None:
    """By sampling the lap at a thousand places."""
    length = max(abs(b - a), 1.0)
    found = along_within(a, b, length, (low, low + wide))
    places = [(n + 0.5) / 1000 for n in range(1000)]
    share = sum(low <= a + t * (b - a) <= low + wide for t in places) / 1000
    got = (found[1] - found[0]) / length if found else 0.0
    assert got == pytest.approx(share, abs=3e-3)


@given(
    walk=st.tuples(st.floats(0, 20), st.floats(0, 20)),
    part=st.tuples(st.floats(0, 20), st.floats(0, 20)),
)
def test_a_walk_after_a_part_was_hidden_counts_for_what_is_left_of_it(
    walk: tuple[float, float], part: tuple[float, float]
) -> None:
    """Before, all of it; after, what does not lie under the next ply."""
    low, high = min(part), max(part)
    walked = min(walk), max(walk)
    before, since, after = (f"2026-06-01T{hour}:00:00+00:00" for hour in (11, 12, 13))
    spells = [Spell(since, None, (low, high))]
    assert in_reach(spells, walked, before, before) == [walked]
    left = total(in_reach(spells, walked, after, after))
    assert left == pytest.approx(total(minus([walked], [(low, high)])), abs=1e-3)
    opened_up = [Spell(since, "2026-06-01T14:00:00+00:00", (low, high))]
    assert total(in_reach(opened_up, walked, after, after)) == left
    assert Bounds().all
