"""Partial pooling: what jobs share, and how far each thing is from the rest of its kind.

Invariant: every unknown of a job is a sum of levels (firm, class of sheet, sheet, machine, the
job itself), each normal about 0 with the spread of its group; a group's spread is learnt with
all levels integrated out, so few jobs are pulled together and many speak for themselves.

A job's strips enter as a quadratic in the job's unknowns (`JobEvidence`): its log likelihood without
any prior. With `u = mean + Z f` and `f ~ N(0, D)`, `D` diagonal, everything is linear algebra:

    A = I + D^1/2 Z'LZ D^1/2,  cov f = D^1/2 A^-1 D^1/2,  mean f = cov f · Z'(eta - L mean)

This is the normal hierarchical model of the eight schools (Rubin 1981, J. Educ. Stat. 6:377;
Gelman et al. 2013, Bayesian Data Analysis, ch. 5) with many effects at once.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from weldcal.calibration.features import Array
from weldcal.calibration.strips import Index

_SWEEPS = 2


@dataclass(frozen=True, slots=True)
class JobEvidence:
    """What one job's strips say of its unknowns: `-u'Lu/2 + eta'u`, with `L` the `information`
    and `eta` the `pull`, of the unknowns in the order of `names`."""

    names: tuple[str, ...]
    information: Array
    pull: Array


@dataclass(frozen=True, slots=True, order=True)
class LevelTerm:
    """One term of a sum: the kind of unknown it is a part of, at which level, and of whom."""

    of: str
    at: str
    key: str = ""

    @property
    def group(self) -> tuple[str, str]:
        """Levels of one group have one spread."""
        return self.of, self.at


Group = tuple[str, str]


@dataclass(frozen=True, slots=True)
class SpreadPrior:
    """What is believed of a group's spread: its log is normal. `log_sd` 0: it is known."""

    sd: float
    log_sd: float


@dataclass(frozen=True, slots=True)
class Posterior:
    """Of the levels, in order: `mean` and `cov`; of each group, the mean square of its spread."""

    levels: tuple[LevelTerm, ...]
    mean: Array
    cov: Array
    variance: dict[Group, float]


class Pool:
    """Jobs and the levels their unknowns are sums of."""

    def __init__(
        self,
        jobs: Sequence[JobEvidence],
        means: Sequence[Array],
        sums: Sequence[Sequence[Sequence[LevelTerm]]],
    ) -> None:
        """Take the jobs in.

        Args:
            jobs: the evidence of each.
            means: of each job's unknowns, the part that no level moves.
            sums: per job and unknown, its levels.
        """
        from scipy.linalg import block_diag  # advice from a file does without

        self.levels = tuple(sorted({lv for job in sums for one in job for lv in one}))
        at = {level: i for i, level in enumerate(self.levels)}
        self.groups = tuple(dict.fromkeys(level.group for level in self.levels))
        numbers = {group: i for i, group in enumerate(self.groups)}
        self.group: Index = np.array([numbers[lv.group] for lv in self.levels], dtype=np.intp)
        rows = [one for job in sums for one in job]
        z = np.zeros((len(rows), len(self.levels)))
        for i, one in enumerate(rows):
            z[i, [at[level] for level in one]] = 1.0
        mean = np.concatenate(means) if means else np.zeros(0)
        self.names = tuple(s.names for s in jobs)
        self.z, self.middle = z, mean
        information = block_diag(*(s.information for s in jobs)) if jobs else np.zeros((0, 0))
        pull = np.concatenate([s.pull for s in jobs]) if jobs else np.zeros(0)
        self.information: Array = z.T @ information @ z
        self.pull: Array = z.T @ (pull - information @ mean)

    def log_evidence(self, variance: Array) -> float:
        """Log evidence for the variances of the groups, up to a constant.

        Args:
            variance: one a group, in the order of `groups`.

        Returns:
            the log evidence.
        """
        from scipy.linalg import cho_factor, cho_solve

        root = np.sqrt(variance)[self.group]
        factor = cho_factor(self._scaled(root), lower=True, check_finite=False)
        pulled = root * self.pull
        fits = pulled @ cho_solve(factor, pulled, check_finite=False)
        return float(0.5 * fits - np.log(np.diagonal(factor[0])).sum())

    def given(self, variance: Array) -> tuple[Array, Array]:
        """Mean and covariance of the levels, given the variances of their groups.

        Args:
            variance: one a group, in the order of `groups`.

        Returns:
            mean (levels,) and covariance (levels, levels).
        """
        from scipy.linalg import cho_factor, cho_solve

        root = np.sqrt(variance)[self.group]
        factor = cho_factor(self._scaled(root), lower=True, check_finite=False)
        cov = root[:, None] * cho_solve(factor, np.diag(root), check_finite=False)
        return cov @ self.pull, 0.5 * (cov + cov.T)

    def learn(self, believed: Callable[[Group], SpreadPrior]) -> Posterior:
        """The posterior, each group's spread integrated in turn (Gauss-Hermite over its log)
        with the others at their mean square.

        Args:
            believed: gives what is believed of a group's spread.

        Returns:
            means and covariance of all levels.
        """
        prior = [believed(group) for group in self.groups]
        variance = np.array([p.sd**2 for p in prior])
        for _ in range(_SWEEPS):
            for i, p in enumerate(prior):
                if p.log_sd > 0.0:
                    variance[i] = self._mean_square(variance, i, p)
        mean, cov = self.given(variance)
        return Posterior(
            self.levels, mean, cov, dict(zip(self.groups, variance.tolist(), strict=True))
        )

    def _mean_square(self, variance: Array, i: int, prior: SpreadPrior) -> float:
        nodes, weights = np.polynomial.hermite_e.hermegauss(5)
        tried = (prior.sd * np.exp(prior.log_sd * nodes)) ** 2
        log_weight = np.log(weights)
        for n, value in enumerate(tried):
            now = variance.copy()
            now[i] = value
            log_weight[n] += self.log_evidence(now)
        weight = np.exp(log_weight - log_weight.max())
        return float(weight @ tried / weight.sum())

    def _scaled(self, root: Array) -> Array:
        scaled = root[:, None] * self.information * root
        scaled[np.diag_indices_from(scaled)] += 1.0
        return np.asarray(scaled)
