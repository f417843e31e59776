"""Times as people type them: which moment each is, on the job's own clock, set forward and back."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest

from weldcal.errors import NotAChoice, NotATime, SkippedTime
from weldcal.records.times import read_beside, read_time, seconds, stamp, zone_name

DENVER = ZoneInfo("America/Denver")


def typed(text: str, now: str = "2026-06-02T10:00:00-06:00") -> str:
    """What is recorded of a time typed at a moment in Denver."""
    return stamp(read_time(text, datetime.fromisoformat(now).astimezone(DENVER), "time"))


@pytest.mark.parametrize(
    ("text", "at"),
    [
        ("07:15", "2026-06-02T07:15:00-06:00"),
        ("7:15:30", "2026-06-02T07:15:30-06:00"),
        (" 7:15 pm ", "2026-06-02T19:15:00-06:00"),
        ("11.30am", "2026-06-02T11:30:00-06:00"),
        ("11 P.M.", "2026-06-02T23:00:00-06:00"),
        ("12am", "2026-06-02T00:00:00-06:00"),
        ("12:05 pm", "2026-06-02T12:05:00-06:00"),
        ("1am", "2026-06-02T01:00:00-06:00"),
        ("0:00", "2026-06-02T00:00:00-06:00"),
        ("yesterday 7:15", "2026-06-01T07:15:00-06:00"),
        ("Ayer 7pm", "2026-06-01T19:00:00-06:00"),
        ("2026-05-30 7:15", "2026-05-30T07:15:00-06:00"),
        ("2026-05-30T7:15 pm", "2026-05-30T19:15:00-06:00"),
        ("2026-01-30 07:15", "2026-01-30T07:15:00-07:00"),  # winter: the offset of that day
        ("2026-05-30T07:15:00Z", "2026-05-30T01:15:00-06:00"),
        ("2026-05-30T07:15:00+02:00", "2026-05-29T23:15:00-06:00"),
        ("1970-01-01 00:00", "1970-01-01T00:00:00-07:00"),
        ("2200-12-31 23:59", "2200-12-31T23:59:00-07:00"),
    ],
)
def test_a_time_typed_is_on_the_jobs_clock(text: str, at: str) -> None:
    """At ten in the morning of 2 June; midnight is 12 am and noon 12 pm, as clocks show it."""
    assert typed(text) == at
    assert seconds(at) == datetime.fromisoformat(at).timestamp()


@pytest.mark.parametrize(
    "text",
    ["noon-ish", "7.15", "7", "24:00", "7:60", "0am", "13 pm", "2026-02-30 7:15", "yesterday soon",
     "1969-12-31 23:59", "2201-01-01 00:00", "1969-12-31T12:00:00+00:00"],
)  # fmt: skip
def test_what_no_clock_shows_is_refused(text: str) -> None:
    """Nor a time outside 1970 to 2200, nor 7.15, which may be any number."""
    with pytest.raises(NotATime):
        typed(text)


@pytest.mark.parametrize(
    ("now", "offset"),
    [
        ("2026-11-01T01:20:00-06:00", "-06:00"),
        ("2026-11-01T01:29:00-07:00", "-06:00"),  # the second 1:30 is still to come
        ("2026-11-01T01:30:00-07:00", "-07:00"),
        ("2026-11-01T09:00:00-07:00", "-07:00"),
    ],
)
def test_of_an_hour_that_came_twice_the_last_one_gone_by(now: str, offset: str) -> None:
    """Clocks in Denver go back from 2:00 to 1:00 on 1 November 2026 (the tz database)."""
    assert typed("1:30", now) == f"2026-11-01T01:30:00{offset}"


def test_an_hour_that_never_came_is_refused_with_what_clocks_did() -> None:
    """Clocks in Denver go forward from 2:00 to 3:00 on 8 March 2026 (the tz database)."""
    for text in ("2026-03-08 2:30", "2026-03-08 2:00"):
        with pytest.raises(SkippedTime) as refused:
            typed(text)
        minute = text[-2:]
        said = str(refused.value)
        assert "2:00" in said and "3:00" in said and f"3:{minute}" in said
    assert typed("2026-03-08 1:59") == "2026-03-08T01:59:00-07:00"
    assert typed("2026-03-08 3:00") == "2026-03-08T03:00:00-06:00"


def test_a_time_beside_a_recorded_one_is_of_its_day() -> None:
    """On the clock of the job, which in winter has another offset."""
    found = read_beside("7:15", "2026-01-30T23:30:00-07:00", "America/Denver", "time")
    assert stamp(found) == "2026-01-30T07:15:00-07:00"
    # Half past midnight in UTC is still the day before in Denver.
    found = read_beside("7:15", "2026-01-31T00:30:00+00:00", "America/Denver", "time")
    assert stamp(found) == "2026-01-30T07:15:00-07:00"


@pytest.mark.parametrize(
    ("text", "name"),
    [
        (" America/Denver ", "America/Denver"),
        ("denver", "America/Denver"),
        ("New  york", "America/New_York"),
        ("madrid", "Europe/Madrid"),
    ],
)
def test_a_zone_is_named_by_its_city(text: str, name: str) -> None:
    """In any case and spacing, where only one zone is named after it (the tz database)."""
    assert zone_name(text) == name


def test_a_city_of_two_zones_is_refused_with_both() -> None:
    """Louisville is one by itself and in Kentucky (the tz database); a place that is none is refused too."""
    with pytest.raises(NotAChoice, match="America/Louisville") as refused:
        zone_name("Louisville")
    assert "America/Kentucky/Louisville" in str(refused.value)
    with pytest.raises(NotAChoice, match="IANA"):
        zone_name("nowhere")
