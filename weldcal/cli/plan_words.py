"""Rectangles and marked points as people type them."""

from __future__ import annotations

import re

from weldcal.errors import BadLayout, Missing
from weldcal.quality.sheets import Rectangle, RoofPoint
from weldcal.records.examples import example
from weldcal.records.fields import read
from weldcal.words import _

_AREA = re.compile(
    r"(?P<letter>\S+)\s+(?P<x>[^x×]+?)\s*[x×]\s*(?P<y>.+?)(?:\s+at\s+(?P<at_x>[^,]+),(?P<at_y>.+))?"
)
_MARK = re.compile(
    r"(?P<kind>\D+?)\s+at\s+(?P<x>[^,]+),\s*(?P<y>.+?)(?:\s+around\s+(?P<around>.+))?"
)


def areas(text: str, units: str) -> list[Rectangle]:
    """`A 60ft x 40ft`, or several with places: `A 60ft x 40ft at 0,0; A 20ft x 10ft at 60ft,0`.

    Raises:
        Missing: a rectangle cannot be read.
        BadLayout: as `letter`.
    """
    rectangles = []
    for part in text.split(";"):
        typed = _AREA.fullmatch(part.strip())
        if typed is None:
            raise Missing(
                name=_("the area's letter and size"), option=_("it"), example=example("area", units)
            )
        x, y, at_x, at_y = (
            read("length", typed[key] or "0", units).si("m") for key in ("x", "y", "at_x", "at_y")
        )
        rectangles.append(Rectangle(letter(typed["letter"]), at_x, at_y, x, y))
    return rectangles


def letter(text: str) -> str:
    """An area's letter.

    Raises:
        BadLayout: it ends in a digit.
    """
    if text.strip()[-1:].isdigit():
        raise BadLayout(
            why=_(
                "an area's letter may not end in a digit, or its rows would be named as another's"
            )
        )
    return text.strip()


def mark(text: str, units: str) -> RoofPoint:
    """`drain at 12ft,8ft`, `curb at 30ft,20ft around 14ft`.

    Raises:
        Missing: it cannot be read.
    """
    typed = _MARK.fullmatch(text.strip())
    if typed is None:
        raise Missing(name=_("the marked point"), option="--mark", example=example("point", units))
    x, y = (read("length", typed[key], units).si("m") for key in ("x", "y"))
    around = read("length", typed["around"], units).si("m") if typed["around"] else None
    return RoofPoint(typed["kind"].strip(), x, y, around)
