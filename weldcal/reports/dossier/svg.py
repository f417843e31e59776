"""Drawing by hand: the few SVG elements our figures are made of.

Invariant: numbers go in as numbers and text as escaped text, so nothing that a
person typed becomes an element. Sizes are in units of a page 720 wide. No meaning rests on
colour alone: each has a shape, a dash or a sign of its own, and the fills differ in lightness, so
they part in grey as well. Contrasts and distances under colour blindness are held by a test.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from html import escape

from weldcal.reports.dossier.document import printable
from weldcal.words import number

PAPER = "#ffffff"
INK = "#1a1a1a"
MUTED = "#595959"  # axes, small print, lap not welded
PROBED = "#1d4e89"  # solid: probed; also the middle of a fit
UNPROBED = "#ffd166"  # hollow: welded and not probed
OPEN = "#b3001b"  # open finding; outside the limits
BAND = "#dbe6f3"  # an interval


WIDTH = 720.0
Point = tuple[float, float]
_FONT = "Libertinus Serif, serif"


def num(value: float) -> str:
    """A coordinate, two decimals at most."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


class Svg:
    """A drawing growing element by element."""

    def __init__(self, height: float, width: float = WIDTH) -> None:
        self.width, self.height = width, height
        self._parts: list[str] = []

    def line(
        self,
        x0: float,
        y0: float,
        x1: float,
        y1: float,
        colour: str = INK,
        wide: float = 1.0,
        dash: str = "",
    ) -> None:
        """A straight line, butt ends."""
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        self._parts.append(
            f'<path d="M{num(x0)} {num(y0)}L{num(x1)} {num(y1)}" stroke="{colour}" '
            f'stroke-width="{num(wide)}" fill="none"{dashed}/>'
        )

    def path(
        self,
        points: Sequence[tuple[float, float]],
        colour: str = INK,
        wide: float = 1.0,
        fill: str = "none",
    ) -> None:
        """A line through points; closed where it is filled."""
        if not points:
            return
        d = "M" + "L".join(f"{num(x)} {num(y)}" for x, y in points)
        close = "Z" if fill != "none" else ""
        self._parts.append(
            f'<path d="{d}{close}" stroke="{colour}" stroke-width="{num(wide)}" fill="{fill}"/>'
        )

    def rect(self, x: float, y: float, w: float, h: float, fill: str, colour: str = "none") -> None:
        """A rectangle."""
        self._parts.append(
            f'<rect x="{num(x)}" y="{num(y)}" width="{num(w)}" height="{num(h)}" fill="{fill}" stroke="{colour}"/>'
        )

    def dot(self, x: float, y: float, r: float, fill: str = INK, colour: str = INK) -> None:
        """A circle."""
        self._parts.append(
            f'<circle cx="{num(x)}" cy="{num(y)}" r="{num(r)}" fill="{fill}" stroke="{colour}" stroke-width="1.2"/>'
        )

    def cross(self, x: float, y: float, r: float, colour: str = OPEN) -> None:
        """An X with a pale edge, so that it shows on any ground."""
        for wide, tint in ((4.4, PAPER), (2.0, colour)):
            self._parts.append(
                f'<path d="M{num(x - r)} {num(y - r)}L{num(x + r)} {num(y + r)}M{num(x - r)} {num(y + r)}'
                f'L{num(x + r)} {num(y - r)}" stroke="{tint}" stroke-width="{wide}" fill="none"/>'
            )

    def diamond(self, x: float, y: float, r: float, fill: str = PAPER) -> None:
        """A square on its corner."""
        self.path([(x, y - r), (x + r, y), (x, y + r), (x - r, y)], INK, 1.2, fill)

    def triangle(self, x: float, y: float, r: float) -> None:
        """A triangle standing on a line below it."""
        self.path([(x, y - r), (x + r, y + r), (x - r, y + r)], INK, 0.8, INK)

    def text(
        self,
        x: float,
        y: float,
        words: str,
        size: float = 10.0,
        anchor: str = "start",
        colour: str = INK,
        bold: bool = False,
        turned: bool = False,
        plate: bool = False,
    ) -> None:
        """Words; `turned` reads upwards; with a `plate` they have a pale edge against lines."""
        turn = f' transform="rotate(-90 {num(x)} {num(y)})"' if turned else ""
        weight = ' font-weight="700"' if bold else ""
        if plate:
            weight += (
                f' stroke="{PAPER}" stroke-width="2.5" stroke-linejoin="round" paint-order="stroke"'
            )
        self._parts.append(
            f'<text x="{num(x)}" y="{num(y)}" font-family="{_FONT}" font-size="{num(size)}" '
            f'text-anchor="{anchor}" fill="{colour}"{weight}{turn}>{escape(printable(words))}</text>'
        )

    @contextmanager
    def marked(self, name: str, href: str = "", **data: object) -> Iterator[None]:
        """Group what is drawn within: a link where it leads somewhere, with data attributes.

        Args:
            name: what a screen reader says.
            href: the place on the page; only our own names of places.
            data: becomes data-… attributes.
        """
        attributes = "".join(
            f' data-{key}="{escape(printable(str(value)))}"' for key, value in data.items()
        )
        if href:
            words = f"<title>{escape(printable(name))}</title>"
            self._parts.append(f'<a href="#{escape(href)}"{attributes}>{words}')
        else:
            self._parts.append(f"<g{attributes}>")
        yield
        self._parts.append("</a>" if href else "</g>")

    def hatch(self, strokes: Sequence[tuple[Point, Point]], colour: str, wide: float) -> None:
        """Many short strokes as one element."""
        if strokes:
            d = "".join(f"M{num(a[0])} {num(a[1])}L{num(b[0])} {num(b[1])}" for a, b in strokes)
            self._parts.append(
                f'<path d="{d}" stroke="{colour}" stroke-width="{num(wide)}" fill="none"/>'
            )

    def inner(self) -> str:
        """What is drawn, without the frame around it."""
        return "".join(self._parts)

    def done(self) -> str:
        """The drawing."""
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {num(self.width)} {num(self.height)}" '
            f'width="{num(self.width)}" height="{num(self.height)}">{"".join(self._parts)}</svg>'
        )


class Axis:
    """One axis: values to coordinates, and round ticks."""

    def __init__(
        self, low: float, high: float, start: float, end: float, *, counts: bool = False
    ) -> None:
        """`counts` for an axis that only whole numbers make sense on."""
        self._least = 1.0 if counts else 0.0
        self.low, self.high = low, high if high > low else low + 1.0
        self.start, self.end = start, end

    def at(self, value: float) -> float:
        """The coordinate of a value."""
        part = (value - self.low) / (self.high - self.low)
        return self.start + part * (self.end - self.start)

    def ticks(self, about: int = 6) -> list[float]:
        """Round values, some `about` of them (steps of 1, 2 or 5)."""
        rough = (self.high - self.low) / about
        power = 10.0 ** math.floor(math.log10(rough))
        step = power * next(m for m in (1, 2, 5, 10) if m * power >= rough * 0.999)
        step = max(step, self._least)
        first = math.ceil(self.low / step - 1e-9)
        count = int((self.high - first * step) / step + 1e-9)
        return [round((first + n) * step, 10) for n in range(count + 1)]


def frame(
    svg: Svg,
    x: Axis,
    y: Axis,
    x_title: str,
    y_title: str,
    y_labels: Sequence[tuple[float, str]] = (),
) -> None:
    """Axes with ticks and titles; `y_labels` in place of round ticks for rows with names."""
    left, bottom = x.start, max(y.start, y.end)
    svg.line(left, bottom, x.end, bottom, MUTED)
    svg.line(left, min(y.start, y.end), left, bottom, MUTED)
    for value in x.ticks():
        svg.line(x.at(value), bottom, x.at(value), bottom + 4, MUTED)
        svg.text(x.at(value), bottom + 15, number(value, "g"), 10, "middle")
    for value, label in y_labels or [(v, number(v, "g")) for v in y.ticks(5)]:
        svg.line(left - 4, y.at(value), left, y.at(value), MUTED)
        svg.text(left - 7, y.at(value) + 3.5, label, 10, "end")
    svg.text((x.start + x.end) / 2, bottom + 31, x_title, 11, "middle")
    if y_title:
        svg.text(14, (y.start + y.end) / 2, y_title, 11, "middle", turned=True)
