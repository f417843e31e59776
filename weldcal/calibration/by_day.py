"""Does the model earn its place on this record? Each day forecast from the other days.

Invariant: every method sees the same rows and is judged on the same held-out strips; the
strips of one day are never on both sides. Imported only when a report is asked for:
it loads scikit-learn.
"""

from __future__ import annotations

import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.special import ndtri
from sklearn.base import BaseEstimator, RegressorMixin
from sklearn.exceptions import ConvergenceWarning
from sklearn.gaussian_process import GaussianProcessRegressor
from sklearn.gaussian_process.kernels import RBF, ConstantKernel, WhiteKernel
from sklearn.linear_model import BayesianRidge
from sklearn.model_selection import GroupKFold
from sklearn.pipeline import make_pipeline
from sklearn.preprocessing import StandardScaler

from weldcal.calibration.features import Array
from weldcal.calibration.knowledge import KnownNames
from weldcal.calibration.lap_regressor import LapRegressor
from weldcal.calibration.observation import SIXTEENTH_MM, Observation, Window
from weldcal.calibration.tidy import median_mm
from weldcal.words import mark

FOLDS = 30  # at most so many groups of days, each a fit of its own
FEWEST_DAYS = 3
_HALF_STEP_M_PER_MIN = 0.1524  # half a foot a minute
_WIDE = float(ndtri(0.95))


@dataclass(frozen=True, slots=True)
class MethodScore:
    """How one method did on days it had not seen.

    Attributes:
        method: its name.
        strips: how many were forecast.
        off_mm: median distance from the strip's median reading, mm.
        off_log: root mean square of the same in ln width.
        covered: share inside its 90 % interval; `None` for a rule that gives none.
    """

    method: str
    strips: int
    off_mm: float
    off_log: float
    covered: float | None


class HalfStep(RegressorMixin, BaseEstimator):  # type: ignore[misc]
    """The crew's rule: half a foot a minute faster is 1/16 in less (common practice, no source)."""

    def fit(self, X: Array, y: Array) -> HalfStep:
        """Keep the last strip: ln speed in the first column, ln width.

        Args:
            X: columns, ln speed first, (n, q).
            y: ln width, ln mm, (n,).

        Returns:
            itself.
        """
        self.speed_, self.width_ = float(np.exp(X[-1, 0])), float(np.exp(y[-1]))
        return self

    def predict(self, X: Array) -> Array:
        """Ln width by the rule, never below half a sixteenth.

        Args:
            X: columns as in `fit`, (m, q).

        Returns:
            ln width, ln mm, (m,).
        """
        faster = np.exp(X[:, 0]) - self.speed_
        width = self.width_ - SIXTEENTH_MM * faster / _HALF_STEP_M_PER_MIN
        return np.asarray(np.log(np.maximum(width, SIXTEENTH_MM / 2)), dtype=float)


def by_day(
    strips: Sequence[Observation], window: Window, seed: int = 0, known: KnownNames | None = None
) -> tuple[MethodScore, ...]:
    """Judge the model and its rivals by leaving days out.

    Args:
        strips: in the order seen; those without a width that could be read are passed over.
        window: the job's limits.
        seed: of the engine's draws.
        known: what the firm's other jobs taught; the rivals have no use for it.

    Returns:
        One row a method, the model first; empty with fewer than `FEWEST_DAYS` days.
    """
    rows = [o for o in strips if o.readings_mm and median_mm(o) > 0.0]
    days = [o.day for o in rows]
    if len(set(days)) < FEWEST_DAYS:
        return ()
    truth = np.log([median_mm(o) for o in rows])
    forecasts = {name: (np.empty(len(rows)), np.full(len(rows), np.nan)) for name in _METHODS}
    folds = GroupKFold(min(FOLDS, len(set(days))))
    for train, test in folds.split(rows, truth, days):
        held = HeldOut(rows, truth, train, test)
        for name in _METHODS:
            forecast = (
                _ours(held, window, seed, known) if name == OURS else _rival(name, held, seed)
            )
            forecasts[name][0][test], forecasts[name][1][test] = forecast
    return tuple(_judged(name, truth, *forecasts[name]) for name in _METHODS)


@dataclass(frozen=True, slots=True)
class HeldOut:
    """Strips with their ln widths, and positions of those to learn from and to forecast."""

    rows: list[Observation]
    truth: Array
    train: Any
    test: Any


OURS = mark("this model")
_METHODS = (
    OURS,
    mark("ridge regression"),
    mark("Gaussian process"),
    mark("half-step rule"),
)


def _ours(
    held: HeldOut, window: Window, seed: int, known: KnownNames | None
) -> tuple[Array, Array]:
    """Ln width and its standard deviation at the held-out strips, by the model."""
    model = LapRegressor(
        window.low_mm, window.aim_mm, window.high_mm, window.trace_ok, seed=seed, known=known
    )
    model.fit([held.rows[i] for i in held.train], np.exp(held.truth[held.train]))
    asked = [held.rows[i] for i in held.test]
    low, middle, high = np.log(model.predict(asked, quantiles=(0.05, 0.5, 0.95))).T
    return middle, (high - low) / (2 * _WIDE)


def _rival(name: str, held: HeldOut, seed: int) -> tuple[Array, Array]:
    """The same by a rival; a standard deviation of NaN: it gives none."""
    x, train, test = _conditions(held.rows), held.train, held.test
    if name == "half-step rule":
        ahead = np.array([i for i in train if i < test[0]] or [train[0]])
        plain = HalfStep().fit(x[ahead], held.truth[ahead])
        return plain.predict(x[test]), np.full(len(test), np.nan)
    kernel = ConstantKernel(1.0) * RBF(np.ones(x.shape[1])) + WhiteKernel(0.1)
    rival = make_pipeline(
        StandardScaler(),
        BayesianRidge()
        if name == "ridge regression"
        else GaussianProcessRegressor(kernel, normalize_y=True, random_state=seed),
    )
    with warnings.catch_warnings():  # a length scale at its bound is an answer, not a fault
        warnings.simplefilter("ignore", ConvergenceWarning)
        rival.fit(x[train], held.truth[train])
    middle, spread = rival.predict(x[test], return_std=True)
    return np.asarray(middle, dtype=float), np.asarray(spread, dtype=float)


def _conditions(rows: Sequence[Observation]) -> Array:
    """Ln speed, nozzle, temperature felt, wind; what nobody read at its mean."""
    table = np.array(
        [
            (
                np.log(o.speed_m_per_min),
                o.nozzle_c,
                o.sheet_c if o.sheet_c is not None else o.ambient_c,
                o.wind_m_per_s,
            )
            for o in rows
        ],
        dtype=float,
    )
    for column in table.T:
        missing = np.isnan(column)
        column[missing] = column[~missing].mean() if (~missing).any() else 0.0
    return table


def _judged(name: str, truth: Array, middle: Array, spread: Array) -> MethodScore:
    off = middle - truth
    known = not np.isnan(spread).any()
    return MethodScore(
        name,
        len(truth),
        float(np.median(np.abs(np.exp(middle) - np.exp(truth)))),
        float(np.sqrt(np.mean(off**2))),
        float(np.mean(np.abs(off) <= _WIDE * spread)) if known else None,
    )
