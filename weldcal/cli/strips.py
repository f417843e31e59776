"""The operator before the first lap: conditions, strips, pulls, strips loaded from a file."""

from __future__ import annotations

import typer

from weldcal.cli import parse
from weldcal.cli.parse import BY, JSON
from weldcal.cli.shell import (
    Command,
    answer,
    ask,
    book_of,
    group,
    interactive,
    needed,
    say,
    single,
)
from weldcal.quantities import Quantity
from weldcal.records.fields import choose, read, read_many
from weldcal.records.strip import Pull, Strip
from weldcal.reports import cautions, show
from weldcal.settings import path_of
from weldcal.words import _

strip = group(_("Test strips: record, pull, list, load."))
conditions = single()

BOND = typer.Option(None, "--bond", help=_("Cold pull: good, cold or not tried."))
PARTED = typer.Option(
    None,
    "--parted",
    help=_("How it parted: in the compound, in the reinforcement, at the lap, not parted."),
)
BONDED = typer.Option(None, "--bonded-width", help=_("Bonded width, like 3in."))


@strip.command("record", cls=Command)
def strip_record(
    ctx: typer.Context,
    bleed: str = typer.Option(None, "--bleed", help=_("Bleed-out readings, like 1/4,3/16,5/16 or 6mm,7mm. 0: none seen.")),
    bubbling: str = typer.Option(None, "--bubbling", help=_("none, trace or heavy.")),
    bond: str = BOND,
    nozzle: str = parse.NOZZLE,
    speed: str = parse.SPEED,
    machine: str = parse.MACHINE,
    sheet: str = parse.SHEET,
    lap: str = parse.LAP,
    ambient: str = parse.AMBIENT,
    sheet_temp: str = parse.SHEET_TEMP,
    under_temp: str = parse.UNDER_TEMP,
    humidity: str = parse.HUMIDITY,
    wind: str = parse.WIND,
    line_voltage: str = parse.VOLTAGE,
    damp: str = parse.DAMP,
    true_speed: str = parse.TRUE_SPEED,
    nozzle_measured: str = parse.NOZZLE_MEASURED,
    air_flow: str = parse.AIR_FLOW,
    nozzle_width: str = parse.NOZZLE_WIDTH,
    roller_load: str = parse.ROLLER_LOAD,
    parted: str = PARTED,
    bonded_width: str = BONDED,
    smoke: str = typer.Option(None, "--smoke", help=_("Smoke: yes or no.")),
    exposed_mat: str = typer.Option(None, "--exposed-mat", help=_("Mat exposed: yes or no.")),
    roll_lot: str = typer.Option(None, "--roll-lot", help=_("Lot of the roll.")),
    note: str = parse.NOTE,
    photo: list[str] = parse.PHOTO,
    instrument: str = parse.INSTRUMENT,
    by: str = BY,
    at: str = parse.AT,
    as_json: bool = JSON,
) -> None:  # fmt: skip
    """Record a test strip. What is missing is asked for.

    Example: weldcal strip record --nozzle 932 --speed 5.5 --bleed 1/4,3/16,5/16
    --bubbling none --ambient 61F --sheet-temp 74F
    """
    book = book_of(ctx)
    seen = book.seen(by, at, instrument)
    if not as_json:
        _cautions_first(ctx, seen.at)
    units = book.job.units
    typed = parse.SettingTyped(
        machine,
        sheet,
        lap,
        nozzle,
        speed,
        true_speed,
        nozzle_measured,
        air_flow,
        nozzle_width,
        roller_load,
    )
    setting = parse.setting_of(book, typed)
    readings: tuple[Quantity, ...] = ()
    if bleed is not None or book.acceptance(setting.sheet).by_bleed_out:
        readings = needed(
            bleed, _("Bleed-out readings"), "--bleed", "1/4,3/16,5/16",
            lambda text: read_many("reading", text, units),
        )  # fmt: skip
    bubbles = needed(
        bubbling, _("Bubbling (none, trace, heavy)"), "--bubbling", "none",
        lambda text: choose("bubbling", text),
    )  # fmt: skip
    weather = {
        "ambient": ambient, "sheet_temp": sheet_temp, "under_temp": under_temp, "humidity": humidity,
        "wind": wind, "line_voltage": line_voltage, "damp": damp,
    }  # fmt: skip
    if bond is None and interactive():
        bond = ask(
            _("Cold pull (good, cold, not tried)"), lambda text: choose("bond", text), "not tried"
        )
        weather = parse.ask_conditions(book, weather)
    record = Strip(
        name="", seen=seen, setting=setting, conditions=parse.conditions_of(book, seen, **weather),
        readings=readings, bubbling=bubbles, bond=choose("bond", bond or "not tried"),
        parted=choose("parted", parted) if parted else None,
        bonded_width=read("bonded_width", bonded_width, units) if bonded_width else None,
        smoke=choose("yes_no", smoke) == "yes" if smoke else None,
        exposed_mat=choose("yes_no", exposed_mat) == "yes" if exposed_mat else None,
        roll_lot=roll_lot, note=note, photos=book.photos(photo),
    )  # fmt: skip
    answer(ctx, as_json, _("Strip"), book.record_strip(record))


@strip.command("pull", cls=Command)
def strip_pull(
    ctx: typer.Context,
    name: str = typer.Argument(..., help=_("The strip, like S3.")),
    bond: str = typer.Argument(..., help=_("good or cold.")),
    parted: str = PARTED,
    bonded_width: str = BONDED,
    instrument: str = parse.INSTRUMENT,
    by: str = BY,
    at: str = parse.AT,
    as_json: bool = JSON,
) -> None:
    """Fill in the cold pull of a strip. Example: weldcal strip pull S3 good --parted compound"""
    book = book_of(ctx)
    pull = Pull(
        seen=book.seen(by, at, instrument), bond=choose("bond", bond),
        parted=choose("parted", parted) if parted else None,
        bonded_width=read("bonded_width", bonded_width, book.job.units) if bonded_width else None,
    )  # fmt: skip
    answer(ctx, as_json, _("Pull of"), book.record_pull(name, pull))


@strip.command("list", cls=Command)
def strip_list(ctx: typer.Context, as_json: bool = JSON) -> None:
    """List the strips and what each came to. Example: weldcal strip list"""
    book = book_of(ctx)
    strips = book.strips()
    if as_json:
        print(
            show.as_json(
                [{**row, "shortfalls": [s.code for s in row["shortfalls"]]} for row in strips]
            )
        )
        return
    from weldcal.reports import terminal

    terminal.strips(strips, book.job.units)


@strip.command("load", cls=Command)
def strip_load(
    ctx: typer.Context,
    file: str = typer.Argument(..., help=_("A CSV file, one strip a row.")),
    keep_good: bool = typer.Option(False, "--keep-good", help=_("Record the rows that can be read, refuse the rest.")),
    machine: str = parse.MACHINE,
    sheet: str = parse.SHEET,
    lap: str = parse.LAP,
    day_first: bool = typer.Option(False, "--day-first", help=_("Dates like 03/06 are 3 June.")),
    by: str = BY,
    as_json: bool = JSON,
) -> None:  # fmt: skip
    """Load strips from a crew's spreadsheet saved as CSV. All rows, or none unless --keep-good.

    Example: weldcal strip load strips.csv --by "Ana Ruiz"
    """
    book = book_of(ctx)
    done = book.load_strips(
        path_of(file), keep_good=keep_good, machine=machine, sheet=sheet, lap=choose("lap", lap),
        day_first=day_first, by=by,
    )  # fmt: skip
    if as_json:
        print(show.as_json(done.as_dict()))
        return
    for refusal in done.refused:
        say(refusal.sentence())
    for name in done.ignored:
        say(
            _(
                "Column {name} is not one this program knows; it was kept as a note.",
                name=show.safe(name),
            )
        )
    say(
        _(
            "{n} strips recorded, {bad} rows refused.",
            n=len(done.names),
            bad=len({r.row for r in done.refused}),
        )
    )


@conditions.command(cls=Command)
def conditions_(
    ctx: typer.Context,
    ambient: str = parse.AMBIENT,
    sheet_temp: str = parse.SHEET_TEMP,
    under_temp: str = parse.UNDER_TEMP,
    humidity: str = parse.HUMIDITY,
    wind: str = parse.WIND,
    line_voltage: str = parse.VOLTAGE,
    damp: str = parse.DAMP,
    instrument: str = parse.INSTRUMENT,
    by: str = BY,
    at: str = parse.AT,
    as_json: bool = JSON,
) -> None:
    """Record the weather, the sheet and the power as read now. Example: weldcal conditions --ambient 78F --sheet-temp 96F"""
    book = book_of(ctx)
    seen = book.seen(by, at, instrument)
    typed = {
        "ambient": ambient, "sheet_temp": sheet_temp, "under_temp": under_temp, "humidity": humidity,
        "wind": wind, "line_voltage": line_voltage, "damp": damp,
    }  # fmt: skip
    read_now = parse.read_conditions(book, typed)
    done = book.record_conditions(read_now, by=by, at=at, instrument=instrument)
    answer(ctx, as_json, _("Conditions of"), type(done)(done.id, show.clock(seen.at), done.notes))


def _cautions_first(ctx: typer.Context, at: str) -> None:
    if not book_of(ctx).strips_on_day(at):
        for line in cautions.short():
            say(line)


APPS = {"strip": strip, "conditions": conditions}
