"""Speeds of go-ahead strips against the temperature they were made at.

Invariant: the line is drawn over the temperatures of the strips only.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from weldcal.reports.dossier.charts import LEFT, RIGHT, speed_in, units_of
from weldcal.reports.dossier.document import Figure, table
from weldcal.reports.dossier.svg import INK, PAPER, PROBED, Axis, Svg, frame
from weldcal.words import _, number

Point = tuple[str, str, float, float]  # strip, day, temperature °C, speed m/min
Line = tuple[float, float]  # slope and height of ln(speed m/min) against °C


def speeds(name: str, caption: str, rows: Sequence[Point], line: Line | None, units: str) -> Figure:
    """Speeds of go-ahead strips against the sheet's temperature, and a plain line through them.

    Args:
        rows: the strips.
        line: through them; None where too few give one.
    """
    speed_unit, _w, temp_unit = units_of(units)
    cells = [
        (n, d, number(_degrees(c, units), ".0f"), number(speed_in(v, units), ".2f"))
        for n, d, c, v in rows
    ]
    headings = [_("Strip"), _("Day"), temp_unit, speed_unit]
    return Figure(
        name,
        caption,
        _("Chart of {n} go-ahead strips, travel speed against temperature.", n=len(rows)),
        _drawn(rows, line, units),
        table(_("Numbers of the chart"), headings, cells, (2, 3), (1, 1.4, 1, 1)),
    )


def _drawn(rows: Sequence[Point], line: Line | None, units: str) -> str:
    speed_unit, _w, temp_unit = units_of(units)
    points = [(_degrees(c, units), speed_in(v, units)) for _n, _d, c, v in rows]
    temps, fast = [p[0] for p in points], [p[1] for p in points]
    pad = max((max(temps) - min(temps)) * 0.1, 5.0)
    x = Axis(min(temps) - pad, max(temps) + pad, LEFT, RIGHT)
    y = Axis(0.0, max(fast) * 1.2, 222, 14)
    svg = Svg(276)
    if line is not None:
        along = [(_degrees(c, units), speed_in(v, units)) for c, v in _along(rows, line)]
        svg.path([(x.at(c), y.at(v)) for c, v in along], PROBED, 2)
    for px, py in points:
        svg.dot(x.at(px), y.at(py), 3.6, PAPER, INK)
    below = _(
        "Sheet temperature (ambient where none was read), {unit} (n = {n} go-ahead strips)",
        unit=temp_unit,
        n=len(points),
    )
    frame(svg, x, y, below, _("Travel speed, {unit}", unit=speed_unit))
    return svg.done()


def _along(rows: Sequence[Point], line: Line) -> Iterator[tuple[float, float]]:
    """Points of the line, °C and m/min, from the coldest strip to the warmest."""
    low, high = min(r[2] for r in rows), max(r[2] for r in rows)
    for n in range(21):
        celsius = low + (high - low) * n / 20
        yield celsius, math.exp(line[1] + line[0] * celsius)


def _degrees(celsius: float, units: str) -> float:
    return celsius * 9 / 5 + 32 if units == "us" else celsius
