"""Leaks: reported, searched for, mended, and looked at again after rain."""

from __future__ import annotations

from weldcal.book import Book
from weldcal.cli import complete, parse
from weldcal.cli.parse import JSON, argument, option
from weldcal.cli.shell import (
    REPORT,
    Command,
    ReportGroup,
    answer,
    group,
    needed,
    print_all,
    print_json,
    say,
)
from weldcal.records.fields import choose, plain_name, read
from weldcal.records.site import Leak
from weldcal.records.upkeep import LeakStep
from weldcal.words import _

leak = group(
    _("Leaks: where to search, what was found, mended, and dry after rain."), cls=ReportGroup
)
_NAME = argument(_("Which leak, like K1."), complete.names("leaks"))
_SLOPE = option("--slope", _("Which way water runs: x+, x-, y+ or y-."))
_SVG = option("--svg", _("Also write the way on the roof sheet, as SVG."))

_PLACE = option("--place", _('Where, like "A3 20ft".'))


@leak.command(REPORT, cls=Command)
def leak_report(
    book: Book,
    x: str = argument(_("Distance from the plan's corner along x, like 12ft.")),
    y: str = argument(_("Distance along y.")),
    where: str = option("--where", _("inside or roof: where the place was seen.")),
    slope: str = _SLOPE,
    note: str = parse.NOTE,
    seeing: parse.SeenTyped = parse.SEEN_BY,
) -> None:
    """Record a leak reported, and give a way to walk in search of it. The word report may be left out.

    Example: weldcal leak report 12ft 30ft --where inside --slope y-
    """
    units = book.job.units
    seen_where = needed(
        where,
        _("Seen inside or on the roof (inside, roof)"),
        "--where",
        "inside",
        lambda t: choose("leak_where", t),
    )
    record = Leak(
        name="",
        seen=seeing.read(book),
        x=read("distance", x, units),
        y=read("distance", y, units),
        where=seen_where,
        note=note,
    )
    runs_to = choose("slope", slope) if slope else None
    done = book.recording.site.record_leak(record)
    _show_order(book, done.name, runs_to, None, seeing.as_json)


@leak.command("search", cls=Command)
def leak_search(
    book: Book,
    name: str = _NAME,
    slope: str = _SLOPE,
    svg: str = _SVG,
    as_json: bool = JSON,
) -> None:
    """Show the way to walk in search of a leak, by what is known now; records nothing. Example: weldcal leak search K1 --svg leak.svg"""
    _show_order(book, name, choose("slope", slope) if slope else None, svg, as_json)


def _show_order(book: Book, name: str, slope: str | None, svg: str | None, as_json: bool) -> None:
    from weldcal.cli import drawing
    from weldcal.reports import leak as page

    order, row = book.leaking.order(name, slope), book.leaking.leak(name)
    spot, units = (row["x_m"], row["y_m"]), book.job.units
    walk = page.walk(name, order, spot, units)
    if svg is not None:
        drawing.write_sheet(book, svg, quiet=as_json, walk=walk)
    if as_json:
        print_json({"name": name, **page.document(order)})
        return
    drawing.show_walk(book, walk)
    print_all(page.lines(name, order, spot, units))


@leak.command("found", cls=Command)
def leak_found(
    book: Book,
    name: str = _NAME,
    said: str = argument(_("What was found, like: open T-joint.")),
    place: str = _PLACE,
    seeing: parse.SeenTyped = parse.SEEN_BY,
) -> None:
    """Record what leaks, as it was found. Example: weldcal leak found K1 "open T-joint" --place "A3 20ft" """
    _step(book, name, "found", said, seeing, place)


@leak.command("mended", cls=Command)
def leak_mended(
    book: Book,
    name: str = _NAME,
    said: str = argument(_("How it was mended.")),
    place: str = _PLACE,
    seeing: parse.SeenTyped = parse.SEEN_BY,
) -> None:
    """Record how a leak was mended. Example: weldcal leak mended K1 "cut back, 6in patch, probed" """
    _step(book, name, "mended", said, seeing, place)


@leak.command("looked", cls=Command)
def leak_looked(
    book: Book,
    name: str = _NAME,
    dry: str = argument(_("dry or wet: what it was after rain.")),
    said: str = parse.NOTE,
    seeing: parse.SeenTyped = parse.SEEN_BY,
) -> None:
    """Record a leak looked at again after rain; wet opens it anew. Example: weldcal leak looked K1 dry --note "1 in of rain on Tuesday" """
    is_dry = choose("dryness", dry) == "dry"
    _step(book, name, "looked", said or "–", seeing, dry=is_dry)


def _step(
    book: Book,
    name: str,
    step: str,
    text: str,
    seeing: parse.SeenTyped,
    place: str | None = None,
    dry: bool | None = None,
) -> None:
    record = LeakStep(
        seen=seeing.read(book),
        step=step,
        said=plain_name(_("what was found"), text),
        place=plain_name(_("place"), place) if place else None,
        dry=dry,
    )
    answer(book, seeing.as_json, _("Leak"), book.recording.upkeep.leak_step(name, record))


@leak.command("list", cls=Command)
def leak_list(book: Book, as_json: bool = JSON) -> None:
    """List leaks: what was done about each, and what is to be done next. Example: weldcal leak list"""
    from weldcal.reports import upkeep

    leaks = book.upkeep.leaks()
    if as_json:
        print_json(leaks)
    elif leaks:
        print_all(upkeep.leaks(leaks, book.job.units))
    else:
        say(_("No leak is recorded."))
