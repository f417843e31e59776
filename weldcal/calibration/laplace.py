"""The most likely coefficients and offsets for given spreads, and the evidence for them.

Invariant: days and cells (a machine's day) are eliminated by Schur complement,
one number at a time, so the work is linear in strips. Everything leads with
the axis K of spreads tried at once.

Unknowns: coefficients `u[p]`; day offsets `d ~ N(0, DAY_SHARE·σ²)`; of each
cell its offset `t ~ N(d, (1 - DAY_SHARE)·σ²)`, the day's included, and its
drift `s ~ N(0, 1)`, which moves a strip by its loading. Eliminated in the
order s, t, d.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from weldcal.calibration import priors
from weldcal.calibration.features import Array
from weldcal.calibration.response import Evidence, Point, Response
from weldcal.calibration.strips import Index

_STEPS = 12
_LONGEST_STEP = 0.5  # in heat index or ln elasticity: both are of order one
_DONE = 5e-3
_STRAYS = 500


@dataclass(frozen=True, slots=True)
class Spreads:
    """What the outer integration varies, arrays (K,): the day's and the strip's spread, and
    a prior mean and precision of the coefficients, (K, p), in which one may be pinned; `joint`
    (K, p, p) is the precision where they hang together."""

    day: Array
    strip: Array
    mean: Array
    precision: Array
    joint: Array | None = None

    def take(self, which: Array | slice) -> Spreads:
        """Some of them.

        Args:
            which: slice or positions along K.

        Returns:
            those of the K spreads.
        """
        return Spreads(
            self.day[which],
            self.strip[which],
            self.mean[which],
            self.precision[which],
            None if self.joint is None else self.joint[which],
        )

    def add_to(self, hessian: Array) -> None:
        """Add the prior's curvature to one of the coefficients (K, p, p).

        Args:
            hessian: changed in place.
        """
        if self.joint is None:
            diagonal = range(hessian.shape[1])
            hessian[:, diagonal, diagonal] += self.precision
        else:
            hessian += self.joint

    def force(self, u: Array) -> Array:
        """The prior's pull at coefficients `u[K, p]`, towards 0 growth.

        Args:
            u: coefficients, (K, p).

        Returns:
            gradient of the log prior, turned about, (K, p).
        """
        away = u - self.mean
        if self.joint is None:
            return self.precision * away
        return np.asarray((self.joint @ away[:, :, None])[:, :, 0])

    def log_prior(self, u: Array) -> Array:
        """Log density of coefficients `u[K, p]`, up to a constant.

        Args:
            u: coefficients, (K, p).

        Returns:
            (K,).
        """
        log_det = (
            np.log(self.precision).sum(axis=1)
            if self.joint is None
            else np.linalg.slogdet(self.joint)[1]
        )
        return np.asarray(0.5 * log_det - 0.5 * ((u - self.mean) * self.force(u)).sum(axis=1))


@dataclass(frozen=True, slots=True)
class Block:
    """One kind of eliminated unknown: its curvature `h[K, m]` once those before it are gone,
    its cross curvature with the coefficients `cross[K, m, p]`, and `pull[K, m]`: how much it
    moves, against `h`, with the unknown it hangs on (drift: on t; t: on d)."""

    h: Array
    cross: Array
    pull: Array


@dataclass(frozen=True, slots=True)
class Mode:
    """Modes, the curvature left in the coefficients `hessian[K, p, p]`, the blocks eliminated
    (drifts, cells, days), and Laplace's `log_evidence[K]`."""

    point: Point
    hessian: Array
    drift: Block
    cell: Block
    day: Block
    log_evidence: Array


@dataclass(frozen=True, slots=True)
class Outer:
    """What the outer integration found: points, weights, the modes at them."""

    weight: Array
    spreads: Spreads
    mode: Mode


def find_mode(
    response: Response, spreads: Spreads, start: Point | None = None, steps: int = _STEPS
) -> Mode:
    """Gauss-Newton to the mode for each of K spreads; `start` (K or 1) warms it up.

    Args:
        response: evidence of the strips.
        spreads: K spreads, with the prior at each.
        start: where to begin, K or 1 of it; the prior's mean where not given.
        steps: at most so many.

    Returns:
        modes, blocks of the Hessian and Laplace's log evidence, K of each.
    """
    at = _first(response, spreads, start)
    for _ in range(steps):
        seen = response.evidence(at, spreads.strip)
        step = _Step(response, spreads, seen, at)
        move = step.solve()
        moved = np.abs(response.moved(move))
        shapes = np.abs(move.u[:, response.layout.linear :]).max(axis=1)
        longest = np.maximum(moved.max(axis=1, initial=0.0), shapes)
        damp = np.minimum(1.0, _LONGEST_STEP / np.maximum(longest, 1e-12))[:, None]
        at = Point(*(getattr(at, n) + damp * getattr(move, n) for n in Point.__slots__))
        if max(shapes.max(), _but_strays(moved)) < _DONE:
            break
    return step.mode(at)


def _but_strays(moved: Array) -> float:
    """The furthest any strip still moves, one in `_STRAYS` left out: one that is wild or not by a
    hair goes to and fro alone."""
    strips = moved.shape[1]
    if not strips:
        return 0.0
    last = strips - 1 - strips // _STRAYS
    return float(np.partition(moved, last, axis=1)[:, last].max())


def _first(response: Response, spreads: Spreads, start: Point | None) -> Point:
    """Where to begin: the prior's mean, or another mode with the pinned one set."""
    count, data = len(spreads.day), response.data
    if start is None:
        cells = np.zeros((count, data.cell_count))
        return Point(spreads.mean, cells, cells, np.zeros((count, len(data.days))))
    pinned = spreads.precision > 1e6
    return Point(
        np.where(pinned, spreads.mean, start.u),
        *(np.broadcast_to(a, (count, a.shape[1])) for a in (start.t, start.s, start.d)),
    )


class _Step:
    """One Newton step: gradients and curvatures, three eliminations, and back again."""

    def __init__(self, response: Response, spreads: Spreads, seen: Evidence, at: Point) -> None:
        self.data, self.spreads, self.seen, self.at = response.data, spreads, seen, at
        share = priors.DAY_SHARE
        variance = spreads.day[:, None] ** 2
        self.day_var = share * variance
        self.cell_var = (1.0 - share) * variance
        self._coefficients()
        self._drifts()
        self._cells()
        self._days()

    def _coefficients(self) -> None:
        jacobian = self.seen.jacobian
        self.weighted = self.seen.weight[:, :, None] * jacobian
        turned = np.swapaxes(jacobian, 1, 2)
        self.h = turned @ self.weighted
        self.spreads.add_to(self.h)
        self.g = (turned @ self.seen.gradient[:, :, None])[:, :, 0]
        self.g -= self.spreads.force(self.at.u)

    def _by_cell(self, rows: Array) -> Array:
        """Sums over the rows of each cell."""
        if not self.data.cell_count:
            return np.zeros((rows.shape[0], 0, *rows.shape[2:]))
        return np.asarray(np.add.reduceat(rows, self.data.cell_start, axis=1))

    def _of_swinging(self, rows: Array, which: Index) -> tuple[Array, Index]:
        """Sums over some rows of each cell, zero for cells without; and the cells with."""
        out = np.zeros((rows.shape[0], self.data.cell_count, *rows.shape[2:]))
        cells, starts = np.unique(self.data.cell[self.data.row_strip[which]], return_index=True)
        if len(cells):
            out[:, cells] = np.add.reduceat(rows, starts, axis=1)
        return out, cells

    def _by_day(self, cells: Array) -> Array:
        """Sums over the cells of each day."""
        if not self.data.cell_count:
            return np.zeros((cells.shape[0], 0, *cells.shape[2:]))
        return np.asarray(np.add.reduceat(cells, self.data.day_start, axis=1))

    def _leave(self, cross: Array, h: Array, gradient: Array) -> None:
        """Take an eliminated block's share out of what is left in the coefficients."""
        scaled = cross / h[:, :, None]
        self.h = self.h - np.swapaxes(scaled, 1, 2) @ cross
        self.g = self.g - (gradient[:, None, :] @ scaled)[:, 0]

    def _drifts(self) -> None:
        loading = self.data.loading[self.data.row_strip]
        sloped = self.seen.slope[:, :, None] * self.weighted
        curved = self.seen.weight * self.seen.slope**2
        force = self.seen.slope * self.seen.gradient
        self.cross_t = self._by_cell(sloped)
        self.h_t = self._by_cell(curved) + 1.0 / self.cell_var
        self.g_t = self._by_cell(force)
        self.g_s = self._by_cell(force * loading) - self.at.s
        swings = np.flatnonzero(loading)  # a day of one strip does not drift: most of a long record
        cross, cells = self._of_swinging(sloped[:, swings] * loading[swings, None], swings)
        self.drift = Block(
            self._by_cell(curved * loading**2) + 1.0, cross, self._by_cell(curved * loading)
        )
        self._leave(cross[:, cells], self.drift.h[:, cells], self.g_s[:, cells])

    def _cells(self) -> None:
        drift = self.drift
        follow = drift.pull / drift.h
        away = self.at.t - self.at.d[:, self.data.cell_day]
        self.g_t = self.g_t - away / self.cell_var - follow * self.g_s
        self.cell = Block(
            self.h_t - follow * drift.pull,
            self.cross_t - follow[:, :, None] * drift.cross,
            np.broadcast_to(-1.0 / self.cell_var, away.shape),
        )
        self._leave(self.cell.cross, self.cell.h, self.g_t)

    def _days(self) -> None:
        cell = self.cell
        away = self.at.t - self.at.d[:, self.data.cell_day]
        follow = cell.pull / cell.h
        self.g_d = self._by_day(away / self.cell_var - follow * self.g_t)
        self.g_d -= self.at.d / self.day_var
        self.day = Block(
            self._by_day(1.0 / self.cell_var - follow * cell.pull) + 1.0 / self.day_var,
            self._by_day(-follow[:, :, None] * cell.cross),
            np.zeros_like(self.at.d),
        )
        self._leave(self.day.cross, self.day.h, self.g_d)

    def solve(self) -> Point:
        """The step in everything."""
        du = np.linalg.solve(self.h, self.g[:, :, None])
        dd = (self.g_d - (self.day.cross @ du)[:, :, 0]) / self.day.h
        pulled = self.cell.pull * dd[:, self.data.cell_day]
        dt = (self.g_t - (self.cell.cross @ du)[:, :, 0] - pulled) / self.cell.h
        ds = (self.g_s - (self.drift.cross @ du)[:, :, 0] - self.drift.pull * dt) / self.drift.h
        return Point(np.asarray(du[:, :, 0], dtype=float), dt, ds, dd)

    def mode(self, point: Point) -> Mode:
        """Laplace's evidence at the last point evaluated (terms constant in K left out)."""
        at, spreads = self.at, self.spreads
        cells, days = at.t.shape[1], at.d.shape[1]
        log_prior = spreads.log_prior(at.u)
        away = at.t - at.d[:, self.data.cell_day]
        log_prior -= 0.5 * ((away**2 / self.cell_var).sum(axis=1) + (at.s**2).sum(axis=1))
        log_prior -= 0.5 * (at.d**2 / self.day_var).sum(axis=1)
        log_prior -= 0.5 * (cells + days) * np.log(spreads.day**2)
        log_det = np.linalg.slogdet(self.h)[1]
        for block in (self.drift, self.cell, self.day):
            log_det = log_det + np.log(block.h).sum(axis=1)
        evidence = self.seen.log_like.sum(axis=1) + log_prior - 0.5 * log_det
        return Mode(point, self.h, self.drift, self.cell, self.day, evidence)
