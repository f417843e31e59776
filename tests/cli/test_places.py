"""Places along a lap: what a tape cannot tell apart, the end as a place, feet and inches."""

from __future__ import annotations

import csv
import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.conftest import Weldcal
from weldcal.quality.coverage import covers, minus, past_end, to_its_end
from weldcal.quantities import on_tape, parse, tape_typed
from weldcal.records.fields import stretch
from weldcal.reports.show import tape

INCH = 0.0254


@pytest.fixture
def laps(go_ahead: Weldcal) -> Weldcal:
    """Two laps whose lengths no tape reads in tenths of a millimetre, and a go-ahead."""
    go_ahead.clock.set("08:00")
    go_ahead.ok("seam add D1 --length 3.283ft")
    go_ahead.ok("seam add D2 --length 26.885ft")
    return go_ahead


def welded(book: Weldcal, seam: str, to: str) -> Any:
    """What the trace says of a lap welded from 0 to a place."""
    book.ok("seam", "start", seam, "--nozzle", "932", "--speed", "5.5", "--lap", "selvage")
    book.ok("seam", "finish", seam, "--to", to)
    return book.ok("trace", seam, "--json").json


@pytest.mark.parametrize("to", ["3.28", "3.3", "3.21", "3 ft 3 3/8 in", "3'-3 3/8\"", "end"])
def test_a_lap_read_off_a_tape_is_welded_to_its_end(laps: Weldcal, to: str) -> None:
    """3.283 ft on the plan: 3.28, 3.3 and an inch short are its end, and neither is past it."""
    found = welded(laps, "D1", to)
    assert found["state"] == "unprobed"
    assert "past its end" not in found["flags"]


@pytest.mark.parametrize(
    ("to", "state", "past"), [("3.1", "in work", False), ("3.5", "unprobed", True)]
)
def test_two_inches_short_is_in_work_and_two_inches_more_is_past_it(
    laps: Weldcal, to: str, state: str, past: bool
) -> None:
    found = welded(laps, "D1", to)
    assert (found["state"], "past its end" in found["flags"]) == (state, past)


def test_the_tolerance_is_a_limit_of_the_job(laps: Weldcal) -> None:
    """A job that reads its tapes to 1/4 in: 3/8 in short is not the end."""
    laps.ok('limit set site_tolerance 1/4in --source "site rules, 2 June" --by AR')
    assert welded(laps, "D1", "3.25")["state"] == "in work"


def test_a_tolerance_adopted_later_judges_only_what_is_done_later(laps: Weldcal) -> None:
    """Work of before stands as it stood, in every page; work since is judged by the new one."""
    laps.day("""
        08:05 seam start D1 --nozzle 932 --speed 5.5 --lap selvage
        08:09 seam finish D1 --to 3.21
        08:10 seam start D2 --nozzle 932 --speed 5.5 --lap selvage
        08:14 seam finish D2 --to 26.95
        08:30 probe walk D1 0.05-3.2 --void 1+2in --by BO
        08:40 mend F1 --method patch --place 1.03-1.13
    """)
    pages = ("roof --json", "faults --json", "doubt --json", "trace D1 --json", "trace D2 --json")
    before = [laps.ok(page).json for page in pages]
    laps.clock.set("09:00")
    laps.ok('limit set site_tolerance 1/16in --source "site rules, 2 June" --by AR')
    assert [laps.ok(page).json for page in pages] == before
    assert laps.seam("D1")["open"] == []
    laps.day("""
        09:10 seam add D3-D4 --length 3.283ft
        09:11 seam start D3 --nozzle 932 --speed 5.5 --lap selvage
        09:14 seam finish D3 --to 3.21
    """)
    assert laps.seam("D3")["state"] == "in work"
    laps.ok("seam start D4 --nozzle 932 --speed 5.5 --lap selvage --at 08:20")
    laps.ok("seam finish D4 --to 3.21 --at 08:24")
    assert laps.seam("D4")["state"] == "unprobed"


def test_the_guided_day_offers_no_lap_that_a_tape_says_is_welded(laps: Weldcal) -> None:
    """What is to weld next is asked of the same rule as the state."""
    welded(laps, "D1", "3.25")
    assert laps.ok("trace D1 --json").json["state"] == "unprobed"
    from weldcal.book import Book

    with_book = Book(laps.book, clock=laps.clock)
    assert [lap.seam for lap in with_book.days.view("operator").to_weld] == ["A1", "A2", "A3", "D2"]
    with_book.close()


def test_end_is_a_place_at_every_command(laps: Weldcal) -> None:
    """Finish, bleed check, walk, finding, peel, mend: kept as typed, with the listed length."""
    welded(laps, "D2", "end")
    laps.ok("bleed D2 end 3/16")
    laps.clock.set("10:00")
    laps.ok("probe walk D2 0-end --by BO")
    laps.ok("probe walk D2 end-0 --by BO")
    laps.ok("finding D2 scorched 26-end --by BO")
    laps.ok("finding D2 blister end --by BO")
    laps.ok("mend F1 --method patch --place 25-end")
    laps.ok("peel D2 end --parted compound --line-load 20lbf/in --by BO")
    for table, column in (
        ("runs", "end_m"),
        ("bleeds", "at_m"),
        ("walks", "end_m"),
        ("findings", "end_m"),
        ("mends", "end_m"),
        ("peels", "at_m"),
    ):
        (row, *_rest) = laps.query(f"SELECT {column} FROM {table} ORDER BY tick")
        assert row[column] == pytest.approx(26.885 * 0.3048)
    (entry,) = laps.query("SELECT body FROM entries WHERE kind = 'run-finish'")
    assert json.loads(entry["body"])["payload"]["end"] == {
        "text": "end",
        "number": str(Fraction("26.885")),
        "unit": "ft",
    }


def test_the_end_of_a_lap_nobody_measured_is_asked_for(laps: Weldcal) -> None:
    """One plain line, nothing kept."""
    laps.ok("seam add B1")
    laps.ok("seam start B1 --nozzle 932 --speed 5.5")
    said = laps.refused("seam finish B1 --to end")
    assert said.strip() == (
        "weldcal: The end of B1 is not known here: no length is listed for it. "
        "Type the distance, like 33ft."
    )


def test_end_in_a_line_in_words(laps: Weldcal) -> None:
    """Shown as a tape reads it before anybody says yes."""
    welded(laps, "D2", "end")
    laps.clock.set("10:00")
    done = laps.ok('probe D2 "sound to end, void 14.5 3in" --by BO --yes')
    assert "0 ft to its end (26 ft 10 5/8 in)" in " ".join(done.out.split())
    done = laps.ok('probe D2 "sound hasta el final" --by BO --yes')
    assert "its end (26 ft 10 5/8 in)" in " ".join(done.out.split())
    done = laps.ok('probe D2 "sound 0 to 26 ft 10 5/8 in" --by BO --yes')
    assert "0 ft to 26 ft 10 5/8 in" in " ".join(done.out.split())
    walks = laps.query("SELECT end_m FROM walks ORDER BY tick")
    assert [row["end_m"] for row in walks] == pytest.approx([8.1945, 8.1945, 8.194675], abs=1e-4)


def test_end_in_a_sheet(laps: Weldcal, tmp_path: Path) -> None:
    """A cell `end` is the listed length; where none is listed the cell is refused, nothing kept."""
    welded(laps, "D2", "end")
    sheet = tmp_path / "probes.csv"
    with sheet.open("w", newline="") as file:
        csv.writer(file).writerows(
            [
                ["Seam", "From", "To", "By", "Date", "End time"],
                ["D2", "0", "end", "BO", "2026-06-01", "10:00"],
            ]
        )
    laps.clock.set("11:00")
    laps.ok("probe", "load", str(sheet), "--yes")
    (walk,) = laps.query("SELECT end_m FROM walks")
    assert walk["end_m"] == pytest.approx(26.885 * 0.3048)
    with sheet.open("a", newline="") as file:
        csv.writer(file).writerow(["Q9", "0", "fin", "BO", "2026-06-01", "10:30"])
    said = laps("probe", "load", str(sheet), "--yes")
    assert said.code == 2
    assert "Q9" in said.out + said.err and "no length is listed" in said.out + said.err
    assert len(laps.query("SELECT id FROM walks")) == 1


def test_a_tape_reads_feet_and_inches_everywhere_it_is_read(laps: Weldcal) -> None:
    """26 ft 10 5/8 in, not 26.89 ft."""
    welded(laps, "D2", "26'10-5/8\"")
    for page in ("trace D2", "roof"):
        shown = " ".join(laps.ok(page).out.split())
        assert "26 ft 10 5/8 in" in shown
        assert "26.89" not in shown.replace("26.89 ft welded", "")  # a total is no reading


@given(eighths=st.integers(0, 8 * 12 * 400))
def test_what_is_shown_of_a_tape_can_be_typed_again(eighths: int) -> None:
    """Both forms, the one shown and the one offered to be typed, mean the same place to 1/16 in."""
    metres = eighths / 8 * INCH
    for text in (tape(metres, "us"), tape_typed(metres, "us")):
        read = parse(text, "length", "ft", name="place")
        assert abs(read.si("m") - metres) <= INCH / 16 + 1e-9
        assert len(stretch(f"0-{text}", "us")) == 2 if " " not in text else True
    feet, inches = on_tape(metres)
    assert 0 <= inches < 12 and feet * 12 + inches == Fraction(eighths, 8)


STRETCHES = st.lists(
    st.tuples(st.floats(0, 20), st.floats(0, 20)).map(lambda p: (min(p), max(p))), max_size=6
)


@given(stretches=STRETCHES, taken=STRETCHES, slack=st.floats(0, 0.2))
def test_slack_only_ever_leaves_out_what_lies_beside_something_taken(
    stretches: list[tuple[float, float]], taken: list[tuple[float, float]], slack: float
) -> None:
    """What is left with slack is left without; what is longer than the slack is always left."""
    exact, loose = minus(stretches, taken), minus(stretches, taken, slack)
    assert set(loose) <= set(exact)
    assert all(one in loose for one in exact if one[1] - one[0] > slack + 2e-4)
    if not taken:
        assert loose == exact


@pytest.mark.parametrize(
    ("welded_m", "done"),
    [
        ([(0.0, 9.99)], True),
        ([(0.02, 10.02)], True),
        ([(0.0, 4.99), (5.0, 10.0)], True),
        ([(0.0, 9.97)], False),
        ([(0.03, 10.0)], False),
        ([(0.0, 4.0), (4.05, 10.0)], False),
    ],
)
def test_one_rule_says_welded_to_its_end(welded_m: list[tuple[float, float]], done: bool) -> None:
    assert to_its_end(welded_m, 10.0, INCH) is done


def test_a_small_void_away_from_a_walk_is_never_slack() -> None:
    """1/4 in long and a foot away: no walk has covered it."""
    assert not covers([(0.0, 3.0)], (3.3, 3.306), INCH)
    assert covers([(0.0, 3.0)], (3.0, 3.006), INCH)
    assert past_end(10.03, 10.0, INCH) and not past_end(10.02, 10.0, INCH)


@pytest.mark.parametrize(
    ("typed", "ends"),
    [
        ("0-26'-10\"", (0.0, 26 + 10 / 12)),
        ("14'-6\"-15'-3 1/2\"", (14.5, 15 + 3.5 / 12)),
        ("0ft-2in", (0.0, 2 / 12)),
        ("3'-4'", (3.0, 4.0)),
        ("3-4", (3.0, 4.0)),
        ("14ft6in to 20ft", (14.5, 20.0)),
    ],
)
def test_a_stretch_between_tape_readings(typed: str, ends: tuple[float, float]) -> None:
    found = stretch(typed, "us")
    assert tuple(q.si("m") / 0.3048 for q in found) == pytest.approx(ends)
