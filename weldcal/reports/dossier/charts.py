"""What the dossier's charts share: units of the job, lines across, signs, the line that explains.

Invariant of every chart: an axis has its unit and the number of points; an
interval is drawn wherever one is known; the numbers drawn are those of the
figure's table.
"""

from __future__ import annotations

from collections.abc import Sequence

from weldcal.reports import show
from weldcal.reports.dossier.svg import INK, MUTED, PAPER, WIDTH, Axis, Svg

LEFT, RIGHT = 58.0, WIDTH - 16
DASH, DOTS = "7 3", "1.5 3"


def speed_in(m_per_min: float, units: str) -> float:
    """A speed in the job's unit."""
    return m_per_min / 0.3048 if units == "us" else m_per_min


def width_in(mm: float, units: str) -> float:
    """A width in the job's unit."""
    return mm / 25.4 if units == "us" else mm


def units_of(units: str) -> tuple[str, str, str]:
    """Units of speed, width and temperature."""
    named = ("ft/min", "in", "degF") if units == "us" else ("m/min", "mm", "degC")
    speed, width, temperature = (show.unit(name) for name in named)
    return speed, width, temperature


def levels(svg: Svg, x: Axis, y: Axis, levels: Sequence[tuple[float, str, str]]) -> None:
    """Lines across: a value, its name at the right edge, its dash."""
    for value, label, dash in levels:
        svg.line(x.start, y.at(value), x.end, y.at(value), INK, 1.1, dash)
        svg.text(x.end + 5, y.at(value) + 3.5, label, 10)


def signs(svg: Svg, x: Axis, y: Axis, values: Sequence[tuple[float, bool]]) -> None:
    """Values one after another: a dot where all is well, an X where not."""
    for n, (value, well) in enumerate(values, 1):
        if well:
            svg.dot(x.at(n), y.at(value), 3.3, PAPER, INK)
        else:
            svg.cross(x.at(n), y.at(value), 3.7)


def in_order(n: int) -> Axis:
    """An axis of so many things one after another."""
    return Axis(0.0, n + 1.0, LEFT, RIGHT - 60, counts=True)


def explained(svg: Svg, words: str) -> None:
    """What the signs mean, in one line at the bottom of a drawing."""
    svg.text(LEFT, svg.height - 6, words, 9, colour=MUTED)
