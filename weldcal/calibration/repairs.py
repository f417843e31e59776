"""What a repair leaves open: the machine runs as it did, give or take a step nobody knows yet.

Invariant: the first strip after a repair says how large the step was; until there is one, every
draw has a step of its own and advice is not sure.
"""

from __future__ import annotations

import numpy as np

from weldcal.calibration import priors
from weldcal.calibration.features import Array, Levels
from weldcal.calibration.observation import SpeedQuestion


def unmet(question: SpeedQuestion, levels: Levels) -> int:
    """Repairs of the question's machine that no strip lies after.

    Args:
        question: whose machine is meant.
        levels: repairs that strips lie after.

    Returns:
        how many.
    """
    met = max((n for machine, n in levels.repairs if machine == question.machine), default=0)
    return max(0, question.repairs - met)


def step(question: SpeedQuestion, levels: Levels, draws: int, seed: int) -> Array:
    """The step of such repairs, ln speed, for each draw; zeros where there are none.

    Args:
        question: whose machine it is.
        levels: with the repairs that strips lie after.
        draws: how many.
        seed: of the draws; the same each time.

    Returns:
        ln speed, (draws,).
    """
    count = unmet(question, levels)
    if not count:
        return np.zeros(draws)
    sd = priors.REPAIR.sd * count**0.5
    return np.asarray(sd * np.random.default_rng(seed + 5).standard_normal(draws))
