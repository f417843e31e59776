"""Joint draws of everything unknown, by nested integration over spreads and elasticity.

Invariant: the draws are joint, deterministic for a seed, and a day without
strips has its offset drawn from the prior, never set to zero.

Given a point of the outer integration (`outer.py`) coefficients are drawn from Laplace's
normal, for the asked day partly from its prior (a wild strip makes two modes, and Laplace sees
only one); the strips of the asked day are then put back exactly, by importance weights. The log
weight of a proposal is exact, so a poor one costs precision, never correctness.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from weldcal.calibration import priors
from weldcal.calibration.features import Array
from weldcal.calibration.laplace import Mode, Outer
from weldcal.calibration.layout import ParameterLayout
from weldcal.calibration.response import Point, Response
from weldcal.calibration.strips import Index, StripArrays, of_cells

FROM_PRIOR = 0.25


@dataclass(frozen=True, slots=True)
class Proposed:
    """Draws of coefficients `u[m, p]`, of the asked cell's offset `t[m]` and drift `s[m]`,
    and the log weight of how they were drawn."""

    u: Array
    t: Array
    s: Array
    log_weight: Array


@dataclass(frozen=True, slots=True)
class _Offsets:
    """A chain of normals given the coefficients: the day's offset, the cell's given the
    day's, the drift given the cell's. Means are at the mean of the one before."""

    d: Array
    d_var: Array
    t: Array
    t_var: Array
    t_by_d: Array
    s: Array
    s_var: Array
    s_by_t: Array

    def draw(self, noise: Array) -> tuple[Array, Array, Array]:
        """A draw of (d, t, s) from standard normal `noise[3, m]`."""
        d = self.d + noise[0] * np.sqrt(self.d_var)
        t = self.t + self.t_by_d * (d - self.d) + noise[1] * np.sqrt(self.t_var)
        s = self.s + self.s_by_t * (t - self.t) + noise[2] * np.sqrt(self.s_var)
        return d, t, s

    def log_density(self, d: Array, t: Array, s: Array) -> Array:
        """Log density of a triple."""
        total = _log_normal(d - self.d, self.d_var)
        total = total + _log_normal(t - self.t - self.t_by_d * (d - self.d), self.t_var)
        return total + _log_normal(s - self.s - self.s_by_t * (t - self.t), self.s_var)


def _log_normal(away: Array, var: Array) -> Array:
    return np.asarray(-0.5 * (away**2 / var + np.log(2.0 * np.pi * var)))


def propose(
    data: StripArrays, outer: Outer, which: Index, cell: tuple[str, str], rng: np.random.Generator
) -> Proposed:
    """Draws for a cell, one for each outer point in `which`.

    Args:
        data: all strips.
        outer: points of the outer integration.
        which: positions of the points, one a draw.
        cell: (day, machine) asked about.
        rng: where the draws come from.

    Returns:
        the draws, with the log density of each proposal.
    """
    u = _coefficients(outer.mode, which, rng)
    noise = rng.standard_normal((3, len(which)))
    prior = _prior(outer, which)
    if cell[0] not in data.days:
        _, t, s = prior.draw(noise)
        return Proposed(u, t, s, np.zeros(len(which)))
    away = u - outer.mode.point.u[which]
    laplace = _laplace(data, outer, which, cell, away, prior)
    d, t, s = laplace.draw(noise)
    if cell not in data.cells:
        return Proposed(u, t, s, np.zeros(len(which)))
    from_prior = rng.random(len(which)) < FROM_PRIOR
    d, t, s = (
        np.where(from_prior, a, b) for a, b in zip(prior.draw(noise), (d, t, s), strict=True)
    )
    near, far = laplace.log_density(d, t, s), prior.log_density(d, t, s)
    mixed = np.logaddexp(np.log(1.0 - FROM_PRIOR) + near, np.log(FROM_PRIOR) + far)
    return Proposed(u, t, s, near - mixed)


def _prior(outer: Outer, which: Index) -> _Offsets:
    """A day of which nothing is known."""
    none = np.zeros(len(which))
    variance = outer.spreads.day[which] ** 2
    share = priors.DAY_SHARE
    return _Offsets(
        none, share * variance, none, (1.0 - share) * variance, none + 1.0, none, none + 1.0, none
    )


def _laplace(
    data: StripArrays,
    outer: Outer,
    which: Index,
    cell: tuple[str, str],
    away: Array,
    prior: _Offsets,
) -> _Offsets:
    """Laplace's normal of a day's offsets given coefficients `away` from their modes."""
    mode = outer.mode
    j = data.days.index(cell[0])
    d = mode.point.d[which, j]
    d = d - (mode.day.cross[which, j] * away).sum(axis=1) / mode.day.h[which, j]
    d_var = 1.0 / mode.day.h[which, j]
    if cell not in data.cells:
        none = np.zeros(len(which))
        return _Offsets(d, d_var, d, prior.t_var, none + 1.0, none, none + 1.0, none)
    k = data.cells.index(cell)
    t_by_d = -mode.cell.pull[which, k] / mode.cell.h[which, k]
    t = mode.point.t[which, k] + t_by_d * (d - mode.point.d[which, j])
    t = t - (mode.cell.cross[which, k] * away).sum(axis=1) / mode.cell.h[which, k]
    s_by_t = -mode.drift.pull[which, k] / mode.drift.h[which, k]
    s = mode.point.s[which, k] + s_by_t * (t - mode.point.t[which, k])
    s = s - (mode.drift.cross[which, k] * away).sum(axis=1) / mode.drift.h[which, k]
    return _Offsets(
        d, d_var, t, 1.0 / mode.cell.h[which, k], t_by_d, s, 1.0 / mode.drift.h[which, k], s_by_t
    )


def _coefficients(mode: Mode, which: Index, rng: np.random.Generator) -> Array:
    """Draws from Laplace's normal at the modes `which`; odd ones mirror the even before."""
    z = rng.standard_normal((len(which), mode.point.u.shape[1]))
    z[1::2] = -z[: len(z) - 1 : 2]
    u = mode.point.u[which]
    for k in np.unique(which):
        mine = which == k
        root = np.linalg.inv(np.linalg.cholesky(mode.hessian[k]))
        u[mine] += z[mine] @ root
    return u


DRAWS = 1000
_PROPOSALS = (2000, 10_000)
_EFFECTIVE = 200  # draws that the weights must leave


@dataclass(frozen=True, slots=True)
class Draws:
    """Equally likely joint draws: coefficients `u[m, p]`, the asked cell's offset `t[m]` and
    drift `s[m]`, the spread from strip to strip `strip[m]` and from day to day `day[m]`."""

    u: Array
    t: Array
    s: Array
    strip: Array
    day: Array


def draw(
    data: StripArrays, layout: ParameterLayout, outer: Outer, cell: tuple[str, str], seed: int
) -> Draws:
    """Joint draws for a machine on a day, with that day's strips put back exactly.

    Few strips and no history make Laplace's normal a poor guess: then more are proposed.

    Args:
        data: all strips.
        layout: order of the coefficients.
        outer: points and weights of the outer integration.
        cell: (day, machine) asked about.
        seed: of the draws.

    Returns:
        the draws, equally likely.
    """
    rng = np.random.default_rng(seed)
    for count in _PROPOSALS:
        which = _systematic(outer.weight, count, rng)
        proposed = propose(data, outer, which, cell, rng)
        log_weight = proposed.log_weight
        if cell in data.cells:
            log_weight = log_weight + _exactly(data, layout, outer, which, cell, proposed)
        if _effective(log_weight) >= _EFFECTIVE:
            break
    keep = _systematic(truncated(log_weight), DRAWS, rng)
    chosen = which[keep]
    return Draws(
        u=proposed.u[keep],
        t=proposed.t[keep],
        s=proposed.s[keep],
        strip=outer.spreads.strip[chosen],
        day=outer.spreads.day[chosen],
    )


def _effective(log_weight: Array) -> float:
    """Effective number of draws (Kish)."""
    weight = np.exp(log_weight - log_weight.max())
    return float(weight.sum() ** 2 / (weight**2).sum())


def truncated(log_weight: Array) -> Array:
    """Importance weights that sum to 1, the largest cut as far as `_EFFECTIVE` draws need.

    Truncation (Ionides 2008, J. Comput. Graph. Stat. 17:295) trades a little bias, towards
    Laplace's answer, for weights that a single lucky draw cannot own.

    Args:
        log_weight: log importance weights, up to a constant.

    Returns:
        weights, (n,).
    """
    order = np.sort(log_weight)[::-1]
    for cap in order[:: max(1, len(order) // 40)]:
        if _effective(np.minimum(log_weight, cap)) >= _EFFECTIVE:
            break
    weight = np.exp(np.minimum(log_weight, cap) - cap)
    return np.asarray(weight / weight.sum())


def _systematic(weight: Array, count: int, rng: np.random.Generator) -> Index:
    """Systematic resampling: positions, each about `count·weight` times, in order."""
    at = (rng.random() + np.arange(count)) / count
    return np.minimum(np.searchsorted(np.cumsum(weight), at), len(weight) - 1)


def _exactly(
    data: StripArrays,
    layout: ParameterLayout,
    outer: Outer,
    which: Index,
    cell: tuple[str, str],
    proposed: Proposed,
) -> Array:
    """Log weight that swaps Laplace's parabola for the likelihood, for one cell's strips."""
    k = data.cells.index(cell)
    response = Response(of_cells(data, k, k + 1), layout)
    mode, own = outer.mode.point, slice(k, k + 1)
    center = Point(mode.u, mode.t[:, own], mode.s[:, own], mode.d[:, :0])
    seen = response.evidence(center, outer.spreads.strip)
    drawn = Point(proposed.u, proposed.t[:, None], proposed.s[:, None], mode.d[which, :0])
    exact = response.log_like(drawn, outer.spreads.strip[which])
    moved = np.empty((len(which), seen.log_like.shape[1]))
    for m in np.unique(which):
        mine = which == m
        moved[mine] = (proposed.u[mine] - mode.u[m]) @ seen.jacobian[m].T
    loading = response.data.loading[response.data.row_strip]
    away = (drawn.t - center.t[which]) + loading * (drawn.s - center.s[which])
    moved += seen.slope[which] * away
    curved = seen.gradient[which] * moved - 0.5 * seen.weight[which] * moved**2
    return np.asarray(exact - seen.log_like.sum(axis=1)[which] - curved.sum(axis=1))
