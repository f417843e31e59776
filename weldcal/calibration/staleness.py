"""How far a sheet may have moved since its temperature was read.

Invariant: an older reading never leaves less open than a fresh one. Only the spread grows: with
the cloud not known, nobody can say which way.
"""

from __future__ import annotations

import math

import numpy as np

from weldcal.calibration import priors
from weldcal.calibration.features import Array, sun_share
from weldcal.calibration.observation import Question


def sheet_spread_k(question: Question) -> float:
    """Standard deviation, K, of the sheet about its last reading; 0 where it is read now.

    The root of the age (cloud, wind, shade) and what the sun's path between the two hours
    may do to a dark sheet, added as variances.
    """
    read, now = question.hour_sheet_read, question.hour
    if question.sheet_c is None or read is None or now is None or now <= read:
        return 0.0
    hours = read + (now - read) * np.linspace(0.0, 1.0, 13)
    share = sun_share(hours)
    moved = float(np.max(np.abs(share - share[0])))
    return math.hypot(priors.AGE_K_PER_ROOT_HOUR * math.sqrt(now - read), priors.AGE_SUN_K * moved)


def spread(question: Question) -> float:
    """The same as sd of the ln of the right speed."""
    return priors.WEATHER.mean * sheet_spread_k(question)


def noise(question: Question, draws: int, seed: int) -> Array:
    """One error of the reading for each draw, ln speed: the sheet is one and the same for
    every setting looked at."""
    sd = spread(question)
    if sd == 0.0:
        return np.zeros(draws)
    return sd * np.random.default_rng(seed + 2).standard_normal(draws)
