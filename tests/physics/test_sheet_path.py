"""Where a sheet goes after its reading: laws of the path, and the balance it follows."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldcal.physics.sheet_path import (
    SheetRead,
    Sky,
    convection,
    hours_from,
    steady_c,
    sun_behind,
)
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
    ("sky", "share"), [(None, 1.0), ("clear", 1.0), ("broken", 1.0), ("overcast", 0.25)]
)
def test_the_sky_says_how_much_sun_there_is_where_the_reading_cannot(
    sky: Sky | None, share: float
) -> None:
    """At night, or without the air: Kasten & Czeplak 1980, 1 - 0.75 at 8 octas (from memory)."""
    for read in (SheetRead(10.0, 4.0, air_c=10.0, sky=sky), SheetRead(40.0, 13.0, sky=sky)):
        assert not read.tells_sun()
        assert read.sun_share() == share


def test_a_reading_tells_from_two_hundred_watts_on() -> None:
    """Half a sine of 950 W/m² from 6 to 20 h reaches 200 at 6 + 14/π·asin(200/950) = 6.945 h."""
    early, late = (SheetRead(20.0, hour, air_c=15.0) for hour in (6.94, 6.95))
    assert not early.tells_sun()
    assert late.tells_sun()


@pytest.mark.parametrize(("sheet_c", "share"), [(25.0, 0.25), (120.0, 1.1)])
def test_what_a_reading_tells_has_its_ends(sheet_c: float, share: float) -> None:
    """As warm as the air at noon: a quarter, no less; hotter than any sun: a tenth over, no more."""
    read = SheetRead(sheet_c, 13.0, air_c=25.0)
    assert read.sun_share() == share
    # The air never moves by more than a clear day moves it: 4 K · (cos 30° - cos 45°).
    assert read.air_moved_k(18.0) == pytest.approx(
        4.0 * (0.7071068 - 0.8660254) * min(share, 1.0), abs=1e-6
    )


def test_half_a_clear_skys_sun_is_told_as_half() -> None:
    """A sheet warmed by 475 of 950 W/m² in a wind of 4 m/s (12 W/m²K)."""
    read = SheetRead(steady_c(475.0, 20.0, 12.0), 13.0, air_c=20.0, wind_m_per_s=4.0)
    assert read.sun_share() == pytest.approx(0.5)


def test_no_sun_stands_behind_a_sheet_colder_than_the_air() -> None:
    """By night it radiates to the sky: 0, not less."""
    assert sun_behind(0.0, 20.0, 12.0) == 0.0


def test_without_the_air_it_is_taken_from_the_sheet_and_the_sun() -> None:
    """As much below the sheet as that sun warms one in air of 20 °C (site setting, no source).

    50 °C read at 13:00 under 950 W/m², looked at again at 20:00 without sun; the air falls by
    4 K · (cos 30° - cos 75°).
    """
    air = 50.0 - (steady_c(950.0, 20.0, 12.0) - 20.0)
    later = air - 4.0 * (0.8660254 - 0.2588190)
    expected = steady_c(0.0, later, 12.0) - steady_c(950.0, air, 12.0)
    assert SheetRead(50.0, 13.0).moved_k(20.0) == pytest.approx(expected, abs=1e-5)


@pytest.mark.parametrize(("alike", "hc"), [(1.0, 30.0), (0.5, 21.0), (0.0, 12.0)])
def test_a_wind_that_may_have_changed_is_taken_towards_the_medium_one(
    alike: float, hc: float
) -> None:
    """Read at 8 m/s (30 W/m²K); half alike is halfway to 12, and nothing alike is 12.

    100 W/m² more on a black sheet of 20 °C: it loses 4·0.90·5.6704e-8·293.15³ = 5.1427 W/m²K to
    the sky besides, so 95 W/m² make it 95/(5.1427 + hc) K warmer, first order.
    """
    read = SheetRead(20.0, 13.0, air_c=15.0, wind_m_per_s=8.0)
    assert read.warmed_k(100.0, alike) == pytest.approx(95.0 / (5.1427 + hc), rel=1e-5)
    moved = steady_c(950.0, 15.0, hc) - steady_c(950.0, 15.0, 30.0)
    assert read.moved_between_k(13.0, 1.0, 1.0, alike) == pytest.approx(moved, abs=1e-6)


def test_the_wind_counts_as_the_one_read_where_nobody_says_otherwise() -> None:
    """Both questions of a later hour."""
    read = SheetRead(20.0, 13.0, air_c=15.0, wind_m_per_s=8.0)
    assert read.warmed_k(100.0) == read.warmed_k(100.0, 1.0)
    assert read.moved_between_k(15.0, 1.0, 0.5) == read.moved_between_k(15.0, 1.0, 0.5, 1.0)


@pytest.mark.parametrize(("last", "steps"), [(8.0, 0), (8.1, 1), (9.0, 6), (9.05, 7), (7.0, 0)])
def test_hours_go_on_by_ten_minutes_until_one_is_reached(last: float, steps: int) -> None:
    """From 8:00, which is not among them; the last may lie beyond."""
    assert list(hours_from(8.0, last)) == pytest.approx([8.0 + n / 6 for n in range(1, steps + 1)])
