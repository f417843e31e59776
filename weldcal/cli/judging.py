"""Before and while welding: is the go-ahead still good, dew, power, the machine's drift."""

from __future__ import annotations

from zoneinfo import ZoneInfo

import typer

from weldcal.book import Book
from weldcal.book.advised import typed_conditions
from weldcal.book.strips import setting_of
from weldcal.cli import parse
from weldcal.cli.parse import JSON, option
from weldcal.cli.shell import needed, print_all, print_json, single
from weldcal.errors import NoneYet
from weldcal.records.examples import example
from weldcal.records.fields import choose, read
from weldcal.records.times import stamp
from weldcal.reports import lines, show
from weldcal.words import _


@single
def go_ahead(
    book: Book,
    machine: str = parse.MACHINE,
    sheet: str = parse.SHEET,
    lap: str = option("--lap", _("Lap kind: selvage or granules; any if not given.")),
    hand: str = option("--hand", _("Of this person's hand strips, not a machine's.")),
    as_json: bool = JSON,
) -> None:
    """Say whether the go-ahead is still good: good, look, strip again or wait, and which rule says so since when. Exit code 1: no. Example: weldcal go-ahead"""
    from weldcal.reports import reasoning, signs

    kind = choose("lap", lap) if lap else None
    person = book.reader.person(hand) if hand else None
    try:
        verdict = book.go_aheads.go_ahead_stands(machine, sheet, kind, hand=person)
    except NoneYet:
        day = book.days.view("operator").date
        waiting = book.answering.to_pull(day, machine, sheet, kind)
        short = book.answering.fell_short(day, machine, sheet, kind, person)
        none = reasoning.no_go_ahead(waiting, short, book.job.units)
        document = reasoning.NONE | {"pull": waiting, "fell_short": short and short["name"]}
        print(show.as_json(document) if as_json else lines.wrapped(none))
        raise typer.Exit(1) from None
    first, strip = book.answering.first(verdict), verdict.strip
    if as_json:
        asked_for = {"pull": first.pull, "read_first": first.read}
        print_json(reasoning.go_ahead_document(verdict) | asked_for)
        raise typer.Exit(int(not verdict.permits))
    speed, until = "", None
    if verdict.permits and not strip["by_hand"]:
        speed = show.setting(setting_of(strip).speed)
    if not first.read:
        until = book.answering.good_until(verdict, stamp(book.beginning.clock()))
    if first.trial and first.trial.advice.forecast is None:
        print_all(signs.line(first.trial.advice.state))
    zone, units = ZoneInfo(book.job.zone), book.job.units
    print_all(reasoning.go_ahead(verdict, speed, units, zone, until))
    print_all(reasoning.to_do(verdict, first))
    raise typer.Exit(int(not verdict.permits))


@single
def power(
    book: Book,
    volts: str = option("--volts", _("Voltage at the near end of the cord, like 230.")),
    length: str = option("--length", _("Length of the cord, one way, like 100ft.")),
    load: str = option("--load", _("What the machine draws, like 16A or 4600W.")),
    cord: str = option(
        "--cord", _("The cord's conductor, like 12AWG or 4mm2; all are looked at if not given.")
    ),
    phases: str = option("--phases", _("1 or 3."), default="1"),
    most: str = option("--most", _("Drop to hold, percent."), default="3"),
    as_json: bool = JSON,
) -> None:
    """Compute the voltage drop of a cord, the heater's lost share, and what gauge would do. Example: weldcal power --volts 230 --length 100ft --load 16A --cord 12AWG"""
    units = book.judging.units_or_us()
    volts_q = needed(volts, _("Volts"), "--volts", "230", lambda t: read("line_voltage", t, units))
    length_q = needed(
        length,
        _("Length of cord, one way"),
        "--length",
        example("cord", units),
        lambda t: read("cord", t, units),
    )
    load_q = needed(load, _("Load"), "--load", "16A", lambda t: read(_drawn(t), t, units))
    supply, drop, answer = book.judging.power(
        volts_q.si("V"),
        length_q.si("m"),
        load_q,
        cord,
        int(choose("phases", phases)),
        read("share", most, units).si("%") / 100,
        units,
    )
    from weldcal.reports import power as power_page

    if as_json:
        print_json(power_page.document(drop, answer))
        return
    print_all(power_page.page(supply, drop, answer, units))


def _drawn(text: str) -> str:
    """Which field a load is: watts where it says so, else a current."""
    return "load_w" if text.strip().casefold().endswith(("w", "watt", "watts")) else "load_a"


@single
def check(
    book: Book,
    typed: dict[str, str | None] = parse.DEW,
    as_json: bool = JSON,
) -> None:
    """Before hot air: dew point against the sheet, damp, wind, voltage. Example: weldcal check --ambient 61F --humidity 85 --sheet-temp 58F"""
    air = parse.likely_air(book, typed, stamp(book.now()))
    units = book.job.units
    given = typed_conditions(air, units)
    dew, now = book.judging.dew(given)
    from weldcal.physics.dewpoint import MARGIN_SOURCE
    from weldcal.reports import cautions, reasoning

    if as_json:
        from msgspec import structs

        print_json(
            {
                "dampness": structs.asdict(dew) if dew else None,
                "margin_source": MARGIN_SOURCE,
                "wait": [trigger.code for trigger in book.go_aheads.waits(given=given)],
                "conditions": structs.asdict(now),
            }
        )
        return
    print_all(reasoning.waits(book.go_aheads.waits(given=given), units))
    print_all([*reasoning.before_hot_air(dew, MARGIN_SOURCE, now, units), *cautions.short()])
