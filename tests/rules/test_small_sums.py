"""Small sums that a slip would change unseen: each is reckoned here by hand."""

from __future__ import annotations

import json
from types import SimpleNamespace

import pytest

from tests.conftest import STRIP, Weldcal
from weldcal.reports import chart
from weldcal.rules.on_seam import about_m
from weldcal.tables import columns


@pytest.mark.parametrize(("time", "hour"), [("07:00", 7.0), ("07:15", 7.25), ("12:40", 12.6667)])
def test_the_hour_of_a_run_counts_its_minutes(go_ahead: Weldcal, time: str, hour: float) -> None:
    """Sixty minutes to an hour."""
    go_ahead.clock.set(time)
    go_ahead.ok("seam start A1 --nozzle 932 --speed 5.5")
    (row,) = go_ahead.query("SELECT hour FROM runs")
    assert row["hour"] == pytest.approx(hour, abs=1e-4)


@pytest.mark.parametrize(
    ("speed", "expected"),
    [(1.0, (4.0, 2.0, 8.0)), (1.5, (5.0, 2.5, 10.0)), (1.75, (5.5, 2.75, 11.0)), (2.0, (6, 3, 12))],
)
def test_the_chart_draws_a_straight_line_between_two_speeds(
    speed: float, expected: tuple[float, float, float]
) -> None:
    """Halfway in speed is halfway in each width."""
    forecasts = [
        SimpleNamespace(speed_m_per_min=s, width_mm=m, width_low_mm=low, width_high_mm=high)
        for s, m, low, high in ((1.0, 4.0, 2.0, 8.0), (2.0, 6.0, 3.0, 12.0))
    ]
    assert chart._at(forecasts, speed) == pytest.approx(expected)


@pytest.mark.parametrize(("said", "kept"), [(True, 1), (False, 0), (None, None)])
def test_yes_no_and_nobody_said_are_three_things(said: bool | None, kept: int | None) -> None:
    """In a column of a table."""
    assert columns.flag(said) == kept


@pytest.mark.parametrize(
    ("by", "marked"), [("Ana Ruiz", []), ("Ben Okoro", ["pull entered by another"])]
)
def test_a_pull_is_marked_where_another_entered_it(
    job: Weldcal, by: str, marked: list[str]
) -> None:
    """Ana Ruiz types; and at once, so nothing is late."""
    job.ok(STRIP)
    job.ok("strip", "pull", "S1", "good", "--by", by)
    (row,) = job.query("SELECT flags FROM strips")
    assert json.loads(row["flags"]) == marked


@pytest.mark.parametrize(
    ("start", "speed", "minutes", "end", "about"),
    [
        (1.0, 1.5, 4.0, 10.0, 7.0),
        (1.0, 1.5, 6.0, 10.0, 10.0),
        (1.0, 1.5, 9.0, 10.0, 10.0),
        (1.0, 1.5, 9.0, None, 14.5),
        (1.0, 1.5, 0.0, None, 1.0),
        (10.0, 1.5, 4.0, 10.0, None),  # comes back from the far end
        (1.0, None, 4.0, 10.0, None),
        (1.0, 1.5, -1.0, None, None),
    ],
)
def test_a_lap_in_work_has_come_as_far_as_its_speed_carries_it(
    start: float, speed: float | None, minutes: float, end: float | None, about: float | None
) -> None:
    """Metres and m/min; no further than the lap's end, and no answer where it cannot be known."""
    assert about_m(start, speed, minutes, end) == about
