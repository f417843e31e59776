"""Bubbling and bond for the regression peers: one threshold each on a heat index.

Invariant: monotone in heat. The index is how much slower than the physics speed the
strip was (log); the threshold has a normal prior and is integrated over a grid, so
that it works with all-one-class data and with none.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import expit, log_expit

from tests.bench.methods import START_SPEED, felt_c, physics_log_speed
from weldcal.calibration.observation import Observation, SpeedQuestion

SOFT = 0.06  # softness of the edge, log speed
GRID = np.linspace(-3.0, 2.5, 221)


def heat(speed: float | np.ndarray, seen: Observation | SpeedQuestion) -> np.ndarray:
    """Log of the physics speed over the speed; up is hotter."""
    return physics_log_speed(felt_c(seen), seen.nozzle_c or 540.0) - np.log(speed)


@dataclass(frozen=True, slots=True)
class Edges:
    """Posterior weights over `GRID` of the two thresholds."""

    bubble: np.ndarray
    bond: np.ndarray

    @classmethod
    def of(cls, rows: tuple[Observation, ...]) -> Edges:
        """Learnt from strips not noted damp; pulls not tried teach nothing."""
        dry = [r for r in rows if not r.damp]
        bubble = [
            (float(heat(r.speed_m_per_min, r)), r.bubbling != "none") for r in dry if r.bubbling
        ]
        bond = [(float(heat(r.speed_m_per_min, r)), r.bond == "good") for r in dry if r.bond]
        return cls(
            _weights(bubble, 0.55 - np.log(START_SPEED)),
            _weights(bond, -0.55 - np.log(START_SPEED)),
        )

    def chances(self, speeds: np.ndarray, question: SpeedQuestion) -> tuple[np.ndarray, np.ndarray]:
        """Chance of any bubbling and of a bond, at each speed."""
        over = expit((heat(speeds, question)[:, None] - GRID) / SOFT)
        return over @ self.bubble, over @ self.bond


def _weights(seen: list[tuple[float, bool]], centre: float) -> np.ndarray:
    log_w = -0.5 * ((GRID - centre) / 0.6) ** 2
    for at, yes in seen:
        log_w = log_w + np.logaddexp(
            log_expit((1 if yes else -1) * (at - GRID) / SOFT), np.log(0.02)
        )
    weights = np.exp(log_w - log_w.max())
    return weights / weights.sum()
