"""Strips made under an old reading tell how far it is off."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from weldcal.calibration import Observation, SpeedQuestion, Window, fit
from weldcal.calibration.same_reading import as_made, by_now, errors
from weldcal.calibration.staleness import by_now as carried
from weldcal.calibration.staleness import spread

Make = Callable[..., Observation]
Days = Callable[..., list[Observation]]


@pytest.fixture
def old(question: SpeedQuestion) -> SpeedQuestion:
    """Read at 8, asked at 10."""
    return replace(question, hour=10.0, hour_sheet_read=8.0)


def test_with_no_strip_under_it_a_reading_is_as_far_off_as_its_age_says(
    old: SpeedQuestion, history: Days, window: Window
) -> None:
    """One error a draw, the same each time; none where it is read now."""
    known = fit(history(4), window)
    drawn = errors(known, old)
    assert drawn.std() == pytest.approx(spread(old), rel=0.1)
    assert drawn.mean() == pytest.approx(0.0, abs=1e-12)
    assert (drawn == errors(known, old)).all()
    assert (errors(known, replace(old, hour_sheet_read=None)) == 0.0).all()
    found, there = by_now(known, old).sheet_c, carried(old).sheet_c
    assert found == pytest.approx(there, abs=1e-9)


@pytest.mark.parametrize(("width_mm", "colder"), [(3.175, True), (12.7, False)])
def test_a_strip_under_the_same_reading_says_which_way_it_is_off(
    width_mm: float,
    colder: bool,
    old: SpeedQuestion,
    strip: Make,
    history: Days,
    window: Window,
) -> None:
    """Less bleed-out than the days before say: the sheet is colder than sun and sky alone have it;
    and what is left open is less. The strip stood on the sheet that the question has."""
    made = strip(hour=10.0, hour_sheet_read=8.0, speed_m_per_min=2.1, readings_mm=(width_mm,) * 3)
    known = fit([*history(6), made], window)
    there, taken = carried(old).sheet_c, by_now(known, old)
    assert there is not None and taken.sheet_c is not None
    assert (taken.sheet_c < there - 0.5) == colder
    assert (taken.sheet_c > there + 0.5) != colder
    left = errors(known, taken)
    assert left.std() < 0.8 * spread(old)
    assert left.mean() == pytest.approx(0.0, abs=1e-9)
    assert as_made(made, taken).sheet_c == pytest.approx(taken.sheet_c)


def test_a_strip_under_another_reading_says_nothing_of_this_one(
    old: SpeedQuestion, strip: Make, history: Days, window: Window
) -> None:
    """Nor one read then, nor one of another number."""
    thin = {"speed_m_per_min": 2.1, "readings_mm": (3.175,) * 3, "hour": 9.5}
    for other in ({"hour_sheet_read": 7.0}, {}, {"hour_sheet_read": 8.0, "sheet_c": 26.0}):
        made = strip(**{**thin, **other})
        known = fit([*history(4), made], window)
        drawn = errors(known, old)
        assert np.isclose(drawn.mean(), 0.0, atol=1e-12)
        assert as_made(made, old) == carried(made)
