"""Days and hours of a go-ahead: a new day, a night shift, clock changes, and limits that the job adopted."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from tests.cli.go_aheads import SET, STRIP, asked, level, rules, said


def test_limits_the_job_adopted_change_the_rule_and_name_their_source(passed: Any) -> None:
    """9 °F is 5 K: from here on a strip, where the default was 10 K."""
    passed.day("07:30 conditions --ambient 72F\n07:45 conditions --ambient 72F")
    assert level(passed, "07:46") == "look"
    passed.ok('limit set strip_ambient_moved 9 --source "maker sheet 12, rev 4" --by AR')
    assert level(passed, "07:47") == "strip_again"
    assert "Rule: maker sheet 12, rev 4" in said(passed)
    passed.ok('limit set strip_ambient_moved 20K --source "maker sheet 12, rev 5" --by AR')
    assert level(passed, "07:48") == "look"


def test_hours_of_the_job(passed: Any) -> None:
    """Two hours instead of five."""
    passed.ok('limit set strip_hours_passed 2 --source "contract 7.3" --by AR')
    assert level(passed, "08:59") == "good"
    assert level(passed, "09:01") == "strip_again"


@pytest.mark.parametrize(
    "words",
    [
        "strip_ambient_moved warm",
        "strip_hours_passed -1",
        "strip_voltage_moved 900",
        "strip_new_day 1",
    ],
)
def test_a_limit_that_cannot_be_is_refused(passed: Any, words: str) -> None:
    """Exit code 2, nothing recorded."""
    before = passed.entries()
    assert passed("limit", "set", *words.split(), "--source", "x").code == 2
    assert passed.entries() == before


def test_the_rules_numbers_are_listed_with_their_sources(job: Any) -> None:
    """Each says where it comes from, and that it is a default."""
    listed = {row["name"]: row for row in job.ok("limit list --json").json}
    assert float(listed["strip_hours_passed"]["value"]) == 5
    for name in ("look_ambient_moved", "strip_wind_moved", "strip_stopped", "look_travel_speed"):
        assert listed[name]["source"]
        assert listed[name]["adopted_by"] is None


def test_a_new_day_calls_for_a_strip_since_its_beginning(passed: Any) -> None:
    """Not since somebody asked."""
    passed.ok('limit set strip_hours_passed 40 --source "contract 7.3" --by AR')
    passed.clock.set("06:30", days=1)
    told = said(passed)
    assert told.startswith("STRIP AGAIN")
    (new_day,) = (t for t in asked(passed).json["triggers"] if t["code"] == "new_day")
    assert datetime.fromtimestamp(new_day["since_s"], UTC) == datetime(2026, 6, 2, 6, tzinfo=UTC)
    assert "it was of another day (2026-06-01)" in told


def test_what_began_on_another_day_says_which(passed: Any) -> None:
    """`since 08:35` of yesterday is not of today."""
    passed.day("07:35 seam finish A1 --to 33")
    passed.clock.set("06:30", days=1)
    assert "06-01 08:35" in said(passed)


def at_night(weldcal: Any, begins: str) -> Any:
    """A job whose strip passed at 22:00."""
    weldcal.ok(
        f'job new Night --units us --zone America/Denver {begins} --sheet "base: x" --machine "blue: ft/min" --person "Ana Ruiz: AR"'
    )
    weldcal.ok("me AR")
    weldcal.day(
        f"22:00 {STRIP}\n22:20 strip pull S1 good --parted compound\n22:25 seam start A1 {SET}"
    )
    weldcal.clock.set("00:30", days=1)
    return weldcal


def test_midnight_ends_the_day_of_a_day_shift(weldcal: Any) -> None:
    """Half an hour after it."""
    at_night(weldcal, "")
    assert ("new_day", "strip_again") in rules(weldcal)
    assert "WARNING" in weldcal.ok(f"seam start A2 {SET}").out


def test_midnight_ends_nothing_of_a_night_shift(weldcal: Any) -> None:
    """The job's day begins at noon."""
    at_night(weldcal, "--day-begins 12")
    assert rules(weldcal) == set()
    assert "It stands on go-ahead S1" in weldcal.ok(f"seam start A2 {SET}").out
    weldcal.clock.set("12:30")
    assert ("new_day", "strip_again") in rules(weldcal)


CLOCKS = [  # US clock changes of 2026 (IANA tz): 8 March 02:00, 1 November 02:00
    ("an hour that comes twice", datetime(2026, 11, 1, 6, 30, tzinfo=UTC), 2.5, "good"),
    ("an hour that comes twice", datetime(2026, 11, 1, 6, 30, tzinfo=UTC), 3.1, "look"),
    ("an hour left out", datetime(2026, 3, 8, 8, 0, tzinfo=UTC), 2.5, "good"),
    ("an hour left out", datetime(2026, 3, 8, 8, 0, tzinfo=UTC), 5.1, "strip_again"),
]


@pytest.mark.parametrize(("what", "start", "hours", "expected"), CLOCKS)
def test_hours_are_counted_not_read_off_the_clock(
    job: Any, what: str, start: datetime, hours: float, expected: str
) -> None:
    """Over both clock changes."""
    assert what
    job.clock.moment = start
    job.ok(STRIP)
    job.clock.moment = start + timedelta(minutes=12)
    job.ok("strip pull S1 good --parted compound")
    job.clock.moment = start + timedelta(hours=hours)
    assert asked(job).json["level"] == expected
