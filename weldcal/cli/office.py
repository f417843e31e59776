"""The office, past one machine: packs taken in, tables as files, questions over all jobs."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import datetime
from typing import TYPE_CHECKING, Any

import typer
from msgspec import structs, to_builtins

from weldcal.book import Book
from weldcal.cli.dossier import BY_HELP, SINCE, UNTIL, day_of, grouped_by, show_tables, write_page
from weldcal.cli.parse import JSON, argument, flag, option
from weldcal.cli.progress import progress
from weldcal.cli.shell import Command, group, print_all, print_json, tell_written
from weldcal.errors import NoneYet, NotAChoice
from weldcal.long_work import no_progress
from weldcal.settings import lake_url, office_path, path_of
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.office.firm import LakeFirm

office = group(_("Many crews' books: packs taken in, questions over all jobs."))
OFFICE = option(
    "--office", _("The office's folder. Also: WELDCAL_OFFICE; the user's if not given.")
)

LAKE = option(
    "--lake",
    _("Where the tables are: a folder, or a path like s3://bucket/lake. Also: WELDCAL_LAKE."),
)

_MOST_WORKERS = 256
HERE = flag("--here", _("From this one book instead of the lake."))


@office.command("take", cls=Command)
def office_take(
    folder: str = argument(_("Where crews' packs arrive; or one pack.")),
    at: str = OFFICE,
    newcomers: bool = flag("--newcomers", _("Take in packs of crews nobody here knows as well.")),
    as_json: bool = JSON,
) -> None:
    """Take in every pack of a folder, in any order; a damaged one is named and the rest taken in. Example: weldcal office take packs"""
    from weldcal.office.taking import Office
    from weldcal.reports import office as pages

    with closing(Office(office_path(at))) as this_office, progress(quiet=as_json) as on_progress:
        came_in = this_office.take(path_of(folder), newcomers=newcomers, on_progress=on_progress)
    if as_json:
        print_json(came_in)
    else:
        print_all(pages.came_in(came_in))
    if came_in.refused or came_in.strangers:
        raise typer.Exit(1)


@office.command("lake", cls=Command)
def office_lake(
    at: str = OFFICE,
    to: str = LAKE,
    check: bool = flag("--check", _("Look into every file, not only at its size.")),
    as_json: bool = JSON,
) -> None:
    """Write the tables of every job as Parquet files, by year and job; only what changed is written. Example: weldcal office lake --check"""
    from weldcal.office.filling import fill
    from weldcal.office.lake import Lake
    from weldcal.office.taking import Office

    lake = Lake(lake_of(at, to))
    with closing(Office(office_path(at))) as this_office, progress(quiet=as_json) as on_progress:
        books = [this_office.path_of(book) for book in this_office.ledger.books()]
        if not books:
            raise NoneYet(what=_("pack"), then=_("Take them in: weldcal office take FOLDER"))
        filled = fill(lake, books, deep=check, on_progress=on_progress)
        if not filled.unread:
            this_office.ledger.written(lake.url)
    if as_json:
        print_json({"lake": lake.url, **to_builtins(filled)})
    else:
        from weldcal.reports import office as pages

        print_all(pages.filled(filled, lake.url))
    if filled.unread:
        raise typer.Exit(1)


@office.command("history", cls=Command)
def office_history(
    book: Book,
    by: str = option("--by", BY_HELP, default="machine,sheet"),
    machine: str = option("--machine", _("This machine only.")),
    sheet: str = option("--sheet", _("This sheet only.")),
    since: str = SINCE,
    until: str = UNTIL,
    at: str = OFFICE,
    lake: str = LAKE,
    here: bool = HERE,
    as_json: bool = JSON,
) -> None:
    """Look back on all jobs of the lake: fault rates, strips to a go-ahead, speeds, drift. Example: weldcal office history --by machine,month"""
    from weldcal.office import questions
    from weldcal.quality import history as past
    from weldcal.reports import history as page

    grouped = grouped_by(by, past.BY)
    wanted = past.HistoryFilter(machine, sheet, None, day_of(since), day_of(until))
    with _asked(book, at, lake, here=here, quiet=as_json) as firm:
        tables, units = questions.history_tables(firm, grouped, wanted), firm.units()
        behind = 0 if here else _behind(at, firm)
    if as_json:
        print_json({**structs.asdict(tables), "packs_since": behind})
    else:
        print_all(_since(behind))
        show_tables(page.tables(tables, grouped, units))


@office.command("refit", cls=Command)
def office_refit(
    scheduler: str = option(
        "--scheduler",
        _("Address of a Dask scheduler, like tcp://office:8786; this machine if not given."),
    ),
    workers: str = option("--workers", _("Processes of this machine; one a core if not given.")),
    at: str = OFFICE,
    lake: str = LAKE,
    as_json: bool = JSON,
) -> None:
    """Refit every machine on every sheet from all jobs of the lake; only what changed. Example: weldcal office refit --workers 2"""
    from weldcal.office.firm import opened
    from weldcal.office.lake import Lake
    from weldcal.office.refits import refit_all
    from weldcal.reports import office as pages

    count = _processes(workers) if workers else 0
    with progress(quiet=as_json) as on_progress, opened(Lake(lake_of(at, lake))) as firm:
        refitted = refit_all(firm, scheduler=scheduler, workers=count, on_progress=on_progress)
    if as_json:
        print_json(refitted)
    else:
        print_all(pages.refitted(refitted))
    if refitted.failed:
        raise typer.Exit(1)


def _processes(typed: str) -> int:
    if not (typed.isascii() and typed.isdecimal() and 1 <= int(typed) <= _MOST_WORKERS):
        raise NotAChoice(name="--workers", text=typed, allowed=f"1 … {_MOST_WORKERS}")
    return int(typed)


def _page(name: str, help_text: str) -> None:
    """Give the office a page of its own name."""

    def shown(
        book: Book,
        since: str = SINCE,
        html: str = option("--html", _("Also write the page as an HTML file.")),
        at: str = OFFICE,
        lake: str = LAKE,
        here: bool = HERE,
        as_json: bool = JSON,
    ) -> None:
        from weldcal.office import pages

        with _asked(book, at, lake, here=here, quiet=as_json) as firm:
            found = pages.PAGES[name](firm, day_of(since) or "")
            units = firm.units()
            behind = 0 if here else _behind(at, firm)
        if as_json:
            print_json({name: to_builtins(found), "packs_since": behind})
            return
        _show(name, found, units, html, behind)

    office.command(name, cls=Command, help=help_text)(shown)


def _behind(at: str | None, firm: LakeFirm) -> int | None:
    """Packs that came in since the tables asked were written; None: not known."""
    from weldcal.office.ledger import since_written

    return since_written(office_path(at), firm.lake.url, firm.lake.jobs())


def _since(behind: int | None) -> tuple[str, ...]:
    """That the page does not have them, where there are any."""
    from weldcal.reports import office as pages

    return pages.packs_since(behind)


def _show(name: str, found: Any, units: str, html: str | None, behind: int | None) -> None:
    from weldcal.reports import office_pages, office_parts

    page = office_pages.PAGES[name](found, units)
    page = structs.replace(page, first=(*_since(behind), *page.first))
    if html:
        now = datetime.now().astimezone().isoformat(timespec="seconds")
        write_page(office_parts.document(page, now), path_of(html), "html", "letter", no_progress)
        tell_written(html)
        return
    print_all(page.first)
    show_tables((part.title, part.headings, part.rows) for part in page.parts)
    print_all(page.last)


_page(
    "machines",
    _(
        "Machines over all jobs: how far off they are, and when they were last measured. Example: weldcal office machines"
    ),
)
_page(
    "sheets",
    _(
        "Sheets over all jobs: at which speeds strips passed, by temperature. Example: weldcal office sheets"
    ),
)
_page(
    "crews",
    _(
        "Crews beside each other on like work, with what chance can do. Example: weldcal office crews"
    ),
)
_page("roofs", _("Roofs that need somebody, and for what. Example: weldcal office roofs"))
_page(
    "season",
    _(
        "What was done and learnt since a day; since the year began if not given. Example: weldcal office season"
    ),
)


@contextmanager
def _asked(
    book: Book, at: str | None, lake: str | None, *, here: bool, quiet: bool
) -> Iterator[LakeFirm]:
    """The lake, or this one book, opened for questions."""
    from weldcal.office.firm import of_book, opened
    from weldcal.office.lake import Lake

    with progress(quiet=quiet) as on_progress:
        on_progress(_("lake"), 0, 0)
        with of_book(book.path) if here else opened(Lake(lake_of(at, lake))) as firm:
            yield firm


def lake_of(at: str | None, given: str | None) -> str:
    """The lake named, else that of the office named."""
    return lake_url(given or (str(office_path(at) / "lake") if at else None))
