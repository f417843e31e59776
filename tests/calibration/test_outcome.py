"""What a setting gives, one draw at a time, against MODEL.md's formulas written out anew."""

from __future__ import annotations

from dataclasses import astuple
from math import exp, log, pi, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldcal.calibration import Window
from weldcal.calibration.features import Features, Levels
from weldcal.calibration.layout import ParameterLayout
from weldcal.calibration.outcome import Outcomes, between, forecasts, outcomes, strip_noise
from weldcal.calibration.posterior import Draws

LIMITS = (3.175, 6.35, 9.525)
JUDGED = ParameterLayout(Levels(("cap", "base"), ("M1",)), True)
UNJUDGED = ParameterLayout(Levels(("cap", "base"), ("M1",)), False)


def _draw(layout: ParameterLayout, t: float, s: float, strip: float, **named: float) -> Draws:
    """One draw; coefficients by name (`__` for the colon), the rest 0."""
    u = np.zeros((1, len(layout.names)))
    for name, value in named.items():
        u[0, layout.names.index(name.replace("__", ":"))] = value
    return Draws(u, np.array([t]), np.array([s]), np.array([strip]), np.array([0.07]))


def _asked(layout: ParameterLayout, sheet: int, unread: float) -> Features:
    """A question on a sheet: the intercept alone, and what was not read."""
    x = np.zeros((1, layout.linear))
    x[0, 0] = 1.0
    return Features(x, np.array([sheet]), np.array([20.0]), np.array([unread]), np.array([np.nan]))


def _logistic(x: float) -> float:
    return 1.0 / (1.0 + exp(-x))


@given(
    day=st.floats(-0.4, 0.4),
    drift=st.floats(-1.0, 1.0),
    stale=st.floats(-0.2, 0.2),
    unread=st.sampled_from([0.0, 0.0025, 0.01]),
    speed=st.floats(1.0, 3.0),
    steep=st.floats(0.8, 6.0),
    bent=st.sampled_from([-0.3, 0.15, 0.6]),
    sheet=st.sampled_from([0, 1]),
    trace_ok=st.booleans(),
    judged=st.booleans(),
)
def test_one_draw_gives_what_the_model_page_says(
    day: float,
    drift: float,
    stale: float,
    unread: float,
    speed: float,
    steep: float,
    bent: float,
    sheet: int,
    trace_ok: bool,
    judged: bool,
) -> None:
    """Width, its scatter and the chances, by the formulas of MODEL.md and none of the code."""
    layout = JUDGED if judged else UNJUDGED
    name = ("cap", "base")[sheet]
    own = {"cap": 0.05, "base": -0.04}
    draws = _draw(
        layout,
        day,
        drift,
        0.12,
        intercept=0.55,
        curvature=bent,
        trace_at=log(0.3),
        heavy_gap=log(0.12),
        cold_at=log(0.45),
        bubbling_blur=log(0.06),
        cold_blur=log(0.07),
        bubbling__cap=own["cap"],
        bubbling__base=own["base"],
        **{f"elasticity__{name}": log(steep)},
    )
    window = Window(*LIMITS, by_bleed_out=judged, trace_ok=trace_ok)
    found = outcomes(
        draws,
        layout,
        _asked(layout, sheet, unread),
        np.array([0.03]),
        np.array([log(speed)]),
        window,
        0.13,
        np.array([stale]),
    )
    of_the_day = day + drift * 0.03
    z = 0.55 + stale + of_the_day - log(speed)
    bubbling_z = z - 0.5 * of_the_day  # half of the day's offset and drift
    width = log(6.35) + steep * (1 - exp(-bent * z)) / bent
    own_var = 0.12**2 * (1 + (steep / 3) ** 2) + steep**2 * unread
    assert found.log_width[0, 0] == pytest.approx(width, rel=1e-9)
    assert found.scale[0, 0] == pytest.approx(sqrt(own_var + pi / 2 * 0.13**2 / 5), rel=1e-9)
    little = float(judged and width < log(3.175))
    much = float(judged and width > log(9.525))
    assert (found.little[0, 0], found.much[0, 0]) == (little, much)
    # A logistic of scale b has variance b²π²/3: what was not read adds to it.
    blur = sqrt(0.06**2 + 3 / pi**2 * unread)
    cold_blur = sqrt(0.07**2 + 3 / pi**2 * unread)
    first = 0.3 + own[name]
    trace = _logistic((bubbling_z - first) / blur)
    heavy = trace * _logistic((bubbling_z - first - 0.12) / blur)
    assert found.heavy[0, 0] == pytest.approx(heavy, rel=1e-9)
    assert found.bubbling[0, 0] == pytest.approx(heavy if trace_ok else trace, rel=1e-9)
    assert found.cold[0, 0] == pytest.approx(_logistic((-0.45 - z) / cold_blur), rel=1e-9)
    # The weld itself: three quarters of the blur are its own.
    limit = first + 0.12 if trace_ok else first
    fine = _logistic((limit - bubbling_z) / (0.75 * blur)) * _logistic(
        (z + 0.45) / (0.75 * cold_blur)
    )
    assert found.joint[0, 0] == pytest.approx((1 - little - much) * fine, rel=1e-9)


def _found(widths: list[list[float]], **chances: list[list[float]]) -> Outcomes:
    shape = np.shape(widths)
    names = ("little", "much", "bubbling", "heavy", "cold", "joint")
    tables = {n: np.array(chances.get(n, np.zeros(shape)), dtype=float) for n in names}
    return Outcomes(log_width=np.log(widths), scale=np.full(shape, 0.1), **tables)


def test_a_forecast_is_the_mean_of_its_draws_and_their_quantiles() -> None:
    """Of 101 draws 4.00, 4.01 ... 5.00 mm: median 4.5, the 5 % and 95 % points 4.05 and 4.95."""
    widths = [[4 + n / 100] for n in range(101)]
    chances = {
        "little": [[0.0]] * 50 + [[1.0]] * 51,
        "much": [[0.0]] * 91 + [[1.0]] * 10,
        "bubbling": [[0.2]] * 101,
        "cold": [[0.3]] * 101,
        "heavy": [[0.05]] * 101,
        "joint": [[0.4]] * 101,
    }
    (said,) = forecasts(_found(widths, **chances), [500.0], [1.7], np.zeros(101))
    expected = (500, 1.7, 4.5, 4.05, 4.95, 0.4, 51 / 101, 10 / 101, 0.2, 0.3, 0.05)
    assert astuple(said) == pytest.approx(expected)


def test_a_strips_own_error_widens_what_is_forecast() -> None:
    """One sd of 0.1 in ln width: times e^0.1 either way."""
    (said,) = forecasts(_found([[5.0]] * 2), [500.0], [1.7], np.array([1.0, -1.0]))
    assert said.width_high_mm == pytest.approx(
        5 * (exp(0.1) - 0.05 * (exp(0.1) - exp(-0.1))), rel=1e-9
    )
    assert said.width_low_mm < 5.0 < said.width_high_mm


def test_between_two_speeds_a_width_goes_by_its_log_and_a_chance_straight() -> None:
    """Half way in ln speed between 1 and 4 is 2: from 9 mm and 4 mm it is 6 mm."""
    found = _found([[9.0, 4.0]], joint=[[0.2, 0.8]], cold=[[0.0, 0.5]])
    ends = forecasts(found, [500.0] * 2, [1.0, 4.0], np.zeros(1))
    (said,) = between(ends, np.array([2.0]))
    assert (said.nozzle_c, said.speed_m_per_min) == pytest.approx((500.0, 2.0))
    assert [said.width_mm, said.width_low_mm, said.width_high_mm] == pytest.approx([6.0] * 3)
    assert (said.chance, said.chance_cold) == pytest.approx((0.5, 0.25))


def test_one_strip_in_twenty_five_is_wild_by_six_times() -> None:
    """Variance 0.96 + 0.04 x 36 = 2.4; beyond 4 sds: 0.04 x P(|z| > 2/3) = 0.0202."""
    noise = strip_noise(200_000, 3)
    assert noise.mean() == pytest.approx(0.0, abs=0.02)
    assert noise.var() == pytest.approx(2.4, rel=0.03)
    assert (np.abs(noise) > 4).mean() == pytest.approx(0.0202, rel=0.06)
    assert (strip_noise(50, 3) == strip_noise(50, 3)).all()
    assert (strip_noise(50, 3) != strip_noise(50, 4)).any()
