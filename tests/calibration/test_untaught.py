"""What the engine believes before any strip."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from weldcal.calibration import Reach, SpeedQuestion, Window, fit, priors

COMMON_SPEED = 1.676  # 5.5 ft/min


def test_common_practice_lies_within_what_it_says(question: SpeedQuestion, window: Window) -> None:
    """932 °F, 5.5 ft/min, mild day: about 1/4 in and no bubbling (common practice, no source)."""
    said = fit([], window).forecast(question, [COMMON_SPEED], 500.0, window)[0]
    assert said.width_low_mm < 6.35 < said.width_high_mm
    assert 4.0 < said.width_mm < 9.0
    assert said.chance_bubbling < 0.25


def test_warmer_sheet_means_faster(question: SpeedQuestion, window: Window, reach: Reach) -> None:
    """The sign of the weather effect is physics and needs no strip."""
    known = fit([], window)
    speeds = [
        known.advise(replace(question, sheet_c=c), window, reach).forecast.speed_m_per_min
        for c in (0.0, 20.0, 40.0)
    ]
    assert speeds[0] < speeds[1] < speeds[2]


def test_right_speed_is_known_within_a_factor_of_two_and_a_half(
    question: SpeedQuestion, window: Window
) -> None:
    """Its 90 % range for the speed that gives 1/4 in."""
    low, high = fit([], window).likely_log_speeds(question)
    assert np.exp(low) < COMMON_SPEED < np.exp(high)
    assert np.exp(high - low) <= 2.5


def test_it_is_not_sure_and_says_why(question: SpeedQuestion, window: Window, reach: Reach) -> None:
    """Nothing tried: never sure, and a strip to run is proposed within reach."""
    advice = fit([], window).advise(question, window, reach)
    assert not advice.sure
    assert "nothing_tried" in advice.doubts
    assert advice.next_strip is not None
    assert reach.speed_min <= advice.next_strip.speed_m_per_min <= reach.speed_max
    assert advice.next_strip.forecast.chance_heavy <= 0.10


def test_unread_sheet_leaves_more_open(question: SpeedQuestion, window: Window) -> None:
    """By ambient alone the width is less certain than by the sheet's temperature."""
    known = fit([], window)
    read = known.forecast(question, [1.7], 500.0)[0]
    unread = known.forecast(replace(question, sheet_c=None, hour=13.0), [1.7], 500.0)[0]
    assert np.log(unread.width_high_mm / unread.width_low_mm) > np.log(
        read.width_high_mm / read.width_low_mm
    )


def test_weaker_line_hotter_air_and_wind_move_the_advice_as_physics_says(
    question: SpeedQuestion, window: Window, reach: Reach
) -> None:
    """Slower on a weak line and in wind, faster with hotter air."""
    known = fit([], window)

    def speed(**changes: float) -> float:
        asked = replace(question, **changes)  # type: ignore[arg-type]
        return known.advise(asked, window, reach).forecast.speed_m_per_min

    usual = speed(line_v=230.0, rated_v=230.0)
    assert speed(line_v=185.0, rated_v=230.0) < usual
    assert speed(wind_m_per_s=9.0) < usual
    assert speed(nozzle_c=560.0) > usual


def test_the_model_page_states_the_priors_in_use() -> None:
    """MODEL.md gives mean and sd as `priors.py` has them."""
    page = (Path(priors.__file__).parent / "MODEL.md").read_text(encoding="utf-8")
    for prior in (
        priors.SHEET,
        priors.MACHINE,
        priors.GRANULES,
        priors.WEATHER,
        priors.TWO_FACES,
        priors.NOZZLE,
        priors.WIND,
        priors.HEATER,
        priors.VOLTAGE,
        priors.SUN,
        priors.DAMP,
        priors.CURVATURE,
    ):
        stated = {
            f"{prior.mean:{m}}, {prior.sd:{s}}"
            for m in ("g", ".2f", ".4f")
            for s in ("g", ".2f", ".4f")
        }
        assert any(text in page for text in stated), prior
    for prior in (
        priors.ELASTICITY,
        priors.TRACE_AT,
        priors.HEAVY_GAP,
        priors.COLD_AT,
        priors.BUBBLING_BLUR,
        priors.COLD_BLUR,
        priors.DAY_SPREAD,
        priors.STRIP_SPREAD,
    ):
        middle = np.exp(prior.mean)
        assert any(f"ln {middle:{f}}, {prior.sd:g}" in page for f in ("g", ".2f", ".1f")), prior
    assert f"ln {np.exp(priors.INTERCEPT.mean):.3f}, {priors.INTERCEPT.sd:g}" in page
    assert f"{priors.OTHER_RIG_SHARE:.0%}".replace("%", " %") in page
