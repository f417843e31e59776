"""Settings that today's strips have just shown to fail: never advised again as they are.

Invariant: what parted cold says that no setting with as little heat will do, and what bubbled
heavily that none with as much will, until a later strip at such a setting shows the contrary.
"""

from __future__ import annotations

from math import inf, isnan
from typing import TYPE_CHECKING

from weldcal.calibration.day_state import in_order
from weldcal.calibration.observation import Observation, Question

if TYPE_CHECKING:
    from weldcal.calibration.engine import Fit

SAME_HEAT = 0.02  # heat index: settings nearer than this are one setting


def limits(fit: Fit, question: Question) -> tuple[float, float]:
    """Heat indices between which a setting must lie: above the first, below the second.

    Where the two leave nothing between them, today's strips contradict each other, and
    there is no limit: the signs say so.
    """
    heats = fit.heats(question.sheet)
    today = [
        (fit.observations[i], heats[i])
        for i in in_order(fit.observations, question)
        if _alike(fit.observations[i], question) and not isnan(heats[i])
    ]
    floor, ceiling = -inf, inf
    for n, (o, heat) in enumerate(today):
        if o.bond == "cold" and not _held(today[n + 1 :], heat):
            floor = max(floor, heat)
        if o.bubbling == "heavy" and not o.damp and not _clean(today[n + 1 :], heat):
            ceiling = min(ceiling, heat)
    if floor + SAME_HEAT >= ceiling - SAME_HEAT:
        return -inf, inf
    return floor + SAME_HEAT, ceiling - SAME_HEAT


def _alike(o: Observation, question: Question) -> bool:
    return (o.sheet, o.lap) == (question.sheet, question.lap)


def _held(later: list[tuple[Observation, float]], heat: float) -> bool:
    """A later strip with no more heat was pulled and held."""
    return any(o.bond == "good" and z <= heat + SAME_HEAT for o, z in later)


def _clean(later: list[tuple[Observation, float]], heat: float) -> bool:
    """A later strip with no less heat did not bubble."""
    return any(o.bubbling == "none" and z >= heat - SAME_HEAT for o, z in later)
