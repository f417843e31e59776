"""Dialling in: the speed to set now, how sure that is, and what to try next."""

from __future__ import annotations

import typer

from weldcal.cli import parse
from weldcal.cli.parse import BY, JSON
from weldcal.cli.shell import Command, book_of, single
from weldcal.records.fields import choose, read
from weldcal.reports import show
from weldcal.words import _

dial = single()


@dial.command(cls=Command)
def dial_(
    ctx: typer.Context,
    machine: str = parse.MACHINE,
    sheet: str = parse.SHEET,
    lap: str = parse.LAP,
    nozzle: str = typer.Option(None, "--nozzle", help=_("Nozzle temperature to advise for, like 932F; 'any' looks over the machine's range; the last strip's if not given.")),
    ambient: str = parse.AMBIENT,
    sheet_temp: str = parse.SHEET_TEMP,
    humidity: str = parse.HUMIDITY,
    wind: str = parse.WIND,
    line_voltage: str = parse.VOLTAGE,
    by: str = BY,
    at: str = parse.AT,
    as_json: bool = JSON,
) -> None:  # fmt: skip
    """Advise the travel speed for now. Advice is never a go-ahead: a strip that meets the limits is.

    Example: weldcal dial --sheet-temp 96F
    """
    book = book_of(ctx)
    units = book.job.units
    given = {
        column: read(field, text, units).si(unit)
        for column, field, text, unit in (
            ("ambient_c", "ambient", ambient, "C"), ("sheet_c", "sheet_temp", sheet_temp, "C"),
            ("humidity_pct", "humidity", humidity, "%"), ("wind_m_per_s", "wind", wind, "m/s"),
            ("line_v", "line_voltage", line_voltage, "V"),
        )
        if text is not None
    }  # fmt: skip
    any_nozzle = nozzle is not None and nozzle.strip().lower() == "any"
    chosen = read("nozzle", nozzle, units).si("C") if nozzle and not any_nozzle else None
    dialled = book.dial(
        machine=machine, sheet=sheet, lap=choose("lap", lap), nozzle_c=chosen, search_nozzle=any_nozzle,
        given=given, at=at, by=by,
    )  # fmt: skip
    from weldcal.reports import advice

    if as_json:
        print(show.as_json(advice.document(dialled)))
    else:
        for line in advice.page(dialled):
            print(line)


APPS = {"dial": dial}
