"""Small sums that a slip would change unseen: each is reckoned here by hand."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from tests.conftest import Weldcal
from weldcal.reports import chart


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
