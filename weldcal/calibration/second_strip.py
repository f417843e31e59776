"""A strip that passed by luck as likely as not: one more is worth making.

Invariant: only the day's last strip, and only where it passed by the job's rule.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from weldcal.calibration import staleness
from weldcal.calibration.day_state import in_order
from weldcal.calibration.observation import SecondStrip, SpeedQuestion, Window
from weldcal.calibration.signs import passed

if TYPE_CHECKING:
    from weldcal.calibration.engine import Fit


def second_strip(fit: Fit, question: SpeedQuestion, window: Window) -> SecondStrip | None:
    """The day's last strip, where it passed at a setting that the model doubts.

    Args:
        fit: of the strips that speak of a working machine.
        question: day, machine, sheet, lap kind and conditions, SI.
        window: the job's limits, mm.

    Returns:
        the strip with its chance; `None` where it failed, or is not doubted.
    """
    order = in_order(fit.observations, question)
    last = fit.observations[order[-1]] if order else None
    if last is None or last.on_seam or (last.sheet, last.lap) != (question.sheet, question.lap):
        return None
    if not passed(last, window):
        return None
    then = replace(
        question,
        ambient_c=last.ambient_c,
        sheet_c=last.sheet_c,
        wind_m_per_s=last.wind_m_per_s,
        line_v=last.line_v,
        hour=last.hour,
        hour_sheet_read=last.hour_sheet_read,
        sheet_read_c=last.sheet_read_c,
        beside=last.beside,
        sky=last.sky,
    )
    (forecast,) = fit.forecast(
        staleness.by_now(then), [last.speed_m_per_min], last.nozzle_c, window
    )
    return SecondStrip(last, forecast.chance) if forecast.chance < window.threshold else None
