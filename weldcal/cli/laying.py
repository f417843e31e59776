"""The options of a layout: rolls with their laps, and the pattern that rows are laid in."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import typer
from msgspec import Struct

from weldcal.book import Book
from weldcal.cli import parse
from weldcal.errors import Missing
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
                example="--roll-width 39.4in --roll-length 33ft",
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
        "roll_width": typer.Option(
            None, "--roll-width", help=_("Like 39.4in; the sheet's if not given.")
        ),
        "roll_length": typer.Option(
            None, "--roll-length", help=_("Like 33ft; the sheet's if not given.")
        ),
        "side_lap": typer.Option("75mm", "--side-lap", help=_("UFGS-07550: at least 75 mm.")),
        "end_lap": typer.Option("150mm", "--end-lap", help=_("UFGS-07550: at least 150 mm.")),
    },
)
PATTERN: Any = parse.Pack(
    PatternTyped,
    {
        "stagger": typer.Option("1m", "--stagger", help=_("Of end laps in neighbouring rows.")),
        "along": typer.Option(
            None,
            "--along",
            help=_("Rows run along x (the first size) or y; across the slope if not given."),
        ),
        "start": typer.Option(
            None,
            "--start",
            help=_("Edge of row 1: low or high; the one water runs to if not given."),
        ),
        "slope": typer.Option(
            None,
            "--slope",
            help=_("Which way water runs: x+, x-, y+ or y-; laps are laid with it."),
        ),
        "surface": typer.Option(
            None,
            "--surface",
            help=_(
                "What end laps are welded onto: granules, sand or film; as the sheet is described if not given."
            ),
        ),
        "least_piece": typer.Option(
            "1m", "--least-piece", help=_("No piece of a row is cut shorter, where it can be.")
        ),
    },
)
