"""Heat at the lap against published tables and an independent numerical solution."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.linalg import solve_banded
from scipy.special import erfc

from weldcal.physics.heat import (
    face_rise,
    face_temperature_c,
    heat_number,
    log_right_speed,
    rise_at_depth,
)
from weldcal.physics.heater import air_temperature_c


@pytest.mark.parametrize(
    ("x", "rise"),
    [(0.1, 0.10354), (0.25, 0.22965), (0.5, 0.38431), (1.0, 0.57242), (2.0, 0.74460)],
)
def test_face_rise_agrees_with_the_formula_written_with_erfc(x: float, rise: float) -> None:
    """1 - exp(x²)·erfc(x) by scipy's erfc, and recomputed values to five digits."""
    assert float(face_rise(x)) == pytest.approx(1.0 - np.exp(x**2) * erfc(x), rel=1e-12)
    assert float(face_rise(x)) == pytest.approx(rise, abs=5e-6)


def test_depth_agrees_with_a_textbook_example() -> None:
    """Nellis & Klein, Heat Transfer, table 3-2 as used in the EES library: 389.5 K."""
    rise = rise_at_depth(0.003, 100.0, h=50.0, k=10.0, alpha=4.029e-6)
    assert 393.0 + float(rise) * (355.0 - 393.0) == pytest.approx(389.5, abs=0.05)


def test_depth_zero_is_the_face() -> None:
    """The general solution at the surface is the face's."""
    h, k, alpha, t = 300.0, 0.2, 1.2e-7, 2.0
    assert float(rise_at_depth(0.0, t, h, k, alpha)) == pytest.approx(
        float(face_rise(h * np.sqrt(alpha * t) / k)), rel=1e-12
    )


def test_face_agrees_with_an_independent_finite_difference_solution() -> None:
    """Crank-Nicolson on a deep grid with a convecting surface: bitumen (CIBSE Guide A
    values: k 0.20 W/mK, 1000 kg/m³, 1700 J/kgK), 2 s under h = 300 W/m²K, within 0.5 %."""
    k, alpha, h, seconds = 0.20, 0.20 / (1000.0 * 1700.0), 300.0, 2.0
    dx, steps, nodes = 1.0e-5, 2000, 600
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
    assert u[0] == pytest.approx(float(face_rise(h * np.sqrt(alpha * seconds) / k)), rel=5e-3)


@given(st.floats(1e-3, 0.98))
def test_heat_number_undoes_face_rise(rise: float) -> None:
    """The inverse is exact over all rises a lap can see."""
    assert float(face_rise(heat_number(rise))) == pytest.approx(rise, rel=1e-9)


@given(st.floats(0.05, 3.0), st.floats(-20.0, 70.0), st.floats(400.0, 650.0))
def test_more_heat_never_cools_the_face(x: float, sheet: float, air: float) -> None:
    """Longer dwell, warmer sheet, hotter air: each alone makes the face warmer."""
    here = float(face_temperature_c(air, sheet, x))
    assert float(face_temperature_c(air, sheet, x * 1.1)) > here
    assert float(face_temperature_c(air, sheet + 1.0, x)) > here
    assert float(face_temperature_c(air + 1.0, sheet, x)) > here


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
