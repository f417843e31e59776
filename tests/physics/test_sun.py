"""The sun's height and a clear sky, against pvlib, which has other formulas for both."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pvlib import clearsky, solarposition

from weldcal.physics.sun import clear_at, clear_sky_w_per_m2, elevation_deg, share_by_hour

PLACES = [(39.7, -105.0), (-33.9, 151.2), (64.1, -21.9), (1.3, 103.8)]


@pytest.mark.parametrize("place", PLACES)
def test_the_suns_height_is_that_of_the_nrel_algorithm(place: tuple[float, float]) -> None:
    """Within 0.013 degrees of pvlib's (Reda & Andreas 2004), at any minute and second.

    All through 2026 and at both ends of 1950 to 2050, for which the formula promises 0.01.
    """
    for year in (1950, 2026, 2050):
        times = pd.date_range(f"{year}-01-01", f"{year}-12-31", freq="29h13min17s", tz="UTC")
        expected = solarposition.get_solarposition(times, *place)["elevation"]
        off = [abs(elevation_deg(t.to_pydatetime(), *place) - e) for t, e in expected.items()]
        assert max(off) < 0.013


def test_a_clear_sky_is_that_of_haurwitz() -> None:
    """Against pvlib's function of the same source."""
    zenith = pd.Series([0.0, 20.0, 45.0, 60.0, 80.0, 89.0, 95.0])
    expected = clearsky.haurwitz(zenith)["ghi"]
    got = [clear_sky_w_per_m2(90.0 - z) for z in zenith]
    assert got == pytest.approx(list(expected), rel=1e-6, abs=1e-6)
    assert clear_sky_w_per_m2(0.0) == clear_sky_w_per_m2(-90.0) == 0.0


@given(st.integers(0, 364), st.floats(-66.0, 66.0))
def test_it_is_highest_about_noon(day: int, latitude: float) -> None:
    """At longitude 0 the sun is higher at 12:00 UTC than five hours earlier or later."""
    noon = datetime(2026, 1, 1, 12, tzinfo=ZoneInfo("UTC")) + timedelta(days=day)
    at = [elevation_deg(noon + timedelta(hours=h), latitude, 0.0) for h in (-5, 0, 5)]
    assert at[1] == max(at)


def test_a_time_without_its_zone_is_refused() -> None:
    """Local or UTC would be hours apart."""
    with pytest.raises(ValueError, match="zone"):
        elevation_deg(datetime(2026, 6, 1, 12), 40.0, -105.0)


@pytest.mark.parametrize(
    ("hour", "share"),
    [(0, 0), (5.9, 0), (8 + 1 / 3, 0.5), (13, 1), (17 + 2 / 3, 0.5), (20.1, 0), (24, 0)],
)
def test_where_nobody_said_the_place_the_hour_alone_speaks(hour: float, share: float) -> None:
    """Half a sine from 6 to 20 h of 950 W/m²: half of it a sixth in, for sin 30° is a half.

    The same hour of any day (site setting, no source).
    """
    assert share_by_hour(hour) == pytest.approx(share, abs=1e-9)
    for day in (-24, 0, 24):
        assert clear_at(day + hour, None) == pytest.approx(950 * share, abs=1e-6)


def test_the_sun_straight_above_is_no_higher_than_that() -> None:
    """A moment and a place where the sine of its height comes out above 1 by rounding alone.

    The place is where the formula puts the sun; on the other side of the earth it is straight below.
    """
    at = datetime(2026, 10, 24, 14, 53, 43, tzinfo=UTC)
    assert elevation_deg(at, -11.892094178572469, -47.38672071055407) == pytest.approx(90.0)
    assert elevation_deg(at, 11.892094178572469, 132.61327928944593) == pytest.approx(-90.0)
