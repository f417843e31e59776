"""What is read, column by column and unread by unread, against MODEL.md's own numbers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import log, pi, sin, sqrt

import numpy as np
import pytest
from scipy.stats import norm

from weldcal.calibration import Observation, SpeedQuestion, Window
from weldcal.calibration.features import Features, Levels, drift_loading, features
from weldcal.calibration.observation import DayState
from weldcal.calibration.readings import widths
from weldcal.physics.heat import log_right_speed

Make = Callable[..., Observation]
PER_K = 0.0158


def made(strip: Observation, volts: dict[str, float] | None = None) -> Features:
    """The columns of one strip."""
    levels = Levels(("cap",), ("M1",), volts or {})
    return features([strip], np.array([strip.nozzle_c]), levels, [strip.damp])


def column(strip: Observation, name: str, volts: dict[str, float] | None = None) -> float:
    """One of them."""
    at = Levels(("cap",), ("M1",)).names.index(name)
    return float(made(strip, volts).x[0, at])


def test_columns_of_a_strip_with_everything_read(strip: Make) -> None:
    """Measured from 25 °C, 500 °C, 2.5 m/s and the rated voltage."""
    one = strip(sheet_c=40.0, ambient_c=30.0, wind_m_per_s=6.0, line_v=207.0, rated_v=230.0)
    assert column(one, "weather_curve") == pytest.approx(0.5 * 15.0**2 / 1000)
    assert column(one, "two_faces") == pytest.approx(10.0)
    assert column(one, "wind") == pytest.approx(3.5)
    assert column(one, "voltage") == pytest.approx(log(0.9))
    assert column(one, "sun") == column(one, "nozzle") == column(one, "damp") == 0.0
    assert column(strip(wind_m_per_s=20.0), "wind") == 12.5  # no more than 15 m/s is believed
    assert column(strip(wind_m_per_s=None), "wind") == 0.0
    assert column(strip(line_v=None), "voltage") == 0.0


def test_weather_counts_in_kelvin_of_the_sheet_and_bends_as_conduction_says(strip: Make) -> None:
    """0 at 25 °C, 1 a kelvin there; elsewhere by the heat a face of 150 °C wants at 500 °C air."""

    def right(sheet: float, air: float = 500.0) -> float:
        return float(log_right_speed(air, np.array([sheet]), 150.0)[0])

    unit = right(25.5) - right(24.5)
    for sheet in (5.0, 25.0, 45.0):
        expected = (right(sheet) - right(25.0)) / unit
        assert column(strip(sheet_c=sheet), "weather") == pytest.approx(expected, abs=1e-9)
    hot = strip(sheet_c=30.0, nozzle_c=560.0)
    assert column(hot, "nozzle") == pytest.approx(right(30.0, 560.0) - right(30.0))


def test_a_heater_that_saturates_loses_and_one_that_does_not_loses_nothing(strip: Make) -> None:
    """Weaker line, colder air, hotter nozzle: more lost; the weak heater loses first."""
    fresh = strip(nozzle_c=400.0, line_v=230.0, rated_v=230.0)
    assert column(fresh, "heater_low") == column(fresh, "heater_high") == 0.0
    low = strip(nozzle_c=600.0, ambient_c=10.0, line_v=184.0, rated_v=230.0)
    assert column(low, "heater_low") < column(low, "heater_high") <= 0.0
    for less in ({"line_v": 200.0}, {"ambient_c": 20.0}, {"nozzle_c": 560.0}):
        assert column(replace(low, **less), "heater_low") > column(low, "heater_low")
    unread = replace(low, line_v=None)
    full = replace(low, line_v=230.0)
    assert column(unread, "heater_low") == pytest.approx(column(full, "heater_low"))


def test_without_a_rating_the_highest_voltage_seen_stands_for_it(strip: Make) -> None:
    """On that machine; one higher than all seen is its own."""
    one = strip(line_v=207.0, rated_v=None)
    assert column(one, "voltage", {"M1": 230.0}) == pytest.approx(log(0.9))
    assert column(one, "voltage", {"M1": 200.0}) == 0.0
    assert column(one, "voltage", {"M2": 230.0}) == 0.0
    rated = replace(one, rated_v=200.0)
    assert column(rated, "voltage", {"M1": 230.0}) == pytest.approx(log(1.035))


@pytest.mark.parametrize(
    ("hour", "share"),
    [(13.0, 1.0), (9.0, sin(pi * 3 / 14)), (6.0, 0.0), (20.5, 0.0), (None, 0.6)],
)
def test_where_only_the_air_was_read_the_sun_is_taken_by_the_hour(
    strip: Make, hour: float | None, share: float
) -> None:
    """Half a sine from 6 to 20 h; 6 K of it from day to day is the day's drift."""
    by_air = strip(sheet_c=None, hour=hour)
    assert column(by_air, "sun") == pytest.approx(share, abs=1e-12)
    assert column(by_air, "two_faces") == 0.0
    found = made(by_air)
    assert found.face_c[0] == 18.0
    assert found.sun[0] == pytest.approx(PER_K * 6 * share, abs=1e-12)
    assert drift_loading(found, 3.0)[0] == pytest.approx(found.sun[0])
    read = made(strip(sheet_c=20.0))
    assert np.isnan(read.sun[0])
    assert drift_loading(read, 14.0)[0] == pytest.approx(0.002 * 6.0)


@pytest.mark.parametrize(
    ("given", "k", "other"),
    [
        ({}, 0.0, 0.0),
        ({"wind_m_per_s": None}, 0.0, 0.015 * 2),
        ({"line_v": None}, 0.0, 0.4 * 0.02),
        ({"sheet_c": None, "hour": 13.0}, sqrt(2**2 + 4**2), 0.0),
        ({"sheet_c": None, "hour": 21.0}, 2.0, 0.0),
        ({"sheet_c": None, "ambient_c": None}, 10.0, 0.0),
        ({"ambient_c": None}, 0.0, 0.0),
        ({"damp": True}, 0.0, 0.05),
    ],
)
def test_what_was_not_read_leaves_open_what_the_model_page_says(
    strip: Make, given: dict[str, object], k: float, other: float
) -> None:
    """2 m/s, 2 % of voltage, 2 K in shade and 4 more in sun, 10 K of nothing, 0.05 of damp."""
    one = strip(**({"line_v": 230.0, "rated_v": 230.0} | given))
    found = made(one)
    assert found.strip_var[0] == pytest.approx((PER_K * k) ** 2 + other**2)
    if given == {"sheet_c": None, "ambient_c": None}:
        assert found.face_c[0] == 25.0


FINE = np.linspace(log(0.15), log(80.0), 40_001)


def _summary(readings: list[float], step: float, spread: float = 0.13) -> tuple[float, float]:
    """Mean and variance of ln width given readings, by a fine grid of scipy's normals."""
    total = np.zeros_like(FINE)
    for value in readings:
        low, high = log(max(value - step / 2, 1e-9)), log(value + step / 2)

        def inside(scale: float, low: float = low, high: float = high) -> np.ndarray:
            return norm.cdf((high - FINE) / scale) - norm.cdf((low - FINE) / scale)

        mixed = 0.95 * inside(spread) + 0.05 * inside(6 * spread)
        total += np.log(np.maximum(mixed, 1e-12))
    weight = np.exp(total - total.max())
    weight /= weight.sum()
    mean = float(weight @ FINE)
    return mean, float(weight @ (FINE - mean) ** 2)


@pytest.mark.parametrize(
    ("reading", "step"), [(6.35, 1.5875), (3.175, 1.5875), (9.525, 0.5), (1.5875, 1.5875)]
)
def test_a_reading_is_the_interval_it_was_rounded_to(reading: float, step: float) -> None:
    """Scatter 0.13 of ln, one in twenty wild by six times (MODEL.md)."""
    found = widths([[reading]], [step])
    mean, var = _summary([reading], step)
    assert found.log_mm[0] == pytest.approx(mean, abs=2e-3)
    assert found.var[0] == pytest.approx(var, rel=0.02)
    assert not found.censored[0]
    assert found.spread == 0.13


def test_several_readings_are_put_together_with_the_scatter_learnt() -> None:
    """A zero among them is less than half a step; a step of nothing counts as 0.2 mm."""
    strips, steps = [[6.35, 4.76, 7.94], [3.175, 0.0], [8.0, 8.0]], [1.5875, 1.5875, 0.0]
    found = widths(strips, steps)
    for n, (readings, step) in enumerate(zip(strips, (1.5875, 1.5875, 0.2), strict=True)):
        mean, var = _summary(readings, step, found.spread)
        assert found.log_mm[n] == pytest.approx(mean, abs=3e-3)
        assert found.var[n] == pytest.approx(max(var, 1e-4), rel=0.03)
    assert not found.censored.any()


@pytest.mark.parametrize("zeros", [1, 3])
def test_no_bleed_out_lies_below_where_zeros_are_as_likely_as_not(zeros: int) -> None:
    """And the bound is as sharp as the width between 16 and 84 in a hundred says."""
    found = widths([[0.0] * zeros], [1.5875])
    assert found.censored[0]
    edge = log(1.5875 / 2)

    grid = np.linspace(log(0.15), log(3.0), 4001)
    one = 0.95 * norm.cdf((edge - grid) / 0.13) + 0.05 * norm.cdf((edge - grid) / 0.78)
    all_zero = one**zeros

    def crossing(level: float) -> float:
        return float(grid[int(np.argmax(all_zero < level))])

    assert found.log_mm[0] == pytest.approx(crossing(0.5), abs=0.031)
    sharp = max((crossing(0.16) - crossing(0.84)) / 2, 0.03)
    assert sqrt(found.var[0]) == pytest.approx(sharp, abs=0.031)


def test_the_scatter_along_strips_is_learnt_as_by_a_fine_grid() -> None:
    """Its log normal, sd 0.4 about 0.13; of each strip the width integrated out."""
    strips = [[6.35, 4.76, 7.94, 6.35], [9.5, 4.76, 12.7], [3.175, 3.175, 4.76]]
    found = widths(strips, [1.5875] * 3).spread
    tried = 0.13 * np.exp(np.linspace(-1.4, 1.4, 57))
    log_post = []
    grid = FINE[::40]
    for spread in tried:
        total = -0.5 * (log(spread / 0.13) / 0.4) ** 2
        for readings in strips:
            like = np.zeros_like(grid)
            for value in readings:
                low, high = log(max(value - 0.79375, 1e-9)), log(value + 0.79375)
                mixed = 0.95 * (norm.cdf((high - grid) / spread) - norm.cdf((low - grid) / spread))
                wide = 6 * spread
                mixed += 0.05 * (norm.cdf((high - grid) / wide) - norm.cdf((low - grid) / wide))
                like += np.log(np.maximum(mixed, 1e-12))
            total += float(np.log(np.exp(like).sum()))
        log_post.append(total)
    weight = np.exp(np.array(log_post) - max(log_post))
    expected = float(np.exp(weight @ np.log(tried) / weight.sum()))
    assert found == pytest.approx(expected, rel=0.02)
    assert found > 0.15


def test_what_stands_where_nothing_is_said(question: SpeedQuestion) -> None:
    """A state of nothing seen is working; a job's threshold is 0.8, no trace may pass."""
    state = DayState()
    assert (state.working, state.broken, state.since, state.aside) == (1.0, 0.0, None, ())
    window = Window(3.0, 6.0, 9.0)
    assert (window.threshold, window.by_bleed_out, window.trace_ok) == (0.8, True, False)
    assert question.repairs == 0
    plain = Observation("2026-06-01", "M1", "cap", "selvage", 500.0, 1.7)
    assert plain.reading_step_mm == 1.5875
    assert (plain.damp, plain.on_seam, plain.after_event, plain.after_damp) == (False,) * 4
