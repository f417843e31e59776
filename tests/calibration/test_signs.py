"""What single strips and pairs of strips show, with the bound of each rule from either side."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import exp, log, sqrt
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from tests.calibration.stand_in import WORKING, StandIn
from weldcal.calibration import Observation, SpeedQuestion, Window
from weldcal.calibration.features import Levels
from weldcal.calibration.observation import DayState
from weldcal.calibration.readings import widths
from weldcal.calibration.signs import at_edge, is_good, passed, signs

Make = Callable[..., Observation]
AIM = (6.35,) * 3
STEEP, OWN = 3.0, 0.12


class Known(StandIn):
    """With a scatter along a strip of 0.13; from strip to strip 0.12 x sqrt(1 + (3/3)^2)."""

    @property
    def layout(self) -> Any:
        """The elasticity is the one coefficient."""
        return SimpleNamespace(levels=Levels((), ()), elasticity=0)

    def before(self, _question: SpeedQuestion) -> Any:
        """The same before today."""
        return self

    def draws(self, _question: SpeedQuestion) -> Any:
        """Three draws, the middle one of them the median."""
        return SimpleNamespace(u=np.log([[STEEP]] * 3), strip=np.array([0.5, 1.0, 1.5]) * OWN)


def codes(
    rows: list[Observation],
    question: SpeedQuestion,
    window: Window,
    state: DayState = WORKING,
) -> dict[str, list[int]]:
    """Signs, each with the positions of the strips that show it."""
    known: Any = Known(tuple(rows))
    return {
        sign.code: [next(i for i, o in enumerate(rows) if o is shown) for shown in sign.shown_by]
        for sign in signs(known, question, window, state)
    }


@pytest.mark.parametrize(
    ("given", "good"),
    [
        ({}, True),
        ({"bubbling": "heavy"}, False),
        ({"bubbling": "trace"}, True),
        ({"bond": "cold"}, False),
        ({"bond": None}, True),
        ({"readings_mm": ()}, False),
        ({"readings_mm": (3.175,)}, True),
        ({"readings_mm": (3.17,)}, False),
        ({"readings_mm": (9.525,)}, True),
        ({"readings_mm": (9.53,)}, False),
        ({"readings_mm": (1.0, 6.0, 20.0)}, True),
        ({"readings_mm": (1.0, 2.0, 6.0)}, False),
    ],
)
def test_a_good_strip(strip: Make, window: Window, given: dict[str, Any], good: bool) -> None:
    """Typical width inside, limits included, nothing heavy, nothing parted cold."""
    assert is_good(strip(**({"readings_mm": AIM} | given)), window) is good


@pytest.mark.parametrize(("bond", "good"), [("good", True), ("cold", False), (None, False)])
def test_a_good_strip_that_is_not_judged_by_width(
    strip: Make, window: Window, bond: str | None, good: bool
) -> None:
    """A thermoplastic lap must have been pulled."""
    plain = replace(window, by_bleed_out=False)
    assert is_good(strip(readings_mm=(), bond=bond), plain) is good
    assert passed(strip(readings_mm=(), bond=bond), plain) is good


@pytest.mark.parametrize(
    ("given", "trace_ok", "does"),
    [
        ({}, False, True),
        ({"bubbling": "trace"}, False, False),
        ({"bubbling": "trace"}, True, True),
        ({"bubbling": "heavy"}, True, False),
        ({"bubbling": None}, True, False),
        ({"bond": None}, False, False),
        ({"bond": "cold"}, False, False),
        ({"damp": True}, False, False),
        ({"readings_mm": ()}, False, False),
        ({"readings_mm": (3.175, 9.525)}, False, True),
        ({"readings_mm": (3.17, 6.35, 6.35)}, False, False),
        ({"readings_mm": (6.35, 6.35, 9.53)}, False, False),
    ],
)
def test_a_strip_that_passed(
    strip: Make, window: Window, given: dict[str, Any], trace_ok: bool, does: bool
) -> None:
    """Every reading inside, looked at, pulled and dry."""
    judged = replace(window, trace_ok=trace_ok)
    assert passed(strip(**({"readings_mm": AIM} | given)), judged) is does


@pytest.mark.parametrize(
    ("width", "step", "edge"),
    [
        (3.175, 1.5875, True),
        (2.39, 1.5875, True),
        (2.38, 1.5875, False),
        (3.96, 1.5875, True),
        (3.97, 1.5875, False),
        (8.74, 1.5875, True),
        (8.73, 1.5875, False),
        (10.31, 1.5875, True),
        (10.32, 1.5875, False),
        (3.6, 1.0, True),
        (3.7, 1.0, False),
        (3.675, 1.0, True),
    ],
)
def test_a_limit_itself_is_read_to_half_a_step(
    strip: Make, window: Window, width: float, step: float, edge: bool
) -> None:
    """Give or take half of what the tape was read to."""
    one = strip(readings_mm=(0.1, width, 30.0), reading_step_mm=step)
    assert at_edge(one, window) is edge
    assert not at_edge(strip(readings_mm=()), window)


@pytest.mark.parametrize(
    ("given", "code"),
    [
        ({"readings_mm": (3.1,) * 3, "bubbling": "trace"}, "thin_and_bubbling"),
        ({"readings_mm": (3.1,) * 3, "bubbling": "heavy"}, "thin_and_bubbling"),
        ({"readings_mm": (3.175,) * 3, "bubbling": "heavy"}, None),
        ({"readings_mm": (3.1,) * 3, "bubbling": "none"}, None),
        ({"readings_mm": (3.175,) * 3, "bond": "cold"}, "cold_anyway"),
        ({"readings_mm": (3.1,) * 3, "bond": "cold"}, None),
        # Sd of ln: readings a·(1/k, 1, k) have sd ln k. 2.5 x 0.13 = 0.325.
        ({"readings_mm": (2 * exp(-0.33), 2.0, 2 * exp(0.33))}, "uneven"),
        ({"readings_mm": (2 * exp(-0.32), 2.0, 2 * exp(0.32))}, None),
        ({"readings_mm": (1.0, 3.0)}, None),
        # None is half a step: 0.79375 beside e^0.7 and e^-0.7 times it as much.
        ({"readings_mm": (0.0, 0.79375 * exp(0.33), 0.79375 * exp(0.66))}, "uneven"),
        ({"readings_mm": (0.0, 0.79375 * exp(0.32), 0.79375 * exp(0.64))}, None),
    ],
)
def test_what_one_strip_shows(
    strip: Make, question: SpeedQuestion, window: Window, given: dict[str, Any], code: str | None
) -> None:
    """Thin and yet bubbling; wide enough and yet cold; ragged by 2.5 times the usual scatter."""
    assert codes([strip(**given)], question, window) == ({code: [0]} if code else {})


def test_only_strips_since_the_last_good_one_show_it(
    strip: Make, question: SpeedQuestion, window: Window
) -> None:
    """And of this sheet and lap, in order of time, those set aside left out."""
    good, cold = strip(readings_mm=AIM), strip(readings_mm=AIM, bond="cold")
    rows = [replace(o, hour=8.0 + n) for n, o in enumerate((cold, good, cold, cold))]
    assert codes(rows, question, window) == {"cold_anyway": [2, 3]}
    assert codes(rows[:2], question, window) == {}
    assert codes(rows, question, window, DayState(aside=(2,))) == {"cold_anyway": [3]}
    other = [*rows[:2], replace(rows[2], sheet="base"), replace(rows[3], lap="granules")]
    assert codes(other, question, window) == {}
    unjudged = replace(window, by_bleed_out=False)
    assert codes(rows, question, unjudged) == {}


@pytest.mark.parametrize(
    ("state", "code"),
    [
        (DayState(0.1, 0.5, 0.2, 0.2, since=1, jump=-0.2), "too_little"),
        (DayState(0.1, 0.5, 0.2, 0.2, since=1, jump=0.2), "too_much"),
        (DayState(0.1, 0.2, 0.5, 0.2, since=1, jump=0.2), "cold_anyway"),
        (DayState(0.1, 0.2, 0.2, 0.5, since=1, jump=0.2), "bubbling_anyway"),
        (DayState(0.6, 0.4, 0.0, 0.0, since=None, jump=0.2), None),
    ],
)
def test_what_is_most_likely_broken_is_the_first_sign(
    strip: Make, question: SpeedQuestion, window: Window, state: DayState, code: str | None
) -> None:
    """With the strip from which on it most likely is."""
    rows = [strip(readings_mm=AIM, hour=8.0), strip(readings_mm=AIM, hour=9.0)]
    assert codes(rows, question, window, state) == ({code: [1]} if code else {})


def test_of_one_code_the_broken_one_stands(
    strip: Make, question: SpeedQuestion, window: Window
) -> None:
    """A surface that does not bond, and a strip that shows it: said once, from where on."""
    rows = [strip(readings_mm=AIM, bond="cold", hour=8.0 + n) for n in range(2)]
    state = DayState(0.1, 0.0, 0.9, 0.0, since=0)
    assert codes(rows, question, window, state) == {"cold_anyway": [0]}


def _pair(strip: Make, off: float, **slow: object) -> list[Observation]:
    """A slow strip of 4 mm and a faster one that is `off` sds wider, by the rule written out."""
    step = 0.3
    base = widths([(4.0,), (4.0,)], [step, step])
    sd = sqrt(2 * float(base.var[0]) + 2 * OWN**2 * (1 + (STEEP / 3) ** 2))
    return [
        strip(speed_m_per_min=1.5, readings_mm=(4.0,), reading_step_mm=step, hour=8.0, **slow),
        strip(
            speed_m_per_min=2.0,
            readings_mm=(4.0 * exp(off * sd),),
            reading_step_mm=step * exp(off * sd),
            hour=9.0,
        ),
    ]


WRONG = {"wrong_order": [0, 1]}


@pytest.mark.parametrize(
    ("slow", "off", "said"),
    [
        ({}, 3.15, WRONG),
        ({}, 2.85, {}),
        # The slow one must have had as much heat, as far as anybody read.
        ({"nozzle_c": 499.5}, 3.5, WRONG),
        ({"nozzle_c": 498.5}, 3.5, {}),
        ({"sheet_c": 17.5}, 3.5, WRONG),
        ({"sheet_c": 16.5}, 3.5, {}),
        ({"sheet_c": None}, 3.5, WRONG),
        ({"sheet_c": None, "ambient_c": 15.5}, 3.5, WRONG),
        ({"sheet_c": None, "ambient_c": 14.5}, 3.5, {}),
        ({"sheet_c": 20.0, "ambient_c": 0.0}, 3.5, WRONG),
        ({"sheet_c": None, "ambient_c": None}, 3.5, WRONG),
        ({"damp": True}, 3.5, {}),
    ],
)
def test_slower_and_clearly_less_is_the_wrong_order(
    strip: Make,
    question: SpeedQuestion,
    window: Window,
    slow: dict[str, object],
    off: float,
    said: dict[str, list[int]],
) -> None:
    """By 3 sds; the faster one on a sheet up to 3 K warmer, at a nozzle up to 1 K hotter."""
    wide = replace(window, high_mm=100.0)
    assert codes(_pair(strip, off, **slow), question, wide) == said


def test_in_either_order_of_time_and_of_several_the_furthest(
    strip: Make, question: SpeedQuestion, window: Window
) -> None:
    """The pair is named slow first; speeds within 5 % are one speed; no bleed-out is no width."""
    wide = replace(window, high_mm=100.0)
    slow, fast = _pair(strip, 4.0)
    swapped = [replace(fast, hour=8.0), replace(slow, hour=9.0)]
    assert codes(swapped, question, wide) == {"wrong_order": [1, 0]}
    middle = replace(_pair(strip, 3.3)[1], hour=10.0, speed_m_per_min=1.9)
    assert codes([slow, fast, middle], question, wide) == WRONG
    assert codes([slow, middle, fast], question, wide) == {"wrong_order": [0, 2]}
    for ratio, said in ((1.06, WRONG), (1.04, {})):
        near = replace(fast, speed_m_per_min=1.5 * ratio)
        assert (log(ratio) >= 0.05) is bool(said)
        assert codes([slow, near], question, wide) == said
    nothing = replace(fast, readings_mm=(0.0,))
    assert codes([slow, nothing], question, wide) == {}
