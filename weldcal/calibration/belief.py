"""What is believed of a job before its strips, where other jobs taught something.

Invariant: a normal for the coefficients, conditioned exactly where one of them is pinned.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from weldcal.calibration.features import Array

PINNED = 1e8  # precision of a coefficient that is held


@dataclass(frozen=True, slots=True)
class Belief:
    """Before a job's strips: mean and covariance of its coefficients in the layout's order,
    (mean, sd) of the spreads from day to day and strip to strip, in sds of their priors, and the
    chance that the job is like none of the firm's."""

    mean: Array
    cov: Array
    day: tuple[float, float]
    strip: tuple[float, float]
    unlike: float

    def precision(self) -> Array:
        """Inverse of the covariance.

        Returns:
            (p, p), in the layout's order.
        """
        return np.asarray(np.linalg.inv(self.cov))

    def pinned(self, at: int, values: Array) -> tuple[Array, Array]:
        """Means (K, p) and the precision (p, p) where one coefficient is held at `values[K]`.

        Args:
            at: position of the coefficient in the layout.
            values: what it is held at, K of them.

        Returns:
            means (K, p) and the precision (p, p).
        """
        by = self.cov[:, at] / self.cov[at, at]
        means = self.mean + np.outer(values - self.mean[at], by)
        precision = self.precision()
        precision[at, :] = 0.0
        precision[:, at] = 0.0
        precision[at, at] = PINNED
        return means, precision

    def outer(self, at: int | None, mean: float, sd: float) -> tuple[Array, Array]:
        """Mean and sd of the outer unknowns (day, strip, and the pinned coefficient where there
        is one), the last in sds `sd` from `mean`.

        Args:
            at: position of the pinned coefficient; `None` where none is.
            mean: of its prior.
            sd: of its prior.

        Returns:
            means and sds, (2,) or (3,).
        """
        pairs = [self.day, self.strip]
        if at is not None:
            pairs.append(((self.mean[at] - mean) / sd, self.cov[at, at] ** 0.5 / sd))
        middle, spread = np.array(pairs, dtype=float).T
        return middle, spread
