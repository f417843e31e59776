"""The settings that may be advised, and which of them the next strip should try.

Invariant: steps of the dial inside every limit; nothing outside the reach of machine and sheet
maker ever comes out. The gain of a strip is never negative beyond rounding: one may ignore it.

The next strip teaches where the window lies, and may itself be right: one-step look-ahead on the
posterior's draws (expected value of sample information; Raiffa & Schlaifer 1961). For each
candidate, its possible results reweight the draws, and the best joint chance after each is
averaged. A strip that is right itself is worth as much as a right one after it: the two chances
are added.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from weldcal.calibration.features import Array
from weldcal.calibration.observation import Reach, SpeedQuestion
from weldcal.calibration.outcome import Outcomes

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


MAY_BUBBLE_HEAVILY = 0.10
_DRAWS = 250
_RESULTS = 12
_CANDIDATES = 14
# Another speed than the advised one is asked for only where it is worth clearly more: about
# what chances from 250 draws can tell apart (our number).
_CLEARLY = 0.02


def expected_gain(outcomes: Outcomes, by_bleed_out: bool, advised: int) -> tuple[int, float]:
    """Position of the setting whose strip is worth most, and what it adds to the best chance.

    `outcomes` covers the settings that could be advised, `advised` is today's best.

    Args:
        outcomes: outcomes (draws, settings) of what could be advised.
        by_bleed_out: the width is seen.
        advised: position of today's best.

    Returns:
        position of the setting, and the gain in joint chance, never below 0.
    """
    some = slice(None, None, max(1, len(outcomes.joint) // _DRAWS))
    joint = outcomes.joint[some]
    weldable = np.flatnonzero(outcomes.heavy.mean(axis=0) <= MAY_BUBBLE_HEAVILY)
    if not len(weldable):
        weldable = np.array([int(np.argmin(outcomes.heavy.mean(axis=0)))])
    every = max(1, len(weldable) // _CANDIDATES)
    candidates = np.unique(np.append(weldable[::every], advised))
    candidates = candidates[np.isin(candidates, weldable)]
    now = float(joint.mean(axis=0).max())
    gains = np.array([_after(outcomes, some, joint, c, by_bleed_out) - now for c in candidates])
    worth = gains + joint.mean(axis=0)[candidates]
    best = int(np.argmax(worth))
    same = np.flatnonzero(candidates == advised)
    if len(same) and worth[best] - worth[same[0]] < _CLEARLY:
        best = int(same[0])
    return int(candidates[best]), max(0.0, float(gains[best]))


def _after(
    outcomes: Outcomes, some: slice, joint: Array, candidate: int, by_bleed_out: bool
) -> float:
    """Mean over results of the best joint chance once that result is known."""
    classes = _class_chances(outcomes, some, candidate)
    if by_bleed_out:
        mu, scale = outcomes.log_width[some, candidate], outcomes.scale[some, candidate]
        levels = (np.arange(_RESULTS) + 0.5) / _RESULTS
        results = np.quantile(mu + scale * _spread(len(mu)), levels)
        weight = np.exp(-0.5 * ((results[:, None] - mu) / scale) ** 2) / scale
        weight /= weight.mean(axis=1, keepdims=True) * _RESULTS
    else:
        weight = np.ones((1, len(joint)))
    total = 0.0
    for chance in classes:
        total += float(((weight * chance) @ joint / len(joint)).max(axis=1).sum())
    return total


def _class_chances(outcomes: Outcomes, some: slice, candidate: int) -> list[Array]:
    """Chance, per draw, of each thing that may be seen besides the width."""
    bubbling = outcomes.bubbling[some, candidate]
    cold = outcomes.cold[some, candidate]
    return [(1.0 - bubbling) * (1.0 - cold), bubbling * (1.0 - cold), cold]


def _spread(count: int) -> NDArray[np.float64]:
    """Standard normal numbers, shuffled once and for all."""
    return np.random.default_rng(7).standard_normal(count)
