"""Limits: adopted with their source, and those in force."""

from __future__ import annotations

from weldcal.book import Book
from weldcal.book.limits import limit_defaults
from weldcal.cli import complete
from weldcal.cli.parse import BY, JSON, argument, option
from weldcal.cli.shell import Command, answer, group, print_json, say
from weldcal.errors import Missing
from weldcal.reports import show
from weldcal.words import _

limit = group(_("Acceptance numbers, each with its source."))


@limit.command("set", cls=Command)
def limit_set(
    book: Book,
    name: str = argument(_("Name of the limit; see: weldcal limit list"), complete.limits),
    value: str = argument(_("Like 3/8in.")),
    source: str = option("--source", _("Document and revision it comes from.")),
    by: str = BY,
    as_json: bool = JSON,
) -> None:
    """Adopt a limit from now on. Example: weldcal limit set bleed_high 3/8in --source "maker sheet 12, rev 4" --by AR"""
    if not source:
        raise Missing(
            name=_("source"), option="--source", example='--source "maker sheet 12, rev 4"'
        )
    answer(book, as_json, _("Limit"), book.recording.setup.set_limit(name, value, source, by))


@limit.command("list", cls=Command)
def limit_list(book: Book, as_json: bool = JSON) -> None:
    """Show the limits in force and where each comes from. Example: weldcal limit list"""
    limits = book.limits.limits()
    if as_json:
        print_json(
            [
                {
                    "name": n,
                    "value": x.value.text,
                    "unit": x.value.unit,
                    "source": x.source,
                    "adopted_by": x.adopted_by,
                }
                for n, x in limits.items()
            ]
        )
        return
    units = book.judging.units_or_us()
    for name, item in limits.items():
        value = show.limit(item.value.text, item.value.unit, item.adopted_by, units)
        adopted = f", {show.safe(item.adopted_by)}" if item.adopted_by else ""
        say(
            f"- {name}: {value} ({_(limit_defaults()[name].means)}); {show.safe(_(item.source))}{adopted}"
        )
    say(_("All yield to the sheet maker's instructions: adopt theirs with weldcal limit set."))
