"""What a strip is worth, worked out by hand: two things may be so, and a strip may tell which.

Of two draws alike, setting 0 is right in the first (0.9) and wrong in the second (0.1), the
last setting the other way round: today each has 0.5. A strip that tells which draw it is makes
it 0.9, which is worth 0.4; one that tells nothing is worth nothing.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from weldcal.calibration.outcome import Outcomes
from weldcal.calibration.settings import expected_gain

SETTINGS = 5
TELLS, TELLS_NOTHING = (0.0, 1.0), (0.5, 0.5)


def outcomes(settings: int = SETTINGS, **given: dict[int, tuple[float, float]]) -> Outcomes:
    """Two draws; what is not given is the same in both."""

    def table(name: str, usual: float) -> Any:
        values = np.full((2, settings), usual)
        for at, pair in given.get(name, {}).items():
            values[:, at] = pair
        return values

    joint = np.full((2, settings), 0.5)
    joint[:, 0], joint[:, -1] = (0.9, 0.1), (0.1, 0.9)
    for at, pair in given.get("joint", {}).items():
        joint[:, at] = pair
    return Outcomes(
        log_width=table("log_width", 1.8),
        scale=table("scale", 0.2),
        little=table("little", 0.0),
        much=table("much", 0.0),
        bubbling=table("bubbling", 0.0),
        heavy=table("heavy", 0.0),
        cold=table("cold", 0.0),
        joint=joint,
    )


@pytest.mark.parametrize("at", range(SETTINGS))
@pytest.mark.parametrize("sign", ["cold", "bubbling"])
def test_the_strip_that_tells_which_is_asked_for(at: int, sign: str) -> None:
    """Wherever on the dial it is, by its pull or by its bubbling."""
    found = outcomes(**{sign: {at: TELLS}})
    assert expected_gain(found, False, advised=0) == (at, pytest.approx(0.4))


def test_a_strip_that_tells_nothing_is_worth_nothing() -> None:
    """A pull as likely in either case; the advised setting is kept then."""
    found = outcomes(cold={3: TELLS_NOTHING}, bubbling={2: TELLS_NOTHING})
    for advised in (0, 2, 4):
        assert expected_gain(found, False, advised) == (advised, pytest.approx(0.0, abs=1e-12))


def test_half_a_sign_is_worth_half() -> None:
    """Cold in 1 of 4 and 3 of 4: right is then said with 0.75: 0.75 x 0.9 + 0.25 x 0.1 = 0.7."""
    found = outcomes(cold={3: (0.25, 0.75)})
    assert expected_gain(found, False, advised=0) == (3, pytest.approx(0.2))


def test_pull_and_bubbling_together_are_three_results() -> None:
    """Cold (0.25, 0.75), else bubbling (0.5, 0): the sums below are of both draws.

    Halved: cold max(0.3, 0.7) = 0.7; bubbling and not cold 0.375 x 0.9 =
    0.3375; neither max(0.3625, 0.2625) = 0.3625.
    """
    found = outcomes(cold={3: (0.25, 0.75)}, bubbling={3: (0.5, 0.0)})
    expected = (0.7 + 0.3375 + 0.3625) / 2 - 0.5
    assert expected_gain(found, False, advised=0) == (3, pytest.approx(expected))


def test_a_width_that_differs_tells_which() -> None:
    """Far apart it is the whole 0.4; the same width in both cases tells nothing."""
    apart = outcomes(log_width={3: (0.0, 5.0)})
    assert expected_gain(apart, True, advised=0) == (3, pytest.approx(0.4, abs=0.02))
    assert expected_gain(apart, False, advised=0) == (0, pytest.approx(0.0, abs=1e-12))
    alike = outcomes()
    assert expected_gain(alike, True, advised=0)[0] == 0
    assert expected_gain(alike, True, advised=0)[1] < 0.02


def test_a_setting_that_may_bubble_heavily_is_not_asked_for() -> None:
    """More than one in ten; where all may, the least of them."""
    hot = outcomes(cold={3: TELLS}, heavy={3: (0.2, 0.04)})
    assert expected_gain(hot, False, advised=0) == (0, pytest.approx(0.0, abs=1e-12))
    just = outcomes(cold={3: TELLS}, heavy={3: (0.16, 0.04)})
    assert expected_gain(just, False, advised=0)[0] == 3
    every = dict.fromkeys(range(SETTINGS), (0.9, 0.9))
    assert expected_gain(outcomes(heavy={**every, 2: (0.5, 0.5)}), False, advised=0)[0] == 2


def test_what_a_strip_tells_and_what_it_is_itself_count_together() -> None:
    """Both tell all; the one that is itself a good lap more often is asked for."""
    found = outcomes(cold={1: TELLS, 3: TELLS}, joint={1: (0.2, 0.2), 3: (0.4, 0.4)})
    assert expected_gain(found, False, advised=0) == (3, pytest.approx(0.4))


def test_another_speed_is_asked_for_only_where_it_is_worth_clearly_more() -> None:
    """By 0.02, our number: 0.41 and 0.59 of a pull are worth 0.072, 0.49 and 0.51 only 0.008."""
    clear = outcomes(cold={3: (0.41, 0.59)})
    assert expected_gain(clear, False, advised=0) == (3, pytest.approx(0.072))
    hardly = outcomes(cold={3: (0.49, 0.51)})
    assert expected_gain(hardly, False, advised=0)[0] == 0


def test_on_a_long_dial_every_so_many_settings_are_tried_and_the_advised_one() -> None:
    """Of 42 every third; one between is tried where it is the advised one."""
    assert expected_gain(outcomes(42, cold={30: TELLS}), False, advised=0)[0] == 30
    assert expected_gain(outcomes(42, cold={31: TELLS}), False, advised=0)[0] == 0
    assert expected_gain(outcomes(42, cold={31: TELLS}), False, advised=31) == (
        31,
        pytest.approx(0.4),
    )
