"""The fit as a picture of letters: speed against bleed-out, no colour needed.

Invariant: one sign means one thing, and the legend below names each. It is
drawn in 60 columns, so it reads on a laptop and over somebody's shoulder.
"""

from __future__ import annotations

import math
from typing import Any

from weldcal.reports import show
from weldcal.words import _

COLUMNS, ROWS = 48, 17
_LIMIT, _SPREAD, _MIDDLE, _STRIP, _TODAY = "-", ":", "*", "o", "@"


def page(curve: Any) -> list[str]:
    """The chart in lines; nothing to draw where the sheet is not judged by bleed-out."""
    asked = curve.asked
    if not asked.window.by_bleed_out:
        return [_("This sheet is judged by bond and bubbling; bleed-out says nothing.")]
    units, window = asked.units, asked.window
    near = _near(curve.forecasts, window)
    top = max(window.high_mm * 1.5, *(o for s in curve.strips for o in s.readings_mm), 0.0)
    low_v, high_v = near[0].speed_m_per_min, near[-1].speed_m_per_min
    grid = [[" "] * COLUMNS for _row in range(ROWS)]
    for column in range(COLUMNS):
        speed = low_v + (high_v - low_v) * column / (COLUMNS - 1)
        _middle, low, high = _at(near, speed)
        for row in range(_row(min(high, top), top), _row(low, top) + 1):
            grid[row][column] = _SPREAD
    for limit in (window.low_mm, window.high_mm):
        grid[_row(limit, top)] = [_LIMIT] * COLUMNS
    for column in range(COLUMNS):
        middle, _low, _high = _at(near, low_v + (high_v - low_v) * column / (COLUMNS - 1))
        if middle <= top:
            grid[_row(middle, top)][column] = _MIDDLE
    for strip in curve.strips:
        if not low_v <= strip.speed_m_per_min <= high_v:
            continue
        column = round((strip.speed_m_per_min - low_v) / (high_v - low_v) * (COLUMNS - 1))
        sign = _TODAY if strip.day == asked.question.day else _STRIP
        for reading in strip.readings_mm:
            grid[_row(reading, top)][column] = sign
    return [*_drawn(grid, top, units), *_axis(low_v, high_v, units), *_legend(curve, units)]


def _near(forecasts: list[Any], window: Any) -> list[Any]:
    """The speeds worth drawing: where the middle lies within a fifth and three times the aim."""
    kept = [f for f in forecasts if window.aim_mm / 5 <= f.width_mm <= window.aim_mm * 3]
    return kept if len(kept) >= 2 else forecasts


def _at(forecasts: list[Any], speed: float) -> tuple[float, float, float]:
    """Middle and interval at a speed, between the dial's own."""
    after = next(
        (i for i, f in enumerate(forecasts) if f.speed_m_per_min >= speed), len(forecasts) - 1
    )
    a, b = forecasts[max(after - 1, 0)], forecasts[after]
    span = b.speed_m_per_min - a.speed_m_per_min
    part = (speed - a.speed_m_per_min) / span if span else 0.0
    names = ("width_mm", "width_low_mm", "width_high_mm")
    middle, low, high = (getattr(a, n) + part * (getattr(b, n) - getattr(a, n)) for n in names)
    return middle, low, high


def _row(width_mm: float, top: float) -> int:
    return min(max(ROWS - 1 - round(width_mm / top * (ROWS - 1)), 0), ROWS - 1)


def _drawn(grid: list[list[str]], top: float, units: str) -> list[str]:
    lines = []
    for number, row in enumerate(grid):
        width = top * (ROWS - 1 - number) / (ROWS - 1)
        label = show.width(width, units) if number % 4 == 0 else ""
        lines.append(f"{label:>8} |{''.join(row)}".rstrip())
    return lines


def _axis(low: float, high: float, units: str) -> list[str]:
    left, right = show.speed(low, units), show.speed(high, units)
    middle = show.speed(math.fsum((low, high)) / 2, units)
    gap = COLUMNS - len(left) - len(middle) - len(right)
    return [
        f"{'':>8} +{'-' * COLUMNS}",
        f"{'':>10}{left}{' ' * (gap // 2)}{middle}{' ' * (gap - gap // 2)}{right}",
    ]


def _legend(curve: Any, units: str) -> list[str]:
    w = curve.asked.window
    return [
        _("{sign} limits {low} and {high}", sign=_LIMIT, low=show.limit_width(w.low_mm, units), high=show.limit_width(w.high_mm, units)),
        _("{sign} likeliest median   {spread} 90 % of next strips", sign=_MIDDLE, spread=_SPREAD),
        _("{today} today's readings   {earlier} earlier, at their own weather ({n} strips)", today=_TODAY, earlier=_STRIP, n=len(curve.strips)),
    ]  # fmt: skip
