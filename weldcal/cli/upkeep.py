"""Before the first lap and after the last: the start-up list, yearly looks."""

from __future__ import annotations

import typer
from msgspec import to_builtins

from weldcal.book import Book
from weldcal.cli import complete, parse
from weldcal.cli.parse import JSON, argument, option, several
from weldcal.cli.shell import (
    Command,
    answer,
    book_of,
    group,
    needed_words,
    print_all,
    print_json,
    say,
)
from weldcal.errors import Misplaced
from weldcal.records.examples import example
from weldcal.records.fields import choose, plain_name
from weldcal.records.stock import PunchItem
from weldcal.records.upkeep import YEARLY, Look, StartLine
from weldcal.reports import lines
from weldcal.words import _, plural

startup = group(
    _("The start-up list of the job: looked at before the first lap. Example: weldcal startup"),
    alone=True,
)
look = group(
    _("Yearly looks at the finished roof: when the next is due. Example: weldcal look"), alone=True
)


@startup.callback()
def startup_(ctx: typer.Context, as_json: bool = JSON) -> None:
    """Show the start-up list: each line with who answered it and when. Example: weldcal startup"""
    if ctx.invoked_subcommand is not None:
        return
    lines_of_list = book_of(ctx).upkeep.start_up()
    if as_json:
        print_json(lines_of_list)
        return
    from weldcal.reports import upkeep

    print_all(upkeep.start_up(lines_of_list))


@startup.command("answer", cls=Command)
def startup_answer(
    book: Book,
    which: str = argument(_("Lines of the list, like 3 or 1-9,12.")),
    said: str = argument(_('yes, no, or "not needed"; no leaves them open.')),
    note: str = parse.NOTE,
    seeing: parse.SeenTyped = parse.SEEN_BY,
) -> None:
    """Answer lines of the start-up list. Example: weldcal startup answer 1-9,12 yes"""
    numbers, word = numbers_of(which), choose("start_answer", said)
    recorded = book.recording.upkeep.answer_start_up(numbers, word, seeing.read(book), note)
    left = len(book.upkeep.start_up_open())
    if seeing.as_json:
        print_json({"answered": [to_builtins(one) for one in recorded], "open": left})
        return
    say(lines.recorded(_("Answers to the start-up list"), which))
    for sentence in dict.fromkeys(
        lines.notes(tuple(n for one in recorded for n in one.notes), book.job.units)
    ):
        say(sentence)
    say(
        plural("{n} line is open.", "{n} lines are open.", left)
        if left
        else _("Every line is answered.")
    )


def numbers_of(text: str) -> list[int]:
    """Numbers as typed: `3`, `1-9,12`.

    Raises:
        Misplaced: they cannot be read.
    """
    numbers: list[int] = []
    for part in text.replace("–", "-").split(","):
        low, _dash, high = part.strip().partition("-")
        ends = (low.strip(), (high or low).strip())
        if not all(end.isascii() and end.isdigit() and len(end) < 4 for end in ends):
            raise Misplaced(text=text, why=_("lines are numbers, like 3 or 1-9,12"))
        numbers += range(int(ends[0]), int(ends[1]) + 1)
    return list(dict.fromkeys(numbers))


@startup.command("add", cls=Command)
def startup_add(
    book: Book,
    line: str = argument(_("What is to be looked at.")),
    source: str = option(
        "--source", _("Where it comes from: maker's instructions, contract, code.")
    ),
    seeing: parse.SeenTyped = parse.SEEN_BY,
) -> None:
    """Add a line to the job's start-up list.

    Example: weldcal startup add "primer dry to the touch" --source "maker's instructions, 2025"
    """
    whence = needed_words(
        source, _("Where it comes from"), "--source", "maker's instructions, 2025", _("source")
    )
    record = StartLine(line=plain_name(_("line"), line), seen=seeing.read(book), source=whence)
    recorded = book.recording.upkeep.add_start_line(record)
    answer(book, seeing.as_json, _("Line of the start-up list"), recorded)


@look.callback()
def look_(ctx: typer.Context, as_json: bool = JSON) -> None:
    """Show when each area is to be looked at again, and the looks with their items. Example: weldcal look"""
    if ctx.invoked_subcommand is not None:
        return
    book = book_of(ctx)
    due, made, items = book.upkeep.looks_due(), book.upkeep.looks(), book.stock.punch_list()
    if as_json:
        print_json({"due": to_builtins(due), "looks": made, "items": items})
        return
    from weldcal.reports import upkeep

    print_all(upkeep.looks(due, made, items))


@look.command("record", cls=Command)
def look_record(
    book: Book,
    area: str = argument(
        _("The area, like A; all of the roof if not given."), complete.names("areas"), default=None
    ),
    item: list[str] = several(
        "--item", _('What was found and where, like "A3 20ft: mend the fishmouth".')
    ),
    note: str = parse.NOTE,
    seeing: parse.SeenTyped = parse.SEEN_BY,
) -> None:
    """Record a yearly look; what it found are items, open until settled.

    Example: weldcal look record A --item "A3 20ft: mend the fishmouth" --item "drain: clear it"
    """
    seen = seeing.read(book)
    record = Look(name="", seen=seen, area=plain_name(_("area"), area) if area else "", note=note)
    items = [_item(text, record, book.job.units) for text in item]
    answer(book, seeing.as_json, _("Yearly look"), book.recording.upkeep.record_look(record, items))


def _item(text: str, of: Look, units: str) -> PunchItem:
    """An item as typed, `place: what`.

    Raises:
        Misplaced: no place stands before it.
    """
    place, colon, what = text.partition(":")
    if not colon or not place.strip() or not what.strip():
        raise Misplaced(
            text=text,
            why=_(
                'say where first, like "{place}: mend the fishmouth"', place=example("item", units)
            ),
        )
    return PunchItem(
        name="",
        seen=of.seen,
        visitor=YEARLY,
        place=plain_name(_("place"), place),
        what=plain_name(_("what is to be done"), what),
    )
