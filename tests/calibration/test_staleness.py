"""An old reading: what the model page's formulas leave open, and where the balance puts it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldcal.calibration import Observation, SpeedQuestion
from weldcal.calibration.features import Levels
from weldcal.calibration.repairs import step, unmet
from weldcal.calibration.staleness import by_now, later_c, reading, sheet_spread_k, spread
from weldcal.calibration.strips import strips
from weldcal.physics.sheet_path import SheetRead, convection
from weldcal.physics.sun import SunSite, clear_at

Make = Callable[..., Observation]
QUESTION = SpeedQuestion(
    day="2026-06-20", machine="M1", sheet="cap", lap="selvage", nozzle_c=500.0, wind_m_per_s=2.0
)


@pytest.fixture
def old(question: SpeedQuestion) -> SpeedQuestion:
    """Read at 8, asked at 12."""
    return replace(question, hour=12.0, hour_sheet_read=8.0)


def test_a_reading_of_now_or_of_later_leaves_nothing_open(old: SpeedQuestion) -> None:
    """Nor one that nobody made, or of an hour nobody knows."""
    for asked in (
        replace(old, hour_sheet_read=None),
        replace(old, hour=8.0),
        replace(old, hour=7.0),
        replace(old, hour=None),
        replace(old, sheet_c=None),
    ):
        assert sheet_spread_k(asked) == 0.0
        assert by_now(replace(asked, sky="clear")) == replace(asked, sky="clear")


def test_the_reading_is_the_start_of_the_sheets_path(old: SpeedQuestion) -> None:
    """At the hour it was read, with what was read beside it."""
    asked = replace(old, sky="clear")
    assert reading(asked) == SheetRead(20.0, 8.0, 18.0, 2.0, None, "clear")
    assert reading(replace(asked, hour_sheet_read=None)) == replace_hour(asked, 12.0)
    assert reading(replace(asked, sheet_c=None)) is None
    assert reading(replace(asked, hour=None, hour_sheet_read=None)) is None


def replace_hour(asked: SpeedQuestion, hour: float) -> SheetRead:
    """The same reading at another hour."""
    return SheetRead(20.0, hour, asked.ambient_c, asked.wind_m_per_s, asked.site, asked.sky)


@pytest.mark.parametrize("sky", ["clear", "overcast"])
@pytest.mark.parametrize("now", [8.2, 9.0, 9.25, 12.0, 16.0])
def test_what_an_age_leaves_open_under_a_noted_sky(
    old: SpeedQuestion, sky: str, now: float
) -> None:
    """3 K a root hour, and 0.20 of the furthest that the sun may have moved it by then, on half
    hours (MODEL.md)."""
    asked = replace(old, hour=now, sky=sky)
    path = SheetRead(20.0, 8.0, 18.0, 2.0, None, sky)
    halves = int(np.ceil((now - 8.0) * 2))
    moved = max(abs(path.moved_k(8.0 + n / 2)) for n in range(1, halves + 1))
    expected = sqrt(9.0 * (now - 8.0) + (0.20 * moved) ** 2)
    assert sheet_spread_k(asked) == pytest.approx(expected, rel=1e-9)
    assert spread(asked) == pytest.approx(0.0158 * expected, rel=1e-9)


@pytest.mark.parametrize("sky", [None, "broken"])
@pytest.mark.parametrize("air_c", [18.0, None])
@pytest.mark.parametrize("now", [9.0, 12.0, 16.0])
def test_what_an_age_leaves_open_under_a_sky_nobody_noted(
    old: SpeedQuestion, sky: str | None, air_c: float | None, now: float
) -> None:
    """The same, and what shares of the sun with an sd of 0.217 make of it, alike by exp(-age / 6 h);
    where the air was read, only the later one is open. By the hour alone 0.75 of a high sun. The
    wind is forgotten as the sky is, for a medium one."""
    asked = replace(old, hour=now, sky=sky, ambient_c=air_c)

    def open_k(hour: float) -> float:
        then, sun, alike = clear_at(8.0, None), clear_at(hour, None), np.exp(-(hour - 8.0) / 6.0)
        if air_c is not None:
            open_w = sun * sqrt(1 - alike**2)
        else:
            open_w = sqrt(then**2 + sun**2 - 2 * alike * then * sun)
        wind = alike * convection(2.0) + (1 - alike) * convection(None)
        return float(open_w / (4 * 0.90 * 5.670374419e-8 * 293.15**3 + wind))

    most = max(open_k(8.0 + n / 2) for n in range(1, int((now - 8.0) * 2) + 1))
    sun_k = 0.95 * 0.217 * 0.75 * most
    assert sheet_spread_k(asked) == pytest.approx(sqrt(9.0 * (now - 8.0) + sun_k**2), rel=1e-9)


@given(
    read=st.floats(-10.0, 20.0),
    sheet=st.floats(-5.0, 70.0),
    air=st.none() | st.floats(-5.0, 40.0),
    sky=st.sampled_from([None, "clear", "broken", "overcast"]),
    site=st.sampled_from([None, SunSite(39.7, -105.0, 1_781_935_200.0)]),
    ages=st.tuples(st.floats(0.05, 14.0), st.floats(0.05, 14.0)),
)
def test_an_older_reading_never_leaves_less_open(
    read: float,
    sheet: float,
    air: float | None,
    sky: str | None,
    site: SunSite | None,
    ages: tuple[float, float],
) -> None:
    """Whatever the sky and the place; nor does it move a sheet that is moved already."""
    asked = replace(
        QUESTION, sheet_c=sheet, ambient_c=air, sky=sky, site=site, hour_sheet_read=read
    )
    young, aged = (replace(asked, hour=read + age) for age in sorted(ages))
    assert 0.0 < sheet_spread_k(young) <= sheet_spread_k(aged) * (1 + 1e-12)
    moved = by_now(aged)
    assert by_now(moved) == moved
    assert sheet_spread_k(moved) == sheet_spread_k(aged)


def test_a_still_dawn_says_little_of_the_wind_at_noon(old: SpeedQuestion) -> None:
    """The sheet is taken for cooler than under a still air all day, warmer than in a medium wind."""
    still = SheetRead(20.0, 8.0, None, 0.0)
    kept, forgotten, medium = (still.moved_between_k(12.0, 0.6, 0.6, a) for a in (1.0, 0.5, 0.0))
    assert kept > forgotten > medium > 0.0
    assert still.moved_between_k(8.0, 0.6, 0.6) == 0.0


@pytest.mark.parametrize("sky", ["clear", "overcast"])
def test_under_a_noted_sky_the_sheet_is_put_where_the_path_says(
    old: SpeedQuestion, sky: str
) -> None:
    """The reading and its age stay beside it."""
    found = by_now(replace(old, sky=sky))
    assert found.sheet_c == SheetRead(20.0, 8.0, 18.0, 2.0, None, sky).at(12.0)
    assert (found.hour_sheet_read, found.sheet_read_c) == (8.0, 20.0)
    later = SheetRead(20.0, 8.0, 18.0, 2.0, None, sky).at(15.0)
    assert later_c(found, 15.0) == pytest.approx(later, abs=1e-9)


@pytest.mark.parametrize("site", [None, SunSite(39.7, -105.0, 1_781_935_200.0)])
def test_under_a_sky_nobody_noted_it_is_put_by_the_mean_of_all_skies(
    old: SpeedQuestion, site: SunSite | None
) -> None:
    """0.625 of a clear sky's sun; 0.75 of that by the hour alone. Where the reading shows the
    sun, its share is forgotten by 1/e in six hours, and so is the wind."""
    alike = np.exp(-4.0 / 6.0)
    usual = 0.625 if site else 0.75 * 0.625
    blind = SheetRead(20.0, 8.0, None, 2.0, site)
    found = by_now(replace(old, ambient_c=None, site=site, sky="broken")).sheet_c
    assert found == pytest.approx(20.0 + blind.moved_between_k(12.0, usual, usual, alike))
    seeing = SheetRead(20.0, 8.0, 18.0, 2.0, site)
    then = seeing.sun_share()
    now = usual + alike * (then - usual)
    found = by_now(replace(old, site=site)).sheet_c
    assert found == pytest.approx(20.0 + seeing.moved_between_k(12.0, then, now, alike))


def test_a_strip_is_put_where_the_sheet_was_when_it_was_made(strip: Make) -> None:
    """The heat columns of one whose reading was carried over are those of one read then."""
    levels = Levels(("cap",), ("M1",))
    carried = strip(sheet="cap", machine="M1", hour=11.0, hour_sheet_read=8.0, sky="clear")
    there = by_now(carried).sheet_c
    assert carried.sheet_c is not None and there is not None and there > carried.sheet_c + 3.0
    read_then = replace(carried, sheet_c=there, hour_sheet_read=None)
    aged, fresh = (strips([o], levels, True).features for o in (carried, read_then))
    assert (aged.x == fresh.x).all()
    assert aged.face_c == fresh.face_c
    assert aged.strip_var > fresh.strip_var


def test_repairs_that_no_strip_lies_after_leave_a_step_each(question: SpeedQuestion) -> None:
    """sd 0.10 of ln speed each: two are 0.141."""
    levels = Levels((), ("M1", "M2"), {}, (("M1", 1), ("M1", 2), ("M2", 1)))
    for machine, repairs, left in (("M1", 1, 0), ("M1", 2, 0), ("M1", 4, 2), ("M2", 2, 1)):
        asked = replace(question, machine=machine, repairs=repairs)
        assert unmet(asked, levels) == left
        drawn = step(asked, levels, 20_000, 3)
        assert drawn.std() == pytest.approx(0.10 * sqrt(left), rel=0.03)
        assert (drawn == step(asked, levels, 20_000, 3)).all()
    assert (step(asked, levels, 5, 3) != step(asked, levels, 5, 4)).any()
