"""Which strip to run next: one that teaches where the window lies, and may itself be right.

Invariant: only weldable settings within reach are looked at, and the gain of a
strip is never negative beyond rounding: one may always ignore it.

One-step look-ahead on the posterior's draws (expected value of sample
information; Raiffa & Schlaifer 1961): for each candidate, its possible results
reweight the draws, and the best joint chance after each is averaged. A strip that is
right itself is worth as much as a right one after it: the two chances are added.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from weldcal.calibration.features import Array
from weldcal.calibration.outcome import Outcomes

MAY_BUBBLE_HEAVILY = 0.10
_DRAWS = 250
_RESULTS = 12
_CANDIDATES = 14
# Another speed than the advised one is asked for only where it is worth clearly more: about
# what chances from 250 draws can tell apart (our number).
_CLEARLY = 0.02


def expected_gain(found: Outcomes, by_bleed_out: bool, advised: int) -> tuple[int, float]:
    """Position of the setting whose strip is worth most, and what it adds to the best chance.

    `found` covers the settings that could be advised, `advised` is today's best.

    Args:
        found: outcomes (draws, settings) of what could be advised.
        by_bleed_out: the width is seen.
        advised: position of today's best.

    Returns:
        position of the setting, and the gain in joint chance, never below 0.
    """
    some = slice(None, None, max(1, len(found.joint) // _DRAWS))
    joint = found.joint[some]
    weldable = np.flatnonzero(found.heavy.mean(axis=0) <= MAY_BUBBLE_HEAVILY)
    if not len(weldable):
        weldable = np.array([int(np.argmin(found.heavy.mean(axis=0)))])
    every = max(1, len(weldable) // _CANDIDATES)
    candidates = np.unique(np.append(weldable[::every], advised))
    candidates = candidates[np.isin(candidates, weldable)]
    now = float(joint.mean(axis=0).max())
    gains = np.array([_after(found, some, joint, c, by_bleed_out) - now for c in candidates])
    worth = gains + joint.mean(axis=0)[candidates]
    best = int(np.argmax(worth))
    same = np.flatnonzero(candidates == advised)
    if len(same) and worth[best] - worth[same[0]] < _CLEARLY:
        best = int(same[0])
    return int(candidates[best]), max(0.0, float(gains[best]))


def _after(found: Outcomes, some: slice, joint: Array, candidate: int, by_bleed_out: bool) -> float:
    """Mean over results of the best joint chance once that result is known."""
    classes = _class_chances(found, some, candidate)
    if by_bleed_out:
        mu, scale = found.log_width[some, candidate], found.scale[some, candidate]
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


def _class_chances(found: Outcomes, some: slice, candidate: int) -> list[Array]:
    """Chance, per draw, of each thing that may be seen besides the width."""
    bubbling = found.bubbling[some, candidate]
    cold = found.cold[some, candidate]
    return [(1.0 - bubbling) * (1.0 - cold), bubbling * (1.0 - cold), cold]


def _spread(count: int) -> NDArray[np.float64]:
    """Standard normal numbers, shuffled once and for all."""
    return np.random.default_rng(7).standard_normal(count)
