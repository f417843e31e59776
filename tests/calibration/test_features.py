"""What a strip is said to stand on: the columns that are on for it, by their names."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from weldcal.calibration import Observation, SpeedQuestion, Window, fit
from weldcal.calibration.features import CONDITION_COLUMNS, Levels, features

Make = Callable[..., Observation]
LEVELS = Levels(("base", "cap"), ("M1", "M2"), {}, (("M1", 1), ("M2", 1), ("M2", 2)))


def named(strip: Observation) -> set[str]:
    """The columns of a strip that are not zero, conditions left out."""
    columns = features([strip], np.array([strip.nozzle_c]), LEVELS).x[0]
    on = {name for name, value in zip(LEVELS.names, columns, strict=True) if value}
    return on - set(CONDITION_COLUMNS)


@pytest.mark.parametrize(
    ("seen", "on"),
    [
        ({}, {"sheet:cap", "machine:M1"}),
        ({"sheet": "base", "lap": "granules"}, {"sheet:base", "machine:M1", "lap:granules"}),
        ({"repairs": 1}, {"sheet:cap", "machine:M1", "repair:M1#1"}),
        ({"machine": "M2", "repairs": 1}, {"sheet:cap", "machine:M2", "repair:M2#1"}),
        (
            {"machine": "M2", "repairs": 2},
            {"sheet:cap", "machine:M2", "repair:M2#1", "repair:M2#2"},
        ),
        ({"machine": "M3", "sheet": "new", "repairs": 2}, {"sheet:", "machine:"}),
    ],
)
def test_a_strip_stands_on_its_sheet_machine_lap_and_repairs(
    strip: Make, seen: dict[str, object], on: set[str]
) -> None:
    """Each under its own name; a machine or sheet never seen has one name for all."""
    assert named(strip(**seen)) == {"intercept", *on}


def test_a_damp_sheet_is_its_own_column_and_leaves_more_open(strip: Make) -> None:
    """The last of the conditions, for the damp strip only."""
    both = features([strip(), strip()], np.full(2, 500.0), LEVELS, damp=[False, True])
    assert both.x[:, LEVELS.names.index("damp")].tolist() == [0.0, 1.0]
    assert both.strip_var[1] > both.strip_var[0]


@pytest.mark.parametrize("bubbles", ["a", "b", "c"])
def test_each_sheet_bubbles_for_itself(
    strip: Make, question: SpeedQuestion, window: Window, bubbles: str
) -> None:
    """Of three sheets one bubbles at every strip: its chance is the greatest, and over a half."""
    rows = [
        strip(
            sheet=sheet,
            day=f"2026-06-{day:02d}",
            bubbling="trace" if sheet == bubbles else "none",
        )
        for day in range(10, 18)
        for sheet in "abc"
    ]
    known = fit(rows, window)
    chance = {
        sheet: known.forecast(replace(question, sheet=sheet), [1.7], 500.0, window)[
            0
        ].chance_bubbling
        for sheet in "abc"
    }
    assert chance[bubbles] > 0.5
    assert max(c for sheet, c in chance.items() if sheet != bubbles) < 0.2
