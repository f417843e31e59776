"""An old reading: what the model page's formulas leave open, and where the balance puts it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import sqrt

import numpy as np
import pytest

from weldcal.calibration import Observation, SpeedQuestion
from weldcal.calibration.features import Levels
from weldcal.calibration.repairs import step, unmet
from weldcal.calibration.staleness import by_now, noise, reading, sheet_spread_k, spread
from weldcal.calibration.strips import strips
from weldcal.physics.sheet_path import SheetRead

Make = Callable[..., Observation]


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
        assert (noise(asked, 5, 1) == np.zeros(5)).all()


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


@pytest.mark.parametrize(
    ("sky", "share"), [(None, 0.58), ("broken", 0.58), ("clear", 0.20), ("overcast", 0.20)]
)
@pytest.mark.parametrize("now", [8.2, 9.0, 9.25, 12.0, 16.0])
def test_what_an_age_leaves_open(
    old: SpeedQuestion, sky: str | None, share: float, now: float
) -> None:
    """3 K a root hour, and of the furthest that the sun may have moved it by then, on half
    hours, 0.58 where nobody noted the sky and 0.20 where somebody did (MODEL.md)."""
    asked = replace(old, hour=now, sky=sky)
    path = SheetRead(20.0, 8.0, 18.0, 2.0, None, sky)
    halves = int(np.ceil((now - 8.0) * 2))
    moved = max(abs(path.moved_k(8.0 + n / 2)) for n in range(1, halves + 1))
    expected = sqrt(9.0 * (now - 8.0) + (share * moved) ** 2)
    assert sheet_spread_k(asked) == pytest.approx(expected, rel=1e-9)
    assert spread(asked) == pytest.approx(0.0158 * expected, rel=1e-9)


def test_errors_are_of_that_size_and_the_same_each_time(old: SpeedQuestion) -> None:
    """One for each draw."""
    drawn = noise(old, 20_000, 3)
    assert drawn.std() == pytest.approx(spread(old), rel=0.03)
    assert drawn.mean() == pytest.approx(0.0, abs=0.03 * spread(old))
    assert (drawn == noise(old, 20_000, 3)).all()
    assert (drawn[:5] != noise(old, 5, 4)).any()


@pytest.mark.parametrize(
    ("sky", "moves"), [("clear", True), ("overcast", True), ("broken", False), (None, False)]
)
def test_where_the_sky_was_noted_the_sheet_is_put_where_it_is_now(
    old: SpeedQuestion, sky: str | None, moves: bool
) -> None:
    """By the path; the age of the reading stays."""
    asked = replace(old, sky=sky)
    found = by_now(asked)
    there = SheetRead(20.0, 8.0, 18.0, 2.0, None, sky).at(12.0)
    assert found.sheet_c == (there if moves else 20.0)
    assert found.hour_sheet_read == 8.0


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
