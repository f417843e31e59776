"""General-purpose peers: a plain Gaussian process, and expected improvement on one.

Invariant: both get every condition as columns, the day as a number and today as a
flag, and no physics. Kernels are scikit-learn's, fitted by its own optimiser from the
default start.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from tests.bench.heat import Edges
from tests.bench.methods import Choice, Known, Scene
from tests.bench.regressions import FALLBACK, Width, conditions, decide, log_width
from tests.bench.roofs import SPEEDS, WINDOW
from weldcal.calibration.observation import Observation, SpeedQuestion

LENGTHS = (0.05, 20.0)


def _columns(
    rows: tuple[Observation, ...], question: SpeedQuestion
) -> tuple[np.ndarray, np.ndarray]:
    """Training columns and the question's at every speed, columns that vary only, scaled."""
    names = sorted({r.machine for r in rows} | {question.machine})[1:]
    number = {d: i for i, d in enumerate(sorted({r.day for r in rows} | {question.day}))}

    def plain(some: tuple[Observation | SpeedQuestion, ...]) -> np.ndarray:
        flags = np.array([[r.machine == n for n in names] for r in some], float)
        days = np.array([(number[r.day] / 5, r.day == question.day) for r in some], float)
        return np.column_stack([conditions(some), flags.reshape(len(some), -1), days])

    x, asked = plain(rows), np.repeat(plain((question,)), len(SPEEDS), 0)
    vary = np.ptp(np.vstack([x, asked[:1]]), axis=0) > 1e-6
    speed = np.log([r.speed_m_per_min for r in rows]) / 0.2
    return (
        np.column_stack([speed, x[:, vary]]),
        np.column_stack([np.log(SPEEDS) / 0.2, asked[:, vary]]),
    )


def _predict(
    kernel_name: str, x: np.ndarray, y: np.ndarray, new: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    from sklearn.gaussian_process import GaussianProcessRegressor
    from sklearn.gaussian_process.kernels import RBF, ConstantKernel, Matern, WhiteKernel

    start = np.full(x.shape[1], 2.0)
    shape = RBF(start, LENGTHS) if kernel_name == "rbf" else Matern(start, LENGTHS, nu=2.5)
    kernel = ConstantKernel(1.0, (0.05, 20)) * shape + WhiteKernel(0.1, (1e-3, 1.0))
    model = GaussianProcessRegressor(kernel, normalize_y=True)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        mean, sd = model.fit(x, y).predict(new, return_std=True)
    return mean, np.maximum(sd, 1e-3)


@dataclass(frozen=True, slots=True)
class PlainProcess:
    """Gaussian process on log width."""

    name: str = "gp"

    def choose(self, known: Known, scene: Scene) -> Choice:
        rows = known.measured
        if len(rows) < 3:
            return FALLBACK.choose(known, scene)
        x, new = _columns(rows, known.question)
        mean, sd = _predict("rbf", x, np.array([log_width(r) for r in rows]), new)
        return decide(Width(mean, sd), Edges.of(known.rows), known.question)


@dataclass(frozen=True, slots=True)
class Improver:
    """Sequential optimiser: expected improvement of a score of nearness to the aim."""

    name: str = "optimiser"

    def choose(self, known: Known, scene: Scene) -> Choice:
        rows = known.measured
        if len(rows) < 3:
            return FALLBACK.choose(known, scene)
        x, new = _columns(rows, known.question)
        score = np.array([_score(r) for r in rows])
        mean, sd = _predict("matern", x, score, new)
        best = max((_score(r) for r in known.today), default=float(np.quantile(score, 0.9)))
        z = (mean - best) / sd
        gain = sd * (z * ndtr(z) + np.exp(-0.5 * z**2) / np.sqrt(2 * np.pi))
        return Choice(SPEEDS[np.argmax(mean)], SPEEDS[np.argmax(gain)])


def _score(seen: Observation) -> float:
    fault = 0.5 * (seen.bubbling in ("trace", "heavy")) + 0.5 * (seen.bond == "cold")
    return -abs(log_width(seen) - float(np.log(WINDOW.aim_mm))) - fault
