"""What a dial shows and the speed behind it; the interpolation against numpy.interp."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from weldcal.quality.dial import MachineDial

BARE = MachineDial("mark", 1, 9, 0.5, ((2.0, 0.8), (5.0, 1.6), (8.0, 3.1)))
FEET = MachineDial("ft/min", 1, 20, 0.5)
RISING = st.lists(st.tuples(st.floats(0.1, 3), st.floats(0.05, 2)), min_size=2, max_size=6).map(
    lambda steps: tuple(
        zip(
            np.cumsum([s[0] for s in steps]).tolist(),
            np.cumsum([s[1] for s in steps]).tolist(),
            strict=True,
        )
    )
)


@given(RISING, st.floats(0, 1))
def test_between_marks_a_speed_is_interpolated(
    marks: tuple[tuple[float, float], ...], part: float
) -> None:
    """numpy.interp is the outside reference."""
    dial = MachineDial("mark", 0, 20, 0.5, marks)
    at = marks[0][0] + part * (marks[-1][0] - marks[0][0])
    assume(marks[0][0] <= at <= marks[-1][0])
    expected = np.interp(at, [m for m, _ in marks], [v for _, v in marks])
    assert dial.speed(at) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("mark", [1.5, 8.5])
def test_a_bare_mark_beyond_those_measured_says_nothing(mark: float) -> None:
    """No extrapolation: nobody measured there."""
    assert BARE.speed(mark) is None


def test_bare_marks_say_nothing_until_two_were_measured() -> None:
    """One mark ties no line."""
    assert MachineDial("mark", 1, 9, 0.5, ((2.0, 0.8),)).settings() == []
    assert BARE.settings()


def test_a_dial_in_feet_is_taken_at_its_word_until_measured() -> None:
    """5.5 ft/min is 1.6764 m/min exactly (1 ft = 0.3048 m)."""
    assert FEET.speed(5.5) == pytest.approx(1.6764, rel=1e-12)


def test_measured_marks_correct_a_dial_in_feet() -> None:
    """A dial that shows 10 at a true 2.7432 m/min (9 ft/min) runs a tenth slow everywhere near."""
    slow = MachineDial("ft/min", 1, 20, 0.5, ((10.0, 2.7432),))
    assert slow.speed(5) == pytest.approx(0.9 * 5 * 0.3048)
    assert slow.mark(slow.speed(7) or 0) == 7


def test_settings_are_the_steps_of_the_dial_in_order() -> None:
    """From low to high, ends included, only where a speed is known."""
    assert [mark for mark, _ in FEET.settings()] == [1 + 0.5 * n for n in range(39)]
    assert [mark for mark, _ in BARE.settings()] == [2 + 0.5 * n for n in range(13)]


@given(st.integers(0, 38))
def test_a_mark_is_found_again_from_its_speed(n: int) -> None:
    """There and back on the dial."""
    mark = 1 + 0.5 * n
    assert FEET.mark(FEET.speed(mark) or 0) == mark


def test_a_speed_beyond_the_dial_comes_to_its_end() -> None:
    """Advice is never a mark the dial does not have."""
    assert (FEET.mark(0.0), FEET.mark(99.0)) == (1, 20)


def test_a_dial_that_knows_no_speed_says_so() -> None:
    """ValueError, not a guess."""
    with pytest.raises(ValueError, match="tied to a speed"):
        MachineDial("mark", 1, 9, 1).mark(2.0)
