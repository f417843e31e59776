"""Another sheet taken up at noon, and the first one again: every page says what a start would find.

That a go-ahead is for one sheet is this program's rule.
"""

from __future__ import annotations

from typing import Any

import pytest

MORNING = """
    06:40 sheet add "cap: SBS cap"
    06:42 conditions --ambient 61F --sheet-temp 74F --wind 4mph
    06:45 strip record --sheet base --nozzle 932 --speed 5.5 --bleed 1/4,1/4,1/4,1/4 --bubbling none
    07:00 strip pull S1 good --parted compound
    07:10 seam start A1 --sheet base --nozzle 932 --speed 5.5
    07:18 seam finish A1 --to 33
    07:40 conditions --ambient 62F --sheet-temp 76F --wind 4mph
"""


@pytest.fixture
def two_sheets(job: Any) -> Any:
    """A go-ahead for the base sheet, welded on; then a lap of the cap sheet without one; 07:50."""
    job.day(MORNING)
    job.clock.set("07:42")
    assert "no valid go-ahead" in job.ok("seam start A2 --sheet cap --nozzle 932 --speed 5.5").out
    job.day("""
        07:49 seam finish A2 --to 33
        07:50 conditions --ambient 62F --sheet-temp 76F --wind 4mph
    """)
    return job


def test_the_first_sheets_go_ahead_never_serves_another(two_sheets: Any) -> None:
    """Asked without a sheet, all speak of the one in the machine, and none permits welding."""
    told = two_sheets("go-ahead --json")
    assert (told.code, told.json["level"]) == (1, "strip_again")
    assert two_sheets("go-ahead --sheet cap").code == 1
    board = two_sheets.ok("board --once --json").json
    assert (board["sheet"], board["do"], board["go_ahead"]["level"]) == ("cap", "strip", "none")
    assert "(cap)" in two_sheets.ok("dial").out
    assert "Go-ahead S1 (base) no longer stands: " in two_sheets.ok("day").out


def test_back_on_the_first_sheet_every_page_says_what_the_start_finds(two_sheets: Any) -> None:
    """`go-ahead`, `dial`, `board` and the evening said no, and the start stood on it all the same."""
    told = two_sheets("go-ahead --sheet base --json")
    assert (told.code, told.json["level"]) == (0, "good")
    assert "Weld: go-ahead S1 stands until" in two_sheets.ok("dial --sheet base").out
    board = two_sheets.ok("board --sheet base --once --json").json
    assert (board["do"], board["go_ahead"]["strip"]) == ("weld", "S1")
    evening = two_sheets.ok("evening --json").json["go_aheads"]
    assert evening == [{"name": "S1", "level": "good"}]
    started = two_sheets.ok("seam start A3 --sheet base --nozzle 932 --speed 5.5").out
    assert "It stands on go-ahead S1." in started


def test_what_was_welded_meanwhile_is_still_told(two_sheets: Any) -> None:
    """Over, and listed with what it was welded on."""
    said = " ".join(two_sheets.ok("go-ahead --sheet base").out.split())
    assert "(over): it was for sheet base, this is cap." in said


def test_the_strip_after_the_advice_is_on_the_sheet_it_was_for(job: Any) -> None:
    """Advice for the cap sheet, and the day offered a strip of the base sheet at its speed."""
    job.day(MORNING)
    job.day("12:00 conditions --ambient 75F --sheet-temp 95F\n12:01 dial --sheet cap")
    assert "strip record --sheet cap " in " ".join(job.ok("day").out.split())


def test_the_evening_asks_for_the_pulls_that_the_day_asks_for(job: Any) -> None:
    """One that bled too much is no go-ahead whatever its pull: the day did not ask, the evening did."""
    job.day("""
        07:00 strip record --nozzle 932 --speed 6.5 --bleed 7/16,7/16,7/16 --bubbling none
        07:10 strip record --nozzle 932 --speed 7 --bleed 1/4,1/4,1/4 --bubbling none
    """)
    assert "To be pulled when cold: S2." in job.ok("day").out
    assert job.ok("evening --json").json["first_tomorrow"]["pull"] == ["S2"]


def test_with_two_machines_the_day_says_whose_go_ahead_stands(job: Any) -> None:
    """`Go-ahead S1 stands` stood above a lap that the other machine was welding without one."""
    job.day("""
        06:40 machine add 'red: ft/min 1-20 step 0.5'
        06:45 strip record --machine blue --nozzle 932 --speed 5.5 --bleed 1/4,1/4,1/4 --bubbling none
        07:00 strip pull S1 good --parted compound
        07:10 seam start A2 --machine red --nozzle 932 --speed 5.5
    """)
    said = job.ok("day").out
    assert "Go-ahead S1 (blue) stands: " in said
    assert "Being welded: A2." in said


def test_a_strip_that_waits_for_its_pull_is_asked_for_by_every_page(job: Any) -> None:
    """`go-ahead` asked for another strip, while dial, board and the day asked for the pull."""
    job.day(MORNING)
    job.day("""
        12:00 conditions --ambient 75F --sheet-temp 95F
        12:01 strip record --sheet base --nozzle 932 --speed 7 --bleed 1/4,1/4,1/4,1/4 --bubbling none
        12:05 sheet list
    """)
    told = job("go-ahead")
    assert told.code == 1
    assert told.out.endswith("Pull S2 first, when it is cold: weldcal strip pull S2 good\n")
    assert job("go-ahead --json").json["pull"] == ["S2"]
    assert "Pull S2 first" in job.ok("dial").out
    assert job.ok("board --once --json").json["pull"] == ["S2"]
    assert "To be pulled when cold: S2." in job.ok("day").out


def test_the_next_strip_is_at_one_speed_on_every_page(job: Any) -> None:
    """`go-ahead` named the speed advised, `dial` the one where a strip tells more."""
    job.day(MORNING)
    for at, sheet in (("13:00", "95F"), ("13:05", "110F"), ("13:10", "60F")):
        job.day(f"{at} conditions --ambient 75F --sheet-temp {sheet}")
        told = job.ok("dial --json").json
        first = told["next_strip"] or told
        start = first["speed_m_per_min"] / 0.3048
        assert f"start at {start:g} ft/min" in " ".join(job("go-ahead").out.split())
