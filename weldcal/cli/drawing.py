"""Drawings of the roof as files and on the screen, alone or with a walk on them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from weldcal.book import Book
from weldcal.cli.progress import progress
from weldcal.cli.shell import tell_written
from weldcal.errors import NoneYet
from weldcal.long_work import atomic_write
from weldcal.reports import show
from weldcal.settings import path_of
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.views.walk import WalkingOrder


def write_sheet(book: Book, name: str, *, quiet: bool, walk: WalkingOrder | None = None) -> None:
    """Write the roof sheet, with a walk on it where there is one, whole or not at all.

    Raises:
        NoneYet: no seam is listed, or none of the walk has a place on the plan.
        NotWritten: the file cannot be written.
    """
    from weldcal.cli.dossier import file_trouble
    from weldcal.reports.dossier import alone

    path = path_of(name)
    with book.snapshot(), progress(quiet=quiet) as on_progress:
        roof = book.summing.roof_sheet(on_progress)
    if not roof.seams:
        raise NoneYet(what=_("seam"), then=_("List them: weldcal roof lay, or weldcal seam add"))
    if walk is not None and not walk.stops:
        raise NoneYet(what=_("place to go to on the plan"), then=_("Lay it out: weldcal roof lay"))
    title = f"{book.job.name}, {show.clock(book.now().isoformat())}"
    units = book.job.units
    drawn = (
        alone.sheet(roof, title, units)
        if walk is None
        else alone.walk_sheet(roof, walk, title, units)
    )
    with file_trouble(path), atomic_write(path) as file:
        file.write(drawn.encode())
    if not quiet:
        tell_written(path)


def show_walk(book: Book, walk: WalkingOrder) -> None:
    """Draw a walk on the screen, in letters."""
    from weldcal.reports import plan, terminal

    if walk.stops:
        terminal.drawing(plan.page(book.roof.view(), book.job.units, book.laying.plies(), walk))
