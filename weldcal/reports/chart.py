"""The fit as a picture of letters: speed against bleed-out, no colour needed.

Invariant: one sign means one thing, and the legend below names each. It is
drawn in 60 columns at most, so it reads on a laptop and over somebody's shoulder;
where no drawing is wanted or fits, its numbers are listed.
"""

from __future__ import annotations

import math

from weldcal import settings
from weldcal.calibration.observation import Forecast, Window
from weldcal.reports import show
from weldcal.reports.lines import wrapped
from weldcal.views.dialled import Curve
from weldcal.words import _

WIDEST, ROWS = 48, 17
_LABEL = 8  # signs of a width left of the drawing, and more where units are longer
_NARROWEST = 24
_LIMIT, _SPREAD, _MIDDLE, _STRIP, _TODAY = "-", ":", "*", "o", "@"


def page(curve: Curve) -> list[str]:
    """The chart in lines; nothing to draw where the sheet is not judged by bleed-out."""
    asked = curve.asked
    if not asked.window.by_bleed_out:
        return [_("This sheet is judged by bond and bubbling; bleed-out says nothing.")]
    units, window = asked.units, asked.window
    near = _near(curve.forecasts, window)
    margin = max(_LABEL, len(show.width(window.high_mm, units)))
    columns = min(WIDEST, settings.screen_columns() - margin - len(" |"))
    if settings.linear() or columns < _NARROWEST:
        return [wrapped(line) for line in _numbers(curve, near, units)]
    top = max(window.high_mm * 1.5, *(o for s in curve.strips for o in s.readings_mm), 0.0)
    grid = [[" "] * columns for _row in range(ROWS)]
    _draw(grid, curve, near, top)
    low, high = near[0].speed_m_per_min, near[-1].speed_m_per_min
    axis = _axis(low, high, columns, units, margin)
    return [
        *_drawn(grid, top, units, margin),
        *axis,
        *(wrapped(line) for line in _legend(curve, units)),
    ]


def _draw(grid: list[list[str]], curve: Curve, near: list[Forecast], top: float) -> None:
    """Interval, limits, middle and strips, each over the one before."""
    asked, window, columns = curve.asked, curve.asked.window, len(grid[0])
    low_v, high_v = near[0].speed_m_per_min, near[-1].speed_m_per_min
    across = [
        _at(near, low_v + (high_v - low_v) * column / (columns - 1)) for column in range(columns)
    ]
    for column, (_middle, low, high) in enumerate(across):
        for row in range(_row(min(high, top), top), _row(low, top) + 1):
            grid[row][column] = _SPREAD
    for limit in (window.low_mm, window.high_mm):
        grid[_row(limit, top)] = [_LIMIT] * columns
    for column, (middle, _low, _high) in enumerate(across):
        if middle <= top:
            grid[_row(middle, top)][column] = _MIDDLE
    for strip in curve.strips:
        if not low_v <= strip.speed_m_per_min <= high_v:
            continue
        column = round((strip.speed_m_per_min - low_v) / (high_v - low_v) * (columns - 1))
        sign = _TODAY if strip.day == asked.question.day else _STRIP
        for reading in strip.readings_mm:
            grid[_row(reading, top)][column] = sign


def _numbers(curve: Curve, near: list[Forecast], units: str) -> list[str]:
    """The chart's numbers: what each speed of the dial would give, then what strips gave."""
    w = curve.asked.window
    lines = [
        _(
            "Limits of bleed-out: {low} and {high}.",
            low=show.limit_width(w.low_mm, units),
            high=show.limit_width(w.high_mm, units),
        )
    ]
    lines += [
        _(
            "At {speed}: likeliest {width}; 90 % of next strips lie from {low} to {high}.",
            speed=show.speed(f.speed_m_per_min, units),
            width=show.width(f.width_mm, units),
            low=show.width(f.width_low_mm, units),
            high=show.width(f.width_high_mm, units),
        )
        for f in near
    ]
    lines += [
        _(
            "Strip of {day} at {speed}: read {readings}.",
            day=strip.day,
            speed=show.speed(strip.speed_m_per_min, units),
            readings=", ".join(show.width(r, units) for r in strip.readings_mm) or _("nothing"),
        )
        for strip in curve.strips
    ]
    return lines


def _near(forecasts: list[Forecast], window: Window) -> list[Forecast]:
    """The speeds worth drawing: where the middle lies within a fifth and three times the aim."""
    kept = [f for f in forecasts if window.aim_mm / 5 <= f.width_mm <= window.aim_mm * 3]
    return kept if len(kept) >= 2 else forecasts


def _at(forecasts: list[Forecast], speed: float) -> tuple[float, float, float]:
    """Middle and interval at a speed, between the dial's own."""
    after = next(
        (i for i, f in enumerate(forecasts) if f.speed_m_per_min >= speed), len(forecasts) - 1
    )
    a, b = forecasts[max(after - 1, 0)], forecasts[after]
    span = b.speed_m_per_min - a.speed_m_per_min
    part = (speed - a.speed_m_per_min) / span if span else 0.0

    def between(before: float, after: float) -> float:
        return before + part * (after - before)

    return (
        between(a.width_mm, b.width_mm),
        between(a.width_low_mm, b.width_low_mm),
        between(a.width_high_mm, b.width_high_mm),
    )


def _row(width_mm: float, top: float) -> int:
    return min(max(ROWS - 1 - round(width_mm / top * (ROWS - 1)), 0), ROWS - 1)


def _drawn(grid: list[list[str]], top: float, units: str, margin: int) -> list[str]:
    lines = []
    for number, row in enumerate(grid):
        width = top * (ROWS - 1 - number) / (ROWS - 1)
        label = show.width(width, units) if number % 4 == 0 else ""
        lines.append(f"{label:>{margin}} |{''.join(row)}".rstrip())
    return lines


def _axis(low: float, high: float, columns: int, units: str, margin: int) -> list[str]:
    left, right = show.speed(low, units), show.speed(high, units)
    middle = show.speed(math.fsum((low, high)) / 2, units)
    gap = columns - len(left) - len(middle) - len(right)
    if gap < 2:
        middle, gap = "", columns - len(left) - len(right)
    return [
        f"{'':>{margin}} +{'-' * columns}",
        f"{'':>{margin + 2}}{left}{' ' * (gap // 2)}{middle}{' ' * (gap - gap // 2)}{right}",
    ]


def _legend(curve: Curve, units: str) -> list[str]:
    w = curve.asked.window
    return [
        _(
            "{sign} limits {low} and {high}",
            sign=_LIMIT,
            low=show.limit_width(w.low_mm, units),
            high=show.limit_width(w.high_mm, units),
        ),
        _("{sign} likeliest median", sign=_MIDDLE),
        _("{sign} 90 % of next strips", sign=_SPREAD),
        _("{sign} today's readings", sign=_TODAY),
        _(
            "{sign} readings of earlier strips, at their own weather; {n} strips in all",
            sign=_STRIP,
            n=sum(not s.on_seam for s in curve.strips),
        ),
    ]
