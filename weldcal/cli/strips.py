"""The operator before the first lap: conditions, strips, pulls, strips loaded from a file."""

# Not postponed: typer takes the annotations as types, and reading them from text takes time.
from typing import TYPE_CHECKING

from msgspec.structs import replace

from weldcal.book import Book
from weldcal.cli import complete, parse
from weldcal.cli.asked_back import said_again
from weldcal.cli.parse import BY, JSON, argument, option
from weldcal.cli.shell import (
    LINE,
    Command,
    LineGroup,
    answer,
    ask,
    group,
    interactive,
    needed,
    print_all,
    print_json,
    say,
    settled,
    single,
)
from weldcal.quantities import Quantity
from weldcal.records.common import Seen, Setting
from weldcal.records.examples import example
from weldcal.records.fields import choose, read_many
from weldcal.records.strip import Pull, Strip
from weldcal.reports import show
from weldcal.settings import path_of
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.intake.kept import StripProposed
    from weldcal.intake.strip_line import StripLine

strip = group(
    _("Test strips: record, pull, list, load; a number at once begins a whole strip in one line."),
    cls=LineGroup,
)

BOND = option("--bond", _("Cold pull: good, cold or not tried."))
PARTED = option(
    "--parted", _("How it parted: in the compound, in the reinforcement, at the lap, not parted.")
)
BONDED = option("--bonded-width", _("Bonded width, like 3in."))


@strip.command("record", cls=Command)
def strip_record(
    book: Book,
    bleed: str = option(
        "--bleed", _("Bleed-out readings, like 1/4,3/16,5/16 or 6mm,7mm. 0: none seen.")
    ),
    bubbling: str = option("--bubbling", _("none, trace or heavy.")),
    bond: str = BOND,
    setting: parse.SettingTyped = parse.SETTING,
    weather: dict[str, str | None] = parse.WEATHER,
    parted: str = PARTED,
    bonded_width: str = BONDED,
    smoke: str = option("--smoke", _("Smoke: yes or no.")),
    exposed_mat: str = option("--exposed-mat", _("Mat exposed: yes or no.")),
    roll_lot: str = option("--roll-lot", _("Lot of the roll.")),
    note: str = parse.NOTE,
    photo: list[str] = parse.PHOTO,
    by_hand: bool = parse.BY_HAND,
    tool: str = parse.TOOL,
    seeing: parse.SeenTyped = parse.SEEN,
) -> None:
    """Record a test strip. What is missing is asked for. By hand, it is judged by its pull.

    Example: weldcal strip record --nozzle 932 --speed 5.5 --bleed 1/4,3/16,5/16
    --bubbling none --ambient 61F --sheet-temp 74F
    """
    seen = seeing.read(book)
    if not seeing.as_json:
        _cautions_first(book, seen)
    set_to = _set_to(book, setting, by_hand, tool)
    readings = _readings(book, set_to, bleed)
    bubbles = _bubbling(bubbling)
    if bond is None and interactive():
        bond, weather = _bond(), parse.ask_conditions(book, weather, seen.at)
    settled_to, air = parse.settled_of(book, seen, set_to, weather)
    record = Strip(
        name="",
        seen=seen,
        setting=settled_to or set_to,
        conditions=air,
        readings=readings,
        bubbling=bubbles,
        bond=choose("bond", bond or "not tried"),
        parted=parse.choice("parted", parted),
        bonded_width=parse.value("bonded_width", bonded_width, book.job.units),
        smoke=parse.yes_or_no(smoke),
        exposed_mat=parse.yes_or_no(exposed_mat),
        roll_lot=roll_lot,
        note=note,
        photos=book.recording.transactions.photos(photo),
    )
    answer(book, seeing.as_json, _("Strip"), book.recording.strips.record_strip(record))


def _set_to(book: Book, setting: parse.SettingTyped, by_hand: bool, tool: str | None) -> Setting:
    """The setting of the machine, or of the hand tool."""
    if not by_hand and not tool:
        return parse.setting_of(book, setting)
    named = needed(tool, _("Hand tool"), "--tool", '"hand tool 2"', lambda text: text)
    hand_setting = parse.hand_setting_of(book, setting, named)
    assert hand_setting is not None
    return hand_setting


def _readings(book: Book, set_to: Setting, typed: str | None) -> tuple[Quantity, ...]:
    """Bleed-out readings as typed; asked for where the strip is judged by them."""
    if typed is None and (set_to.by_hand or not book.limits.needs_readings(set_to.sheet)):
        return ()
    return needed(
        typed,
        _("Bleed-out readings"),
        "--bleed",
        example("reading", book.job.units),
        lambda text: read_many("reading", text, book.job.units),
    )


def _bubbling(typed: str | None) -> str:
    return needed(
        typed,
        _("Bubbling (none, trace, heavy)"),
        "--bubbling",
        "none",
        lambda text: choose("bubbling", text),
    )


def _bond() -> str | None:
    return ask(
        _("Cold pull (good, cold, not tried)"), lambda text: choose("bond", text), "not tried"
    )


@strip.command(LINE, cls=Command, context_settings={"ignore_unknown_options": True})
def strip_line(
    book: Book,
    words: list[str] = argument(
        _("Speed, readings, bubbling; then whatever else was set or read.")
    ),
    yes: bool = parse.YES,
    as_typed: bool = parse.AS_TYPED,
    photo: list[str] = parse.PHOTO,
    seeing: parse.SeenTyped = parse.SEEN,
) -> None:
    """Record a whole strip in one line; the rest is as on the last strip, and as last read.

    The word line may be left out; the first number is the speed, those after it the readings.

    Example: weldcal strip line 5.5 1/4 3/16 1/4 5/16 none nozzle 932 ambient 61F
    """
    from weldcal.book.quick import merged
    from weldcal.intake.strip_line import read_strip
    from weldcal.reports import proposed

    seen = seeing.read(book)
    units, names = book.job.units, book.quick.names()
    line = read_strip(words, units, names)
    first = (line, book.quick.propose_strip(line, seen))
    if not seeing.as_json:
        _cautions_first(book, seen)

    def mended(
        shown: "tuple[StripLine, StripProposed]", typed: str
    ) -> "tuple[StripLine, StripProposed]":
        line_now = merged(shown[0], read_strip([typed], units, names, mending=True))
        return line_now, book.quick.propose_strip(line_now, seen)

    _line, kept = settled(
        first, lambda shown: proposed.strip(shown[1], units), mended, yes=yes, quiet=seeing.as_json
    )
    was = kept.strip
    setting, air = said_again(book, was.setting, was.conditions, was.seen.at, as_typed=as_typed)
    record = replace(
        was,
        setting=setting or was.setting,
        conditions=air,
        photos=book.recording.transactions.photos(photo),
    )
    recorded = book.recording.strips.record_strip(record)
    if not seeing.as_json:  # what was carried over has just been said
        recorded = replace(recorded, notes=tuple(n for n in recorded.notes if n.code != "carried"))
    answer(book, seeing.as_json, _("Strip"), recorded)


@strip.command("pull", cls=Command)
def strip_pull(
    book: Book,
    name: str = argument(_("The strip, like S3."), complete.STRIPS),
    bond: str = argument(_("good or cold."), complete.words("bond")),
    parted: str = PARTED,
    bonded_width: str = BONDED,
    seeing: parse.SeenTyped = parse.SEEN,
) -> None:
    """Fill in the cold pull of a strip. Example: weldcal strip pull S3 good --parted compound"""
    pull = Pull(
        seen=seeing.read(book),
        bond=choose("bond", bond),
        parted=parse.choice("parted", parted),
        bonded_width=parse.value("bonded_width", bonded_width, book.job.units),
    )
    answer(book, seeing.as_json, _("Pull of"), book.recording.strips.record_pull(name, pull))


@strip.command("list", cls=Command)
def strip_list(book: Book, as_json: bool = JSON) -> None:
    """List the strips and what each came to. Example: weldcal strip list"""
    strips = book.strips.strips()
    if as_json:
        print_json([{**row, "shortfalls": [s.code for s in row["shortfalls"]]} for row in strips])
        return
    from weldcal.reports import terminal

    terminal.strips(strips, book.job.units)


@strip.command("hands", cls=Command)
def strip_hands(book: Book, as_json: bool = JSON) -> None:
    """List who has a hand strip that met the limits: tool, sheet, lap kind, since when, how it stands. Example: weldcal strip hands"""
    go_aheads = book.go_aheads.by_hand()
    from weldcal.reports import reasoning

    if as_json:
        print_json(reasoning.by_hand_document(go_aheads))
        return
    print_all(reasoning.by_hand(go_aheads))


@strip.command("load", cls=Command)
def strip_load(
    book: Book,
    file: str = argument(_("An XLSX or CSV file, one strip a row.")),
    keep_good: bool = parse.KEEP_GOOD,
    machine: str = parse.MACHINE,
    sheet: str = parse.SHEET,
    lap: str = parse.LAP,
    day_first: bool = parse.DAY_FIRST,
    as_typed: bool = parse.AS_TYPED,
    by: str = BY,
    yes: bool = parse.YES,
    as_json: bool = JSON,
) -> None:
    """Load strips from a crew's spreadsheet, XLSX or CSV: shown first, kept after yes. All rows, or none unless --keep-good; loaded again, nothing is recorded twice.

    Example: weldcal strip load strips.csv --by "Ana Ruiz"
    """
    from weldcal.cli.loading import load
    from weldcal.cli.progress import progress

    with progress(quiet=as_json) as on_progress:
        staged = book.recording.strip_sheets.read(
            path_of(file),
            keep_good=keep_good,
            machine=machine,
            sheet=sheet,
            lap=choose("lap", lap),
            day_first=day_first,
            by=by,
            on_progress=on_progress,
        )
    with staged:
        loaded = load(
            book,
            lambda into: into.recording.strip_sheets,
            staged,
            yes=yes,
            as_json=as_json,
            as_typed=as_typed,
        )
    if as_json:
        return
    say(
        _(
            "Strips: {n} recorded, {known} here already. Rows refused: {bad}.",
            n=loaded.recorded,
            known=loaded.known,
            bad=loaded.refused,
        )
    )


@single
def conditions(
    book: Book,
    weather: dict[str, str | None] = parse.WEATHER,
    seeing: parse.SeenTyped = parse.SEEN,
) -> None:
    """Record the weather, the sheet and the power as read now. Example: weldcal conditions --ambient 78F --sheet-temp 96F"""
    seen = seeing.read(book)
    read_now = parse.read_conditions(book, weather)
    _none, read_now = said_again(
        book, None, read_now, seen.at, as_typed=bool(weather.get("as_typed"))
    )
    recorded = book.recording.conditions.record(
        read_now, by=seeing.by, at=seeing.at, instrument=seeing.instrument
    )
    recorded = type(recorded)(recorded.id, show.clock(seen.at), recorded.notes)
    answer(book, seeing.as_json, _("Conditions of"), recorded)


def _cautions_first(book: Book, seen: Seen) -> None:
    if not book.strips.strips_on_day(seen.at) and not book.drafts.cautions_read(seen):
        from weldcal.reports import cautions  # before the first strip of a day only

        print_all(cautions.short())
