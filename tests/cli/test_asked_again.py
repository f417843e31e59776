"""Asked again a few seconds later, advice is the same: a reading's age counts in whole steps."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

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
