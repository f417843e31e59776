"""Dialling in: the speed to set now, how sure that is, and what to try next."""

from __future__ import annotations

from typing import TYPE_CHECKING

from weldcal import settings
from weldcal.book import Book
from weldcal.book.advised import typed_conditions
from weldcal.cli import parse
from weldcal.cli.parse import BY, JSON, argument, flag, option
from weldcal.cli.shell import interactive, print_all, print_json, single
from weldcal.records.fields import choose, read
from weldcal.records.times import stamp
from weldcal.views.dialled import pressing
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.calibration import CardLine, Report
    from weldcal.views.dialled import Asked, Curve, Dialled, Then

# A screen with room for large digits above the answer, as terminals usually open.
_WIDE, _TALL = 60, 24


_NOZZLE = option(
    "--nozzle",
    _(
        "Nozzle temperature to advise for, like 932F; 'any' looks over the machine's range; the last strip's if not given."
    ),
)
_SKY = option(
    "--sky",
    _(
        "clear, broken or overcast, as you see it: says where an older reading of the sheet is by now."
    ),
)


@single
def dial(
    book: Book,
    machine: str = parse.MACHINE,
    sheet: str = parse.SHEET,
    lap: str = parse.LAP,
    nozzle: str = _NOZZLE,
    air: dict[str, str | None] = parse.AIR,
    sky: str = _SKY,
    card: bool = flag("--card", _("The pocket card: speed by sheet temperature over the day.")),
    low: str = parse.LOWEST,
    high: str = parse.HIGHEST,
    picture: bool = flag("--show", _("A chart of the fit: speed against bleed-out.")),
    report: bool = flag(
        "--report", _("The model report: what was believed, what the strips taught, how it did.")
    ),
    why: bool = flag("--why", _("All that the answer rests on, with the answer last.")),
    seeing: parse.SeenTyped = parse.SEEN_BY,
) -> None:
    """Advise the travel speed for now, in three lines. Advice is never a go-ahead: a strip that meets the limits is.

    Example: weldcal dial --sheet-temp 96F
    """
    units = book.job.units
    any_nozzle = nozzle is not None and nozzle.strip().lower() == "any"
    chosen = read("nozzle", nozzle, units).si("C") if nozzle and not any_nozzle else None
    air = parse.likely_air(book, air, stamp(book.now()))
    asked = book.dialling.ask(
        machine=machine,
        sheet=sheet,
        lap=choose("lap", lap),
        nozzle_c=chosen,
        search_nozzle=any_nozzle,
        given=typed_conditions(air, units),
        at=seeing.at,
        by=seeing.by,
        sky=choose("sky", sky) if sky else None,  # type: ignore[arg-type]
    )
    if card:
        _card(book, asked, low, high, seeing.as_json)
    elif picture:
        _picture(book.dialling.curve(asked), seeing.as_json)
    elif report:
        _report(book.dialling.model_report(asked), units, seeing.as_json)
    else:
        dialled = book.recording.advice.dial(asked, seeing.by)
        then = book.answering.then(dialled, typed_conditions(air, units))
        _advice(dialled, then, why, seeing.as_json)


def _advice(dialled: Dialled, then: Then, why: bool, as_json: bool) -> None:
    from weldcal.reports import advice, answer, reasoning

    if as_json:
        codes = [trigger.code for trigger in then.waits]
        do = pressing(dialled, then)
        print_json({**advice.document(dialled), "wait": codes, "do": do})
        return
    if why:
        print_all(reasoning.waits(then.waits, dialled.asked.units))
        print("\n".join([*advice.page(dialled, pull=then.pull is not None), ""]))
    print("\n".join([*large(dialled, then), *answer.page(dialled, then)]))


def large(dialled: Dialled, then: Then) -> list[str]:
    """The speed in large digits, where somebody is there to look and the screen has room above the answer."""
    from weldcal.reports import answer, digits

    columns, rows = settings.screen_size()
    if not (interactive() and settings.moving()) or columns < _WIDE or rows < _TALL:
        return []
    drawn = answer.large(dialled, then, columns, digits.ROWS)
    return [*drawn, ""] if drawn else []


@single
def now(
    book: Book,
    sheet_temp: str = argument(_("The sheet's temperature as read now, like 110F.")),
    machine: str = parse.MACHINE,
    sheet: str = parse.SHEET,
    lap: str = parse.LAP,
    by: str = BY,
    as_typed: bool = parse.AS_TYPED,
    as_json: bool = JSON,
) -> None:
    """Record the sheet's temperature and say the speed for it, and what it was before. Example: weldcal now 110F"""
    typed = {
        **dict.fromkeys(("ambient", "humidity", "wind", "line_voltage")),
        "sheet_temp": sheet_temp,
        "as_typed": "yes" if as_typed else None,
    }
    typed = parse.likely_air(book, typed, stamp(book.now()))
    given = typed_conditions(typed, book.job.units)
    asked = book.dialling.ask(
        machine=machine, sheet=sheet, lap=choose("lap", lap), given=given, by=by
    )
    read_now = parse.read_conditions(book, typed)
    book.recording.conditions.record(read_now, by=by)
    was = book.answering.last_advised(asked)
    dialled = book.recording.advice.dial(asked, by)
    then = book.answering.then(dialled, given, was)
    from weldcal.reports import advice, answer

    if as_json:
        before = {"was_m_per_min": then.was, "do": pressing(dialled, then)}
        print_json({**advice.document(dialled), **before})
        return
    print("\n".join([*large(dialled, then), *answer.page(dialled, then, was=True)]))


def card_of(book: Book, asked: Asked, low: str | None, high: str | None) -> tuple[CardLine, ...]:
    """The lines of the pocket card between two temperatures as typed; the day's span where not."""
    from weldcal.reports import card

    units, (low_c, high_c) = asked.units, book.dialling.card_span(asked)
    low_c = read("sheet_temp", low, units).si("C") if low else low_c
    high_c = read("sheet_temp", high, units).si("C") if high else high_c
    return book.dialling.card(asked, card.temperatures(units, low_c, high_c))


def _card(book: Book, asked: Asked, low: str | None, high: str | None, as_json: bool) -> None:
    from weldcal.reports import card

    made = card_of(book, asked, low, high)
    if as_json:
        print_json(card.document(asked, made))
    else:
        print("\n".join(card.page(asked, made, book.dialling.day_ahead(asked))))


def _picture(curve: Curve, as_json: bool) -> None:
    import dataclasses

    from weldcal.reports import chart, signs

    if as_json:
        print_json([dataclasses.asdict(forecast) for forecast in curve.forecasts])
    else:
        print("\n".join(chart.page(curve)))
        print_all(signs.line(curve.state))


def _report(report: Report, units: str, as_json: bool) -> None:
    from weldcal.reports import model

    if as_json:
        print_json(model.document(report))
    else:
        print_all(model.page(report, units))
