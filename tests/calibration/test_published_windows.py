"""Published speed windows: each ambient left out in turn and predicted from the others.

Park et al. 2020, Materials 13(23):5586, doi 10.3390/ma13235586 (abstract): good speed windows
of a hot-air welded EVA roofing sheet at six ambients. Only windows are published, so strips are
made from them: good inside, cold bond past the fast edge, heavy bubbling past the slow edge,
each within the speeds tried (3 to 9 m/min). The nozzle temperature is not in the abstract;
500 °C is assumed for all.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.published_windows import WINDOWS
from weldcal.calibration import Observation, Reach, SpeedQuestion, Window, fit

JUDGED = Window(3.0, 6.0, 9.0, by_bleed_out=False)
REACH = Reach(1.5, 12.0, 0.1, 500.0, 500.0)


def _strips(ambient: int) -> list[Observation]:
    slow, fast = WINDOWS[ambient]
    return [
        Observation(
            day=f"{ambient:+d}",
            machine="rig",
            sheet="eva",
            lap="selvage",
            nozzle_c=500.0,
            speed_m_per_min=v,
            ambient_c=ambient,
            sheet_c=ambient,
            bubbling="heavy" if v < slow else "none",
            bond=None if v < slow else "cold" if v > fast else "good",
        )
        for v in (3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0)
    ]


def _best(left_out: int) -> float:
    rows = [o for a in WINDOWS if a != left_out for o in _strips(a)]
    question = SpeedQuestion(
        day="asked",
        machine="rig",
        sheet="eva",
        lap="selvage",
        nozzle_c=500.0,
        ambient_c=left_out,
        sheet_c=left_out,
    )
    return fit(rows, JUDGED).advise(question, JUDGED, REACH).forecast.speed_m_per_min


@pytest.fixture(scope="module")
def best() -> dict[int, float]:
    return {a: _best(a) for a in WINDOWS}


@pytest.mark.parametrize("ambient", WINDOWS)
def test_advice_for_a_left_out_ambient_lies_in_its_published_window(
    best: dict[int, float], ambient: int
) -> None:
    """The advised speed is good there, and within 20 % of the window's middle."""
    slow, fast = WINDOWS[ambient]
    assert slow <= best[ambient] <= fast
    assert best[ambient] == pytest.approx((slow + fast) / 2.0, rel=0.20)


def test_slope_of_the_left_out_advice_is_the_published_one(best: dict[int, float]) -> None:
    """The middles rise by 1.6 % per K; the advice by that within 0.5."""
    at = np.array(list(WINDOWS), dtype=float)
    middle = np.log([sum(w) / 2.0 for w in WINDOWS.values()])
    published = np.polyfit(at, middle, 1)[0]
    assert np.polyfit(at, np.log(list(best.values())), 1)[0] == pytest.approx(published, abs=0.005)
