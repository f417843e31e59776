"""Asked again a few seconds later, advice is the same: a reading's age counts in whole steps."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.conftest import ZONE, Weldcal

READ = "conditions --ambient 61F --sheet-temp 74F --wind 5mph"
THIN = "strip record --nozzle 932 --speed 6 --bleed 1/16,1/8,1/8 --bubbling none --bond cold"
STEP_S = 600


def asked(book: Weldcal, moment: datetime) -> dict[str, Any]:
    """The next strip, the best speed and the verdict at a moment."""
    book.clock.moment = moment
    said = book.ok("dial --json").json
    return {name: said[name] for name in ("next_strip", "forecast", "sure", "doubts")}


@settings(max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(step=st.integers(0, 9), first=st.integers(0, STEP_S - 60), later=st.integers(1, 59))
def test_a_few_seconds_later_the_next_strip_is_the_same(
    job: Weldcal, step: int, first: int, later: int
) -> None:
    """On a first morning, after one thin strip; the reading some minutes or two hours old."""
    if not any(entry["kind"] == "strip" for entry in job.entries()):
        job.ok(READ)
        job.ok(THIN)
    read_at = datetime(2026, 6, 1, 7, 0, tzinfo=ZONE)
    moment = read_at + timedelta(seconds=step * STEP_S + first)
    assert asked(job, moment) == asked(job, moment + timedelta(seconds=later))


def test_a_reading_younger_than_ten_minutes_counts_as_made_now(job: Weldcal) -> None:
    """Nine minutes old it is as good as new; an hour old the page says how far the sheet may be."""
    job.ok(READ)
    job.clock.set("07:09")
    assert job.ok("dial --json").json["sheet_unsure_k"] == 0.0
    job.clock.set("08:00")
    assert job.ok("dial --json").json["sheet_unsure_k"] > 2.0


GOOD = "strip record --nozzle 932 --speed {} --bleed {} --bubbling none --bond good"


def crew(job: Weldcal) -> Weldcal:
    """Three mornings of good strips, and one today at 07:20; the sheet read at 07:00."""
    for _day in range(3):
        job.day(f"""
            07:00 {READ}
            07:10 {GOOD.format(8, "1/8,1/8,1/8")}
            07:25 {GOOD.format(7.5, "1/4,1/4,1/4")}
            07:40 {GOOD.format(7, "5/16,5/16,5/16")}
            08:00 {GOOD.format(7.5, "1/4,1/4,1/4")}
            +
        """)
    job.day(f"""
        07:00 {READ}
        07:20 {GOOD.format(7.5, "1/4,1/4,1/4")}
    """)
    return job


def told(book: Weldcal, line: str = "dial") -> str:
    return " ".join(book.ok(line).out.split())


def test_the_first_answer_says_the_same_as_the_second(job: Weldcal) -> None:
    """An hour after the reading the sun may have taken the sheet past its step; nobody need ask twice."""
    crew(job).clock.set("08:00")
    first = told(job)
    assert first.endswith("Read the sheet now: it was read at 07:00. Advice is not a go-ahead.")
    assert told(job) == first


def test_an_old_reading_is_named_as_what_keeps_it_from_being_sure(job: Weldcal) -> None:
    """Not "too few strips": read again it is sure, with no strip more."""
    crew(job).clock.set("07:21")
    assert "SURE ENOUGH" in told(job)
    job.clock.set("09:00")
    assert "NOT SURE: the sheet was read too long ago." in told(job)
    assert "- the sheet was read too long ago" in told(job, "dial --why")
    assert "SURE ENOUGH" in told(job, "now 74F")


def test_a_strip_ages_as_the_question_does(job: Weldcal) -> None:
    """Two minutes after a good strip under the same old reading nothing was read: the sheet is no reason."""
    clear = f"{READ} --sky clear"
    for _day in range(3):
        job.day(f"""
            07:00 {clear}
            07:05 {GOOD.format(8, "1/8,1/8,1/8")}
            07:06 {GOOD.format(7.5, "1/4,1/4,1/4")}
            07:07 {GOOD.format(7, "5/16,5/16,5/16")}
            +
        """)
    job.day(f"""
        07:00 {clear}
        08:40 {GOOD.format(7.5, "1/4,1/4,1/4")}
    """)
    job.clock.set("08:42")
    long = told(job, "dial --why")
    assert "under that sky it is about" in long
    assert "the sheet's temperature" not in long


@pytest.mark.parametrize("minutes", [40, 70, 110])
@pytest.mark.parametrize("recorded", [True, False], ids=["dial first", "board first"])
def test_what_age_alone_moved_is_read_before_a_strip_is_made(
    job: Weldcal, minutes: int, recorded: bool
) -> None:
    """Dial, board and go-ahead agree; read anew as it was, the ordinary advice follows."""
    crew(job)
    job.clock.moment = datetime(2026, 6, 4, 7, 0, tzinfo=ZONE) + timedelta(minutes=minutes)
    if recorded:  # how long a reading holds is the newest advice's
        job.ok("dial --json")
    board, go_ahead = job("board --json").json, job("go-ahead --json").json
    dial = job.ok("dial --json").json
    assert board["do"] == dial["do"]
    assert dial["do"] == "read"
    assert go_ahead["read_first"]
    assert "Read the sheet now: weldcal conditions" in job("go-ahead").out
    assert job.ok("now 74F --json").json["do"] != "read"
    assert job("go-ahead --json").json["read_first"] is False
