"""Control charts against the NIST/SEMATECH e-Handbook, and how often they cry wolf."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from weldcal.quality.charts import EWMA_WEIGHT, EWMA_WIDTH, ewma, individuals, rounded_sigma

# NIST/SEMATECH e-Handbook 6.3.2.2 (data from memory, arithmetic recomputed).
FLOW = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
# The same, 6.3.2.4: target 50, s 2.0539, weight 0.3.
EWMA_DATA = [
    52,
    47,
    53,
    49.3,
    50.1,
    47,
    51,
    50.1,
    51.2,
    50.5,
    49.6,
    47.6,
    49.9,
    51.3,
    47.8,
    51.2,
    52.6,
    52.4,
    53.6,
    52.1,
]


def test_the_individuals_chart_of_the_handbook() -> None:
    """Mean 50.81, mean moving range 1.8778, limits 45.8159 and 55.8041; all in control."""
    chart = individuals(FLOW)
    assert chart.centre == pytest.approx(50.81)
    assert chart.moving_range == pytest.approx(1.8778, abs=5e-5)
    assert (chart.low, chart.high) == pytest.approx((45.8159, 55.8041), abs=5e-4)
    assert chart.out == () and chart.first_out is None


def test_the_ewma_chart_of_the_handbook() -> None:
    """Averages and limits 47.4115 and 52.5884 as printed; all in control."""
    chart = ewma(EWMA_DATA, 50, 2.0539, weight=0.3, width=3.0, steady=True)
    first = [50.60, 49.52, 50.56, 50.18, 50.16, 49.21]
    assert chart.averages[:6] == pytest.approx(first, abs=6e-3)
    assert chart.averages[-3:] == pytest.approx([51.23, 51.94, 51.99], abs=6e-3)
    assert (chart.low[0], chart.high[0]) == pytest.approx((47.4115, 52.5884), abs=1e-3)
    assert chart.out == ()


@pytest.mark.parametrize(
    ("weight", "width"),
    [
        (0.05, 2.32),
        (0.1, 2.55),
        (0.15, 2.65),
        (0.2, 2.72),
        (0.25, 2.76),
        (EWMA_WEIGHT, EWMA_WIDTH),  # the program's own
    ],
)
def test_ewma_widths_give_the_published_time_between_false_alarms(
    weight: float, width: float
) -> None:
    """Crowder 1989: an average of 250 points, here by a Markov chain (Brook & Evans 1972)."""
    half = width * math.sqrt(weight / (2 - weight))
    edges = np.linspace(-half, half, 202)
    middles = (edges[:-1] + edges[1:]) / 2
    stay = (1 - weight) * middles[:, None]
    moves = norm.cdf((edges[None, 1:] - stay) / weight) - norm.cdf(
        (edges[None, :-1] - stay) / weight
    )
    length = np.linalg.solve(np.eye(201) - moves, np.ones(201))[100]
    assert length == pytest.approx(250, rel=0.02)


def test_our_ewma_alarms_as_rarely_as_published() -> None:
    """400 charts with steady limits until the first alarm: 250 points on average, ± 3 errors."""
    rng = random.Random(7)
    lengths = []
    for _ in range(400):
        values = [rng.gauss(0, 1) for _ in range(2500)]
        first = ewma(values, 0, 1, steady=True).first_out
        lengths.append(2500 if first is None else first + 1)
    mean = sum(lengths) / len(lengths)
    assert abs(mean - 250) < 3 * 250 / math.sqrt(400)


def test_a_slow_cooling_is_caught_by_the_ewma_first() -> None:
    """A shift of one sigma: inside the limits of single readings, outside those of the average."""
    values = [6.0, 5.6, 6.4, 5.9, 6.1, 5.0, 5.4, 4.8, 5.3, 4.9, 5.2, 5.0, 5.1, 4.9]
    assert individuals(values, centre=6.0, sigma=0.9).first_out is None
    first = ewma(values, 6.0, 0.9).first_out
    assert first is not None and first >= 5


def test_one_step_from_a_steady_reading_is_no_alarm_and_three_are() -> None:
    """Readings all 4/16, then one of 5/16: it may have been 4.5; one of 7/16 cannot."""
    strip = [4.0] * 5
    assert individuals([*strip, 5.0], centre=4.0, sigma=0.01, step=1.0).first_out is None
    assert individuals([*strip, 7.0], centre=4.0, sigma=0.01, step=1.0).first_out == 5
    assert individuals(strip, step=1.0).coarse


@pytest.mark.parametrize(("steps", "coarse"), [(3.6, True), (4.4, False)])
def test_a_step_is_coarse_where_fewer_than_four_fit_between_the_limits(
    steps: float, coarse: bool
) -> None:
    """Six sigma of the readings and of rounding together: 6 * hypot(s, 1/sqrt 12) is so many steps."""
    sigma = math.sqrt((steps / 6) ** 2 - 1 / 12)
    found = individuals([10.0, 10.0], centre=10.0, sigma=sigma, step=1.0)
    assert found.low is not None and found.high is not None
    assert found.high - found.low == pytest.approx(steps)
    assert found.coarse is coarse


@pytest.mark.parametrize("sigma", [0.1, 0.3, 0.5, 1.0, 2.0])
def test_rounding_makes_no_false_alarms(sigma: float) -> None:
    """Spread from a tenth of a step to two: single points under 0.5 %, charts of 20 under 15 %.

    Without a step at all, an EWMA with settling limits alarms in about one chart of ten.
    Measured by simulation, seed and sizes as below.
    """
    rng = random.Random(3)
    points = charts = 0
    for _ in range(400):
        offset = rng.random()
        strip = [float(round(rng.gauss(offset, sigma))) for _ in range(200)]
        told = individuals(strip, step=1.0)
        assert told.sigma is not None and told.moving_range is not None
        seam = [float(round(rng.gauss(offset, sigma))) for _ in range(20)]
        own = max(told.moving_range / 1.128, 1e-9)
        points += len(individuals(seam, centre=told.centre, sigma=own, step=1.0).out)
        charts += bool(ewma(seam, told.centre, own, step=1.0).out)
    assert points / 8000 < 0.005
    assert charts / 400 < 0.15


def test_rounding_hides_no_real_change() -> None:
    """Readings that spread by half a step and move by four are seen at once, nearly always."""
    rng = random.Random(4)
    seen = 0
    for _ in range(300):
        strip = [float(round(rng.gauss(4.3, 0.5))) for _ in range(20)]
        told = individuals(strip, step=1.0)
        seen += bool(
            told.moving_range
            and individuals(
                [float(round(rng.gauss(8.3, 0.5)))],
                centre=told.centre,
                sigma=told.moving_range / 1.128,
                step=1.0,
            ).out
        )
    assert seen / 300 > 0.95


@given(st.lists(st.floats(-100, 100), min_size=2, max_size=30), st.floats(-50, 50))
def test_a_chart_moved_is_the_same_chart(values: list[float], by: float) -> None:
    """Adding a constant to every reading moves centre and limits and alarms nothing new."""
    here, there = individuals(values), individuals([value + by for value in values])
    assert there.centre == pytest.approx(here.centre + by, abs=1e-6)
    assert there.sigma == pytest.approx(here.sigma, abs=1e-6)


@given(st.lists(st.integers(0, 12), min_size=1, max_size=30), st.floats(0.1, 3))
def test_a_coarser_step_never_adds_an_alarm(values: list[int], sigma: float) -> None:
    """What cannot be told apart is not called different."""
    numbers = [float(value) for value in values]
    fine = individuals(numbers, centre=6.0, sigma=sigma)
    coarse = individuals(numbers, centre=6.0, sigma=sigma, step=1.0)
    assert set(coarse.out) <= set(fine.out)


@given(
    st.lists(st.floats(1.0, 50.0), min_size=2, max_size=20),
    st.sampled_from([0.25, 1 / 3, 25.4]),
    st.sampled_from([0.0, 0.5, 2.0, 8.0]),
)
def test_a_chart_in_another_unit_is_the_same_chart(
    values: list[float], times: float, step: float
) -> None:
    """Limits go with the unit; what is out, and whether the step is coarse, does not."""
    plain = individuals(values, step=step)
    other = individuals([v * times for v in values], step=step * times)
    assert (other.out, other.coarse) == (plain.out, plain.coarse)
    for name in ("centre", "moving_range", "sigma", "low", "high"):
        assert getattr(other, name) == pytest.approx(getattr(plain, name) * times)
    assert plain.high is not None and plain.low is not None
    if step:  # fewer than four possible readings between the limits
        assert plain.coarse is ((plain.high - plain.low) / step < 4)
    else:
        assert not plain.coarse
    one, two = (
        ewma([v * k for v in values], 20.0 * k, 3.0 * k, step=step * k) for k in (1.0, times)
    )
    assert two.out == one.out
    assert two.averages == pytest.approx([v * times for v in one.averages])
    assert two.low == pytest.approx([v * times for v in one.low])


@given(st.floats(0.05, 1.0), st.integers(1, 30))
def test_an_averages_limits_are_its_own_spread(weight: float, count: int) -> None:
    """z_n = sum of w(1 - w)^k x: of independent readings its variance is the sum of the squares."""
    found = ewma([0.0] * count, 0.0, 2.0, weight=weight, width=3.0)
    variance = 0.0
    for n in range(count):
        variance += (weight * (1 - weight) ** n) ** 2
        assert found.high[n] == pytest.approx(3.0 * 2.0 * math.sqrt(variance), rel=1e-9)
        assert found.low[n] == -found.high[n]


def test_one_value_has_no_limits_of_its_own() -> None:
    """Nothing tells its spread."""
    chart = individuals([6.0])
    assert (chart.sigma, chart.low, chart.out) == (None, None, ())
    assert rounded_sigma(0.0, 1.0) == pytest.approx(1 / math.sqrt(12))


def test_what_cannot_be_charted_is_refused() -> None:
    """No values, no weight, no spread."""
    with pytest.raises(ValueError, match="values"):
        individuals([])
    with pytest.raises(ValueError, match="weight"):
        ewma([1.0], 0.0, 1.0, weight=0.0)
    with pytest.raises(ValueError, match="sigma"):
        ewma([1.0], 0.0, 0.0)
