"""The plain regression beside the model, and the scatter along a strip, by other hands."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from weldcal.calibration import Observation, Window
from weldcal.calibration.engine import fit
from weldcal.calibration.model_report import report
from weldcal.calibration.priors import READING_SPREAD
from weldcal.calibration.readings import widths

Strip = Callable[..., Observation]
SPEEDS, WIDTHS = (1.4, 1.6, 1.8, 2.1, 2.4), (8.7, 7.9, 6.4, 5.6, 4.8)


@pytest.fixture
def morning(strip: Strip) -> list[Observation]:
    """Five strips of one kind; and others that the line must leave out."""
    last = [
        strip(day="2026-06-19", speed_m_per_min=v, readings_mm=(mm,))
        for v, mm in zip(SPEEDS, WIDTHS, strict=True)
    ]
    return [
        strip(day="2026-06-18", speed_m_per_min=1.0, readings_mm=(2.0,)),
        strip(day="2026-06-19", machine="M9", speed_m_per_min=3.0, readings_mm=(9.0,)),
        strip(day="2026-06-19", speed_m_per_min=5.0, readings_mm=(0.0,)),
        *last,
    ]


def test_the_plain_line_is_least_squares_of_log_width_on_log_speed(
    morning: list[Observation], window: Window
) -> None:
    """statsmodels on the latest day's five strips: elasticity, and the width at their mean ln speed."""
    api = pytest.importorskip("statsmodels.api")
    x = np.log(SPEEDS)
    line = api.OLS(np.log(WIDTHS), api.add_constant(x - x.mean())).fit()
    said = line.get_prediction(np.array([[1.0, 0.0]])).summary_frame(alpha=0.10)
    plain = report(fit(morning, window), morning, window).plain
    assert plain is not None
    assert (plain.day, plain.strips) == ("2026-06-19", 5)
    assert plain.elasticity == pytest.approx(-line.params[1], rel=1e-9)
    expected = [math.exp(said[name].iloc[0]) for name in ("mean", "obs_ci_lower", "obs_ci_upper")]
    assert [plain.width_mm, plain.low_mm, plain.high_mm] == pytest.approx(expected, rel=1e-9)


def test_two_strips_or_one_speed_give_no_line(strip: Strip, window: Window) -> None:
    """A line needs three strips, and speeds that differ."""
    two = [strip(day="2026-06-19", speed_m_per_min=v) for v in (1.5, 2.0)]
    same = [strip(day="2026-06-19", speed_m_per_min=2.0) for _ in range(4)]
    for rows in (two, same):
        assert report(fit(rows, window), rows, window).plain is None


def test_scatter_along_a_strip_is_learnt_from_strips_read_more_than_once() -> None:
    """Even widths: less than usual; ragged ones: more; read once each: the prior's own."""
    step = [1.5875] * 8
    once = widths([[6.0]] * 8, step).spread
    even = widths([[6.4, 6.4, 6.4, 6.4]] * 8, step).spread
    ragged = widths([[3.2, 6.4, 9.5, 4.8]] * 8, step).spread
    assert once == pytest.approx(READING_SPREAD)
    assert even < 0.9 * READING_SPREAD
    assert ragged > 1.2 * READING_SPREAD


def test_one_strip_read_often_among_many_read_once_still_teaches() -> None:
    """Seven strips with one reading take nothing away from the eighth with six."""
    ragged = [2.4, 4.8, 7.1, 9.5, 3.2, 11.1]
    step = [1.5875] * 8
    learnt = widths([[6.4]] * 7 + [ragged], step).spread
    assert learnt == pytest.approx(widths([ragged], step[:1]).spread)
    assert learnt > 1.1 * READING_SPREAD
