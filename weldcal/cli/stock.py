"""Rolls, the substrate, and visits: what came, what it lies on, what visitors want done."""

from __future__ import annotations

from weldcal.book import Book
from weldcal.cli import complete, parse
from weldcal.cli.parse import JSON, argument, option
from weldcal.cli.shell import (
    Command,
    answer,
    group,
    needed_words,
    print_all,
    print_json,
    say,
    single,
)
from weldcal.records.fields import plain_name
from weldcal.records.stock import LotDoubt, PunchDone, PunchItem, Roll, Substrate
from weldcal.words import _

roll = group(_("Rolls: lots, how they are kept, which laps they went into."))
punch = group(_("Visits: what a representative wants done, open until it is settled."))
_LOT = argument(_("The lot, as printed on the wrapper."))


@roll.command("add", cls=Command)
def roll_add(
    book: Book,
    lot: str = _LOT,
    sheet: str = parse.SHEET,
    storage: str = option("--storage", _("How they stand, like upright, covered.")),
    conditioned: str = option("--conditioned", _("How they were warmed or cooled before use.")),
    note: str = parse.NOTE,
    seeing: parse.SeenTyped = parse.SEEN_BY,
) -> None:
    """Record rolls of a lot come to the roof.

    Example: weldcal roll add L-2207 --storage "upright, covered" --conditioned "24 h at 60F"
    """
    record = Roll(
        lot=plain_name(_("lot"), lot),
        seen=seeing.read(book),
        sheet=book.reader.listed("sheets", sheet, _("sheet"))[0] if sheet else None,
        storage=storage,
        conditioning=conditioned,
        note=note,
    )
    answer(book, seeing.as_json, _("Rolls of lot"), book.recording.stock.record_roll(record))


@roll.command("list", cls=Command)
def roll_list(book: Book, as_json: bool = JSON) -> None:
    """List lots, and the laps each went into. Example: weldcal roll list"""
    lots = book.stock.lots()
    if as_json:
        print_json(lots)
        return
    from weldcal.reports import upkeep

    print_all(upkeep.lots(lots, book.job.units))


@roll.command("doubt", cls=Command)
def roll_doubt(
    book: Book,
    lot: str = _LOT,
    why: str = option("--why", _("Why, like: the maker called it back.")),
    seeing: parse.SeenTyped = parse.SEEN_BY,
) -> None:
    """Put a lot in doubt; the laps it went into are named.

    Example: weldcal roll doubt L-2207 --why "granules come off"
    """
    reason = needed_words(why, _("Why"), "--why", "granules come off", _("why"))
    record = LotDoubt(lot=plain_name(_("lot"), lot), seen=seeing.read(book), why=reason)
    answer(book, seeing.as_json, _("Doubt of lot"), book.recording.stock.doubt_lot(record))


@single
def substrate(
    book: Book,
    area: str = argument(_("The area, like A."), complete.names("areas")),
    dry: str = option("--dry", _("yes or no.")),
    primed: str = option("--primed", _("yes or no.")),
    clean: str = option("--clean", _("yes or no.")),
    note: str = parse.NOTE,
    seeing: parse.SeenTyped = parse.SEEN_BY,
) -> None:
    """Record the substrate looked at before welding: dry, primed, clean. Example: weldcal substrate A --dry yes --primed yes --clean yes"""
    record = Substrate(
        area=plain_name(_("area"), area),
        seen=seeing.read(book),
        dry=parse.yes_or_no(dry),
        primed=parse.yes_or_no(primed),
        clean=parse.yes_or_no(clean),
        note=note,
    )
    answer(book, seeing.as_json, _("Substrate of"), book.recording.stock.record_substrate(record))


@punch.command("add", cls=Command)
def punch_add(
    book: Book,
    place: str = argument(_('Where, like "A3 20ft" or "area B".')),
    what: str = argument(_("What is to be done.")),
    visitor: str = option("--visitor", _("Who asked for it, like owner's representative.")),
    seeing: parse.SeenTyped = parse.SEEN_BY,
) -> None:
    """Record what a visitor wants done; it is open until settled.

    Example: weldcal punch add "A3 20ft" "mend the fishmouth" --visitor "owner's representative"
    """
    who = needed_words(
        visitor, _("Who asked for it"), "--visitor", "owner's representative", _("visitor")
    )
    record = PunchItem(
        name="",
        seen=seeing.read(book),
        visitor=who,
        place=plain_name(_("place"), place),
        what=plain_name(_("what is to be done"), what),
    )
    answer(book, seeing.as_json, _("Item"), book.recording.stock.record_item(record))


@punch.command("settle", cls=Command)
def punch_settle(
    book: Book,
    name: str = argument(_("The item, like V1.")),
    done: str = argument(_("What was done about it.")),
    seeing: parse.SeenTyped = parse.SEEN_BY,
) -> None:
    """Record what was done about an item.

    Example: weldcal punch settle V1 "cut, patched, probed"
    """
    record = PunchDone(seen=seeing.read(book), done=plain_name(_("what was done"), done))
    answer(book, seeing.as_json, _("Settling of"), book.recording.stock.settle_item(name, record))


@punch.command("list", cls=Command)
def punch_list(book: Book, as_json: bool = JSON) -> None:
    """List the items of visits, open ones first. Example: weldcal punch list"""
    from weldcal.reports import upkeep

    items = book.stock.punch_list()
    if as_json:
        print_json(items)
    elif items:
        print_all(upkeep.punch(items))
    else:
        say(_("No visitor has asked for anything."))
