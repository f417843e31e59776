"""How far a setting may lie from what was tried: each margin from either side.

The right speed is 2 m/min, so a strip at 2·exp(-z) has the heat index z.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import exp
from typing import Any

import pytest

from tests.calibration.stand_in import StandIn
from weldcal.calibration import Observation, Reach, SpeedQuestion
from weldcal.calibration.bracket import doubts, held_at
from weldcal.calibration.features import Levels
from weldcal.calibration.settings import dial_speeds, nozzles

Make = Callable[..., Observation]
FT = 0.3048


@pytest.fixture
def two(strip: Make) -> Any:
    """Two strips: heat index 0 and 0.2, nozzle 480 and 500, sheet 10 and 20 °C."""
    rows = (
        strip(speed_m_per_min=2.0, nozzle_c=480.0, sheet_c=10.0),
        strip(speed_m_per_min=2.0 * exp(-0.2), nozzle_c=500.0, sheet_c=20.0),
    )
    return StandIn(rows)


@pytest.mark.parametrize(
    ("heat", "nozzle", "sheet", "said"),
    [
        (0.1, 490.0, 15.0, []),
        (-0.149, 490.0, 15.0, []),
        (-0.151, 490.0, 15.0, ["speed_beyond_strips"]),
        (0.349, 490.0, 15.0, []),
        (0.351, 490.0, 15.0, ["speed_beyond_strips"]),
        (0.1, 460.0, 15.0, []),
        (0.1, 459.9, 15.0, ["nozzle_beyond_strips"]),
        (0.1, 520.0, 15.0, []),
        (0.1, 520.1, 15.0, ["nozzle_beyond_strips"]),
        (0.1, 490.0, -5.0, []),
        (0.1, 490.0, -5.1, ["weather_beyond_strips"]),
        (0.1, 490.0, 35.0, []),
        (0.1, 490.0, 35.1, ["weather_beyond_strips"]),
        (
            1.0,
            600.0,
            60.0,
            ["speed_beyond_strips", "nozzle_beyond_strips", "weather_beyond_strips"],
        ),
    ],
)
def test_beyond_what_was_tried(
    two: Any, question: SpeedQuestion, heat: float, nozzle: float, sheet: float, said: list[str]
) -> None:
    """0.15 of heat index, 20 K of nozzle, 15 K of sheet."""
    assert doubts(two, replace(question, sheet_c=sheet), nozzle, heat) == said


def test_only_what_says_something_of_this_sheet_and_lap_was_tried(
    strip: Make, question: SpeedQuestion
) -> None:
    """Another sheet or lap, a wild strip, one that nobody looked at: nothing tried."""
    silent = strip(readings_mm=(), bubbling=None, bond=None)
    for rows, wild in (
        ((strip(sheet="base"),), ()),
        ((strip(lap="granules"),), ()),
        ((silent,), ()),
        ((strip(),), (0,)),
    ):
        known: Any = StandIn(rows, wild=wild)
        assert doubts(known, question, 500.0, 0.0) == ["nothing_tried"]
    known = StandIn((strip(sheet="base"), strip(speed_m_per_min=2.0)), wild=(0,))
    assert doubts(known, question, 500.0, 0.0) == []


def test_another_machine_or_one_that_was_repaired_is_a_doubt(
    strip: Make, question: SpeedQuestion
) -> None:
    """A repair counts until a strip lies after it."""
    row = (strip(speed_m_per_min=2.0),)
    for machine, repairs, met, said in (
        ("M1", 0, (), []),
        ("M2", 0, (), ["machine_untried"]),
        ("M1", 1, (), ["machine_repaired"]),
        ("M1", 1, (("M1", 1),), []),
        ("M1", 2, (("M1", 1),), ["machine_repaired"]),
        ("M1", 1, (("M2", 1),), ["machine_repaired"]),
    ):
        known: Any = StandIn(row, levels=Levels((), (), {}, met))
        asked = replace(question, machine=machine, repairs=repairs)
        assert doubts(known, asked, 500.0, 0.0) == said


@pytest.mark.parametrize(
    ("tried", "sheet", "edge"),
    [
        ((10.0, 20.0), 45.0, None),
        ((10.0, 20.0), 45.1, (45.0, True)),
        ((10.0, 20.0), -15.0, None),
        ((10.0, 20.0), -15.1, (-15.0, False)),
        (None, 50.0, None),  # nothing tried: a mild day of 25 °C
        (None, 50.1, (50.0, True)),
        (None, -0.1, (0.0, False)),
    ],
)
def test_a_speed_is_held_at_what_lies_25_k_beyond(
    question: SpeedQuestion,
    tried: tuple[float, float] | None,
    sheet: float,
    edge: tuple[float, bool] | None,
) -> None:
    """The question at that sheet, as if read then; by the air where nobody read the sheet."""
    known: Any = StandIn(tried=tried)
    asked = replace(question, sheet_c=sheet, hour_sheet_read=7.0)
    by_air = replace(question, sheet_c=None, ambient_c=sheet)
    if edge is None:
        assert held_at(known, asked) is None
        assert held_at(known, by_air) is None
    else:
        at, warmer = edge
        there = replace(asked, sheet_c=at, hour_sheet_read=None)
        assert held_at(known, asked) == (there, warmer)
        assert held_at(known, by_air) == (replace(by_air, ambient_c=at), warmer)


def test_every_step_of_the_dial_within_reach() -> None:
    """Ends included; marks of a dial outside the reach left out."""
    steps = dial_speeds(Reach(0.5, 1.0, 0.1, 400.0, 600.0))
    assert steps.tolist() == pytest.approx([0.5, 0.6, 0.7, 0.8, 0.9, 1.0])
    assert dial_speeds(Reach(0.5, 0.99, 0.1, 400.0, 600.0))[-1] == pytest.approx(0.9)
    marks = dial_speeds(Reach(0.5, 1.0, 0.1, 400.0, 600.0, (0.4, 0.5, 0.8, 1.0, 1.1)))
    assert marks.tolist() == [0.5, 0.8, 1.0]
    feet = dial_speeds(Reach(FT, 3 * FT, FT / 2, 400.0, 600.0, tuple(FT * n / 2 for n in range(9))))
    assert feet.tolist() == pytest.approx([FT, 1.5 * FT, 2 * FT, 2.5 * FT, 3 * FT])


def test_nozzles_are_the_one_chosen_those_asked_or_seven_over_the_reach(
    question: SpeedQuestion, reach: Reach
) -> None:
    """Of 400 to 620 °C; ends included, others left out."""
    assert nozzles(question, reach) == [500.0]
    for chosen, kept in ((400.0, True), (620.0, True), (399.9, False), (620.1, False)):
        assert nozzles(replace(question, nozzle_c=chosen), reach) == ([chosen] if kept else [])
    several = replace(question, nozzle_c=None, nozzles_c=(390.0, 450.0, 630.0))
    assert nozzles(several, reach) == [450.0]
    free = nozzles(replace(question, nozzle_c=None), reach)
    assert free == pytest.approx([400.0 + 220.0 * n / 6 for n in range(7)])
