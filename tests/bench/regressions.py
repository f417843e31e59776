"""Least-squares peers: today's strips, all strips, a mixed model, a conjugate regression.

Invariant: each is given every condition (speed, sheet or ambient temperature, nozzle
temperature, wind, line voltage, machine, day) and turns its prediction into advice by
the same rule: the speed with the best chance of inside, no bubbling and bonded. No
reading is imputed as half a step. Bubbling and bond use one shared model
(`heat.py`), so they differ in width alone.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.special import ndtr, stdtr, stdtrit

from tests.bench.heat import Edges, heat
from tests.bench.methods import START_SPEED, Choice, Known, Prediction, Rule, Scene, felt_c
from tests.bench.roofs import RATED_V, SPEEDS, WINDOW
from weldcal.calibration.observation import Observation, SpeedQuestion

FALLBACK = Rule("", halve=True, slope=True)
SURE = WINDOW.threshold


def log_width(seen: Observation) -> float:
    """Log of the median reading, half a step where none could be read."""
    return float(np.log(max(np.median(seen.readings_mm), seen.reading_step_mm / 2)))


def sun_share(hour: float | None) -> float:
    """Height of the sun over the day, 0 to 1, for roofs where nobody reads the sheet."""
    return 0.6 if hour is None else max(0.0, float(np.sin(np.pi * (hour - 6.0) / 13.0)))


def conditions(rows: tuple[Observation | SpeedQuestion, ...]) -> np.ndarray:
    """Columns: temperature, nozzle, wind, sun where only ambient was read, voltage; centred."""
    return np.array(
        [
            (
                (felt_c(r) - 25.0) / 10,
                ((r.nozzle_c or 540.0) - 540.0) / 20,
                ((r.wind_m_per_s if r.wind_m_per_s is not None else 2.0) - 2.0) / 2,
                sun_share(r.hour) - 0.6 if r.sheet_c is None else 0.0,
                ((r.line_v or 0.97 * RATED_V) / RATED_V - 0.97) / 0.03,
            )
            for r in rows
        ]
    )


@dataclass(frozen=True, slots=True)
class Width:
    """Predicted log median width at `SPEEDS`: Student t (df may be infinite)."""

    mean: np.ndarray
    sd: np.ndarray
    df: float = np.inf

    def between(self, low: float, high: float) -> np.ndarray:
        """Chance of a width between the two, mm."""
        return self._cdf(high) - self._cdf(low)

    def _cdf(self, mm: float) -> np.ndarray:
        z = (np.log(mm) - self.mean) / self.sd
        return ndtr(z) if np.isinf(self.df) else stdtr(self.df, z)

    def interval(self, i: int) -> tuple[float, float, float]:
        """Median, 5 % and 95 %, mm."""
        half = self.sd[i] * (1.6449 if np.isinf(self.df) else stdtrit(self.df, 0.95))
        return tuple(float(np.exp(min(self.mean[i] + d, 7.0))) for d in (0, -half, half))  # type: ignore[return-value]


def decide(width: Width, edges: Edges, question: SpeedQuestion) -> Choice:
    """The speed with the best joint chance, and what is predicted there."""
    bubbling, bonded = edges.chances(SPEEDS, question)
    joint = width.between(WINDOW.low_mm, WINDOW.high_mm) * (1 - bubbling) * bonded
    i = int(np.argmax(joint))
    if joint[i] < 1e-6:
        i = int(np.argmin(np.abs(width.mean - np.log(WINDOW.aim_mm))))
    seen = Prediction(*width.interval(i), float(bubbling[i]))
    return Choice(SPEEDS[i], SPEEDS[i], bool(joint[i] >= SURE), float(joint[i]), seen, seen)


@dataclass(frozen=True, slots=True)
class LeastSquares:
    """Ordinary least squares: on today's strips alone, or pooled with every condition."""

    name: str
    pooled: bool

    def choose(self, known: Known, scene: Scene) -> Choice:
        question = known.question
        rows = (known if self.pooled else replace(known, earlier=())).measured
        y = np.array([log_width(r) for r in rows])
        v = np.log([r.speed_m_per_min for r in rows])
        if len(rows) < 3 or np.ptp(v) < 0.03:
            return FALLBACK.choose(known, scene)
        extra, asked = _design(rows, question) if self.pooled else (np.zeros((len(rows), 0)),) * 2
        if len(rows) < extra.shape[1] + 6:
            extra, asked = extra[:, :0], asked[..., :0]
        asked = np.atleast_2d(asked)[:1]
        x = np.column_stack([np.ones(len(v)), v, extra])
        new = np.column_stack(
            [np.ones(len(SPEEDS)), np.log(SPEEDS), np.repeat(asked, len(SPEEDS), 0)]
        )
        gram = np.linalg.pinv(x.T @ x)
        beta = gram @ x.T @ y
        df = max(len(y) - x.shape[1], 1)
        s2 = max(float(np.sum((y - x @ beta) ** 2)) / df, 1e-4)
        if beta[1] > -0.2:
            return FALLBACK.choose(known, scene)
        sd = np.sqrt(s2 * (1 + np.einsum("ij,jk,ik->i", new, gram, new)))
        return decide(Width(new @ beta, sd, df), Edges.of(known.rows), question)


def _design(
    rows: tuple[Observation, ...], question: SpeedQuestion
) -> tuple[np.ndarray, np.ndarray]:
    """Conditions that vary in the rows and machine dummies; and the question's row."""
    x, asked = conditions(rows), conditions((question,))
    vary = np.ptp(x, axis=0) > 0.15
    names = sorted({r.machine for r in rows})[1:]
    dummies = np.array([[r.machine == n for n in names] for r in rows], float).reshape(
        len(rows), -1
    )
    new = np.array([[question.machine == n for n in names]], float).reshape(1, -1)
    return np.column_stack([x[:, vary], dummies]), np.column_stack([asked[:, vary], new])


@dataclass(frozen=True, slots=True)
class Mixed:
    """Random day intercept by REML (profiled over the variance ratio), same columns as pooled."""

    name: str = "mixed"

    def choose(self, known: Known, scene: Scene) -> Choice:
        rows = known.measured
        question = known.question
        extra, asked = _design(rows, question) if rows else (np.zeros((0, 0)), np.zeros((1, 0)))
        if len({r.day for r in rows}) < 3 or len(rows) < extra.shape[1] + 6:
            return LeastSquares("", pooled=True).choose(known, scene)
        v = np.log([r.speed_m_per_min for r in rows])
        x = np.column_stack([np.ones(len(v)), v, extra])
        fit = reml(x, np.array([log_width(r) for r in rows]), np.array([r.day for r in rows]))
        if fit.beta[1] > -0.2:
            return FALLBACK.choose(known, scene)
        new = np.column_stack(
            [np.ones(len(SPEEDS)), np.log(SPEEDS), np.repeat(asked, len(SPEEDS), 0)]
        )
        mean, sd = fit.predict(new, question.day)
        return decide(Width(mean, sd), Edges.of(known.rows), question)


@dataclass(frozen=True, slots=True)
class Reml:
    """A fitted random-intercept model; `beta` (p,), offsets by day."""

    beta: np.ndarray
    s2: float
    ratio: float
    gram: np.ndarray  # inverse of X' V^-1 X, times s2 is the covariance of beta
    days: dict[str, tuple[float, float, np.ndarray]]  # offset, shrinkage, weighted mean of X

    def predict(self, new: np.ndarray, day: str) -> tuple[np.ndarray, np.ndarray]:
        """Mean and standard deviation of a new observation of that day."""
        offset, kept, mean_x = self.days.get(day, (0.0, 0.0, np.zeros(len(self.beta))))
        lean = new - kept * mean_x
        var = 1 + self.ratio * (1 - kept) + np.einsum("ij,jk,ik->i", lean, self.gram, lean)
        return new @ self.beta + offset, np.sqrt(self.s2 * var)


def reml(x: np.ndarray, y: np.ndarray, day: np.ndarray) -> Reml:
    """REML of y = X beta + day + noise, over a grid of the variance ratio (Laird & Ware 1982)."""
    names, group = np.unique(day, return_inverse=True)
    count = np.bincount(group).astype(float)
    sums = np.zeros((len(names), x.shape[1]))
    np.add.at(sums, group, x)
    total = np.bincount(group, y)
    n, p = x.shape
    best: tuple[float, float, np.ndarray, np.ndarray, float] | None = None
    for ratio in np.concatenate([[0.0], np.geomspace(0.02, 50, 28)]):
        shrink = ratio / (1 + ratio * count)
        a = x.T @ x - (sums * shrink[:, None]).T @ sums + 1e-9 * np.eye(p)
        b = x.T @ y - (sums * shrink[:, None]).T @ total
        gram = np.linalg.inv(a)
        beta = gram @ b
        rss = max(float(y @ y - np.sum(shrink * total**2) - b @ beta), 1e-9)
        like = (n - p) * np.log(rss) + np.sum(np.log1p(ratio * count)) + np.linalg.slogdet(a)[1]
        if best is None or like < best[0]:
            best = (float(like), float(ratio), beta, gram, rss / max(n - p, 1))
    _, ratio, beta, gram, s2 = best  # type: ignore[misc]
    kept = ratio * count / (1 + ratio * count)
    offsets = kept * (total - sums @ beta) / count
    days = {
        str(d): (float(offsets[i]), float(kept[i]), sums[i] / count[i]) for i, d in enumerate(names)
    }
    return Reml(beta, s2, ratio, gram, days)


@dataclass(frozen=True, slots=True)
class Conjugate:
    """Five coefficients with physics priors, a day and a machine offset, known noise: normal in, normal out.

    Coefficients: intercept, log speed over the physics speed, temperature left over,
    nozzle left over, wind; and a sixth, the sun, where only ambient was read. Prior means and spreads are guesses from the physics.
    """

    name: str = "conjugate"
    prior_sd: tuple[float, ...] = (1.2, 0.8, 0.12, 0.08, 0.06, 0.3)
    day_sd: float = 0.16
    machine_sd: float = 0.12
    noise_sd: float = 0.13

    def choose(self, known: Known, scene: Scene) -> Choice:
        rows = known.measured
        mean0 = np.array(
            [np.log(WINDOW.aim_mm) + 2.2 * np.log(START_SPEED), -2.2, 0.0, 0.0, -0.03, 0.3]
        )
        question = known.question
        x, new = self._features(rows), self._asked(question)
        mean = new @ mean0
        prior = np.diag(np.square(self.prior_sd))
        cross = new @ prior
        own = np.einsum("ij,ij->i", cross, new) + self.day_sd**2 + self.machine_sd**2
        if not rows:
            sd = np.sqrt(own + self.noise_sd**2)
            return decide(Width(mean, sd), Edges.of(known.rows), question)
        day = np.array([r.day for r in rows])
        machine = np.array([r.machine for r in rows])
        y = np.array([log_width(r) for r in rows])
        rounding = np.array([r.reading_step_mm for r in rows]) ** 2 / 12 / np.exp(2 * y)
        k = x @ prior @ x.T + self.day_sd**2 * (day[:, None] == day)
        k += self.machine_sd**2 * (machine[:, None] == machine)
        k += np.diag(self.noise_sd**2 + np.minimum(rounding, 1.0))
        kx = cross @ x.T + self.day_sd**2 * (day == question.day)
        kx = kx + self.machine_sd**2 * (machine == question.machine)
        solve = np.linalg.solve(k, np.column_stack([y - x @ mean0, kx.T]))
        mean = mean + kx @ solve[:, 0]
        sd = np.sqrt(
            np.maximum(own - np.einsum("ij,ji->i", kx, solve[:, 1:]), 0) + self.noise_sd**2
        )
        return decide(Width(mean, sd), Edges.of(known.rows), question)

    def _features(self, rows: tuple[Observation, ...]) -> np.ndarray:
        if not rows:
            return np.zeros((0, 6))
        other = conditions(rows)
        return np.column_stack(
            [np.ones(len(rows)), [-heat(r.speed_m_per_min, r) for r in rows], other[:, :4]]
        )

    def _asked(self, question: SpeedQuestion) -> np.ndarray:
        other = np.repeat(conditions((question,))[:, :4], len(SPEEDS), 0)
        return np.column_stack([np.ones(len(SPEEDS)), -heat(SPEEDS, question), other])
