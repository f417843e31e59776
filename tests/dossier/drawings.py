"""A drawing read back from its SVG: scale, corner, marks with what they stand for, names, bars."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from xml.etree import ElementTree

from weldcal.reports.dossier import svg as palette

NS = "{http://www.w3.org/2000/svg}"
FT = 0.3048
Box = tuple[float, float, float, float]
Point = tuple[float, float]


@dataclass(frozen=True)
class Drawn:
    """A mark as drawn: `at` is what it stands for, the sign's place unless a leader leads elsewhere."""

    what: str
    names: tuple[str, ...]
    n: int
    sign: Point
    at: Point
    boxes: tuple[Box, ...]
    link: str


class Drawing:
    """One drawing, parsed."""

    def __init__(self, svg: str) -> None:
        self.root = ElementTree.fromstring(svg)

    def parts(self, parent: Any = None) -> Iterator[Any]:
        """Elements that are no marks, in the order drawn."""
        for part in self.root if parent is None else parent:
            if part.tag in (f"{NS}a", f"{NS}g"):
                if "data-mark" not in part.attrib:
                    yield from self.parts(part)
            else:
                yield part

    def texts(self) -> list[str]:
        """All words outside marks."""
        return [part.text or "" for part in self.parts() if part.tag == f"{NS}text"]

    def lines(self, colour: str, wide: str) -> list[tuple[Point, Point]]:
        """Straight lines of a colour and width."""
        found = []
        for part in self.parts():
            if part.get("stroke") == colour and part.get("stroke-width") == wide:
                places = points(part.get("d", ""))
                if len(places) == 2:
                    found.append((places[0], places[1]))
        return found

    def per_m(self) -> float:
        """Units a metre, from the scale bar and its words."""
        (bar,) = [ends for ends in self.lines("#1a1a1a", "2") if ends[0][1] == ends[1][1]]
        words = [t for t in self.root.iter(f"{NS}text") if t.get("font-size") == "11"]
        (text,) = [t for t in words if abs(float(t.get("x")) - bar[1][0] - 6) < 0.01]
        return (bar[1][0] - bar[0][0]) / (float(text.text.removesuffix(" ft")) * FT)

    def origin(self) -> tuple[Point, Point]:
        """A place on the roof, m, and where it lies on the drawing: the plan's corner, or a tile's."""
        for part in self.parts():
            if part.tag == f"{NS}text" and (part.text or "").startswith("plan's corner"):
                return (0.0, 0.0), (float(part.get("x")) + 12, float(part.get("y")) - 20)
        for part in self.parts():
            told = re.fullmatch(r"x ([\d.-]+) ft, y ([\d.-]+) ft", part.text or "")
            if told and part.get("text-anchor") == "start":
                place = float(told[1]) * FT, float(told[2]) * FT
                return place, (float(part.get("x")), float(part.get("y")) - 13)
        raise AssertionError("the drawing does not say where it lies")

    def place(self, x_m: float, y_m: float) -> Point:
        """Where a place on the roof must lie on the drawing."""
        (x0, y0), (left, bottom) = self.origin()
        scale = self.per_m()
        return left + (x_m - x0) * scale, bottom - (y_m - y0) * scale

    def marks(self) -> list[Drawn]:
        """Every mark, in the order drawn."""
        leaders = self.lines("#1a1a1a", "0.8")
        found = []
        for part in self.root.iter():
            if "data-mark" not in part.attrib:
                continue
            sign, box = _sign(part)
            at = next((end for start, end in leaders if math.dist(start, sign) < 0.05), sign)
            boxes = [box, *(text_box(t) for t in part.iter(f"{NS}text"))]
            names = tuple(part.get("data-names").split())
            n = int(part.get("data-n"))
            link = part.get("href", "")
            found.append(Drawn(part.get("data-mark"), names, n, sign, at, tuple(boxes), link))
        return found

    def marks_are_last(self) -> bool:
        """Whether nothing but marks is drawn after the first of them."""
        kinds = ["data-mark" in part.attrib for part in self.root]
        return kinds == sorted(kinds)


def _sign(part: Any) -> tuple[Point, Box]:
    """The middle and the box of a mark's sign."""
    for circle in part.iter(f"{NS}circle"):
        x, y, r = (float(circle.get(k)) for k in ("cx", "cy", "r"))
        return (x, y), (x - r - 0.6, y - r - 0.6, x + r + 0.6, y + r + 0.6)
    drawn = [p for p in part.iter(f"{NS}path") if len(points(p.get("d"))) > 2]
    places = points(drawn[-1].get("d"))
    xs, ys = [p[0] for p in places], [p[1] for p in places]
    edge = 1.0  # half the line's width
    box = min(xs) - edge, min(ys) - edge, max(xs) + edge, max(ys) + edge
    return ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2), box


def points(path: str) -> list[Point]:
    """The points of a path of straight lines."""
    return [(float(x), float(y)) for x, y in re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", path)]


def text_box(text: Any) -> Box:
    """About the room of words: half an em a sign, from the line's foot to the capitals' top."""
    x, y, size = (float(text.get(k)) for k in ("x", "y", "font-size"))
    wide = 0.5 * size * len(text.text or "")
    start = {"middle": x - wide / 2, "end": x - wide}.get(text.get("text-anchor"), x)
    return start, y - 0.66 * size, start + wide, y + 0.2 * size


def area_shared(a: Box, b: Box) -> float:
    """The area two boxes share."""
    wide = min(a[2], b[2]) - max(a[0], b[0])
    high = min(a[3], b[3]) - max(a[1], b[1])
    return max(wide, 0.0) * max(high, 0.0)


_COLOURS = {
    value: name
    for name, value in vars(palette).items()
    if name.isupper() and str(value).startswith("#")
}


def told(svg: Any) -> list[str]:
    """What a drawing is made of, an element a line, colours by name.

    `path 0,0 10,0 INK 1.4`, `disc 5,5 r2 PAPER INK`, `box 0,0 6x6 PAPER INK`, `word 8,14 10.5
    start INK: text`; a closed path has its fill behind.
    """
    text = svg if isinstance(svg, str) else f"<svg>{svg.inner()}</svg>"
    root = ElementTree.fromstring(text.replace(' xmlns="http://www.w3.org/2000/svg"', ""))
    return [_line(part) for part in root.iter() if part.tag in _READ]


_READ = ("path", "circle", "rect", "text")


def _line(part: Any) -> str:
    def of(*names: str) -> list[str]:
        return [_COLOURS.get(part.get(n, ""), part.get(n, "")) for n in names]

    if part.tag == "path":
        places = re.sub(r"[MLZ]", " ", part.get("d"))
        pairs = re.findall(r"(-?[\d.]+) (-?[\d.]+)", places)
        words = [f"{x},{y}" for x, y in pairs] + of("stroke", "stroke-width")
        words += [w for w in of("fill", "stroke-dasharray") if w not in ("none", "")]
    elif part.tag == "circle":
        words = [f"{part.get('cx')},{part.get('cy')}", f"r{part.get('r')}", *of("fill", "stroke")]
    elif part.tag == "rect":
        x, y, wide, high = of("x", "y", "width", "height")
        words = [f"{x},{y} {wide}x{high}", *of("fill", "stroke")]
    else:
        bold = ["bold"] if part.get("font-weight") else []
        turned = ["turned"] if part.get("transform") else []
        words = [f"{part.get('x')},{part.get('y')}", *of("font-size", "text-anchor", "fill")]
        words = [*words, *bold, *turned]
        return f"word {' '.join(words)}: {part.text}"
    return " ".join([{"path": "path", "circle": "disc", "rect": "box"}[part.tag], *words])


def check(name: str, median: float, least: float, most: float) -> dict[str, Any]:
    """A bleed check as the chart takes it."""
    return {
        "name": name,
        "seam": "A1",
        "seen_local": "2026-06-01T07:25:00-06:00",
        "width_median_mm": median,
        "width_min_mm": least,
        "width_max_mm": most,
        "readings_n": 3,
    }
