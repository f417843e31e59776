"""What the tape says of one strip: its typical width, and how surely.

Invariant: a reading is an interval, never a point. 1/4 in read to 1/16 in says
"between 7/32 and 9/32"; a zero says "less than can be read".
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from weldcal.calibration import priors

Array = NDArray[np.float64]

_LOG_WIDTH = np.arange(np.log(0.15), np.log(80.0), 0.03)
_SPREADS = priors.READING_SPREAD * np.exp(0.4 * np.arange(-3.0, 3.5, 0.5))
_SPREAD_STRIPS = 300
_MIN_STEP_MM = 0.2


@dataclass(frozen=True, slots=True)
class Widths:
    """Per strip (arrays of one length): `log_mm` its typical log width; `var` the variance
    of that from its readings alone; `censored` where every reading was zero, and then
    `log_mm` is the bound below which it lies. `spread` is the scatter along a strip (log)."""

    log_mm: Array
    var: Array
    censored: NDArray[np.bool_]
    spread: float


def widths(readings_mm: Sequence[Sequence[float]], steps_mm: Sequence[float]) -> Widths:
    """Summarise strips by the mean and variance of their log width given the readings.

    Every strip has at least one reading. Scatter along a strip is learned from
    all strips together (a grid of spreads, prior in `priors`), then held.

    Args:
        readings_mm: of each strip, mm; 0 is less than can be read.
        steps_mm: the step each strip's readings were rounded to, mm.

    Returns:
        one mean and variance a strip, and the scatter along strips.
    """
    count = len(readings_mm)
    if count == 0:
        none = np.zeros(0)
        return Widths(none, none, np.zeros(0, dtype=bool), priors.READING_SPREAD)
    strip, pair, pairs = _unique_pairs(readings_mm, steps_mm)
    spread = _learn_spread(strip, pair, pairs, count)
    log_like = _strip_log_like(strip, pair, pairs, count, spread)
    weight = np.exp(log_like - log_like.max(axis=1, keepdims=True))
    weight /= weight.sum(axis=1, keepdims=True)
    mean = weight @ _LOG_WIDTH
    var = np.maximum(weight @ _LOG_WIDTH**2 - mean**2, 1e-4)
    zero = pairs[:, 0] < pairs[:, 1] / 2.0
    censored = np.bincount(strip, weights=~zero[pair], minlength=count) == 0
    if censored.any():
        bound, bound_var = _bounds(log_like[censored])
        mean[censored], var[censored] = bound, bound_var
    return Widths(mean, var, censored, spread)


def _unique_pairs(
    readings_mm: Sequence[Sequence[float]], steps_mm: Sequence[float]
) -> tuple[NDArray[np.intp], NDArray[np.intp], Array]:
    """Readings come in few distinct values: work once per (reading, step)."""
    strip = np.repeat(np.arange(len(readings_mm)), [len(r) for r in readings_mm])
    flat = np.array([value for r in readings_mm for value in r], dtype=float)
    step = np.maximum(np.asarray(steps_mm, dtype=float), _MIN_STEP_MM)[strip]
    pairs, pair = np.unique(np.column_stack([flat, step]), axis=0, return_inverse=True)
    return strip, np.reshape(pair, -1), pairs


def _pair_log_like(pairs: Array, spread: float) -> Array:
    """log P(reading | log width), shape (pairs, grid): interval, contaminated normal."""
    low = np.log(np.maximum(pairs[:, 0] - pairs[:, 1] / 2.0, 1e-9))[:, None]
    high = np.log(pairs[:, 0] + pairs[:, 1] / 2.0)[:, None]

    def inside(scale: float) -> Array:
        return np.asarray(
            ndtr((high - _LOG_WIDTH) / scale) - ndtr((low - _LOG_WIDTH) / scale), dtype=float
        )

    wild = priors.WILD_READING
    mixed = (1.0 - wild) * inside(spread) + wild * inside(priors.WILD_FACTOR * spread)
    return np.log(np.maximum(mixed, 1e-12))


def _strip_log_like(
    strip: NDArray[np.intp], pair: NDArray[np.intp], pairs: Array, count: int, spread: float
) -> Array:
    per_reading = _pair_log_like(pairs, spread)[pair]
    starts = np.searchsorted(strip, np.arange(count))
    return np.asarray(np.add.reduceat(per_reading, starts, axis=0), dtype=float)


def _learn_spread(
    strip: NDArray[np.intp], pair: NDArray[np.intp], pairs: Array, count: int
) -> float:
    """Posterior mean (of the log) of the scatter along a strip, from the latest strips."""
    first = max(0, count - _SPREAD_STRIPS)
    keep = strip >= first
    several = np.bincount(strip[keep] - first, minlength=count - first) > 1
    if not several.any():
        return priors.READING_SPREAD
    log_post = np.empty(len(_SPREADS))
    for i, spread in enumerate(_SPREADS):
        table = _strip_log_like(strip[keep] - first, pair[keep], pairs, count - first, spread)
        top = table.max(axis=1)
        evidence = top + np.log(np.exp(table - top[:, None]).sum(axis=1))
        log_post[i] = evidence[several].sum()
    offset = np.log(_SPREADS / priors.READING_SPREAD)
    log_post -= 0.5 * (offset / priors.READING_SPREAD_SD) ** 2
    weight = np.exp(log_post - log_post.max())
    return float(np.exp(weight @ np.log(_SPREADS) / weight.sum()))


def _bounds(log_like: Array) -> tuple[Array, Array]:
    """Where P(all zero) crosses one half, and the variance of a normal edge like it."""
    chance = np.exp(log_like)

    def crossing(level: float) -> Array:
        return np.asarray(_LOG_WIDTH[np.argmax(chance < level, axis=1)], dtype=float)

    edge = np.maximum((crossing(0.16) - crossing(0.84)) / 2.0, 0.03)
    return crossing(0.5), edge**2
