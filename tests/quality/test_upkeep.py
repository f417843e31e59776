"""When a look is due, and where a leak stands."""

from __future__ import annotations

from datetime import date

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from weldcal.quality.upkeep import CLOSED, SEARCH, months_after, stage


@given(st.dates(date(1971, 1, 1), date(2190, 1, 1)), st.integers(0, 60))
def test_months_are_counted_as_a_library_counts_them(day: date, months: int) -> None:
    """Against dateutil's relativedelta."""
    assert months_after(day, months) == day + relativedelta(months=months)


STEP = st.sampled_from([("found", None), ("mended", None), ("looked", True), ("looked", False)])


@given(st.lists(STEP))
def test_only_a_dry_look_right_after_a_mend_closes_a_leak(steps: list[tuple[str, bool]]) -> None:
    """And a wet look always opens it again."""
    closed = stage(steps) == CLOSED
    if closed:
        assert steps[-1] == ("looked", True)
        told = [step for step in steps if step != ("looked", True)]
        assert told[-1][0] == "mended"
    if steps and steps[-1] == ("looked", False):
        assert stage(steps) == SEARCH


@pytest.mark.parametrize("day", [date(2024, 2, 29)])
def test_a_leap_day_is_due_on_the_last_of_february(day: date) -> None:
    """A year later."""
    assert months_after(day, 12) == date(2025, 2, 28)
