"""Sheets of paper: to write on while the laptop stays in the truck, and the card for the pocket."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from weldcal.book import Book
from weldcal.cli import complete, parse
from weldcal.cli.dossier import PAPER, day_of, file_trouble, paper_of, write_page
from weldcal.cli.parse import JSON, argument, flag, option
from weldcal.cli.progress import progress
from weldcal.cli.shell import Command, group, print_json, tell_written
from weldcal.cli.site import AREA, BOUNDS, BoundsTyped
from weldcal.errors import Misplaced
from weldcal.records.fields import choose
from weldcal.settings import path_of
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.reports.forms import Form

form = group(
    _("Paper forms as PDF: a strip sheet, a probe sheet, the day's sheet, the pocket card.")
)
_PDF = option("--pdf", _("The file to write; named after the form if not given."))


@form.command("strip", cls=Command)
def form_strip(book: Book, pdf: str = _PDF, paper: str = PAPER, as_json: bool = JSON) -> None:
    """Write a blank strip sheet, to be typed up for strip load. Example: weldcal form strip --pdf strips.pdf --paper a4"""
    from weldcal.reports import forms

    marked = book.recording.strip_sheets.dial_units() == {"mark"}
    paper_form = forms.strip(*_head(book), marked)
    _write(book, paper_form, pdf or "strip-sheet.pdf", paper, as_json)


@form.command("probe", cls=Command)
def form_probe(
    book: Book,
    seams: bool = flag(
        "--seams", _("With the seams welded and not yet probed, and their lengths, filled in.")
    ),
    route: bool = flag("--route", _("With all that waits to be probed or cut, in walking order.")),
    leak: str = option(
        "--leak", _("With the way to search for a leak, like K1."), complete.names("leaks")
    ),
    every: bool = flag("--all", _("With every seam of the job filled in.")),
    pdf: str = _PDF,
    paper: str = PAPER,
    as_json: bool = JSON,
) -> None:
    """Write a blank probe sheet, to be typed up for probe load. Example: weldcal form probe --seams --pdf probes.pdf"""
    from weldcal.reports import forms

    listed = book.quick.seams_for_paper(every=every) if seams or every else []
    if route:
        from weldcal.reports import route as way

        listed = way.rows(book.routing.route(), book.job.units)
    elif leak:
        from weldcal.reports import leak as search

        listed = list(search.rows(book.leaking.order(leak, None)))
    paper_form = forms.probe(*_head(book), listed)
    _write(book, paper_form, pdf or "probe-sheet.pdf", paper, as_json)


@form.command("release", cls=Command)
def form_release(
    book: Book,
    area: str = AREA,
    within: BoundsTyped = BOUNDS,
    pdf: str = _PDF,
    paper: str = PAPER,
    as_json: bool = JSON,
) -> None:
    """Write the release sheet: what must be welded, mended, probed or cut before the next ply, to be signed. Example: weldcal form release A --pdf release.pdf"""
    from weldcal.reports import release

    first = book.covering.cover_first(book.covering.cover_pieces(area, within.read(book)))
    paper_form = release.form(*_head(book), area, first)
    _write(book, paper_form, pdf or "release-sheet.pdf", paper, as_json)


@form.command("daily", cls=Command)
def form_daily(
    book: Book,
    day: str = argument(_("The day, like 2026-06-01; today if not given."), default=None),
    blank: bool = flag("--blank", _("The sheet to be filled in by hand.")),
    html: str = option("--html", _("Also write the page as an HTML file.")),
    pdf: str = _PDF,
    paper: str = PAPER,
    as_json: bool = JSON,
) -> None:
    """Write the daily sheet for the manufacturer's representative, one page, to be signed. Example: weldcal form daily 2026-06-01 --pdf monday.pdf"""
    from weldcal.reports import daily

    units, on = book.job.units, day_of(day)
    size = paper_of(paper, units)
    if blank and on:
        raise Misplaced(text="--blank", why=_("a blank has no day; leave one of them out"))
    with book.snapshot(), progress(quiet=as_json) as on_progress:
        if blank:
            now = book.now().isoformat(timespec="seconds")
            document = daily.blank(book.job.name, book.job.place, units, now)
        else:
            evening, rows = book.looking_back.day_sheet(on, on_progress)
            document = daily.document(evening, rows, units)
        wanted = [(pdf or "daily-sheet.pdf", "pdf"), *([(html, "html")] if html else [])]
        written = [
            write_page(document, path_of(name), kind, size, on_progress) for name, kind in wanted
        ]
    if as_json:
        print_json({"files": [str(path) for path in written], "day": on})
        return
    tell_written(*written)


@form.command("card", cls=Command)
def form_card(
    book: Book,
    machine: str = parse.MACHINE,
    sheet: str = parse.SHEET,
    lap: str = parse.LAP,
    low: str = parse.LOWEST,
    high: str = parse.HIGHEST,
    pdf: str = _PDF,
    paper: str = PAPER,
    as_json: bool = JSON,
) -> None:
    """Write the pocket card, to be cut out. Example: weldcal form card --from 50F --to 120F --pdf card.pdf"""
    from weldcal.cli.dial import card_of
    from weldcal.reports import card, forms

    asked = book.dialling.ask(machine=machine, sheet=sheet, lap=choose("lap", lap))
    lines = card.page(asked, card_of(book, asked, low, high), book.dialling.day_ahead(asked))
    paper_form = forms.card(*_head(book), lines)
    _write(book, paper_form, pdf or "pocket-card.pdf", paper, as_json)


def _head(book: Book) -> tuple[str, str, str]:
    """The job's name and units, and when a form is made."""
    return book.job.name, book.job.units, book.now().isoformat(timespec="seconds")


def _write(book: Book, paper_form: Form, name: str, paper: str | None, as_json: bool) -> None:
    """Set a form and write it, whole or not at all."""
    from weldcal.long_work import atomic_write
    from weldcal.reports.dossier import pdf

    size = paper_of(paper, book.job.units)
    path: Path = path_of(name)
    data = pdf.form(paper_form, size)
    with file_trouble(path), atomic_write(path) as file:
        file.write(data)
    if as_json:
        print_json(
            {
                "file": str(path),
                "columns": [c.name for c in paper_form.columns],
                "rows": len(paper_form.rows),
            }
        )
    else:
        tell_written(path)
