"""Drawing, weighting and believing: normals against numpy's and scipy's own."""

from __future__ import annotations

from math import log

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import multivariate_normal

from weldcal.calibration.belief import PINNED, Belief
from weldcal.calibration.features import Levels
from weldcal.calibration.laplace import Spreads
from weldcal.calibration.layout import ParameterLayout
from weldcal.calibration.outer import OuterPrior
from weldcal.calibration.posterior import (
    _coefficients,
    _effective,
    _Offsets,
    _systematic,
    truncated,
)

DAY, STRIP = (log(0.07), 0.5), (log(0.12), 0.5)


def _chain(seed: int) -> tuple[_Offsets, np.ndarray, np.ndarray]:
    """A chain of three normals; mean and covariance of the triple, worked out from its parts."""
    rng = np.random.default_rng(seed)
    mean = rng.normal(0, 0.3, 3)
    d_var, t_var, s_var = rng.uniform(0.1, 2.0, 3)
    by_d, by_t = rng.normal(0, 1.2, 2)
    chain = _Offsets(
        *(np.array([v]) for v in (mean[0], d_var, mean[1], t_var, by_d, mean[2], s_var, by_t))
    )
    # d = e1; t = by_d·d + e2; s = by_t·t + e3.
    root = np.array([[1, 0, 0], [by_d, 1, 0], [by_d * by_t, by_t, 1]])
    return chain, mean, root @ np.diag([d_var, t_var, s_var]) @ root.T


@pytest.mark.parametrize("seed", range(4))
def test_offsets_are_drawn_as_their_chain_says(seed: int) -> None:
    """Drift on the machine's day, that on the day: mean and covariance of 200,000 draws."""
    chain, mean, cov = _chain(seed)
    noise = np.random.default_rng(9).standard_normal((3, 200_000))
    drawn = np.array(chain.draw(noise))
    assert drawn.mean(axis=1) == pytest.approx(mean, abs=0.03 * cov.diagonal().max() ** 0.5)
    assert np.cov(drawn) == pytest.approx(cov, abs=0.03 * cov.diagonal().max())


@given(st.integers(0, 1000), st.tuples(*[st.floats(-2, 2)] * 3))
def test_the_density_of_a_triple_is_scipys(seed: int, at: tuple[float, float, float]) -> None:
    """Of the same normal in three dimensions."""
    chain, mean, cov = _chain(seed)
    found = float(chain.log_density(*(np.array([v]) for v in at))[0])
    expected = multivariate_normal(mean, cov, allow_singular=False).logpdf(at)
    assert found == pytest.approx(float(expected), rel=1e-6, abs=1e-6)


def test_coefficients_are_drawn_about_their_modes_in_mirrored_pairs() -> None:
    """Mean and covariance of Laplace's normal; every odd one mirrors the one before."""

    class Modes:
        point = type("P", (), {"u": np.array([[1.0, -2.0], [3.0, 0.5]])})
        hessian = np.array([[[4.0, 1.5], [1.5, 2.0]], [[1.0, 0.0], [0.0, 9.0]]])

    which = np.repeat([0, 1], 100_000)
    drawn = _coefficients(Modes, which, np.random.default_rng(3))  # type: ignore[arg-type]
    for k in (0, 1):
        mine = drawn[which == k]
        assert mine.mean(axis=0) == pytest.approx(Modes.point.u[k], abs=1e-9)
        assert np.cov(mine.T) == pytest.approx(np.linalg.inv(Modes.hessian[k]), abs=0.02)
        away = mine - Modes.point.u[k]
        assert away[1::2] == pytest.approx(-away[::2])
    odd = _coefficients(Modes, np.array([0, 0, 0]), np.random.default_rng(3))  # type: ignore[arg-type]
    assert odd[0] + odd[1] == pytest.approx(2 * Modes.point.u[0])


def test_as_many_draws_as_their_weights_are_worth() -> None:
    """Kish: alike they count whole; one of all weight counts 1; weights 1 and 3: 16/10."""
    assert _effective(np.zeros(50)) == pytest.approx(50)
    assert _effective(np.array([0.0, -800.0, -900.0])) == pytest.approx(1)
    assert _effective(np.log([1.0, 3.0]) + 700) == pytest.approx(1.6)


def test_a_lucky_draw_owns_no_more_than_two_hundred_leave_it() -> None:
    """Weights that leave 200 draws are left as they are; else the largest are cut until they do."""
    mild = np.random.default_rng(1).normal(0, 0.3, 1000)
    expected = np.exp(mild) / np.exp(mild).sum()
    assert truncated(mild) == pytest.approx(expected)
    wild = np.r_[np.zeros(999), 20.0]
    found = truncated(wild)
    assert found.sum() == pytest.approx(1.0)
    assert _effective(np.log(found)) >= 200
    assert found[:999].min() == found[:999].max() <= found[999]
    steep = np.linspace(0, 60, 2000)
    cut = truncated(steep)
    assert (np.diff(cut) >= 0).all() and _effective(np.log(cut)) >= 200


@given(st.lists(st.floats(0.01, 1.0), min_size=1, max_size=20), st.integers(1, 300))
def test_each_is_taken_about_as_often_as_its_weight_says(weights: list[float], count: int) -> None:
    """Never more than one off, and in order."""
    weight = np.array(weights) / sum(weights)
    taken = _systematic(weight, count, np.random.default_rng(0))
    times = np.bincount(taken, minlength=len(weight))
    assert len(taken) == count and (np.diff(taken) >= 0).all()
    assert (np.abs(times - weight * count) <= 1 + 1e-9).all()


def _belief(seed: int, size: int = 4) -> Belief:
    rng = np.random.default_rng(seed)
    root = rng.normal(size=(size, size))
    return Belief(rng.normal(size=size), root @ root.T + np.eye(size), (0.3, 0.8), (-0.2, 0.9), 0.1)


@given(st.integers(0, 1000), st.integers(0, 3))
def test_a_belief_with_one_coefficient_held_is_the_conditional_normal(seed: int, at: int) -> None:
    """By the textbook's blocks: mean of the rest, and their covariance."""
    belief = _belief(seed)
    rest = [i for i in range(4) if i != at]
    values = np.array([-1.0, 0.5])
    means, precision = belief.pinned(at, values)
    by = belief.cov[rest, at] / belief.cov[at, at]
    for mean, value in zip(means, values, strict=True):
        assert mean[at] == pytest.approx(value)
        assert mean[rest] == pytest.approx(belief.mean[rest] + by * (value - belief.mean[at]))
    cov = belief.cov[np.ix_(rest, rest)] - np.outer(by, belief.cov[at, rest])
    assert np.linalg.inv(precision[np.ix_(rest, rest)]) == pytest.approx(cov, rel=1e-6, abs=1e-9)
    assert precision[at, at] == PINNED
    assert not precision[at, rest].any() and not precision[rest, at].any()
    assert belief.precision() @ belief.cov == pytest.approx(np.eye(4), abs=1e-8)


def test_outer_unknowns_of_a_belief_count_in_sds_of_their_priors() -> None:
    """The elasticity's too, where one is asked about."""
    belief = _belief(3)
    assert [v.tolist() for v in belief.outer(None, 0.0, 1.0)] == [[0.3, -0.2], [0.8, 0.9]]
    middle, spread = belief.outer(2, 0.5, 2.0)
    assert middle[2] == pytest.approx((belief.mean[2] - 0.5) / 2.0)
    assert spread[2] == pytest.approx(belief.cov[2, 2] ** 0.5 / 2.0)


LAYOUT = ParameterLayout(Levels(("cap",), ("M1",)), True)
AT = LAYOUT.elasticity


@pytest.mark.parametrize(("day", "strip", "steep"), [(0.0, 0.0, 0.0), (1.0, -2.0, 0.5)])
def test_outer_points_are_spreads_in_sds_of_their_logs(
    day: float, strip: float, steep: float
) -> None:
    """0.07 and 0.12 with sd 0.5 of the log; ln elasticity ln 2.6, 0.6; the other rig's intercept."""
    prior = OuterPrior(LAYOUT, AT)
    points = np.array([[day, strip, steep]] * 2)
    found = prior.at(points, np.array([False, True]))
    assert found.day == pytest.approx(np.exp([DAY[0] + DAY[1] * day] * 2))
    assert found.strip == pytest.approx(np.exp([STRIP[0] + STRIP[1] * strip] * 2))
    assert found.mean[:, AT] == pytest.approx([log(2.6) + 0.6 * steep] * 2)
    assert found.precision[:, AT].tolist() == [PINNED] * 2
    assert found.precision[:, 0] == pytest.approx([0.11**-2, 0.55**-2])
    assert found.joint is None
    vague = OuterPrior(LAYOUT, AT, vague=True)
    assert vague.at(points, vague.rigs(2)).precision[:, 0] == pytest.approx([0.04, 0.04])
    unjudged = ParameterLayout(LAYOUT.levels, False)
    free = OuterPrior(unjudged, None)
    assert free.size == 2 and prior.size == 3
    there = free.at(points[:, :2], np.array([False, True]))
    assert there.precision[:, 0] == pytest.approx([0.4**-2] * 2)


def test_the_outer_prior_weighs_fifteen_in_a_hundred_rigs_as_others() -> None:
    """Standard normal in each unknown, up to a constant."""
    prior = OuterPrior(LAYOUT, AT)
    points = np.array([[0.0, 0.0, 0.0], [0.0, 0.0, 0.0], [1.0, -2.0, 0.5]])
    found = prior.log_prior(points, np.array([False, True, False]))
    assert found[1] - found[0] == pytest.approx(log(0.15 / 0.85))
    assert found[2] - found[0] == pytest.approx(-0.5 * (1 + 4 + 0.25))


def test_with_a_belief_points_are_weighed_by_it_and_others_by_the_table() -> None:
    """Mean, sd and the chance of a job like none of the firm's."""
    size = len(LAYOUT.names)
    belief = Belief(np.full(size, 0.1), np.eye(size) * 0.04, (0.3, 0.8), (-0.2, 0.5), 0.1)
    prior = OuterPrior(LAYOUT, AT, belief)
    points = np.zeros((2, 3))
    found = prior.log_prior(points, np.array([False, True]))
    middle = np.array([0.3, -0.2, (0.1 - log(2.6)) / 0.6])
    sd = np.array([0.8, 0.5, 0.2 / 0.6])
    mine = log(0.9) - 0.5 * ((middle / sd) ** 2).sum() - np.log(sd).sum()
    assert found == pytest.approx([mine, log(0.1)])
    spreads = prior.at(points, np.array([False, True]))
    assert spreads.joint is not None
    off = [i for i in range(size) if i not in (0, AT)]
    assert np.diagonal(spreads.joint[0])[off] == pytest.approx([25.0] * len(off))
    table = np.array([p.sd**-2.0 for p in LAYOUT.priors])
    assert np.diagonal(spreads.joint[1])[off] == pytest.approx(table[off])
    assert spreads.joint[1, 0, 0] == pytest.approx(0.30**-2)
    assert spreads.mean[0, 0] == pytest.approx(0.1)
    assert spreads.mean[1, 0] == pytest.approx(log(1.676))


@pytest.mark.parametrize("joint", [False, True])
def test_the_prior_of_coefficients_is_a_normal(joint: bool) -> None:
    """Its log density, its pull and its curvature, as scipy has them."""
    rng = np.random.default_rng(2)
    mean, precision = rng.normal(size=(2, 3)), rng.uniform(0.5, 4.0, (2, 3))
    root = rng.normal(size=(2, 3, 3))
    whole = root @ np.swapaxes(root, 1, 2) + np.eye(3)
    one = np.ones(2)
    spreads = Spreads(one, one, mean, precision, whole if joint else None)
    u = rng.normal(size=(2, 3))
    matrices = whole if joint else np.array([np.diag(p) for p in precision])
    found = spreads.log_prior(u)
    for k, matrix in enumerate(matrices):
        expected = multivariate_normal(mean[k], np.linalg.inv(matrix)).logpdf(u[k])
        assert found[k] == pytest.approx(expected + 1.5 * log(2 * np.pi))
        assert spreads.force(u)[k] == pytest.approx(matrix @ (u[k] - mean[k]))
    hessian = np.zeros((2, 3, 3))
    spreads.add_to(hessian)
    assert hessian == pytest.approx(matrices)
    second = spreads.take(np.array([1]))
    assert second.log_prior(u[1:]) == pytest.approx(found[1:])
