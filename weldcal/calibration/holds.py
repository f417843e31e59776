"""How long a setting holds: until which warmth of the sheet, and until which hour.

Invariant: another speed comes only where it is better by `HOLD_LOSS`; the clock says when only
if the sky stays as it is.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from weldcal.calibration import bracket, staleness
from weldcal.calibration.features import Array
from weldcal.calibration.observation import SpeedQuestion, SpeedStep, Window
from weldcal.physics.sheet_path import SheetRead, hours_from

if TYPE_CHECKING:
    from weldcal.calibration.engine import Fit

HOLD_LOSS = 0.02  # joint chance given away before a setting stops being the best
HOLD_RANGE_K = 32.0
LAST_HOUR = 20.0  # steps are shown until then
MOST_STEPS = 6
_COVERED = 0.6  # share of a clear sky's sun: below, the sheet was read under cloud or in shade
_LOOK_EVERY_K = 1.0  # the sheet moves by this much before speeds are compared again


@dataclass(frozen=True, slots=True)
class SetNow:
    """What is set, and all speeds of the dial, m/min."""

    nozzle_c: float
    speed: float
    speeds: Array


def until(
    fit: Fit, question: SpeedQuestion, window: Window, setting: SetNow
) -> tuple[float | None, float | None]:
    """Sheet temperature from which another speed is better by HOLD_LOSS, and that speed.

    Looks upwards (a roof warms) by bisection, since the loss grows with warming.

    Args:
        fit: of every observation.
        question: day, machine, sheet, lap kind and conditions, SI.
        window: the job's limits, mm.
        setting: what is set.

    Returns:
        °C and m/min; twice `None` where it holds over the range looked at.
    """
    if question.sheet_c is None:
        return None, None
    low, high = question.sheet_c, question.sheet_c + HOLD_RANGE_K
    after = _better(fit, question, fit.at_sheet(question, high), window, setting)
    if after is None:
        return None, None
    while high - low > 1.0:
        middle = (low + high) / 2.0
        speed = _better(fit, question, fit.at_sheet(question, middle), window, setting)
        if speed is None:
            low = middle
        else:
            high, after = middle, speed
    return high, after


def steps(
    fit: Fit, question: SpeedQuestion, window: Window, setting: SetNow
) -> tuple[SpeedStep, ...]:
    """The speeds of the rest of the day, each from the hour at which it becomes the better one.

    Ends where the sheet would be far from all that was tried.

    Args:
        fit: of every observation.
        question: day, machine, sheet, lap kind and conditions, SI.
        window: the job's limits, mm.
        setting: what is set.

    Returns:
        the steps, earliest first.
    """
    steps_found: list[SpeedStep] = []
    looked = _face(question)
    for hour, then in _later(fit, question):
        if abs(_face(then) - looked) < _LOOK_EVERY_K:
            continue
        if bracket.held_at(fit, then) is not None or len(steps_found) == MOST_STEPS:
            break
        looked = _face(then)
        speed = _better(fit, question, then, window, setting)
        if speed is not None:
            steps_found.append(SpeedStep(hour, looked, speed))
            question, setting = then, replace(setting, speed=speed)
    return tuple(steps_found)


def sky_of(question: SpeedQuestion) -> str:
    """Under which sky the steps hold: clear, overcast, or as it was at the reading.

    Args:
        question: day, machine, sheet, lap kind and conditions, SI.

    Returns:
        `clear`, `overcast` or `as_read`.
    """
    read = staleness.reading(question)
    if question.sky == "overcast":
        return "overcast"
    covered = read is not None and read.sun_share() < _COVERED and question.sky != "clear"
    return "as_read" if covered else "clear"


def _later(fit: Fit, question: SpeedQuestion) -> Iterator[tuple[float, SpeedQuestion]]:
    """The question every ten minutes from now on, if the sky stays as it is."""
    now, air_c = question.hour, question.ambient_c
    if now is None or (question.sheet_c is None and air_c is None):
        return
    for hour in hours_from(now, LAST_HOUR):
        sheet_c = staleness.later_c(question, hour)
        if sheet_c is not None:
            yield hour, replace(fit.at_sheet(question, sheet_c), hour=hour)
        elif air_c is not None:
            read = SheetRead(air_c, now, None, question.wind_m_per_s, question.site, question.sky)
            yield hour, replace(question, hour=hour, ambient_c=air_c + read.air_moved_k(hour))


def _face(question: SpeedQuestion) -> float:
    face = question.sheet_c if question.sheet_c is not None else question.ambient_c
    return 0.0 if face is None else face


def _better(
    fit: Fit, question: SpeedQuestion, then: SpeedQuestion, window: Window, setting: SetNow
) -> float | None:
    """The best speed then, where it is better than the one set by HOLD_LOSS."""
    near = _near_shift(fit, question, then, setting)
    outcomes = fit.outcomes(then, [setting.nozzle_c] * len(near), near.tolist(), window)
    chance = outcomes.joint.mean(axis=0)
    stays = chance[int(np.argmin(np.abs(near - setting.speed)))]
    return float(near[int(np.argmax(chance))]) if chance.max() - stays > HOLD_LOSS else None


def _near_shift(fit: Fit, question: SpeedQuestion, then: SpeedQuestion, setting: SetNow) -> Array:
    """The setting itself and a few dial speeds around where the weather moves it."""
    moved = fit.heat_at(then, setting.nozzle_c, setting.speed)
    moved -= fit.heat_at(question, setting.nozzle_c, setting.speed)
    nearest = np.argsort(np.abs(np.log(setting.speeds / setting.speed) - moved))[:7]
    return np.unique(np.append(setting.speeds[nearest], setting.speed))
