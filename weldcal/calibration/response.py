"""How width, bubbling and bond answer to heat: the likelihood, row by row.

Invariant: all three are monotone in the heat index `z` by construction (ln of
the right speed over the speed travelled): more heat never means less width,
less bubbling or a worse bond.

Arrays lead with the axis of parameter vectors, K, so that many are tried at once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import expit, log_ndtr

from weldcal.calibration import priors
from weldcal.calibration.features import Array
from weldcal.calibration.layout import ParameterLayout
from weldcal.calibration.strips import BOND, HEAVY, NO_BLEED, TRACE, StripArrays

LOG_WIDTH = float(np.log(priors.WIDTH_MM))
_LOGISTIC_VAR = 3.0 / np.pi**2  # squared scale of a logistic of unit variance


def bend(z: Array, curvature: Array) -> tuple[Array, Array, Array]:
    """Width's log rise per elasticity, `(1 - exp(-cz))/c`; its slopes in `z` and in `c`.

    Args:
        z: heat index.
        curvature: of the width's response; broadcasts.

    Returns:
        rise, slope in `z`, slope in `c`, of the shape of `z`.
    """
    c = np.where(np.abs(curvature) < 1e-4, 1e-4, curvature)
    cz = np.clip(c * z, -3.0, 3.0)
    left = np.exp(-cz)
    rise = (1.0 - left) / c
    return rise, left, (z * left - rise) / c


def strip_variance(elasticity: Array, spread: Array, unread_var: Array) -> Array:
    """Variance of ln width from strip to strip: own scatter, grown on steep sheets, and
    what unread conditions leave open.

    Args:
        elasticity: d ln width / d ln speed.
        spread: sd of ln width from strip to strip.
        unread_var: what was not read, ln speed squared.

    Returns:
        variance of ln width.
    """
    grown = 1.0 + (elasticity / priors.NARROW_ELASTICITY) ** 2
    return np.asarray(spread**2 * grown + elasticity**2 * unread_var)


def blurred(log_blur: Array, unread_var: Array) -> Array:
    """Scale of a logistic threshold, widened by unread conditions.

    Args:
        log_blur: ln of the scale, heat index.
        unread_var: what was not read, ln speed squared.

    Returns:
        scale, heat index.
    """
    return np.sqrt(np.exp(2.0 * log_blur) + _LOGISTIC_VAR * unread_var)


@dataclass(frozen=True, slots=True)
class Point:
    """K points in all unknowns: coefficients `u[K, p]`; per cell its offset `t[K, cells]` and
    its drift `s[K, cells]`; per day its offset `d[K, days]`."""

    u: Array
    t: Array
    s: Array
    d: Array


@dataclass(frozen=True, slots=True)
class Thresholds:
    """Heat indices (K,): of first bubbles, from there to heavy ones, and of a cold bond."""

    trace: Array
    gap: Array
    cold: Array


def thresholds(u: Array, layout: ParameterLayout) -> Thresholds:
    """Thresholds from coefficients `u[K, p]`: bubbling lies above 0, a cold bond below.

    Args:
        u: coefficients, (K, p).
        layout: their order.

    Returns:
        thresholds, heat index, K of each.
    """
    log_trace, log_gap, log_cold = u[:, layout.curvature + 1 : layout.curvature + 4].T
    return Thresholds(np.exp(log_trace), np.exp(log_gap), -np.exp(log_cold))


@dataclass(frozen=True, slots=True)
class Evidence:
    """Per row, arrays (K, rows): log likelihood, its gradient and (positive) weight in the
    row's predictor, the predictor's slope in its cell's offset; `jacobian[K, rows, p]` in all coefficients."""

    log_like: Array
    gradient: Array
    weight: Array
    slope: Array
    jacobian: Array


class Response:
    """The likelihood of one set of strips, for many parameter vectors at once."""

    def __init__(self, data: StripArrays, layout: ParameterLayout) -> None:
        self.data = data
        self.layout = layout
        kind = data.kind
        self._widths = np.flatnonzero(kind <= NO_BLEED)
        self._none = kind[self._widths] == NO_BLEED
        self._classes = np.flatnonzero(kind >= TRACE)
        class_kind = kind[self._classes]
        self._bond = class_kind == BOND
        bubbling = (kind == TRACE) | (kind == HEAVY)
        self._day_share = np.where(bubbling, priors.DAY_BUBBLES, 1.0)
        self._heavy = class_kind == HEAVY
        self._blur = layout.curvature + 4 + self._bond
        self._row_x = data.features.x[data.row_strip]
        self._row_sheet = data.features.sheet[data.row_strip]
        self._row_var = data.features.strip_var[data.row_strip]

    def heat(self, at: Point) -> Array:
        """Heat index of every strip, (K, strips).

        Args:
            at: K points.

        Returns:
            ln speed, (K, strips).
        """
        return self.moved(at) - self.data.log_speed

    def moved(self, at: Point) -> Array:
        """Ln of the right speed of every strip, (K, strips): linear in the point.

        Args:
            at: K points.

        Returns:
            ln m/min, (K, strips).
        """
        linear = at.u[:, : self.layout.linear] @ self.data.features.x.T
        return np.asarray(linear + self.offset(at))

    def offset(self, at: Point) -> Array:
        """The part of it that is the machine's day: offset and drift.

        Args:
            at: K points.

        Returns:
            ln speed, (K, strips).
        """
        cell = self.data.cell
        return np.asarray(at.t[:, cell] + self.data.loading * at.s[:, cell])

    def _row_heat(self, at: Point) -> Array:
        """Heat index of every row, (K, rows): bubbling feels a share of the day's offset."""
        z = self.heat(at)[:, self.data.row_strip]
        return z - (1.0 - self._day_share) * self.offset(at)[:, self.data.row_strip]

    def evidence(self, at: Point, spread: Array) -> Evidence:
        """Evidence of every row at K points, with `spread[K]` from strip to strip.

        Args:
            at: K points.
            spread: sd of ln width from strip to strip, (K,).

        Returns:
            log likelihood, gradient and curvature of each row.
        """
        u = at.u
        z = self._row_heat(at)
        shape = z.shape
        out = Evidence(
            np.zeros(shape),
            np.zeros(shape),
            np.zeros(shape),
            np.zeros(shape),
            np.zeros((*shape, u.shape[1])),
        )
        if len(self._widths):
            self._width_terms(u, z, spread, out)
        if len(self._classes):
            self._class_terms(u, z, out)
        out.jacobian[:, :, : self.layout.linear] = out.slope[:, :, None] * self._row_x
        out.slope[:] *= self._day_share
        return out

    def log_like(self, at: Point, spread: Array) -> Array:
        """Log likelihood of all rows together, (K,): no derivatives.

        Args:
            at: K points.
            spread: sd of ln width from strip to strip, (K,).

        Returns:
            (K,).
        """
        return np.asarray(self.row_log_like(at, spread).sum(axis=1))

    def row_log_like(self, at: Point, spread: Array, jump: Array | float = 0.0) -> Array:
        """Log likelihood of each row, (K, rows): no derivatives.

        Args:
            at: K points; `spread[K]` from strip to strip.
            jump: added to the heat index of every row, (K,) or one for all: what a machine
                that broke gives more or less than its offset says.

        Returns:
            (K, rows).
        """
        u = at.u
        z = self._row_heat(at) + np.reshape(jump, (-1, 1))
        rows = np.zeros((len(u), len(self.data.kind)))
        if len(self._widths):
            mu, scale, _, _, _ = self._width_predictor(u, z, spread)
            value = self.data.value[self._widths]
            rows[:, self._widths] = np.where(
                self._none, _log_below((value - mu) / scale), _near(value - mu, scale)[0]
            )
        if len(self._classes):
            q, _, _ = self._class_predictor(u, z)
            sign = 2.0 * self.data.value[self._classes] - 1.0
            rows[:, self._classes] = -np.logaddexp(0.0, -sign * q) * self.data.share[self._classes]
        return rows

    def _width_predictor(
        self, u: Array, z: Array, spread: Array
    ) -> tuple[Array, Array, Array, Array, Array]:
        """Predicted ln width of the width rows, its scale, and its slopes in `z`, ln E, c."""
        rows = self._widths
        sheet = self._row_sheet[rows]
        steep = np.exp(u[:, self.layout.elasticity + sheet])
        rise, left, by_c = bend(z[:, rows], u[:, self.layout.curvature, None])
        var = self.data.var[rows] + strip_variance(steep, spread[:, None], self._row_var[rows])
        return LOG_WIDTH + steep * rise, np.sqrt(var), steep * left, steep * rise, steep * by_c

    def _width_terms(self, u: Array, z: Array, spread: Array, out: Evidence) -> None:
        rows = self._widths
        mu, scale, slope, by_log_e, by_c = self._width_predictor(u, z, spread)
        miss = self.data.value[rows] - mu
        seen = _near(miss, scale)
        none = _below(miss / scale)
        out.log_like[:, rows] = np.where(self._none, none[0], seen[0])
        out.gradient[:, rows] = np.where(self._none, -none[1] / scale, seen[1])
        out.weight[:, rows] = np.where(self._none, none[2] / scale**2, seen[2])
        out.slope[:, rows] = slope
        out.jacobian[:, rows, self.layout.elasticity + self._row_sheet[rows]] = by_log_e
        out.jacobian[:, rows, self.layout.curvature] = by_c

    def _class_predictor(self, u: Array, z: Array) -> tuple[Array, Array, Array]:
        """Log odds of the bubbling and bond rows, their scale, and the blur's share of it."""
        rows = self._classes
        at = thresholds(u, self.layout)
        own = u[:, self.layout.bubbling_sheet + self._row_sheet[rows]]
        bubbling = at.trace[:, None] + self._heavy * at.gap[:, None] + own
        threshold = np.where(self._bond, at.cold[:, None], bubbling)
        scale = blurred(u[:, self._blur], self._row_var[rows])
        share = np.exp(2.0 * u[:, self._blur]) / scale**2
        return (z[:, rows] - threshold) / scale, scale, share

    def _class_terms(self, u: Array, z: Array, out: Evidence) -> None:
        rows = self._classes
        q, scale, share = self._class_predictor(u, z)
        chance = expit(q)
        value, counts = self.data.value[rows], self.data.share[rows]
        out.log_like[:, rows] = -counts * np.logaddexp(0.0, (1.0 - 2.0 * value) * q)
        out.gradient[:, rows] = counts * (value - chance)
        out.weight[:, rows] = counts * np.maximum(chance * (1.0 - chance), 1e-6)
        out.slope[:, rows] = 1.0 / scale
        at, first = thresholds(u, self.layout), self.layout.curvature + 1
        out.jacobian[:, rows, first] = -1.0 * ~self._bond * at.trace[:, None] / scale
        out.jacobian[:, rows, first + 1] = -1.0 * self._heavy * at.gap[:, None] / scale
        out.jacobian[:, rows, first + 2] = -1.0 * self._bond * at.cold[:, None] / scale
        out.jacobian[:, rows, self._blur] = -q * share
        bubbling = ~self._bond
        own = self.layout.bubbling_sheet + self._row_sheet[rows[bubbling]]
        out.jacobian[:, rows[bubbling], own] = -1.0 / scale[:, bubbling]


def wild_chance(miss: Array, scale: Array) -> Array:
    """Chance that a strip is wild (a gust, a mistyped row), given how far off it is.

    Args:
        miss: ln width read less that fitted.
        scale: its standard deviation.

    Returns:
        chances, of the shape of `miss`.
    """
    factor, share = priors.WILD_FACTOR, priors.WILD_STRIP
    odds = np.log(share / (1.0 - share) / factor) + 0.5 * (miss / scale) ** 2 * (1 - factor**-2)
    return np.asarray(expit(odds), dtype=float)


def _near(miss: Array, scale: Array) -> tuple[Array, Array, Array]:
    """Contaminated normal: log density, gradient in the mean, and the weight that makes
    Newton a majorising step (so it never runs away from a wild strip)."""
    share, factor = priors.WILD_STRIP, priors.WILD_FACTOR
    squared = (miss / scale) ** 2
    usual = np.log(1.0 - share) - 0.5 * squared - np.log(scale)
    wild = np.log(share / factor) - 0.5 * squared / factor**2 - np.log(scale)
    weight = (1.0 + expit(wild - usual) * (factor**-2 - 1.0)) / scale**2
    return np.logaddexp(usual, wild), weight * miss, weight


def _log_below(edge: Array) -> Array:
    """No bleed-out: log chance of lying below an edge `(bound - mean)/scale`; wild strips as a
    floor on it."""
    share = priors.WILD_STRIP
    usual = np.log(1.0 - share) + log_ndtr(edge)
    wild = np.log(share) + log_ndtr(edge / priors.WILD_FACTOR)
    return np.asarray(np.logaddexp(usual, wild))


def _below(edge: Array) -> tuple[Array, Array, Array]:
    """The same, its (negative) gradient and its weight in the mean over scale."""
    share = priors.WILD_STRIP
    log_chance = _log_below(edge)
    wide = edge / priors.WILD_FACTOR
    density = (1.0 - share) * np.exp(-0.5 * edge**2)
    density = density + share / priors.WILD_FACTOR * np.exp(-0.5 * wide**2)
    pull = density / np.sqrt(2.0 * np.pi) * np.exp(-log_chance)
    return log_chance, pull, np.maximum(pull * (pull + edge), 1e-6)
