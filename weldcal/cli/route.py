"""Where to walk next: one way round the roof, on a screen and on paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

from weldcal.book import Book
from weldcal.cli.parse import JSON, option
from weldcal.cli.shell import print_all, print_json, single
from weldcal.errors import Missing
from weldcal.records.examples import example
from weldcal.records.fields import read
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.quality.route import Route

START = option("--from", _("Where you stand, from the plan's corner along x and y, like 30ft,0."))


@single
def route(
    book: Book,
    start: str = START,
    svg: str = option("--svg", _("Also write the way on the roof sheet, as an SVG file.")),
    as_json: bool = JSON,
) -> None:
    """Where to walk next: what is cold and unprobed, mended, in doubt, drawn or to be cut, in walking order. Example: weldcal route --from 0,0"""
    way = route_from(book, start)
    from weldcal.cli import drawing
    from weldcal.reports import route as page

    walk = page.walk(way, book.job.units)
    if svg is not None:
        drawing.write_sheet(book, svg, quiet=as_json, walk=walk)
    if as_json:
        print_json(way)
        return
    drawing.show_walk(book, walk)
    print_all(page.lines(way, book.job.units))


def route_from(book: Book, start: str | None) -> Route:
    """The way from where somebody stands.

    Raises:
        Missing: the place cannot be read as two distances.
    """
    if not start:
        return book.routing.route()
    parts = start.split(",")
    if len(parts) != 2:
        raise Missing(
            name=_("where you stand"), option="--from", example=example("stand", book.job.units)
        )
    x, y = (read("distance", part, book.job.units).si("m") for part in parts)
    return book.routing.route((x, y))
