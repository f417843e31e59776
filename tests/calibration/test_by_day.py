"""The judging of the model against its rivals, and strips as a table: by hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import exp, log, sqrt

import numpy as np
import pytest

from weldcal.calibration import Observation, Window, by_day, tidy

Make = Callable[..., Observation]
SIXTEENTH, HALF_FOOT = 1.5875, 0.1524


def test_half_a_foot_faster_is_a_sixteenth_less() -> None:
    """From the last strip learnt from; never below half a sixteenth."""
    rule = by_day.HalfStep().fit(np.log([[9.0], [1.5]]), np.log([2.0, 6.35]))
    faster = [1.5, 1.5 + HALF_FOOT, 1.5 - 2 * HALF_FOOT, 9.0]
    expected = [6.35, 6.35 - SIXTEENTH, 6.35 + 2 * SIXTEENTH, SIXTEENTH / 2]
    assert np.exp(rule.predict(np.log(faster)[:, None])) == pytest.approx(expected)


def test_a_score_is_of_the_distance_in_mm_and_in_ln_and_of_the_interval() -> None:
    """4, 5, 6 and 8 mm forecast as 5, 5, 5 and 4: off by 1, 0, 1 and 4, the median 1."""
    truth, said = np.log([4.0, 5.0, 6.0, 8.0]), np.log([5.0, 5.0, 5.0, 4.0])
    z90 = 1.6448536269514722
    ends = np.abs(said - truth) / z90
    spread = np.array([ends[0] * 1.01, 0.1, ends[2] * 0.99, ends[3] * 1.01])
    score = by_day._judged("one", truth, said, spread)
    assert (score.method, score.strips) == ("one", 4)
    assert score.off_mm == pytest.approx(1.0)
    square = log(1.25) ** 2 + log(1.2) ** 2 + log(2.0) ** 2
    assert score.off_log == pytest.approx(sqrt(square / 4))
    assert score.covered == pytest.approx(0.75)
    assert by_day._judged("rule", truth, said, np.full(4, np.nan)).covered is None


def test_rivals_see_speed_nozzle_temperature_felt_and_wind(strip: Make) -> None:
    """The sheet's, else the air's; what nobody read at the mean of the others, or 0."""
    rows = [
        strip(speed_m_per_min=2.0, nozzle_c=500.0, sheet_c=20.0, ambient_c=5.0, wind_m_per_s=None),
        strip(speed_m_per_min=3.0, nozzle_c=510.0, sheet_c=None, ambient_c=10.0, wind_m_per_s=None),
        strip(speed_m_per_min=1.0, nozzle_c=520.0, sheet_c=None, ambient_c=None, wind_m_per_s=None),
    ]
    expected = [[log(2), 500, 20, 0], [log(3), 510, 10, 0], [0, 520, 15, 0]]
    assert by_day._conditions(rows) == pytest.approx(np.array(expected))


def test_days_are_left_out_whole_and_the_model_gives_its_own_interval(
    history: Callable[..., list[Observation]], window: Window
) -> None:
    """Three days are enough, two are not; strips without a width are passed over."""
    rows = history(3)
    assert by_day.by_day(rows[:4], window) == ()
    scores = {s.method: s for s in by_day.by_day([*rows, rows[0].__class__(**_bare(rows))], window)}
    assert list(scores) == [
        "this model",
        "ridge regression",
        "Gaussian process",
        "half-step rule",
    ]
    assert {s.strips for s in scores.values()} == {6}
    assert scores["half-step rule"].covered is None
    train, test = np.array([2, 3, 4, 5]), np.array([0, 1])
    truth = np.log([tidy.median_mm(o) for o in rows])
    held = by_day.HeldOut(rows, truth, train, test)
    middle, spread = by_day._ours(held, window, 0, None)
    fitted = by_day.LapRegressor(3.175, 6.35, 9.525).fit(rows[2:], np.exp(truth[2:]))
    low, median, high = fitted.predict(rows[:2], quantiles=(0.05, 0.5, 0.95)).T
    assert middle == pytest.approx(np.log(median))
    assert spread == pytest.approx(np.log(high / low) / 2 / 1.6448536269514722)


def _bare(rows: list[Observation]) -> dict[str, object]:
    return {name: getattr(rows[0], name) for name in tidy.COLUMNS}


def test_the_half_step_rule_starts_from_the_last_strip_before(
    history: Callable[..., list[Observation]],
) -> None:
    """Of those learnt from; where none is earlier, from the first of them."""
    rows = history(3)
    truth = np.log([tidy.median_mm(o) for o in rows])
    for test, start in (([2, 3], 1), ([4, 5], 3), ([0, 1], 2)):
        train = [i for i in range(6) if i not in test]
        held = by_day.HeldOut(rows, truth, np.array(train), np.array(test))
        middle, spread = by_day._rival("half-step rule", held, 0)
        speeds = np.array([rows[i].speed_m_per_min for i in test])
        width = exp(truth[start]) - SIXTEENTH * (speeds - rows[start].speed_m_per_min) / HALF_FOOT
        assert np.exp(middle) == pytest.approx(np.maximum(width, SIXTEENTH / 2))
        assert np.isnan(spread).all()


def test_a_median_is_the_middle_reading_or_the_mean_of_the_two(strip: Make) -> None:
    """Of none there is no median."""
    for readings, median in (((3.0,), 3.0), ((9.0, 1.0), 5.0), ((1.0, 9.0, 2.0), 2.0)):
        assert tidy.median_mm(strip(readings_mm=readings)) == median
    assert tidy.median_mm(strip(readings_mm=(1.0, 2.0, 4.0, 9.0))) == 3.0
    assert np.isnan(tidy.median_mm(strip(readings_mm=())))


def test_a_row_is_the_strip_it_says() -> None:
    """Every column; one that is left out or NaN was not read."""
    row = {"day": "2026-06-01", "machine": "blue", "sheet": "cap", "lap": "granules"} | {
        name: 100.0 + n for n, name in enumerate(tidy.NUMBERS)
    }
    row |= {"speed_m_per_min": 2.5, "nozzle_c": 500.0, "damp": True}
    found = replace(tidy.observation(row), readings_mm=(6.35,))
    assert {name: getattr(found, name) for name in row} == row
    assert found.readings_mm == (6.35,)
    blank = float("nan")
    bare = tidy.observation(
        {"speed_m_per_min": 2.5, "nozzle_c": 500.0, "day": blank, "sheet_c": blank}
    )
    assert (bare.day, bare.machine, bare.sheet, bare.lap) == (
        "2000-01-01",
        "machine",
        "sheet",
        "selvage",
    )
    assert (bare.sheet_c, bare.ambient_c, bare.damp) == (None, None, False)
    asked = tidy.question(found)
    assert {n: getattr(asked, n) for n in row if n not in ("speed_m_per_min", "damp")} == {
        n: v for n, v in row.items() if n not in ("speed_m_per_min", "damp")
    }


@pytest.mark.parametrize(
    ("speed", "nozzle", "can"),
    [
        (0.001, 500.0, True),
        (0.0, 500.0, False),
        (99.9, 500.0, True),
        (100.0, 500.0, False),
        (2.0, 100.0, True),
        (2.0, 99.9, False),
        (2.0, 900.0, True),
        (2.0, 900.1, False),
        (None, 500.0, False),
        (2.0, None, False),
    ],
)
def test_a_setting_that_cannot_be_is_no_strip(
    speed: float | None, nozzle: float | None, can: bool
) -> None:
    """Speeds between 0 and 100 m/min, nozzles from 100 to 900 °C."""
    row = {"speed_m_per_min": speed, "nozzle_c": nozzle}
    if can:
        assert tidy.observation(row).speed_m_per_min == speed
    else:
        with pytest.raises(ValueError, match="must lie between"):
            tidy.observation(row)
