"""The heat balance of a surface in the sun."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from weldcal.physics.sheet_path import BLACK, Surface, convection, steady_c, sun_behind

WHITE = Surface(absorptance=0.20, emittance=0.90)
# ASTM E1980's conditions: sun 1000 W/m², air 310 K, sky 300 K (from memory); the
# temperatures were computed anew from its equation by another hand.
AIR_C = 310.0 - 273.15


@pytest.mark.parametrize(
    ("surface", "hc", "expected_c"),
    [
        (BLACK, 5.0, 103.7),
        (BLACK, 12.0, 82.5),
        (BLACK, 30.0, 61.1),
        (WHITE, 5.0, 49.3),
        (WHITE, 12.0, 44.6),
        (WHITE, 30.0, 40.8),
    ],
)
def test_surfaces_under_the_standards_sun(surface: Surface, hc: float, expected_c: float) -> None:
    """Black and white, in low, medium and high wind."""
    assert steady_c(1000.0, AIR_C, hc, surface) == pytest.approx(expected_c, abs=0.06)


SUN, AIR, HC = st.floats(0.0, 1100.0), st.floats(-20.0, 45.0), st.floats(4.0, 30.0)


@given(SUN, AIR, HC)
def test_it_solves_the_balance(sun: float, air: float, hc: float) -> None:
    """The root that scipy's brentq finds of the same equation."""

    def off(ts: float) -> float:
        sky, at = air + 263.15, ts + 273.15
        return 0.95 * sun - 0.90 * 5.670374419e-8 * (at**4 - sky**4) - hc * (ts - air)

    assert steady_c(sun, air, hc) == pytest.approx(brentq(off, -100.0, 250.0), abs=1e-6)


@given(SUN, AIR, HC)
def test_the_sun_behind_a_temperature_comes_back(sun: float, air: float, hc: float) -> None:
    """A round trip."""
    assert sun_behind(steady_c(sun, air, hc), air, hc) == pytest.approx(sun, abs=1e-5)


@given(SUN, st.floats(0.0, 200.0), AIR, HC)
def test_more_sun_is_never_colder(sun: float, more: float, air: float, hc: float) -> None:
    """What anybody on a roof knows."""
    assert steady_c(sun + more, air, hc) >= steady_c(sun, air, hc)


def test_more_wind_takes_more_heat_away() -> None:
    """The three coefficients of the standard, rising between; nobody read it: the middle one."""
    speeds = [convection(w) for w in (0.0, 1.0, 2.5, 4.0, 6.0, 8.0, 20.0)]
    assert speeds == sorted(speeds)
    assert [convection(1.0), convection(4.0), convection(8.0)] == [5.0, 12.0, 30.0]
    assert convection(None) == 12.0


@pytest.mark.parametrize(
    ("wind", "hc"),
    [(None, 12), (0, 5), (1, 5), (2.5, 8.5), (4, 12), (6, 21), (8, 30), (20, 30)],
)
def test_between_the_standards_winds_the_coefficient_is_on_a_straight_line(
    wind: float | None, hc: float
) -> None:
    """ASTM E1980: low, medium and high wind, 5, 12 and 30 W/m²K; medium where nobody read it."""
    assert convection(wind) == pytest.approx(hc)
