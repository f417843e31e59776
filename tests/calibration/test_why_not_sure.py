"""Why a choice is not sure, and which conditions are the reasons for it, on a fit known by heart."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import exp, sqrt
from typing import Any

import numpy as np
import pytest

from tests.calibration.stand_in import REACH, StandIn, known, weather
from weldcal.calibration import Observation, Reach, SpeedQuestion, Window
from weldcal.calibration.advice import choose, doubts_of
from weldcal.calibration.outcome import Outcomes
from weldcal.calibration.reasons import reasons

Make = Callable[..., Observation]


def _chance(level: float, heavy: float = 0.0) -> Any:
    """A fit whose best setting has just this chance."""

    class Level(StandIn):
        def outcomes(self, *given: Any) -> Outcomes:
            found = super().outcomes(*given)
            joint = found.joint * level / found.joint.max()
            return replace(found, joint=joint, heavy=np.full_like(joint, heavy))

    return Level(right=weather, tried=(15.0, 25.0))


@pytest.mark.parametrize(
    ("level", "heavy", "threshold", "said"),
    [
        (0.95, 0.0, 0.8, []),
        (0.9, 0.0, 0.8, []),
        (0.899, 0.0, 0.8, ["weld_not_known"]),
        (0.80001, 0.0, 0.8, ["weld_not_known"]),
        (0.79, 0.0, 0.8, ["chance_too_low"]),
        (0.95, 0.0, 0.96, ["chance_too_low"]),
        (0.95, 0.10, 0.8, []),
        (0.95, 0.11, 0.8, ["may_bubble_heavily"]),
    ],
)
def test_why_a_choice_is_not_sure(
    calm: SpeedQuestion,
    strip: Make,
    window: Window,
    level: float,
    heavy: float,
    threshold: float,
    said: list[str],
) -> None:
    """The job's threshold, 0.90 whatever the job says, and 0.10 of heavy bubbling."""
    row = strip(speed_m_per_min=2.0, wind_m_per_s=0.0, readings_mm=(6.35,) * 3)
    fit = replace(_chance(level, heavy), observations=(row,))
    judged = replace(window, threshold=threshold)
    choice = choose(fit, calm, judged, REACH)
    assert doubts_of(fit, calm, judged, choice) == said
    for other in ({"day": "2026-06-19"}, {"machine": "M2"}):
        lacks = replace(fit, observations=(replace(row, **other),))
        assert "no_strip_today" in doubts_of(lacks, calm, judged, choice)


@pytest.mark.parametrize(
    ("now", "carried", "said"),
    [
        (0.9, True, ["sheet_read_long_ago"]),
        (0.899, True, ["weld_not_known"]),
        (0.9, False, ["weld_not_known"]),
    ],
)
def test_an_old_reading_is_named_where_it_alone_keeps_it_from_being_sure(
    calm: SpeedQuestion, strip: Make, window: Window, now: float, carried: bool, said: list[str]
) -> None:
    """The chance is 0.85; read now it would be as given. A reading of now is never the cause."""

    class Ages(StandIn):
        def outcomes(self, asked: Any, *given: Any) -> Outcomes:
            found = super().outcomes(asked, *given)
            fresh = carried and asked.hour_sheet_read is None
            level = now if fresh else 0.85
            return replace(found, joint=found.joint * level / found.joint.max())

    row = strip(speed_m_per_min=2.0, wind_m_per_s=0.0, readings_mm=(6.35,) * 3)
    fit: Any = Ages(right=weather, tried=(15.0, 25.0), observations=(row,))
    asked = replace(calm, hour=9.0, hour_sheet_read=8.0 if carried else None)
    choice = choose(fit, asked, window, REACH)
    assert doubts_of(fit, asked, window, choice) == said


def test_a_condition_is_a_reason_by_what_it_moved(
    calm: SpeedQuestion, strip: Make, window: Window
) -> None:
    """Put back to what it was at the last good strip: the speed then, and the difference."""
    fine = Reach(1.0, 4.0, 0.01, 400.0, 600.0)
    last = strip(
        day="2026-06-19",
        speed_m_per_min=2.0,
        readings_mm=(6.35,) * 3,
        sheet_c=20.0,
        wind_m_per_s=0.0,
        line_v=230.0,
        name="T1",
    )
    asked = replace(calm, sheet_c=30.0, wind_m_per_s=5.0, line_v=200.0, nozzle_c=520.0)
    fit = known(last)
    chosen = choose(fit, asked, window, fine)
    right = weather(asked)
    assert chosen.speed == pytest.approx(right, abs=0.011)
    said = {r.code: r for r in reasons(fit, asked, chosen, window, fine)}
    alone = {
        "sheet_temperature": right * exp(-0.10),
        "wind": right * exp(0.10),
        "voltage": right * sqrt(230.0 / 200.0),
        "nozzle": right * exp(-0.04),
    }
    largest = sorted(alone, key=lambda code: -abs(right - alone[code]))[:3]
    assert list(said) == largest
    for code in largest:
        without = said[code].number("without_m_per_min")
        assert without == pytest.approx(alone[code], abs=0.011)
        assert said[code].effect == pytest.approx(chosen.speed - without)
    assert said["sheet_temperature"].values == {
        "now_sheet_c": 30.0,
        "then_sheet_c": 20.0,
        "without_m_per_min": said["sheet_temperature"].number("without_m_per_min"),
        "day": "2026-06-19",
        "name": "T1",
    }
