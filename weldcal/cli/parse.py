"""From typed words to records: settings, conditions, who saw it.

Invariant: reading is `records.fields`'; here is only which option is which.
Options that belong together are one parameter of a command, and single options
to whoever types: see `singly`.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping
from functools import partial, update_wrapper
from typing import Any

import typer
from msgspec import Struct
from msgspec.structs import replace

from weldcal.book import Book
from weldcal.cli import complete
from weldcal.cli.asked_back import said_again
from weldcal.cli.shell import ask, book_of, needed
from weldcal.errors import Missing
from weldcal.quantities import Quantity, retyped
from weldcal.records.common import Conditions, Seen, Setting
from weldcal.records.examples import example
from weldcal.records.fields import choose, plain_name, read
from weldcal.reports import show
from weldcal.words import _


def option(
    name: str, help: str, offer: complete.Offer | None = None, default: str | None = None
) -> Any:
    """An option whose value is text; None where it is not typed and has no default."""
    return typer.Option(default, name, help=help, autocompletion=offer)


def several(name: str, help: str, offer: complete.Offer | None = None) -> Any:
    """An option that may be given more than once."""
    return typer.Option([], name, help=help, autocompletion=offer)


def flag(name: str, help: str) -> Any:
    """An option that takes no value."""
    return typer.Option(False, name, help=help)


def argument(help: str, offer: complete.Offer | None = None, default: Any = ...) -> Any:
    """A word that needs no option; it must be typed unless it has a default."""
    return typer.Argument(default, help=help, autocompletion=offer)


AMBIENT = option("--ambient", _("Air temperature, like 61F."))
SHEET_TEMP = option("--sheet-temp", _("Sheet surface temperature, like 74F."))
UNDER_TEMP = option("--under-temp", _("Lower sheet's face, where it differs."))
HUMIDITY = option("--humidity", _("Relative humidity, like 60."))
WIND = option("--wind", _("Wind, like 8mph or 3.5m/s."))
GUST = option("--gust", _("Gusts, like 18mph."))
ROLL_TEMP = option("--roll-temp", _("A roll before it is laid out, like 52F."))
VOLTAGE = option("--line-voltage", _("Voltage at the machine under load."))
SKY = option("--sky", _("Sky: clear, broken or overcast."))
SUPPLY = option("--supply", _("What feeds the machine, like generator 2."))
DAMP = option("--damp", _("Sheet damp: yes or no."))
BY = option("--by", _("Who saw or did it."), complete.PEOPLE)
AT = option("--at", _("When, like 07:15 or 2026-06-01 07:15; now if not given."))
KEEP_GOOD = flag("--keep-good", _("Record the rows that can be read, refuse the rest."))
DAY_FIRST = flag("--day-first", _("Dates like 03/06 are 3 June."))
INSTRUMENT = option("--instrument", _("What it was read with."), complete.INSTRUMENTS)
NOTE = option("--note", _("Anything else."))
LOWEST = option("--from", _("Lowest temperature of the card, like 45F."))
HIGHEST = option("--to", _("Highest temperature of the card, like 130F."))
YES = flag("--yes", _("Keep it as shown; nobody is asked."))
JSON = flag("--json", _("One JSON document instead of words."))
PHOTO = several("--photo", _("A picture, kept beside the book."))
WHAT = argument(_("What is added, as in the example."))
MACHINE = option("--machine", _("Machine; the only one listed if not given."), complete.MACHINES)
SHEET = option("--sheet", _("Sheet; the only one listed if not given."), complete.SHEETS)
LAP = option("--lap", _("Lap kind: selvage or granules."), complete.words("lap"), default="selvage")
LAP_TYPED = option(
    "--lap",
    _("Lap kind: selvage or granules; as the seam is listed, else selvage, if not given."),
    complete.words("lap"),
)
SEAM = argument(_("The seam, like A12."), complete.SEAMS)
NOZZLE = option("--nozzle", _("Nozzle temperature as set, like 932F."))
SPEED = option("--speed", _("Travel speed as the dial shows it, like 5.5."))
TRUE_SPEED = option("--true-speed", _("Speed measured, distance over seconds."))
NOZZLE_MEASURED = option("--nozzle-measured", _("Nozzle air as measured."))
AIR_FLOW = option("--air-flow", _("Air flow, percent."))
NOZZLE_WIDTH = option("--nozzle-width", _("Nozzle width, like 4in."))
ROLLER_LOAD = option("--roller-load", _("Roller load, like 60lbf."))


class SettingTyped(Struct, frozen=True):
    """A setting as typed, option by option."""

    machine: str | None
    sheet: str | None
    lap: str | None
    nozzle: str | None
    speed: str | None
    true_speed: str | None = None
    nozzle_measured: str | None = None
    air_flow: str | None = None
    nozzle_width: str | None = None
    roller_load: str | None = None


class SeenTyped(Struct, frozen=True, kw_only=True):
    """Who saw it, when and with what, as typed; and whether JSON is to say what was recorded."""

    instrument: str | None = None
    by: str | None
    at: str | None
    as_json: bool

    def read(self, book: Book) -> Seen:
        """Who saw it, when and with what."""
        return book.reader.seen(self.by, self.at, self.instrument)


class Pack(Struct, frozen=True):
    """Options that reach a command as one value, made by `kind`."""

    kind: Callable[..., Any]
    options: dict[str, Any]


_AIR = {
    "ambient": AMBIENT,
    "sheet_temp": SHEET_TEMP,
    "humidity": HUMIDITY,
    "wind": WIND,
    "line_voltage": VOLTAGE,
}
AS_TYPED = flag("--as-typed", _("Keep an unlikely value as typed."))
_ALSO = {
    "as_typed": AS_TYPED,
    "under_temp": UNDER_TEMP,
    "damp": DAMP,
    "gust": GUST,
    "roll_temp": ROLL_TEMP,
    "sky": SKY,
    "supply": SUPPLY,
}
# Typed as anything: they stand as defaults of parameters of what they make.
AIR: Any = Pack(dict, {**_AIR, "as_typed": AS_TYPED})
_DEW = {"ambient": AMBIENT, "sheet_temp": SHEET_TEMP, "humidity": HUMIDITY}
DEW: Any = Pack(dict, {**_DEW, "as_typed": AS_TYPED})
WEATHER: Any = Pack(dict, {**_AIR, **_ALSO})
SETTING: Any = Pack(
    SettingTyped,
    {
        "nozzle": NOZZLE,
        "speed": SPEED,
        "machine": MACHINE,
        "sheet": SHEET,
        "lap": LAP_TYPED,
        "true_speed": TRUE_SPEED,
        "nozzle_measured": NOZZLE_MEASURED,
        "air_flow": AIR_FLOW,
        "nozzle_width": NOZZLE_WIDTH,
        "roller_load": ROLLER_LOAD,
    },
)
_SEEN_BY = {"by": BY, "at": AT, "as_json": JSON}
SEEN: Any = Pack(SeenTyped, {"instrument": INSTRUMENT, **_SEEN_BY})
SEEN_BY: Any = Pack(SeenTyped, _SEEN_BY)


def singly(command: Callable[..., Any]) -> Callable[..., Any]:
    """Hand a command the open book, and options that belong together as one value: a `Pack`.

    To typer each option is there by itself, and the context in the place of the book.
    """
    signature = inspect.signature(command, eval_str=True)
    params = signature.parameters.values()
    packs = {p.name: p.default for p in params if isinstance(p.default, Pack)}
    with_book = any(p.annotation is Book for p in params)
    if not packs and not with_book:
        return command

    def unpacked(**typed: Any) -> None:
        for name, pack in packs.items():
            typed[name] = pack.kind(**{option: typed.pop(option) for option in pack.options})
        if with_book:
            typed["book"] = book_of(typed["book"])
        command(**typed)

    update_wrapper(unpacked, command, updated=())
    del unpacked.__wrapped__  # type: ignore[attr-defined]  # else typer reads the command's own
    unpacked.__annotations__ = {}
    unpacked.__signature__ = signature.replace(  # type: ignore[attr-defined]
        parameters=[
            single
            for param in params
            for single in (_options(packs[param.name]) if param.name in packs else [_shown(param)])
        ]
    )
    return unpacked


def _shown(param: inspect.Parameter) -> inspect.Parameter:
    """A parameter as typer is to see it."""
    return param.replace(annotation=typer.Context) if param.annotation is Book else param


def _options(pack: Pack) -> list[inspect.Parameter]:
    kind = inspect.Parameter.POSITIONAL_OR_KEYWORD
    return [
        inspect.Parameter(
            name, kind, default=option, annotation=bool if option.default is False else str
        )
        for name, option in pack.options.items()
    ]


def value(field: str, text: str | None, units: str) -> Quantity | None:
    """Read a value, where one was typed."""
    return read(field, text, units) if text else None


def choice(field: str, text: str | None) -> str | None:
    """One of a field's words, where one was typed."""
    return choose(field, text) if text else None


def yes_or_no(text: str | None) -> bool | None:
    """Yes or no, where either was typed."""
    return choose("yes_no", text) == "yes" if text else None


BY_HAND = flag("--by-hand", _("Welded with a hand tool."))
TOOL = option("--tool", _("The hand tool, like hand tool 2."))


def hand_setting_of(
    book: Book, typed: SettingTyped, tool: str | None, seam: str | None = None
) -> Setting | None:
    """Read a hand tool's setting; None where no tool is named.

    Args:
        book: where sheet and seam are listed.
        typed: what was typed.
        tool: the hand tool.
        seam: the seam to be welded: its lap kind counts where none is typed.
    """
    if tool is None:
        return None
    units = book.job.units
    sheet, _listed = book.reader.listed("sheets", typed.sheet, _("sheet"))
    nozzle = _nozzle(typed, units)
    return Setting(
        machine=plain_name(_("tool"), tool),
        sheet=sheet,
        lap=_lap(book, typed, seam),
        nozzle=nozzle,
        nozzle_measured=value("nozzle", typed.nozzle_measured, units),
        nozzle_width=value("nozzle_width", typed.nozzle_width, units),
        by_hand=True,
    )


def setting_of(book: Book, typed: SettingTyped, seam: str | None = None) -> Setting:
    """Read a setting; ask for what is missing where somebody is there.

    Args:
        book: where machine, sheet and seam are listed.
        typed: what was typed.
        seam: the seam to be welded: its lap kind counts where none is typed.
    """
    units = book.job.units
    machine, listed = book.reader.listed("machines", typed.machine, _("machine"))
    sheet, _listed = book.reader.listed("sheets", typed.sheet, _("sheet"))
    lap = _lap(book, typed, seam)
    asked = typed.nozzle is None or typed.speed is None
    last = book.strips.last_setting(machine, sheet) if asked else None
    nozzle = _nozzle(typed, units, last.nozzle if last else None)
    speed = needed(
        typed.speed,
        _("Travel speed on the dial"),
        "--speed",
        example("speed", units),
        lambda text: book.dials.read_speed(machine if listed else None, text),
        last.speed if last else None,
    )
    rest: dict[str, object] = {
        name: read(field, text, units)
        for name, field in (
            ("true_speed", "speed"),
            ("nozzle_measured", "nozzle"),
            ("air_flow", "air_flow"),
            ("nozzle_width", "nozzle_width"),
            ("roller_load", "roller_load"),
        )
        if (text := getattr(typed, name)) is not None
    }
    setting = Setting(machine=machine, sheet=sheet, lap=lap, nozzle=nozzle, speed=speed)
    return replace(setting, **rest)


def _lap(book: Book, typed: SettingTyped, seam: str | None) -> str:
    return choose("lap", typed.lap or (book.runs.lap_of(seam) if seam else None) or "selvage")


def _nozzle(typed: SettingTyped, units: str, last: str | None = None) -> Quantity:
    return needed(
        typed.nozzle,
        _("Nozzle temperature"),
        "--nozzle",
        example("nozzle", units),
        lambda text: read("nozzle", text, units),
        last,
    )


_WEATHER = {
    "ambient": "ambient",
    "sheet_temp": "sheet_temp",
    "under_temp": "under_temp",
    "humidity": "humidity",
    "wind": "wind",
    "line_voltage": "line_voltage",
    "gust": "gust",
    "roll_temp": "roll_temp",
}


def read_conditions(book: Book, typed: Mapping[str, str | None]) -> Conditions:
    """Read conditions as typed.

    Raises:
        Missing: nothing was typed at all.
    """
    units = book.job.units
    values: dict[str, object] = {
        name: read(field, text, units)
        for name, field in _WEATHER.items()
        if (text := typed.get(name)) is not None
    }
    if (damp := typed.get("damp")) is not None:
        values["damp"] = choose("yes_no", damp) == "yes"
    if (sky := typed.get("sky")) is not None:
        values["sky"] = choose("sky", sky)
    if (supply := typed.get("supply")) is not None:
        values["supply"] = plain_name(_("supply"), supply)
    if not values:
        raise Missing(
            name=_("what was read"), option="--ambient", example=example("ambient", units)
        )
    return replace(Conditions(), **values)


def settled_of(
    book: Book, seen: Seen, setting: Setting | None, typed: Mapping[str, str | None]
) -> tuple[Setting | None, Conditions]:
    """A setting, and conditions: what was not typed is carried over from the day's last reading.

    What is likely a slip is asked back first.
    """
    given = any(text for name, text in typed.items() if name != "as_typed")
    air = read_conditions(book, typed) if given else Conditions()
    setting, air = said_again(book, setting, air, seen.at, as_typed=bool(typed.get("as_typed")))
    return setting, book.last_read.carry_over(air, seen.at)


def ask_conditions(book: Book, typed: dict[str, str | None], at: str) -> dict[str, str | None]:
    """Ask for the conditions that matter most where they were not typed; Enter carries over."""
    asked, last = dict(typed), book.last_read.conditions(at)
    for name, label in (("ambient", _("Ambient")), ("sheet_temp", _("Sheet surface temperature"))):
        if asked.get(name) is None:
            left_out = _("Enter: not read")
            if name in last:
                value, read_at = last[name]
                left_out = _(
                    "Enter: {value} of {clock}, carried over",
                    clock=show.clock(read_at, date=False),
                    value=show.temperature(value, book.job.units),
                )
            asked[name] = ask(label, partial(_readable, name, book.job.units), left_out=left_out)
    return asked


def _readable(field: str, units: str, text: str) -> str:
    """The text itself, once it can be read."""
    read(field, text, units)
    return text


def likely_air(book: Book, typed: Mapping[str, str | None], at: str) -> dict[str, str | None]:
    """Conditions as typed, once what is likely a slip in them was confirmed or corrected."""
    if not any(text for name, text in typed.items() if name != "as_typed"):
        return dict(typed)
    read_now = read_conditions(book, typed)
    _none, air = said_again(book, None, read_now, at, as_typed=bool(typed.get("as_typed")))
    meant = {name: value for name in _AIR if (value := getattr(air, name)) is not None}
    return {**typed, **{name: retyped(value.text, value.unit) for name, value in meant.items()}}
