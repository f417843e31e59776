"""Joint draws of everything unknown, by nested integration over spreads and elasticity.

Invariant: the draws are joint, deterministic for a seed, and a day without
strips has its offset drawn from the prior, never set to zero.

Given a point of the outer integration (`outer.py`) coefficients are drawn from Laplace's
normal, and the strips of the asked day are then put back exactly, by importance weights.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from weldcal.calibration.features import Array
from weldcal.calibration.laplace import Outer
from weldcal.calibration.layout import ParameterLayout
from weldcal.calibration.proposal import Proposed, propose
from weldcal.calibration.response import Point, Response
from weldcal.calibration.strips import Index, StripArrays, of_cells

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
