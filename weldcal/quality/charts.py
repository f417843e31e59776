"""Control charts of bleed-out along a seam: individuals with moving range, and EWMA.

Invariant: a reading that may lie inside the limits, given the step it was
rounded to, is never out of control.

Individuals and moving range: NIST/SEMATECH e-Handbook 6.3.2.2 (limits at
3·MR/1.128). EWMA: the same, 6.3.2.4; limit widths for an average of 250
in-control points between false alarms: Crowder 1989.

Rule for readings rounded to a step (our own, after Wheeler's point that a step
larger than sigma makes the moving range too small to go by; from memory): the
spread of rounding alone, step/√12, is added to sigma in quadrature, since
readings that clump on few values show less moving range than spread; and a
reading counts as out only if all that it may have been before rounding, half a
step either way, lies outside the limits. What that costs and gains is measured
in the tests.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from msgspec import Struct

# Mean range of two readings of one normal distribution, in sigmas.
D2 = 1.128
WIDTH = 3.0
# 250 points between false alarms at this weight: Crowder 1989 gives 2.72.
EWMA_WEIGHT = 0.2
EWMA_WIDTH = 2.72
# Wheeler (from memory): fewer possible values than this within the limits, and the step shows.
_FEW_VALUES = 4


class Individuals(Struct, frozen=True):
    """An individuals chart.

    Attributes:
        moving_range: mean absolute difference of neighbours, None for a single value.
        sigma: None where nothing tells it.
        low, high: limits, None likewise.
        out: indices of the points out of control, in order.
        coarse: the step is so coarse that few values are possible within the limits.
    """

    centre: float
    moving_range: float | None
    sigma: float | None
    low: float | None
    high: float | None
    out: tuple[int, ...]
    coarse: bool

    @property
    def first_out(self) -> int | None:
        """Index of the first point out of control."""
        return self.out[0] if self.out else None


class Ewma(Struct, frozen=True):
    """An exponentially weighted moving average with its limits, point by point."""

    averages: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    out: tuple[int, ...]

    @property
    def first_out(self) -> int | None:
        """Index of the first point out of control."""
        return self.out[0] if self.out else None


def individuals(
    values: Sequence[float],
    *,
    centre: float | None = None,
    sigma: float | None = None,
    step: float = 0.0,
) -> Individuals:
    """Chart of single values in the order they were seen.

    Args:
        values: all in one unit.
        centre, sigma: of the go-ahead, where it tells them; otherwise from the values.
        step: what readings are rounded to; 0 for none. For means of m readings, step/√m.

    Raises:
        ValueError: no values, a sigma not above 0, a step below 0.
    """
    if not values or step < 0 or (sigma is not None and sigma <= 0):
        raise ValueError("a chart needs values, a sigma above 0 and a step not below 0")
    ranges = [abs(b - a) for a, b in pairwise(values)]
    mean_range = sum(ranges) / len(ranges) if ranges else None
    middle = sum(values) / len(values) if centre is None else centre
    spread = sigma if sigma is not None else _sigma(mean_range)
    spread = rounded_sigma(spread, step) if spread is not None else None
    if spread is None:
        return Individuals(middle, mean_range, None, None, None, (), False)
    half = WIDTH * spread
    out = tuple(n for n, value in enumerate(values) if _beyond(value, middle, half, step))
    coarse = step > 0 and 2.0 * half / step < _FEW_VALUES
    return Individuals(middle, mean_range, spread, middle - half, middle + half, out, coarse)


def _sigma(mean_range: float | None) -> float | None:
    return None if mean_range is None else mean_range / D2


def rounded_sigma(sigma: float, step: float) -> float:
    """Sigma with the spread of rounding alone, step/√12 (a uniform error), in quadrature."""
    return math.hypot(sigma, step / math.sqrt(12.0))


def _beyond(value: float, middle: float, half: float, step: float) -> bool:
    slack = 1e-9 * max(abs(value), abs(middle), step)
    return abs(value - middle) - step / 2.0 > half + slack


def ewma(
    values: Sequence[float],
    centre: float,
    sigma: float,
    *,
    weight: float = EWMA_WEIGHT,
    width: float = EWMA_WIDTH,
    step: float = 0.0,
    steady: bool = False,
) -> Ewma:
    """EWMA of values against a centre and sigma given beforehand.

    `z_i = w·x_i + (1 - w)·z_(i-1)`, `z_0 = centre`; limits
    `centre ± width·sigma·sqrt(w/(2 - w)·(1 - (1 - w)^(2i)))`, or without the last
    factor where `steady`, as the handbook draws them. Sigma has the spread of
    rounding added. An average has no step of its own, so it gets no half step.

    Raises:
        ValueError: a weight outside 0 to 1, or a sigma or step that cannot be.
    """
    if not 0.0 < weight <= 1.0 or sigma < 0 or step < 0 or max(sigma, step) == 0:
        raise ValueError("a weight is above 0 and at most 1, and a sigma above 0")
    spread = rounded_sigma(sigma, step)
    averages: list[float] = []
    halves: list[float] = []
    last = centre
    for n, value in enumerate(values, start=1):
        last = weight * value + (1.0 - weight) * last
        averages.append(last)
        settled = 1.0 if steady else 1.0 - (1.0 - weight) ** (2 * n)
        halves.append(width * spread * math.sqrt(weight / (2.0 - weight) * settled))
    points = enumerate(zip(averages, halves, strict=True))
    return Ewma(
        averages=tuple(averages),
        low=tuple(centre - half for half in halves),
        high=tuple(centre + half for half in halves),
        out=tuple(n for n, (average, half) in points if abs(average - centre) > half),
    )
