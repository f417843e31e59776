"""What today's strips speak against, side by side with where each bound lies.

The right speed is 2 m/min, so a strip at 2·exp(-z) has the heat index z.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import exp, inf
from typing import Any

import pytest

from tests.calibration.stand_in import StandIn
from weldcal.calibration import Observation, SpeedQuestion, Window
from weldcal.calibration.failed import doubts, limits
from weldcal.calibration.observation import SIXTEENTH_MM

Make = Callable[..., Observation]
LOW, AIM, HIGH = (3.175,) * 3, (6.35,) * 3, (9.525,) * 3
NONE = (0.0,) * 3
WINDOW = Window(low_mm=3.175, aim_mm=6.35, high_mm=9.525)
THIN, THICK = (1.5875,) * 3, (12.7,) * 3


def day(strip: Make, *seen: dict[str, object]) -> Any:
    """Strips in order of time; `z` is their heat index, all else as a good strip."""
    rows = []
    for n, given in enumerate(seen):
        one: dict[str, Any] = {"readings_mm": AIM, "hour": 8.0 + n / 2} | given
        z = float(one.pop("z", 0.0))
        rows.append(strip(speed_m_per_min=2.0 * exp(-z), **one))
    return StandIn(tuple(rows))


COLD, HEAVY = {"bond": "cold"}, {"bubbling": "heavy"}


@pytest.mark.parametrize(
    ("seen", "floor", "ceiling"),
    [
        ((), -inf, inf),
        (({"z": 0.1},), -inf, inf),
        (({**COLD, "z": -0.1},), -0.08, inf),
        (({**HEAVY, "z": 0.3},), -inf, 0.28),
        (({**COLD, "z": -0.1}, {**HEAVY, "z": 0.3}), -0.08, 0.28),
        # The warmest that parted and the coldest that bubbled decide.
        (({**COLD, "z": -0.1}, {**COLD, "z": -0.3}), -0.08, inf),
        (({**HEAVY, "z": 0.3}, {**HEAVY, "z": 0.5}), -inf, 0.28),
        # A later pull that held with no more heat takes it back, with more it does not.
        (({**COLD, "z": -0.1}, {"z": -0.1}), -inf, inf),
        (({**COLD, "z": -0.1}, {"z": -0.09}), -inf, inf),
        (({**COLD, "z": -0.1}, {"z": -0.07}), -0.08, inf),
        (({**COLD, "z": -0.1}, {"z": -0.2, "bond": None}), -0.08, inf),
        (({"z": -0.2}, {**COLD, "z": -0.1}), -0.08, inf),
        # A later one with no less heat that is clean takes heavy bubbling back.
        (({**HEAVY, "z": 0.3}, {"z": 0.4}), -inf, inf),
        (({**HEAVY, "z": 0.3}, {"z": 0.29}), -inf, inf),
        (({**HEAVY, "z": 0.3}, {"z": 0.27}), -inf, 0.28),
        (({**HEAVY, "z": 0.3}, {"z": 0.4, "bubbling": "trace"}), -inf, 0.28),
        (({"z": 0.4}, {**HEAVY, "z": 0.3}), -inf, 0.28),
        # No bleed-out anywhere is too little heat too, until as little shows some.
        (({"z": -0.1, "readings_mm": NONE},), -0.08, inf),
        (({"z": -0.1, "readings_mm": (0.0, 0.0, 1.5875)},), -inf, inf),
        (({"z": -0.1, "readings_mm": NONE}, {"z": -0.09, "readings_mm": THIN}), -inf, inf),
        (({"z": -0.1, "readings_mm": NONE}, {"z": -0.07}), -0.08, inf),
        (({"z": -0.1}, {"z": -0.1, "readings_mm": NONE}), -0.08, inf),
        # Damp bubbles by itself.
        (({**HEAVY, "z": 0.3, "damp": True},), -inf, inf),
        # Nothing left between them: they contradict each other, and there is no limit.
        (({**COLD, "z": 0.1}, {**HEAVY, "z": 0.13}), -inf, inf),
        (({**COLD, "z": 0.1}, {**HEAVY, "z": 0.15}), 0.12, 0.13),
        (({**COLD, "z": 0.3}, {**HEAVY, "z": -0.1, "bond": None}), -inf, inf),
    ],
)
def test_between_what_parted_cold_and_what_bubbled(
    strip: Make,
    question: SpeedQuestion,
    seen: tuple[dict[str, object], ...],
    floor: float,
    ceiling: float,
) -> None:
    """0.02 of heat index from either, which is one setting."""
    assert limits(day(strip, *seen), question, WINDOW) == pytest.approx((floor, ceiling))


def test_only_this_sheet_and_lap_of_today_speak(strip: Make, question: SpeedQuestion) -> None:
    """Another sheet, lap, machine or day parted cold; and a strip that says nothing."""
    for other in ({"sheet": "base"}, {"lap": "granules"}, {"machine": "M2"}, {"day": "2026-06-19"}):
        assert limits(day(strip, {**COLD, **other}), question, WINDOW) == (-inf, inf)
    silent = day(strip, {"readings_mm": (), "bond": None, "bubbling": None}, {**COLD, "z": -0.1})
    assert limits(silent, question, WINDOW) == pytest.approx((-0.08, inf))


def test_no_bleed_out_says_nothing_of_a_sheet_judged_by_its_bond(
    strip: Make, question: SpeedQuestion
) -> None:
    """A thermoplastic lap may show none when perfect (common practice, no source)."""
    by_bond = replace(WINDOW, by_bleed_out=False)
    assert limits(day(strip, {"readings_mm": NONE}), question, by_bond) == (-inf, inf)


FAILED, EDGE = ["last_failed_here"], ["last_at_edge"]


@pytest.mark.parametrize(
    ("seen", "heat", "said"),
    [
        (({},), 0.0, []),
        # Too little: against as much heat and up to 0.15 more.
        (({"readings_mm": THIN},), 0.0, FAILED),
        (({"readings_mm": THIN},), 0.14, FAILED),
        (({"readings_mm": THIN},), 0.16, []),
        (({"readings_mm": THIN},), -0.5, FAILED),
        # Too much: against as much and down to 0.15 less.
        (({"readings_mm": THICK},), 0.0, FAILED),
        (({"readings_mm": THICK},), -0.14, FAILED),
        (({"readings_mm": THICK},), -0.16, []),
        (({"readings_mm": THICK},), 0.5, FAILED),
        (({"bubbling": "heavy"},), -0.14, FAILED),
        (({"bubbling": "heavy"},), -0.16, []),
        (({"bubbling": "trace"},), 0.5, FAILED),
        (({"bubbling": "trace"},), -0.16, []),
        (({"bond": "cold"},), -0.5, FAILED),
        (({"bond": "cold"},), 0.16, []),
        # Lifted by a later one well inside at a setting no better, give or take 0.05.
        (({"readings_mm": THIN}, {"z": 0.04}), 0.0, []),
        (({"readings_mm": THIN}, {"z": 0.06}), 0.0, FAILED),
        (({"readings_mm": THIN}, {"z": -0.3}), 0.0, []),
        (({"readings_mm": THIN}, {"bond": None}), 0.0, FAILED),
        (({"readings_mm": THICK}, {"z": -0.04}), 0.0, []),
        (({"readings_mm": THICK}, {"z": -0.06}), 0.0, FAILED),
        (({"readings_mm": THICK}, {"z": 0.3, "bond": None}), 0.0, []),
        (({"readings_mm": THIN}, {"readings_mm": LOW}), 0.0, FAILED),
        (({}, {"readings_mm": THIN}), 0.0, FAILED),
        # A limit itself, where one before it at about its heat was well inside.
        (({"readings_mm": LOW},), 0.0, []),
        (({}, {"readings_mm": LOW}), 0.0, EDGE),
        (({"z": 0.14}, {"readings_mm": LOW}), 0.0, EDGE),
        (({"z": 0.16}, {"readings_mm": LOW}), 0.0, []),
        (({}, {"readings_mm": LOW}), 0.16, []),
        (({}, {"readings_mm": LOW}), -0.5, EDGE),
        (({}, {"readings_mm": HIGH}), 0.5, EDGE),
        (({}, {"readings_mm": HIGH}), -0.16, []),
        (({}, {"readings_mm": LOW}, {}), 0.0, []),
        (({"readings_mm": HIGH}, {"readings_mm": LOW}), 0.0, []),
        # A failure is graver than an edge.
        (({}, {"readings_mm": LOW}, {"bubbling": "heavy"}), 0.0, FAILED),
        # A check that only looked for bubbles.
        (({"readings_mm": (), "bond": None, "bubbling": "heavy"},), 0.0, FAILED),
        (({"readings_mm": (), "bond": None, "bubbling": "none"},), 0.0, []),
    ],
)
def test_what_failed_or_read_a_limit_speaks_against_a_setting(
    strip: Make,
    question: SpeedQuestion,
    window: Window,
    seen: tuple[dict[str, object], ...],
    heat: float,
    said: list[str],
) -> None:
    """By side: too little against as much heat or less, too much against as much or more."""
    assert doubts(day(strip, *seen), question, window, heat) == said


@pytest.mark.parametrize("width", [2.3813, 2.39, 3.9687, 3.96, 8.7313, 8.74, 10.3187, 10.31])
def test_a_limit_is_read_to_half_a_sixteenth(
    strip: Make, question: SpeedQuestion, window: Window, width: float
) -> None:
    """3.175 and 9.525 mm, each give or take 0.79375: at 2.39 too little, at 3.96 nearly so."""
    seen = day(strip, {}, {"readings_mm": (width,) * 3})
    inside = 3.175 <= width <= 9.525
    near = min(abs(width - 3.175), abs(width - 9.525)) <= 0.79375
    expected = FAILED if not inside else EDGE if near else []
    assert doubts(seen, question, window, 0.0) == expected


@pytest.mark.parametrize(("read", "side"), [((5, 6), 1), ((3, 2), -1)])
def test_half_way_to_a_limit_is_its_edge_on_either_side(
    strip: Make, question: SpeedQuestion, window: Window, read: tuple[int, ...], side: int
) -> None:
    """Two readings of a check in sixteenths, one a limit itself: their median lies half a step off."""
    check = {"readings_mm": tuple(n * SIXTEENTH_MM for n in read)}
    seen = day(strip, {}, check)
    assert doubts(seen, question, window, 0.0) == EDGE
    assert doubts(seen, question, window, side * 0.3) == EDGE
    assert doubts(seen, question, window, side * -0.3) == []


def test_where_a_trace_may_pass_it_speaks_against_nothing(
    strip: Make, question: SpeedQuestion, window: Window
) -> None:
    """The job's own limit; heavy bubbling never passes."""
    lets = replace(window, trace_ok=True)
    assert doubts(day(strip, {"bubbling": "trace"}), question, lets, 0.0) == []
    assert doubts(day(strip, {"bubbling": "heavy"}), question, lets, 0.0) == FAILED
