"""What is kept of advice: all that was asked and answered, and from what age a reading asks anew.

What is kept and the age are this program's rules.
"""

from __future__ import annotations

import json

import pytest

from tests.conftest import Weldcal
from weldcal.book import Book
from weldcal.book.observing import read_hour


def test_advice_is_kept_whole(go_ahead: Weldcal) -> None:
    """Floats as texts, however deep: all of the forecast, and each strip it rests on."""
    go_ahead.clock.set("07:10")
    said = go_ahead.ok("dial --json").json
    (row,) = go_ahead.query("SELECT question, answer FROM advice")
    question, answer = json.loads(row["question"]), json.loads(row["answer"])
    assert (question["machine"], question["sheet"]) == ("blue", "base")
    assert answer["forecast"] == {name: repr(part) for name, part in said["forecast"].items()}
    names = [reason["values"]["name"] for reason in answer["reasons"]]
    assert names == ["S1"] == [reason["values"]["name"] for reason in said["reasons"]]


@pytest.mark.parametrize(
    ("read_at", "hour"),
    [
        (None, None),
        ("2026-06-01T09:55:00-06:00", None),
        ("2026-06-01T09:45:00-06:00", 10 - 1 / 6),
        ("2026-06-01T08:00:00-06:00", 8.0),
        ("2026-05-31T22:00:00-06:00", -2.0),
    ],
)
def test_the_hour_of_a_reading_carried_over(read_at: str | None, hour: float | None) -> None:
    """At ten: of one younger than ten minutes, and of none, there is no other hour."""
    found = read_hour(read_at, "2026-06-01T10:00:00-06:00", 10.0)
    assert found == (None if hour is None else pytest.approx(hour))


def test_a_reading_counts_as_long_as_the_jobs_limit_says(go_ahead: Weldcal) -> None:
    """Two hours, where the job sets no other."""
    book = Book(go_ahead.book, clock=go_ahead.clock)
    try:
        assert book.advising.reading_counts_h() == 2.0
    finally:
        book.close()
