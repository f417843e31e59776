"""Partial pooling against a published table: coaching in eight schools.

Effects and standard errors: Rubin 1981, Estimation in parallel randomized experiments, J. Educ.
Stat. 6:377, table 1. What follows of them: Gelman et al. 2013, Bayesian Data Analysis (3rd ed.),
section 5.5: pooled 7.7 with standard error 4.1; quartiles of the effects from 200 draws (table
5.3); from memory.
"""

from __future__ import annotations

import numpy as np
import pytest

from weldcal.calibration.knowledge import learn
from weldcal.calibration.levels import JobEvidence, LevelTerm, Pool, SpreadPrior

EFFECT = [28.0, 8.0, -3.0, 7.0, -1.0, 1.0, 18.0, 12.0]
ERROR = [15.0, 10.0, 16.0, 11.0, 9.0, 11.0, 10.0, 18.0]
QUARTILES = [(7, 10, 16), (3, 8, 12), (2, 7, 11), (4, 8, 11), (1, 5, 10), (2, 6, 10), (7, 10, 15), (3, 8, 13)]  # fmt: skip
FLAT = 1e6  # variance of the common mean: nothing is known of it


@pytest.fixture
def schools() -> Pool:
    """Each school is a job with one unknown: a mean for all, and what is its own."""
    said = [
        JobEvidence(("effect",), np.array([[e**-2]]), np.array([y * e**-2]))
        for y, e in zip(EFFECT, ERROR, strict=True)
    ]
    sums = [[[LevelTerm("effect", "firm"), LevelTerm("effect", "job", str(j))]] for j in range(8)]
    return Pool(said, [np.zeros(1)] * 8, sums)


def effects(pool: Pool, tau: float) -> tuple[np.ndarray, np.ndarray]:
    """Means and sds of the eight effects, given their spread."""
    variance = np.array([FLAT if at == "firm" else tau**2 for _, at in pool.groups])
    mean, cov = pool.given(variance)
    mine = [pool.levels.index(LevelTerm("effect", "job", str(j))) for j in range(8)]
    z = np.zeros((8, len(mean)))
    z[:, pool.levels.index(LevelTerm("effect", "firm"))] = 1.0
    z[range(8), mine] = 1.0
    return z @ mean, np.sqrt(np.diagonal(z @ cov @ z.T))


def test_no_spread_pools_and_endless_spread_leaves_alone(schools: Pool) -> None:
    """The two ends of partial pooling: 7.7 ± 4.1 for all, and each as it was measured."""
    mean, sd = effects(schools, 1e-4)
    assert np.abs(mean - 7.7).max() < 0.05
    assert np.abs(sd - 4.1).max() < 0.05
    mean, sd = effects(schools, 1e4)
    assert np.abs(mean - EFFECT).max() < 0.01
    assert np.abs(sd - ERROR).max() < 0.01


def test_quartiles_of_the_eight_effects(schools: Pool) -> None:
    """Spread integrated over a flat prior, as published: quartiles within what 200 draws leave."""
    taus = np.linspace(0.05, 60.0, 600)
    firm_first = [at == "firm" for _, at in schools.groups]
    log = [schools.log_evidence(np.where(firm_first, FLAT, tau**2)) for tau in taus]
    weight = np.exp(np.array(log) - max(log))
    which = np.random.default_rng(1).choice(len(taus), 20_000, p=weight / weight.sum())
    drawn = np.empty((len(which), 8))
    rng = np.random.default_rng(2)
    for k in np.unique(which):
        mean, sd = effects(schools, float(taus[k]))
        mine = which == k
        drawn[mine] = mean + sd * rng.standard_normal((mine.sum(), 8))
    found = np.quantile(drawn, [0.25, 0.5, 0.75], axis=0).T
    assert np.abs(found - QUARTILES).max() < 2.0


def test_a_learnt_spread_is_its_posterior_mean_square(schools: Pool) -> None:
    """Five nodes of Gauss-Hermite against a fine grid, under a prior with most of its mass there."""
    prior = SpreadPrior(6.0, 0.5)
    found = schools.learn(
        lambda group: SpreadPrior(FLAT**0.5, 0.0) if group[1] == "firm" else prior
    )
    logs = np.linspace(-3.0, 3.0, 601)
    taus = prior.sd * np.exp(prior.log_sd * logs)
    firm_first = [at == "firm" for _, at in schools.groups]
    value = np.array([schools.log_evidence(np.where(firm_first, FLAT, t**2)) for t in taus])
    weight = np.exp(value - value.max() - 0.5 * logs**2)
    exact = float(weight @ taus**2 / weight.sum())
    assert found.variance["effect", "job"] == pytest.approx(exact, rel=0.02)


def test_no_job_teaches_nothing() -> None:
    """An office without a job that has strips still has knowledge, of nothing."""
    empty = learn([])
    assert (empty.levels, empty.jobs) == ((), ())
