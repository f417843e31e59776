"""SURE rests on a bond that somebody pulled: a bleed check shows the heat of the moment only.

That a pull alone shows the bond is common practice, no source.
"""

from __future__ import annotations

from typing import Any

import pytest

from tests.conftest import Weldcal

GOOD = "strip record --nozzle 932 --speed {} --bleed {} --bubbling none --bond {}"
READ = "conditions --ambient 61F --sheet-temp 74F --wind 5mph"


@pytest.fixture
def crew(job: Weldcal) -> Weldcal:
    """Four mornings of good strips at 5 and 6 ft/min; today one, pulled, and a seam begun on it."""
    for _day in range(4):
        job.day(f"""
            07:00 {READ}
            07:10 {GOOD.format(5, "5/16,1/4,5/16", "good")}
            07:20 {GOOD.format(6, "1/4,3/16,1/4", "good")}
            +
        """)
    job.day(f"""
        07:00 {READ}
        07:10 {GOOD.format(5.5, "1/4,1/4,1/4", "good")}
        07:30 seam start A1 --nozzle 932 --speed 5.5
        07:40 seam finish A1 --to 33
    """)
    return job


def asked(book: Weldcal, at: str) -> Any:
    book.clock.set(at)
    book.ok(READ)
    return book.ok("dial --json").json


def told(book: Weldcal, line: str = "dial") -> str:
    return " ".join(book.ok(line).out.split())


def test_it_says_since_when_nothing_was_pulled(crew: Weldcal) -> None:
    """After a bleed check, in the three lines and on the long page; not before it."""
    assert asked(crew, "07:41")["sure"]
    assert "last pulled" not in told(crew)
    crew.day("07:42 bleed A1 14 1/4,1/4")
    said = asked(crew, "07:45")
    assert said["sure"]
    seen = said["bond_seen"]
    assert (seen["name"], seen["more_since"]) == ("S9", True)
    assert seen["hour"] == pytest.approx(7 + 1 / 6, abs=0.001)
    assert "Bond last pulled: 07:10." in told(crew)
    assert "Since 07:10 nothing welded was pulled" in told(crew, "dial --why")


def test_five_hours_after_the_last_pull_it_is_not_sure(crew: Weldcal) -> None:
    """As the go-ahead lapses; a job with another number of hours has another."""
    assert "bond_long_ago" not in asked(crew, "12:09")["doubts"]
    late = asked(crew, "12:11")
    assert not late["sure"]
    assert late["doubts"] == ["bond_long_ago"]
    assert "what was last pulled and held was welded too long ago" in told(crew)
    crew.ok("limit set strip_hours_passed 7h --source 'spec 3.5' --by 'Ana Ruiz'")
    assert asked(crew, "12:12")["sure"]


def test_a_sample_that_held_is_a_bond_seen(crew: Weldcal) -> None:
    """It counts from when its place was welded: half way along, at half time."""
    crew.day("08:30 peel A1 16.5 --parted compound")
    said = asked(crew, "12:20")
    assert said["bond_seen"]["name"] == "P1"
    assert said["bond_seen"]["hour"] == pytest.approx(7 + 35 / 60, abs=0.001)
    assert "bond_long_ago" not in said["doubts"]
    assert said["rests_on"]["peel_samples"] == 1
    assert "1 peel sample" in told(crew, "dial --why")
    assert "bond_long_ago" in asked(crew, "12:36")["doubts"]


def test_a_sample_that_parted_at_the_lap_takes_the_certainty_away(crew: Weldcal) -> None:
    """Two are no accident: the surface is what to look at. Three: STOP."""
    crew.day("08:30 peel A1 10 --parted lap")
    said = asked(crew, "08:35")
    assert not said["sure"]
    assert "last_failed_here" in said["doubts"]
    crew.day("08:40 peel A1 20 --parted lap")
    twice = asked(crew, "08:45")
    assert [sign["code"] for sign in twice["signs"]] == ["cold_anyway"]
    crew.day("08:50 peel A1 15 --parted lap")
    assert asked(crew, "08:55")["stop"]
    assert "STOP" in told(crew)


def test_checks_alone_make_nobody_sure(crew: Weldcal) -> None:
    """The next day begins with a strip that nobody pulls."""
    crew.day(f"""
        +
        07:00 {READ}
        07:10 {GOOD.format(5.5, "1/4,1/4,1/4", "'not tried'")}
    """)
    said = asked(crew, "07:15")
    assert not said["sure"]
    assert "bond_not_seen" in said["doubts"]
    crew.day("07:25 strip pull S10 good --parted compound")
    assert asked(crew, "07:26")["sure"]


def test_a_pull_that_parted_clean_did_not_hold(crew: Weldcal) -> None:
    """Called good and parted at the lap: no go-ahead, and nobody is sure of it."""
    crew.day(f"""
        +
        07:00 {READ}
        07:10 {GOOD.format(5.5, "1/4,1/4,1/4", "'not tried'")}
        07:25 strip pull S10 good --parted lap
    """)
    said = asked(crew, "07:26")
    assert {"last_failed_here", "bond_not_seen"} <= set(said["doubts"])
