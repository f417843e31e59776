"""A drawing read back from its SVG: scale, corner, marks with what they stand for, names, bars."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from xml.etree import ElementTree

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
