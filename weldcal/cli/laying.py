"""A layout as people type it: its rectangles, marked points, rolls with their laps, and pattern."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from msgspec import Struct

from weldcal.book import Book
from weldcal.cli import parse
from weldcal.cli.parse import option
from weldcal.errors import BadLayout, Missing
from weldcal.quality.sheets import Rectangle, RoofPoint
from weldcal.records.examples import example
from weldcal.records.fields import choose, read
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.quality.sheets import Rolls


class RollsTyped(Struct, frozen=True):
    """The roll's size and its laps, as typed."""

    roll_width: str | None
    roll_length: str | None
    side_lap: str
    end_lap: str

    def read(self, book: Book, sheet: str, least_piece: str) -> Rolls:
        """Rolls of a sheet: as typed, else as it is listed.

        Raises:
            Missing: nobody said how large a roll is.
        """
        units = book.job.units
        rolls = book.laying.rolls(
            sheet,
            width=parse.value("roll_width", self.roll_width, units),
            length=parse.value("length", self.roll_length, units),
            side_lap=read("side_lap", self.side_lap, units),
            end_lap=read("end_lap", self.end_lap, units),
            least_piece=read("length", least_piece, units),
        )
        if rolls is None:
            raise Missing(
                name=_("the roll's size"),
                option="--roll-width",
                example=example("roll", units),
            )
        return rolls


class PatternTyped(Struct, frozen=True):
    """How rows are laid, as typed."""

    stagger: str
    along: str | None
    start: str | None
    slope: str | None
    surface: str | None
    least_piece: str

    def read(self, book: Book, sheet: str) -> dict[str, Any]:
        """As the layout takes it; the face of the sheet as it is described, where not typed."""
        laying = book.laying
        return {
            "stagger": read("stagger", self.stagger, book.job.units),
            "along": parse.choice("axis", self.along),
            "start": parse.choice("edge", self.start),
            "slope": parse.choice("slope", self.slope),
            "surface": choose("surface", self.surface)
            if self.surface
            else laying.surface_of(sheet),
        }


ROLLS: Any = parse.Pack(
    RollsTyped,
    {
        "roll_width": option("--roll-width", _("Like 39.4in; the sheet's if not given.")),
        "roll_length": option("--roll-length", _("Like 33ft; the sheet's if not given.")),
        "side_lap": option("--side-lap", _("UFGS-07550: at least 75 mm."), default="75mm"),
        "end_lap": option("--end-lap", _("UFGS-07550: at least 150 mm."), default="150mm"),
    },
)
PATTERN: Any = parse.Pack(
    PatternTyped,
    {
        "stagger": option("--stagger", _("Of end laps in neighbouring rows."), default="1m"),
        "along": option(
            "--along", _("Rows run along x (the first size) or y; across the slope if not given.")
        ),
        "start": option(
            "--start", _("Edge of row 1: low or high; the one water runs to if not given.")
        ),
        "slope": option(
            "--slope", _("Which way water runs: x+, x-, y+ or y-; laps are laid with it.")
        ),
        "surface": option(
            "--surface",
            _(
                "What end laps are welded onto: granules, sand or film; as the sheet is described if not given."
            ),
        ),
        "least_piece": option(
            "--least-piece", _("No piece of a row is cut shorter, where it can be."), default="1m"
        ),
    },
)


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


def roof_point(text: str, units: str) -> RoofPoint:
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
