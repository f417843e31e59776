"""Where a sheet goes after its reading: laws of the path, and the balance it follows."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldcal.physics.sheet_path import SheetRead, convection, hours_from, steady_c
from weldcal.physics.sun import SunSite, clear_at, clear_sky_w_per_m2, elevation_deg

# Midnight of 2026-06-01 on a clock 6 h behind UTC; Denver's place, from memory.
MIDNIGHT = datetime(2026, 6, 1, 6, tzinfo=UTC)
DENVER = SunSite(39.7, -105.0, MIDNIGHT.timestamp())

READS = st.builds(
    SheetRead,
    sheet_c=st.floats(-5, 70),
    hour=st.floats(0, 20),
    air_c=st.one_of(st.none(), st.floats(-5, 40)),
    wind_m_per_s=st.one_of(st.none(), st.floats(0, 12)),
    site=st.sampled_from([None, DENVER]),
    sky=st.sampled_from([None, "clear", "broken", "overcast"]),
)


@given(READS)
def test_at_its_hour_it_is_what_was_read(read: SheetRead) -> None:
    """Whatever the balance would say."""
    assert read.at(read.hour) == pytest.approx(read.sheet_c, abs=1e-6)


@given(st.floats(0, 20), st.floats(0, 20), st.sampled_from([None, DENVER]))
def test_a_covered_sky_moves_it_less(hour: float, later: float, site: SunSite | None) -> None:
    """Read at one hour, looked at again at another: by overcast never further than by clear."""
    clear, covered = (
        abs(SheetRead(20.0, hour, site=site, sky=sky).moved_k(later))
        for sky in ("clear", "overcast")
    )
    assert covered <= clear + 1e-6


def test_the_sun_is_that_of_the_place_at_the_hour() -> None:
    """10:00 on the job's clock is 16:00 UTC."""
    height = elevation_deg(datetime(2026, 6, 1, 16, tzinfo=UTC), 39.7, -105.0)
    assert clear_at(10.0, DENVER) == pytest.approx(clear_sky_w_per_m2(height))
    assert clear_at(1.0, DENVER) == clear_at(1.0, None) == 0.0


def test_it_follows_the_balance_of_a_dark_surface() -> None:
    """From sunless 04:00 to noon, air 8 K · (cos of 3 h less cos of 11 h) / 2 warmer: ASTM E1980."""
    read = SheetRead(15.0, 4.0, air_c=15.0, wind_m_per_s=4.0, site=DENVER)
    hc = convection(4.0)
    air = 15.0 + 4.0 * (0.7071068 + 0.9659258)
    expected = steady_c(clear_at(12.0, DENVER), air, hc) - steady_c(0.0, 15.0, hc)
    assert read.moved_k(12.0) == pytest.approx(expected, abs=1e-3)
    assert 30 < expected < 60  # a dark roof at noon; 30 K and more above the air, from memory


def test_a_reading_in_the_sun_tells_how_much_it_takes_in() -> None:
    """At noon as warm as the air: it lies in shade, and the sun's path hardly moves it."""
    shaded = SheetRead(25.0, 12.0, air_c=25.0, site=DENVER)
    sunny = SheetRead(60.0, 12.0, air_c=25.0, site=DENVER)
    assert abs(shaded.moved_k(17.0)) < 0.5 * abs(sunny.moved_k(17.0))


def test_it_has_moved_so_far_at_the_first_step_that_reaches_it() -> None:
    """Just as far counts, up or down; not at all within the hours looked at is none."""
    read = SheetRead(20.0, 8.0, air_c=15.0, wind_m_per_s=2.0, site=DENVER, sky="clear")
    steps = [hour - 8.0 for hour in hours_from(8.0, 14.0)]
    for hours in steps[:8]:
        moved = read.moved_k(8.0 + hours)
        assert moved > 0
        assert read.hours_until(moved, 6.0) == pytest.approx(hours)
    assert read.hours_until(500.0, 6.0) is None
    falling = SheetRead(60.0, 15.0, air_c=30.0, wind_m_per_s=2.0, site=DENVER, sky="clear")
    down = falling.moved_k(15.0 + steps[3])
    assert down < 0
    assert falling.hours_until(-down, 6.0) == pytest.approx(steps[3])


@pytest.mark.parametrize(
    ("wind", "hc"),
    [(None, 12), (0, 5), (1, 5), (2.5, 8.5), (4, 12), (6, 21), (8, 30), (20, 30)],
)
def test_wind_takes_heat_by_the_standards_three_coefficients(wind: float | None, hc: float) -> None:
    """ASTM E1980: 5, 12 and 30 W/m²K for low, medium and high wind; halfway between, halfway.

    Where nobody read the wind it is taken as medium.
    """
    assert convection(wind) == pytest.approx(hc)
