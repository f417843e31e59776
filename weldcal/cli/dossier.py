"""Pages to be handed on or looked at: the warranty dossier, the evening page, the history."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from msgspec import structs

from weldcal import checker
from weldcal.book import Book
from weldcal.cli.parse import JSON, argument, flag, option
from weldcal.cli.progress import progress
from weldcal.cli.shell import print_all, print_json, say, single, tell_written
from weldcal.errors import NotAChoice, NotADay, NotWritten, reason
from weldcal.long_work import Progress, atomic_write, atomic_writes, with_progress
from weldcal.records.fields import read
from weldcal.reports import show
from weldcal.settings import path_of
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.reports.dossier.document import Document


PAPER = option("--paper", _("letter or a4; by the job's units if not given."))
SINCE = option("--since", _("From this day on, like 2026-06-01."))
UNTIL = option("--until", _("Up to this day."))

BY_HELP = _("What rates are told for: job, machine, sheet, lap, person, month.")


@single
def dossier(
    book: Book,
    file: str = argument(
        _("The files' name without ending; dossier if not given."), default="dossier"
    ),
    only: str = option("--only", _("html or pdf; both if not given.")),
    paper: str = PAPER,
    no_people: bool = flag(
        "--no-people",
        _("Put person 1, person 2 for names; photos are left out, they may show somebody."),
    ),
    no_photos: bool = flag("--no-photos", _("Leave photos out.")),
    as_json: bool = JSON,
) -> None:
    """Write the warranty dossier: one HTML file, one PDF, every finding and seam as CSV beside. Example: weldcal dossier school-roof"""
    base = _base(file)
    wanted = _formats(only)
    sheet = paper_of(paper, book.job.units)
    from weldcal.reports.dossier import content, csv_files, pictures

    names = csv_files.names(base)
    with (
        book.snapshot(),
        progress(quiet=as_json) as on_progress,
        file_trouble(base),
        atomic_writes() as opened,
    ):
        gathered = book.dossiers.dossier(people=not no_people, on_progress=on_progress)
        findings = with_progress(
            book.dossiers.findings_in_full(people=not no_people), names[0].name, 0, on_progress
        )
        written = csv_files.write(base, gathered, findings, opened)
        photo_names = [] if no_photos or no_people else book.summing.photo_names()
        album = pictures.gather(base, photo_names, book.summing.photo, on_progress)
        left_out = no_photos or no_people
        document = content.document(
            gathered, tuple(path.name for path in names), None if left_out else album
        )
        for name in checker.NAMES:
            opened(base.with_name(name)).write(checker.text(name))
            written.append(base.with_name(name))
        summary, short = content.summary(gathered), content.in_short(gathered)
        del gathered  # a PDF of a large roof needs the memory
        for form in wanted:
            path = base.with_name(f"{base.name}.{form}")
            if form == "html":
                _fill(opened(path), document, path, form, sheet, on_progress)
                written.append(path)
            else:
                written += _volumes(document, path, sheet, opened, on_progress)
    if as_json:
        print_json({"files": [str(p) for p in written], **summary})
        return
    tell_written(*written)
    print_all(short)


@single
def evening(
    book: Book,
    day: str = option("--day", _("Another day than today, like 2026-06-01.")),
    ambient: str = option("--ambient", _("Air expected tomorrow morning, like 55F.")),
    html: str = option("--html", _("Also write the page as an HTML file.")),
    pdf: str = option("--pdf", _("Also write the page as a PDF.")),
    paper: str = PAPER,
    as_json: bool = JSON,
) -> None:
    """Show the day: welded, probed, open, what comes first tomorrow and the speed to start with. Example: weldcal evening --ambient 55F"""
    units = book.job.units
    ambient_c = read("ambient", ambient, units).si("C") if ambient else None
    sheet = paper_of(paper, units)
    from weldcal.reports import evening as page

    with book.snapshot(), progress(quiet=as_json) as on_progress:
        gathered = book.looking_back.evening(
            day=day_of(day), ambient_c=ambient_c, on_progress=on_progress
        )
        written = _pages(lambda: page.document(gathered, units), html, pdf, sheet, on_progress)
    if as_json:
        print_json({**page.as_data(gathered, units), "files": [str(p) for p in written]})
        return
    print("\n".join(page.page(gathered, units)))
    tell_written(*written)


@single
def history(
    book: Book,
    machine: str = option("--machine", _("This machine only.")),
    sheet: str = option("--sheet", _("This sheet only.")),
    person: str = option("--person", _("Strips and runs of this person only.")),
    since: str = SINCE,
    until: str = UNTIL,
    by: str = option("--by", BY_HELP, default="job,machine,sheet"),
    sort: str = option("--sort", _("A column of --json to sort by.")),
    csv: str = option("--csv", _("Write the tables as CSV files of this name.")),
    html: str = option("--html", _("Also write the page, with charts, as HTML.")),
    pdf: str = option("--pdf", _("Also write the page, with charts, as PDF.")),
    paper: str = PAPER,
    as_json: bool = JSON,
) -> None:
    """Look back on all jobs of the book: fault rates, strips to a go-ahead, speeds, drift. Example: weldcal history --machine blue --since 2026-06-01"""
    from weldcal.quality import history as past
    from weldcal.reports import history as page

    grouped = grouped_by(by, past.BY)
    wanted = past.HistoryFilter(machine, sheet, person, day_of(since), day_of(until))
    size = paper_of(paper, book.job.units)
    with progress(quiet=as_json) as on_progress:
        tables = past.tell(book.looking_back.history(on_progress), wanted, grouped, sort)
        if sort is not None and past.columns(tables) and sort not in past.columns(tables):
            raise NotAChoice(name="--sort", text=sort, allowed=", ".join(past.columns(tables)))
        written = _csv_files(_base(csv), structs.asdict(tables)) if csv else []
        made = book.now().isoformat(timespec="seconds")
        document = partial(page.document, tables, grouped, book.job.units, made)
        written += _pages(document, html, pdf, size, on_progress)
    if as_json:
        print_json({"files": [str(path) for path in written], **structs.asdict(tables)})
        return
    tell_written(*written)
    if not written:
        show_tables(page.tables(tables, grouped, book.job.units))


def _pages(
    document: Callable[[], Document], html: str, pdf: str, paper: str, on_progress: Progress
) -> list[Path]:
    """Write a page in the forms that a name was given for."""
    wanted = [(name, form) for name, form in ((html, "html"), (pdf, "pdf")) if name]
    return [
        write_page(document(), path_of(name), form, paper, on_progress) for name, form in wanted
    ]


def _volumes(
    document: Document,
    path: Path,
    sheet: str,
    opened: Callable[[Path], BinaryIO],
    on_progress: Progress,
) -> list[Path]:
    """Write the PDF, and beside it the tables that are too long for it."""
    from weldcal.reports.dossier import pdf, volumes

    first, more = volumes.split(document, path)
    for one in (volumes.Volume(path, first), *more):
        _fill(opened(one.path), one.document, one.path, "pdf", sheet, on_progress)
        if more:
            pdf.forget()
    volumes.clear(path, more)
    return [path, *(one.path for one in more)]


def grouped_by(by: str, allowed: tuple[str, ...]) -> list[str]:
    """What rates are grouped by, as typed.

    Raises:
        NotAChoice: one is not among those allowed.
    """
    grouped = [part.strip() for part in by.split(",") if part.strip()] or [by]
    for name in grouped:
        if name not in allowed:
            raise NotAChoice(name="--by", text=name, allowed=", ".join(allowed))
    return grouped


def _csv_files(base: Path, tables: Mapping[str, Sequence[Mapping[str, object]]]) -> list[Path]:
    from weldcal.reports.dossier import csv_files

    with file_trouble(base):
        return csv_files.write_tables(base, tables)


def show_tables(tables: Iterable[tuple[str, list[str], list[list[str]]]]) -> None:
    """Print tables: title, headings, cells."""
    from weldcal.reports import terminal

    for n, (title, headings, rows) in enumerate(tables):
        if n:
            print()
        say(title)
        if rows:
            terminal.table(headings, rows)
        else:
            say(_("nothing recorded"))


def _base(name: str) -> Path:
    """A name without the endings we add."""
    path: Path = path_of(name)
    return path.with_suffix("") if path.suffix in (".html", ".pdf", ".csv") else path


def _formats(only: str | None) -> tuple[str, ...]:
    if only is None:
        return ("html", "pdf")
    if only not in ("html", "pdf"):
        raise NotAChoice(name="--only", text=only, allowed="html, pdf")
    return (only,)


def paper_of(given: str | None, units: str) -> str:
    """The paper named, else by the job's units."""
    chosen = (given or ("letter" if units == "us" else "a4")).lower()
    if chosen not in ("letter", "a4"):
        raise NotAChoice(name="--paper", text=chosen, allowed="letter, a4")
    return chosen


def day_of(text: str | None) -> str | None:
    """A day as typed, ISO.

    Raises:
        NotADay: it is none.
    """
    if text is None:
        return None
    try:
        return date.fromisoformat(text.strip()).isoformat()
    except ValueError:
        raise NotADay(name=_("day"), text=text) from None


def write_page(
    document: Document, path: Path, form: str, paper: str, on_progress: Progress
) -> Path:
    """Write one page, whole or not at all."""
    with file_trouble(path), atomic_write(path) as file:
        _fill(file, document, path, form, paper, on_progress)
    return path


def _fill(
    file: BinaryIO, document: Document, path: Path, form: str, paper: str, on_progress: Progress
) -> None:
    if form == "html":
        from weldcal.reports.dossier import html

        for piece in with_progress(html.render(document), path.name, 0, on_progress):
            file.write(piece.encode())
    else:
        from weldcal.reports.dossier import pdf

        file.write(pdf.render(document, paper, lambda: on_progress(path.name, 0, 0)))


@contextmanager
def file_trouble(path: Path) -> Iterator[None]:
    """Trouble with a file is one plain sentence.

    Raises:
        FileTrouble: it cannot be written.
    """
    try:
        yield
    except OSError as error:
        raise NotWritten(file=show.safe(path), why=reason(error)) from None
