"""How far a setting lies from what was tried: the rule against silent extrapolation.

Invariant: a doubt names what is beyond the strips; only strips of the same
sheet and lap kind that say something, and were not set aside, count as tried.
"""

from __future__ import annotations

from dataclasses import replace
from math import isnan
from typing import TYPE_CHECKING

import numpy as np

from weldcal.calibration import priors, repairs, staleness
from weldcal.calibration.observation import Observation, SpeedQuestion
from weldcal.calibration.response import wild_chance

if TYPE_CHECKING:
    from weldcal.calibration.engine import Fit

HEAT_MARGIN = 0.15  # heat index: about 15 % of speed
SHEET_MARGIN_K = 15.0
FAR_K = 25.0  # beyond what was tried: from here on the speed is held at what this far gives
NOZZLE_MARGIN_K = 20.0
WILD = 0.5

BEYOND = frozenset(
    {
        "nothing_tried",
        "machine_untried",
        "machine_repaired",
        "speed_beyond_strips",
        "nozzle_beyond_strips",
        "weather_beyond_strips",
    }
)


def set_aside(fit: Fit, sheet: str) -> list[int]:
    """Positions of observations whose width is more likely wild than not.

    Args:
        fit: of every observation.
        sheet: whose elasticity is integrated.

    Returns:
        positions in the fit's observations.
    """
    _, miss, scale, at = fit.residuals(sheet)
    return [int(i) for i in at[wild_chance(miss, scale) > WILD]]


def doubts(fit: Fit, question: SpeedQuestion, nozzle_c: float, heat: float) -> list[str]:
    """Codes for what the setting leaves behind: nothing tried, or tried too far away.

    Args:
        fit: of the strips that speak of a working machine.
        question: day, machine, sheet, lap kind and conditions, SI.
        nozzle_c: the setting's nozzle temperature, °C.
        heat: its heat index.

    Returns:
        the codes; none where it lies within what was tried.
    """
    aside = set(set_aside(fit, question.sheet))
    tried = [
        (o, z)
        for i, (o, z) in enumerate(zip(fit.observations, fit.heats(question.sheet), strict=True))
        if o.sheet == question.sheet and o.lap == question.lap and i not in aside and not isnan(z)
    ]
    if not tried:
        return ["nothing_tried"]
    found = []
    if question.machine not in {o.machine for o, _ in tried}:
        found.append("machine_untried")
    elif repairs.unmet(question, fit.layout.levels):
        found.append("machine_repaired")
    heats = np.array([z for _, z in tried])
    if not heats.min() - HEAT_MARGIN <= heat <= heats.max() + HEAT_MARGIN:
        found.append("speed_beyond_strips")
    nozzle = [o.nozzle_c for o, _ in tried]
    if not min(nozzle) - NOZZLE_MARGIN_K <= nozzle_c <= max(nozzle) + NOZZLE_MARGIN_K:
        found.append("nozzle_beyond_strips")
    face = [face_c(staleness.by_now(o)) for o, _ in tried]
    if not min(face) - SHEET_MARGIN_K <= face_c(question) <= max(face) + SHEET_MARGIN_K:
        found.append("weather_beyond_strips")
    return found


def held_at(fit: Fit, question: SpeedQuestion) -> tuple[SpeedQuestion, bool] | None:
    """The question at the warmest (or coldest) sheet that a speed is still advised for, and
    whether the one asked is warmer; `None` where it lies within `FAR_K` of what was tried.
    Where nothing was, common practice is all there is, and that is of a mild day.

    Args:
        fit: of every observation.
        question: day, machine, sheet, lap kind and conditions, SI.

    Returns:
        that question, and True where the one asked is warmer.
    """
    mild = (priors.SHEET_C, priors.SHEET_C)
    tried = fit.tried_c(question.sheet, question.lap) or mild
    here, low, high = face_c(question), tried[0] - FAR_K, tried[1] + FAR_K
    if low <= here <= high:
        return None
    edge = min(max(here, low), high)
    if question.sheet_c is None:
        return replace(question, ambient_c=edge), here > high
    return fit.at_sheet(question, edge), here > high


def face_c(asked: Observation | SpeedQuestion) -> float:
    """Sheet temperature, or what stands in for it, °C.

    Args:
        asked: a strip or a question.

    Returns:
        °C: the sheet's, else the air's, else a mild day's.
    """
    for read in (asked.sheet_c, asked.ambient_c):
        if read is not None:
            return read
    return priors.SHEET_C
