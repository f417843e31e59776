"""What outlives a job: shown over all jobs, and said to be one thing, or two."""

from __future__ import annotations

from collections.abc import Callable

import typer

from weldcal.book import Book
from weldcal.cli import complete
from weldcal.cli.parse import BY, JSON, NOTE, argument, flag, option
from weldcal.cli.shell import Command, print_all, print_json, say
from weldcal.words import _


def add_to(group: typer.Typer, what: str, offer: complete.Offer) -> None:
    """Give a group of commands its `show` and `same`."""
    group.command("show", cls=Command, help=_passport_help(what))(_show(what, offer))
    group.command("same", cls=Command, help=_same_help(what))(_same(what, offer))


def _passport_help(what: str) -> str:
    return _(
        "Show what every job knows of it: its passport. Example: weldcal {what} show NAME",
        what=what,
    )


def _same_help(what: str) -> str:
    return _(
        "Say that it and one of another job are one, or with --not that they are two. "
        'Example: weldcal {what} same NAME --with "School roof"',
        what=what,
    )


def _show(what: str, offer: complete.Offer) -> Callable[..., None]:
    def passport(
        book: Book,
        name: str = argument(_("Its name on this job."), offer),
        as_json: bool = JSON,
    ) -> None:
        from weldcal.reports import passport as pages

        book = book
        found_passport = book.passports.passport(what, name)
        if as_json:
            print_json(pages.document(found_passport))
        else:
            print_all(pages.page(found_passport, book.job.units))

    return passport


def _same(what: str, offer: complete.Offer) -> Callable[..., None]:
    def same(
        book: Book,
        name: str = argument(_("Its name on this job."), offer),
        job: str = typer.Option(
            ..., "--with", help=_("The other job."), autocompletion=complete.names("jobs")
        ),
        called: str = option(
            "--called", _("What the other job calls it; the same name if not given.")
        ),
        two: bool = flag("--not", _("They are two, not one.")),
        note: str = NOTE,
        by: str = BY,
        as_json: bool = JSON,
    ) -> None:
        from weldcal.reports import passport as pages

        book = book
        recorded = book.recording.firm.say_same(
            what, name, job, called, same=not two, by=by, note=note
        )
        if as_json:
            print_json({"id": recorded.id, "name": recorded.name, **recorded.values})
        else:
            say(pages.recorded(recorded.values, recorded.name))

    return same
