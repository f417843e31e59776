"""Rolls that pieces can be cut from, against the fewest, and the hours that laps take."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldcal.quality.layout import rolls_needed
from weldcal.quality.sheets import (
    weld_hours,
)


def fewest(pieces: list[int], roll: int) -> int:
    """The fewest rolls there can be: by every set of pieces that fits into one (after Karp)."""
    every = range(1 << len(pieces))
    whole = [sum(p for n, p in enumerate(pieces) if chosen >> n & 1) for chosen in every]
    best = [0] * len(every)
    for chosen in every[1:]:
        part, best[chosen] = chosen, len(pieces)
        while part:
            if whole[part] <= roll:
                best[chosen] = min(best[chosen], best[chosen ^ part] + 1)
            part = (part - 1) & chosen
    return best[-1]


@given(st.lists(st.integers(1, 100), max_size=8))
def test_rolls_are_within_the_bound_of_first_fit(pieces: list[int]) -> None:
    """Never under the fewest possible, at most 11/9 of it plus 6/9 (Dósa 2007); pieces in dm."""
    least = fewest(pieces, 100)
    rolls = rolls_needed([piece / 10 for piece in pieces], 10.0)
    assert least <= rolls <= 11 / 9 * least + 6 / 9


@given(st.lists(st.floats(0.1, 10.0), max_size=40))
def test_rolls_are_enough_for_the_length_and_leave_no_two_half_empty(pieces: list[float]) -> None:
    """At least the length over a roll's; first fit leaves at most one roll half empty or more."""
    rolls = rolls_needed(pieces, 10.0)
    assert rolls >= math.ceil(sum(pieces) / 10.0 - 1e-3)
    assert rolls <= math.floor(sum(pieces) / 5.0 + 1e-3) + 1


def test_pieces_that_fill_rolls_waste_none() -> None:
    """6 + 4 and 7 + 3 are two rolls, whatever the order."""
    assert rolls_needed([4, 3, 7, 6], 10.0) == 2
    assert rolls_needed([10.0, 10.0], 10.0) == 2
    assert rolls_needed([], 10.0) == 0


def test_hours_are_length_over_speed() -> None:
    """300 m at 2 m/min is two and a half hours of travel."""
    assert weld_hours(300, 2) == pytest.approx(2.5)
