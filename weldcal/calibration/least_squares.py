"""Plain least squares: what an engineer would do with today's strips and a pencil.

Invariant: no prior, no outlier rule, no censoring. It stands beside the engine
in the report so that anybody can see what those bring.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import stdtrit

from weldcal.calibration.features import Array

_CHANCE = 0.90


class TooFewRowsError(ValueError):
    """Fewer rows than coefficients: plain least squares has nothing to say."""


@dataclass(frozen=True, slots=True)
class LeastSquares:
    """Estimates and their standard deviations (p,), residual standard deviation, degrees of
    freedom; `covariance[p, p]` of the estimates per unit of residual variance."""

    estimates: Array
    deviations: Array
    residual: float
    freedom: int
    covariance: Array

    def interval(self, x: ArrayLike) -> tuple[float, float, float]:
        """Prediction at one row `x` (p,): middle, and ends of the 90 % interval of a new one.

        Args:
            x: columns of the row, (p,).

        Returns:
            middle, low and high, in the unit of `y`.
        """
        row = np.asarray(x, dtype=float)
        middle = float(row @ self.estimates)
        spread = self.residual * float(np.sqrt(1.0 + row @ self.covariance @ row))
        wide = float(stdtrit(self.freedom, 0.5 + _CHANCE / 2.0)) * spread
        return middle, middle - wide, middle + wide


def least_squares(x: ArrayLike, y: ArrayLike) -> LeastSquares:
    """Least squares of `y[n]` on the columns of `x[n, p]` by Householder QR, `n > p`.

    Columns are scaled to unit length first, and one step of iterative refinement follows
    (Golub & Van Loan, Matrix Computations, 5.3). Raises TooFewRowsError.

    Args:
        x: columns, (n, p).
        y: what they explain, (n,).

    Returns:
        coefficients, their covariance and the residual's sd.

    Raises:
        TooFewRowsError: no more rows than columns.
    """
    raw, target = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    rows, columns = raw.shape
    if rows <= columns:
        raise TooFewRowsError(f"{rows} rows for {columns} coefficients")
    lengths = np.sqrt((raw**2).sum(axis=0))
    q, r = np.linalg.qr(raw / lengths)
    inverse = np.linalg.inv(r)
    scaled = inverse @ (q.T @ target)
    scaled = scaled + inverse @ (q.T @ (target - (raw / lengths) @ scaled))
    residuals = target - raw @ (scaled / lengths)
    freedom = rows - columns
    residual = float(np.sqrt(residuals @ residuals / freedom))
    covariance = (inverse @ inverse.T) / np.outer(lengths, lengths)
    return LeastSquares(
        scaled / lengths, residual * np.sqrt(np.diag(covariance)), residual, freedom, covariance
    )
