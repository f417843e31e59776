"""Heat at the lap against published tables and an independent numerical solution."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.linalg import solve_banded
from scipy.special import erfc, erfcx

from weldcal.physics.heat import air_temperature_c, heat_number, log_right_speed


@pytest.mark.parametrize(
    ("x", "rise"),
    [(0.1, 0.10354), (0.25, 0.22965), (0.5, 0.38431), (1.0, 0.57242), (2.0, 0.74460)],
)
def test_the_heat_number_inverts_the_formula_written_with_erfc(x: float, rise: float) -> None:
    """1 - exp(x²)·erfc(x) by scipy's erfc, and recomputed values to five digits."""
    assert float(heat_number(1.0 - np.exp(x**2) * erfc(x))) == pytest.approx(x, rel=1e-9)
    assert float(heat_number(rise)) == pytest.approx(x, rel=1e-4)


def rises(h: float, k: float, alpha: float, seconds: float, dx: float) -> np.ndarray:
    """Share of the drive taken up at each node, `dx` apart from the face down.

    Crank-Nicolson on a deep grid with a convecting surface: a route of its own, no erfc in it.
    """
    steps, nodes = 2000, 600
    dt = seconds / steps
    r, biot = alpha * dt / dx**2, h * dx / k
    low, middle, high = np.full(nodes, -r / 2), np.full(nodes, 1 + r), np.full(nodes, -r / 2)
    middle[0], high[0] = 1 + r * (1 + biot), -r
    bands = np.zeros((3, nodes))
    bands[0, 1:], bands[1], bands[2, :-1] = high[:-1], middle, low[1:]
    u = np.zeros(nodes)
    for _ in range(steps):
        right = u.copy()
        right[1:-1] += r / 2 * (u[2:] - 2 * u[1:-1] + u[:-2])
        right[0] += r * (u[1] - u[0] * (1 + biot)) + 2 * r * biot
        right[-1] += r / 2 * (u[-2] - 2 * u[-1])
        u = solve_banded((1, 1), bands, right)
    return u


@pytest.mark.parametrize(
    ("h", "k", "alpha", "seconds", "dx"),
    [(50.0, 10.0, 4.029e-6, 100.0, 2.0e-4), (300.0, 0.20, 0.20 / (1000.0 * 1700.0), 2.0, 1.0e-5)],
    ids=["the textbook's solid", "bitumen"],
)
def test_the_heat_number_of_a_solved_face_is_its_own(
    h: float, k: float, alpha: float, seconds: float, dx: float
) -> None:
    """Within 1 % of h·sqrt(alpha·t)/k, from the face's rise by finite differences.

    The solid of the textbook, and bitumen by CIBSE Guide A (k 0.20 W/mK, 1000 kg/m³, 1700 J/kgK).
    """
    face = rises(h, k, alpha, seconds, dx)[0]
    assert float(heat_number(face)) == pytest.approx(h * np.sqrt(alpha * seconds) / k, rel=1e-2)


def test_the_finite_differences_give_the_textbooks_answer() -> None:
    """Nellis & Klein, Heat Transfer, table 3-2 as used in the EES library: 389.5 K at 3 mm."""
    rise = rises(50.0, 10.0, 4.029e-6, 100.0, 2.0e-4)[15]
    assert 393.0 + float(rise) * (355.0 - 393.0) == pytest.approx(389.5, abs=0.05)


@given(st.floats(120.0, 250.0), st.floats(-20.0, 70.0), st.floats(400.0, 650.0))
def test_more_heat_allows_more_speed(weld: float, sheet: float, air: float) -> None:
    """Hotter air, a warmer sheet, a cooler face wanted: each alone makes the right speed faster."""
    here = float(log_right_speed(air, sheet, weld))
    assert float(log_right_speed(air + 1.0, sheet, weld)) > here
    assert float(log_right_speed(air, sheet + 1.0, weld)) > here
    assert float(log_right_speed(air, sheet, weld - 1.0)) > here


@pytest.mark.parametrize(
    ("sheet_c", "ratio"), [(-10, 0.73), (0, 0.80), (10, 0.89), (30, 1.13), (40, 1.29)]
)
def test_speed_for_one_face_temperature_follows_the_sheet(sheet_c: float, ratio: float) -> None:
    """Speeds for a face at 180 °C relative to 20 °C, air at 550 °C: recomputed from the surface
    formula for air at 500 to 600 °C, so within 0.02."""
    shift = log_right_speed(550.0, sheet_c, 180.0) - log_right_speed(550.0, 20.0, 180.0)
    assert float(np.exp(shift)) == pytest.approx(ratio, abs=0.02)


def test_a_regulated_heater_holds_its_set_point_until_it_saturates() -> None:
    """Heat balance: 560 K of rise at rated voltage holds 500 °C down to about 0.9 of it."""
    held = air_temperature_c(500.0, 20.0, np.array([1.1, 1.0, 0.95]), 560.0)
    assert held.tolist() == [500.0, 500.0, 500.0]
    capped = float(air_temperature_c(500.0, 20.0, 0.8, 560.0))
    assert capped == pytest.approx(20.0 + 560.0 * 0.8**1.5)


@given(st.floats(0.5, 1.1), st.floats(0.0, 0.1))
def test_a_weaker_line_never_gives_hotter_air(ratio: float, drop: float) -> None:
    """Air temperature falls, or holds, with voltage."""
    strong = float(air_temperature_c(600.0, 15.0, ratio + drop, 600.0))
    assert float(air_temperature_c(600.0, 15.0, ratio, 600.0)) <= strong


@pytest.mark.parametrize(
    ("rise", "taken_as"), [(-0.5, 1e-4), (0.0, 1e-4), (1.0, 1 - 1e-4), (1.5, 1 - 1e-4)]
)
def test_a_rise_that_cannot_be_is_taken_at_the_nearest_that_can(
    rise: float, taken_as: float
) -> None:
    """A ten-thousandth from nothing, and from all of the drive; no infinity."""
    assert float(heat_number(rise)) == pytest.approx(float(heat_number(taken_as)), rel=1e-6)


def test_air_no_hotter_than_the_sheet_drives_as_a_kelvin_would() -> None:
    """A kelvin is the least drive: half of it reached is a rise of a half."""
    for air in (15.0, 20.0, 21.0):
        found = float(log_right_speed(air, 20.0, 20.5))
        assert found == pytest.approx(-2.0 * math.log(float(heat_number(0.5))))
    assert float(log_right_speed(22.0, 20.0, 20.5)) > found


def test_the_least_and_the_most_that_a_face_takes_up() -> None:
    """A ten-thousandth, and all but one: by the ends of the series of erfc, worked by hand.

    Near nothing the rise is 2x/√π, so x = 1e-4·√π/2 = 8.8623e-5 (next term: 8e-5 of it); near
    all it is 1 - 1/(x·√π), so x = 1e4/√π = 5641.90 (next term: 2e-8 of it).
    """
    assert float(heat_number(1e-4)) == pytest.approx(8.8623e-5, rel=2e-4)
    assert float(heat_number(1.0 - 1e-4)) == pytest.approx(5641.90, rel=1e-5)


@given(st.floats(1e-4, 1.0 - 1e-4))
def test_any_rise_is_that_of_its_heat_number(rise: float) -> None:
    """The formula of the module's head, back again, by scipy's erfcx."""
    assert 1.0 - erfcx(float(heat_number(rise))) == pytest.approx(rise, rel=1e-7)


def test_a_line_without_volts_blows_the_air_around() -> None:
    """No heat at all, and never colder than the air drawn in."""
    assert air_temperature_c(500.0, 20.0, [0.0, -0.2], 560.0).tolist() == [20.0, 20.0]
