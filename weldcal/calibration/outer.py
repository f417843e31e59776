"""The outer unknowns: spreads and the asked sheet's elasticity, integrated around their mode.

Invariant: every point has the mode of all coefficients there and a weight; the weights sum to 1.

The outer unknowns (spread from day to day, from strip to strip, and the asked sheet's
elasticity) are integrated over a small design around their mode, with Laplace's evidence as
weight (Rue, Martino & Chopin 2009, integrated nested Laplace approximations, JRSS B 71:319).
"""

from __future__ import annotations

from dataclasses import fields
from itertools import combinations, product
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from weldcal.calibration import priors
from weldcal.calibration.belief import PINNED, Belief
from weldcal.calibration.features import Array
from weldcal.calibration.laplace import Block, Mode, Outer, Spreads, find_mode
from weldcal.calibration.layout import ParameterLayout
from weldcal.calibration.response import Point, Response
from weldcal.calibration.strips import StripArrays, of_cells

_T = TypeVar("_T", Point, Block)
Flags = NDArray[np.bool_]

_TURNS = 2  # copies of the design, each turned: the elasticity takes twice as many values
_ROUNDS = (0.5, 0.3, 0.3)  # finite-difference steps of the outer Newton, prior sds
_ROUGHLY = 6  # Newton steps where only the best of several is wanted
_WIDEN = 1.15
_CHUNK = 3_000_000  # numbers in one Jacobian
_MANY, _LATEST = 700, 500  # rows of evidence
_MOST = 4000  # of one job, for what it teaches others: the latest
_VAGUE = 5.0  # ln m/min: an intercept of which nothing is known


class OuterPrior:
    """The outer prior: from standardised points (K, q) to spreads."""

    def __init__(
        self,
        layout: ParameterLayout,
        pinned: int | None,
        belief: Belief | None = None,
        *,
        vague: bool = False,
    ) -> None:
        """Take the priors of a layout; `vague`: every rig is another one, its intercept unknown."""
        table = layout.priors
        self.vague = vague
        self._wide = (
            _VAGUE if vague else priors.OTHER_RIG_SD if belief is None else priors.UNLIKE_RIG
        )
        self.belief = belief
        self._mean = np.array([p.mean for p in table])
        self._precision = np.array([p.sd for p in table]) ** -2.0
        self._pinned = pinned
        self._judged = layout.by_bleed_out
        self.size = 2 if pinned is None else 3

    def at(self, points: Array, other_rig: Flags) -> Spreads:
        """Spreads, with the pinned elasticity set, at standardised points (K, q); where
        `other_rig[K]`, with the wider intercept, and as if nothing of the firm were known.

        Args:
            points: standardised outer unknowns, (K, q).
            other_rig: which of the points have the wider intercept, (K,).

        Returns:
            K spreads.
        """
        mean = np.tile(self._mean, (len(points), 1))
        precision = np.tile(self._precision, (len(points), 1))
        if self._judged:
            precision[other_rig, 0] = self._wide**-2.0
        elasticity = None
        if self._pinned is not None:
            prior = priors.ELASTICITY
            elasticity = prior.mean + prior.sd * points[:, 2]
            mean[:, self._pinned] = elasticity
            precision[:, self._pinned] = PINNED
        day, strip = priors.DAY_SPREAD, priors.STRIP_SPREAD
        return Spreads(
            np.exp(day.mean + day.sd * points[:, 0]),
            np.exp(strip.mean + strip.sd * points[:, 1]),
            *self._believed(mean, precision, other_rig, elasticity),
        )

    def _believed(
        self, mean: Array, precision: Array, other_rig: Flags, elasticity: Array | None
    ) -> tuple[Array, Array, Array | None]:
        """Mean, precision, and where something is known of the firm, the joint precision."""
        if self.belief is None:
            return mean, precision, None
        diagonal = range(mean.shape[1])
        joint = np.zeros((len(mean), mean.shape[1], mean.shape[1]))
        joint[:, diagonal, diagonal] = precision
        mine = np.logical_not(other_rig)
        if elasticity is None or self._pinned is None:
            mean[mine], joint[mine] = self.belief.mean, self.belief.precision()
        else:
            mean[mine], joint[mine] = self.belief.pinned(self._pinned, elasticity[mine])
        return mean, precision, joint

    def outer(self, other_rig: bool) -> tuple[Array, Array]:
        """Mean and sd of the standardised outer unknowns before any strip.

        Args:
            other_rig: the rig is unlike common practice.

        Returns:
            means and sds, (q,) each.
        """
        if self.belief is None or other_rig:
            return np.zeros(self.size), np.ones(self.size)
        return self.belief.outer(self._pinned, priors.ELASTICITY.mean, priors.ELASTICITY.sd)

    def scan(self) -> tuple[Array, Flags]:
        """Points from which the outer mode is looked for, over the elasticities, and which of
        them are of another rig.

        Returns:
            points (K, q), and flags (K,).
        """
        other = self.rigs(10)
        steps = np.repeat(np.linspace(-1.6, 1.6, 5), 2)
        points = np.zeros((10, self.size))
        for rig in (False, True):
            middle, spread = self.outer(rig)
            points[other == rig] = middle
            points[other == rig, -1] += spread[-1] * steps[other == rig]
        return points, other

    def rigs(self, count: int) -> Flags:
        """Which of some points are of another rig: every second one.

        Args:
            count: how many points.

        Returns:
            flags, (count,).
        """
        return np.asarray((np.arange(count) % 2 == 1) | self.vague, dtype=bool)

    def log_prior(self, points: Array, other_rig: Flags) -> Array:
        """Log density of standardised points, up to a constant.

        Args:
            points: (K, q).
            other_rig: which of them are of a rig unlike common practice, (K,).

        Returns:
            log densities, (K,).
        """
        unlike = priors.OTHER_RIG_SHARE if self.belief is None else self.belief.unlike
        out = np.asarray(np.where(other_rig, np.log(unlike), np.log1p(-unlike)), dtype=float)
        for rig in (False, True):
            middle, spread = self.outer(rig)
            away = (points[other_rig == rig] - middle) / spread
            out[other_rig == rig] -= 0.5 * (away**2).sum(axis=1) + np.log(spread).sum()
        return out


def integrate(
    data: StripArrays, layout: ParameterLayout, sheet: int, belief: Belief | None = None
) -> Outer:
    """Outer design, weights and inner modes for advice on the sheet at this position.

    Beyond `_MANY` rows of evidence the spreads are taken from the latest of them, at their
    mode: hundreds of strips know them well. All strips enter the coefficients.

    Args:
        data: the job's strips.
        layout: order of the coefficients.
        sheet: position of the sheet whose elasticity is integrated.
        belief: what other jobs taught of this one; None for what is believed of any.

    Returns:
        points, weights and modes.
    """
    if len(data.kind) > _MANY:
        return _at_one_point(data, layout, belief)
    pinned = layout.elasticity + sheet if layout.by_bleed_out else None
    return _designed(data, layout, OuterPrior(layout, pinned, belief))[0]


def _designed(
    data: StripArrays, layout: ParameterLayout, spread: OuterPrior
) -> tuple[Outer, Array]:
    """The outer integration over the design, and its standardised points."""
    response = Response(data, layout)
    center, root, start = _outer_mode(response, spread)
    away, log_share = design(spread.size)
    rigs = 1 if spread.vague else 2  # each point for either rig
    away, log_share = np.repeat(away, rigs, axis=0), np.repeat(log_share, rigs)
    points = center + _WIDEN * away @ root.T
    other = spread.rigs(len(points))
    spreads = spread.at(points, other)
    mode = _modes(response, spreads, start)
    log_weight = _log_posterior(mode, spread, points, other) + log_share
    log_weight += 0.5 * (away**2).sum(axis=1)
    weight = np.exp(log_weight - log_weight.max())
    return Outer(weight / weight.sum(), spreads, mode), points


def _at_one_point(data: StripArrays, layout: ParameterLayout, belief: Belief | None) -> Outer:
    """Spreads from the latest evidence, then all strips at once, elasticities free."""
    spread = OuterPrior(layout, None, belief)
    first = int(data.cell[data.row_strip][-_LATEST])
    center, _, start = _outer_mode(Response(of_cells(data, first, data.cell_count), layout), spread)
    spreads = spread.at(center[None], np.zeros(1, dtype=bool))
    none = np.zeros((1, data.cell_count))
    begin = Point(start.u, none, none, np.zeros((1, len(data.days)))) if start else None
    return Outer(np.ones(1), spreads, find_mode(Response(data, layout), spreads, begin))


def job_moments(
    data: StripArrays, layout: ParameterLayout, sheet: int
) -> tuple[Array, Array, Array, Array]:
    """What a job's strips make of it where nothing of its rig is known beforehand.

    Args:
        data: the job's strips.
        layout: order of the coefficients.
        sheet: position of the sheet whose elasticity is integrated.

    Returns:
        mean and covariance of the coefficients and, last, the standardised spreads from day to
        day and strip to strip; then the mean and sd of each beforehand.
    """
    if len(data.kind) > _MOST:
        data = of_cells(data, int(data.cell[data.row_strip][-_MOST]), data.cell_count)
    pinned = layout.elasticity + sheet if layout.by_bleed_out else None
    spread = OuterPrior(layout, pinned, vague=True)
    outer, points = _designed(data, layout, spread)
    each = np.hstack([outer.mode.point.u, points[:, :2]])
    mean = outer.weight @ each
    away = each - mean
    cov = (outer.weight[:, None] * away).T @ away
    p = outer.mode.hessian.shape[1]
    cov[:p, :p] += np.tensordot(outer.weight, np.linalg.inv(outer.mode.hessian), axes=1)
    before = np.array([(prior.mean, prior.sd) for prior in layout.priors] + [(0.0, 1.0)] * 2)
    before[0, 1] = _VAGUE
    return mean, cov, before[:, 0], before[:, 1]


def _log_posterior(mode: Mode, spread: OuterPrior, points: Array, other_rig: Flags) -> Array:
    """Evidence times the outer prior, in logs."""
    return np.asarray(mode.log_evidence + spread.log_prior(points, other_rig))


def _modes(response: Response, spreads: Spreads, start: Point | None, steps: int = 12) -> Mode:
    """`find_mode` in pieces that fit the memory."""
    rows = len(response.data.kind) * spreads.mean.shape[1]
    piece = max(1, _CHUNK // max(rows, 1))
    if piece >= len(spreads.day):
        return find_mode(response, spreads, start, steps)
    parts = [
        find_mode(response, spreads.take(slice(i, i + piece)), start, steps)
        for i in range(0, len(spreads.day), piece)
    ]
    return Mode(
        point=_joined(Point, [p.point for p in parts]),
        hessian=np.concatenate([p.hessian for p in parts]),
        drift=_joined(Block, [p.drift for p in parts]),
        cell=_joined(Block, [p.cell for p in parts]),
        day=_joined(Block, [p.day for p in parts]),
        log_evidence=np.concatenate([p.log_evidence for p in parts]),
    )


def _joined(kind: type[_T], parts: list[_T]) -> _T:
    """Arrays of several, one after the other along K."""
    return kind(*(np.concatenate([getattr(p, f.name) for p in parts]) for f in fields(kind)))


def _pick(mode: Mode, k: int) -> Point:
    """The k-th mode alone, as a start for others."""
    return Point(*(getattr(mode.point, name)[k : k + 1] for name in Point.__slots__))


def _outer_mode(response: Response, spread: OuterPrior) -> tuple[Array, Array, Point | None]:
    """Mode of the outer unknowns, a root of their covariance there, and a warm start."""
    center, scale = spread.outer(other_rig=False)
    if not len(response.data.kind):
        return center, np.diag(scale), None
    scan, other = spread.scan()
    mode = _modes(response, spread.at(scan, other), None, _ROUGHLY)
    best = int(np.argmax(_log_posterior(mode, spread, scan, other)))
    center, start = scan[best], _pick(mode, best)
    _, scale = spread.outer(bool(other[best]))
    star = _star(spread.size)
    other = np.full(len(star), other[best])
    root = np.eye(spread.size)
    for h in _ROUNDS:
        points = center + h * star * scale
        mode = _modes(response, spread.at(points, other), start)
        value = _log_posterior(mode, spread, points, other)
        gradient, hessian = _quadratic(value, star, h)
        values, vectors = np.linalg.eigh(-hessian)
        values = np.clip(values, 0.6, 1e4)
        root = vectors / np.sqrt(values)
        step = root @ (root.T @ gradient)
        center = center + scale * step * min(1.0, 1.5 / max(float(np.abs(step).max()), 1e-12))
        start = _pick(mode, int(np.argmax(value)))
    return center, scale[:, None] * root, start


def _star(size: int) -> Array:
    """Centre, plus and minus each axis, and one corner of each pair of axes."""
    eye = np.eye(size)
    pairs = [eye[i] + eye[j] for i in range(size) for j in range(i + 1, size)]
    return np.vstack([np.zeros(size), eye, -eye, *([np.array(pairs)] if pairs else [])])


def _quadratic(value: Array, star: Array, h: float) -> tuple[Array, Array]:
    """Gradient and Hessian by central differences on a star."""
    size = star.shape[1]
    plus, minus = value[1 : size + 1], value[size + 1 : 2 * size + 1]
    hessian = np.diag((plus - 2.0 * value[0] + minus) / h**2)
    corner = 2 * size + 1
    for i in range(size):
        for j in range(i + 1, size):
            mixed = (value[corner] - plus[i] - plus[j] + value[0]) / h**2
            hessian[i, j] = hessian[j, i] = mixed
            corner += 1
    return (plus - minus) / (2.0 * h), hessian


def design(size: int) -> tuple[Array, Array]:
    """Points (n, size) and log weights (n) of a rule for means over a standard normal.

    Exact for polynomials of degree 5: the centre, two points on each axis and the corners of a
    cube, all at a coordinate of sqrt(3), with the weights that the moments 1, 1, 3 and 1 leave
    (own derivation; Stroud 1971, Approximate Calculation of Multiple Integrals, lists such
    rules: from memory). A turn of it is as exact, and gives each coordinate more values.

    Args:
        size: outer unknowns: 2 or 3.

    Returns:
        points (n, size) and log weights (n,).
    """
    axes = np.vstack([np.eye(size), -np.eye(size)])
    corners = np.array(list(product((-1.0, 1.0), repeat=size)))
    rule = np.sqrt(3.0) * np.vstack([np.zeros(size), axes, corners])
    weight = np.r_[
        1.0 - (2.0 * size + 1.0) / 9.0,
        np.full(2 * size, 1 / 9),
        np.full(2**size, 1 / (9 * 2**size)),
    ]
    points = np.vstack([rule @ _turn(size, 0.6 + n).T for n in range(_TURNS)])
    return points, np.log(np.tile(weight, _TURNS) / _TURNS)


def _turn(size: int, angle: float) -> Array:
    """A rotation: by this angle (radians) in every plane of two axes, one after the other."""
    out = np.eye(size)
    for i, j in combinations(range(size), 2):
        plane = np.eye(size)
        plane[[i, j], [i, j]] = np.cos(angle)
        plane[i, j], plane[j, i] = -np.sin(angle), np.sin(angle)
        out = out @ plane
    return out
