"""The office, past one machine: packs taken in, tables as files, questions over all jobs."""

from __future__ import annotations

from contextlib import closing

import typer
from msgspec import structs

from weldcal.cli.parse import JSON
from weldcal.cli.progress import progress
from weldcal.cli.shell import Command, group, print_all
from weldcal.reports import show
from weldcal.settings import office_path, path_of
from weldcal.words import _

office = group(_("Many crews' books: packs taken in, questions over all jobs."))
OFFICE = typer.Option(
    None, "--office", help=_("The office's folder. Also: WELDCAL_OFFICE; the user's if not given.")
)


@office.command("take", cls=Command)
def office_take(
    folder: str = typer.Argument(..., help=_("Where crews' packs arrive.")),
    at: str = OFFICE,
    newcomers: bool = typer.Option(
        False, "--newcomers", help=_("Take in packs of crews nobody here knows as well.")
    ),
    as_json: bool = JSON,
) -> None:
    """Take in every pack of a folder, in any order; a damaged one is named and the rest taken in. Example: weldcal office take packs"""
    from weldcal.office.taking import Office
    from weldcal.reports import office as pages

    with closing(Office(office_path(at))) as here, progress(quiet=as_json) as beat:
        found = here.take(path_of(folder), newcomers=newcomers, beat=beat)
    if as_json:
        print(show.as_json(structs.asdict(found)))
    else:
        print_all(pages.came_in(found))
    if found.refused or found.strangers:
        raise typer.Exit(1)


APPS = {"office": office}
