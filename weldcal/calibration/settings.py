"""The settings that may be advised: steps of the dial, inside every limit.

Invariant: nothing outside the reach of machine and sheet maker ever comes out.
"""

from __future__ import annotations

import math

import numpy as np

from weldcal.calibration.features import Array
from weldcal.calibration.observation import Reach, SpeedQuestion

_SLACK = 1e-9
_NOZZLES = 7


def dial_speeds(reach: Reach) -> Array:
    """Every speed the dial can be set to within reach, m/min, ascending.

    Args:
        reach: of machine and sheet maker.

    Returns:
        m/min, ascending.
    """
    if reach.speeds:
        marks = np.asarray(reach.speeds, dtype=float)
    else:
        count = math.floor((reach.speed_max - reach.speed_min) / reach.speed_step + _SLACK)
        marks = reach.speed_min + reach.speed_step * np.arange(count + 1)
    inside = (marks >= reach.speed_min - _SLACK) & (marks <= reach.speed_max + _SLACK)
    return np.asarray(marks[inside], dtype=float)


def nozzles(question: SpeedQuestion, reach: Reach) -> list[float]:
    """Nozzle temperatures to look at: the chosen one, those asked for, or a few over reach.

    Args:
        question: the nozzle temperatures asked for, °C.
        reach: of machine and sheet maker.

    Returns:
        °C.
    """
    if question.nozzle_c is not None:
        asked = [question.nozzle_c]
    elif question.nozzles_c:
        asked = list(question.nozzles_c)
    else:
        asked = np.linspace(reach.nozzle_min, reach.nozzle_max, _NOZZLES).tolist()
    return [n for n in asked if reach.nozzle_min - _SLACK <= n <= reach.nozzle_max + _SLACK]
