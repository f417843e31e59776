"""A strip that passed by luck, the sky the steps hold under, a group refitted: on made-up fits."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import msgspec
import numpy as np
import pytest

from tests.calibration.stand_in import StandIn
from tests.calibration.test_knowledge import job
from weldcal.calibration import Observation, SpeedQuestion, Window
from weldcal.calibration.features import Levels
from weldcal.calibration.holds import sky_of
from weldcal.calibration.job_said import job_said
from weldcal.calibration.keys import SheetKey, Who
from weldcal.calibration.knowledge import TaughtJob, learn
from weldcal.calibration.layout import ParameterLayout
from weldcal.calibration.observation import Forecast
from weldcal.calibration.refits import Refit, SeenOnJob, refit, worked
from weldcal.calibration.second_strip import second_strip
from weldcal.calibration.staleness import by_now

Make = Callable[..., Observation]
AIM = (6.35,) * 3


class Doubts(StandIn):
    """A fit that notes what it is asked, and answers with a chance of 0.7."""

    def forecast(self, question: Any, speeds: Any, nozzle: float, _window: Any) -> list[Forecast]:
        """By the speed asked."""
        self.cut.append((question, tuple(speeds), nozzle))  # type: ignore[arg-type]
        return [Forecast(nozzle, speeds[0], 6.0, 5.0, 7.0, 0.7, 0, 0, 0, 0, 0)]


def test_one_more_strip_where_the_last_passed_and_is_doubted(
    strip: Make, question: SpeedQuestion, window: Window
) -> None:
    """Asked at its own setting and in its own weather; under the job's threshold."""
    last = strip(
        readings_mm=AIM,
        hour=9.0,
        sheet_c=25.0,
        ambient_c=19.0,
        wind_m_per_s=4.0,
        line_v=225.0,
        hour_sheet_read=8.5,
        speed_m_per_min=1.9,
        nozzle_c=520.0,
    )
    fit: Any = Doubts((strip(hour=8.0), last))
    found = second_strip(fit, question, window)
    assert found is not None and (found.strip, found.chance) == (last, 0.7)
    ((then, speeds, nozzle),) = fit.cut
    assert (speeds, nozzle) == ((1.9,), 520.0)
    assert then == by_now(
        replace(
            question,
            hour=9.0,
            sheet_c=25.0,
            ambient_c=19.0,
            wind_m_per_s=4.0,
            line_v=225.0,
            hour_sheet_read=8.5,
        )
    )
    assert second_strip(fit, question, replace(window, threshold=0.7)) is None
    assert second_strip(fit, question, replace(window, threshold=0.71)) is not None


@pytest.mark.parametrize(
    "given",
    [
        {"bond": "cold"},
        {"readings_mm": (1.5875,) * 3},
        {"on_seam": True},
        {"sheet": "base"},
        {"lap": "granules"},
        {"damp": True},
    ],
)
def test_no_second_strip_after_one_that_failed_or_is_of_something_else(
    strip: Make, question: SpeedQuestion, window: Window, given: dict[str, Any]
) -> None:
    """The day's last of this machine must be a strip of this kind that passed."""
    rows = (strip(readings_mm=AIM, hour=8.0), strip(**({"readings_mm": AIM, "hour": 9.0} | given)))
    fit: Any = Doubts(rows)
    assert second_strip(fit, question, window) is None
    none: Any = Doubts(())
    assert second_strip(none, question, window) is None


@pytest.mark.parametrize(
    ("sky", "air", "told"),
    [
        ("clear", 18.0, "clear"),
        ("overcast", 18.0, "overcast"),
        (None, 18.0, "as_read"),  # a sheet 2 K over the air at noon is in shade
        ("broken", 18.0, "as_read"),
        (None, -25.0, "clear"),  # 45 K over the air is in full sun
        (None, None, "clear"),
    ],
)
def test_under_which_sky_the_steps_hold(
    question: SpeedQuestion, sky: Any, air: float | None, told: str
) -> None:
    """As noted; else by the sun that the reading itself shows."""
    assert sky_of(replace(question, hour=12.0, sky=sky, ambient_c=air)) == told


def test_a_group_refitted_is_what_its_jobs_taught_together(window: Window) -> None:
    """The right speed of the next job: intercept, sheet and machine, with their 90 % interval."""
    rows = [
        tuple(replace(o, readings_mm=tuple(map(float, o.readings_mm))) for o in job(n))
        for n in (1, 2)
    ]
    group = tuple(SeenOnJob(f"J{n}", "M1", "cap", "base", seen) for n, seen in enumerate(rows))
    found = refit(group)
    assert found is not None
    assert (found.jobs, found.strips) == (2, 12)
    taught = []
    for one in group:
        said = job_said(one.seen, window)
        assert said is not None
        who = Who({"M1": "machine"}, {"cap": SheetKey("sheet", "base")}, one.job)
        taught.append(TaughtJob(one.job, said, who))
    layout = ParameterLayout(Levels(("cap",), ("M1",)), True)
    belief = learn(taught).belief(layout, "cap", taught[-1].who)
    at = [layout.names.index(n) for n in ("intercept", "sheet:cap", "machine:M1")]
    mean, sd = belief.mean[at].sum(), np.sqrt(belief.cov[np.ix_(at, at)].sum())
    expected = np.exp(mean + sd * 1.6448536269514722 * np.array([0, -1, 1]))
    assert (found.m_per_min, found.low, found.high) == pytest.approx(tuple(expected))
    assert found.low < 2.0 < found.high  # the speed the strips were made by
    assert msgspec.json.decode(worked(msgspec.json.encode(group)), type=Refit) == found
    silent = replace(rows[0][0], readings_mm=(), bubbling=None, bond=None)
    assert refit((SeenOnJob("J9", "M1", "cap", "", (silent,)),)) is None
    both = refit((SeenOnJob("J9", "M1", "cap", "base", (silent,)), *group))
    assert both is not None and both.jobs == 2
