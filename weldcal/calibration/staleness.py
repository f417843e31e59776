"""How far a sheet may have moved since its temperature was read.

Invariant: an older reading never leaves less open than a fresh one. Where nobody noted the sky
only the spread grows, for nobody can say which way; where it was noted the balance says it.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache
from typing import TypeVar

import numpy as np

from weldcal.calibration import priors
from weldcal.calibration.features import Array
from weldcal.calibration.observation import Observation, SpeedQuestion
from weldcal.physics.sheet_path import SheetRead, hours_from

Asked = TypeVar("Asked", SpeedQuestion, Observation)

_STEP_H = 0.5
NOTED = ("clear", "overcast")  # skies under which the balance says where the sheet is


def reading(asked: SpeedQuestion | Observation) -> SheetRead | None:
    """The sheet as last read, as the start of its path; `None` where it was not read.

    Args:
        asked: a question, or a strip or check.

    Returns:
        the reading.
    """
    at = asked.hour if asked.hour_sheet_read is None else asked.hour_sheet_read
    if asked.sheet_c is None or at is None:
        return None
    # Today's noon air beside the morning's sheet would tell of a sun that never was.
    if asked.beside is None or asked.hour_sheet_read is None:
        air, wind = asked.ambient_c, asked.wind_m_per_s
    else:
        air, wind = asked.beside.air_c, asked.beside.wind_m_per_s
    return SheetRead(asked.sheet_c, at, air, wind, asked.site, asked.sky)


def sheet_spread_k(asked: SpeedQuestion | Observation) -> float:
    """Standard deviation, K, of the sheet about where it is taken to be; 0 where it is read now.

    The root of the age (cloud, wind, shade) and a share of what the sun may have done to a
    dark sheet meanwhile, added as variances.

    Args:
        asked: a question, or a strip or check.

    Returns:
        K, 1 sd.
    """
    if asked.hour_sheet_read is None:
        return 0.0
    read, now = reading(asked), asked.hour
    if read is None or now is None or now <= read.hour:
        return 0.0
    moved = _most_moved_k(read, math.ceil((now - read.hour) / _STEP_H - 1e-9))
    share = priors.AGE_SUN_NOTED if asked.sky in NOTED else priors.AGE_SUN_UNKNOWN
    return math.hypot(priors.AGE_K_PER_ROOT_HOUR * math.sqrt(now - read.hour), share * moved)


@lru_cache(maxsize=8192)
def _most_moved_k(read: SheetRead, steps: int) -> float:
    """The furthest the sun may have moved it in so many half hours, K."""
    last = read.hour + steps * _STEP_H
    return max(abs(read.moved_k(hour)) for hour in hours_from(read.hour, last, _STEP_H))


def by_now(asked: Asked) -> Asked:
    """A question or a strip with its sheet where the balance puts it at its hour, if the sky was
    noted: a strip made an hour after the reading was no more made on the sheet as it was read
    than the question of a minute later is asked of it.

    The age of the reading stays, and with it the spread about that.

    Args:
        asked: a question, or a strip or check.

    Returns:
        the same, its sheet moved.
    """
    read, now = reading(asked), asked.hour
    if read is None or now is None or now <= read.hour or asked.sky not in NOTED:
        return asked
    return replace(asked, sheet_c=read.at(now))


def spread(asked: SpeedQuestion | Observation) -> float:
    """The same as sd of the ln of the right speed.

    Args:
        asked: a question, or a strip or check.

    Returns:
        ln speed, 1 sd.
    """
    return priors.WEATHER.mean * sheet_spread_k(asked)


def noise(question: SpeedQuestion, draws: int, seed: int) -> Array:
    """One error of the reading for each draw, ln speed: the sheet is one and the same for
    every setting looked at.

    Args:
        question: day, machine, sheet, lap kind and conditions, SI.
        draws: how many.
        seed: of the errors; the same each time.

    Returns:
        ln speed, (draws,).
    """
    sd = spread(question)
    if sd == 0.0:
        return np.zeros(draws)
    return sd * np.random.default_rng(seed + 2).standard_normal(draws)
