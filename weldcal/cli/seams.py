"""The operator while welding: seams listed, runs begun and finished, bleed checks."""

from __future__ import annotations

import re

from msgspec.structs import replace

from weldcal.book import Book
from weldcal.cli import parse
from weldcal.cli.parse import BY, JSON, argument, flag, option
from weldcal.cli.shell import Command, answer, group, needed, print_json, say, single
from weldcal.errors import NotAStretch
from weldcal.records.examples import example
from weldcal.records.fields import choose, plain_name, read, read_many, read_place
from weldcal.records.seam import BleedCheck, LapWidth, Seam
from weldcal.reports import lines, show
from weldcal.words import _

seam = group(_("Seams: list them, start and finish runs."))
_MOST_AT_ONCE = 1000


@seam.command("add", cls=Command)
def seam_add(
    book: Book,
    names: str = argument(_("A name, or many at once: A12-A18.")),
    length: str = option("--length", _("Length of each, like 33ft.")),
    kind: str = option(
        "--kind", _("side lap, end lap, night tie-in, detail, T-joint."), default="side lap"
    ),
    lap: str = option("--lap", _("Lap kind: selvage or granules.")),
    place: str = option("--place", _("Where on the roof; where its zero end is chalked.")),
    by: str = BY,
    as_json: bool = JSON,
) -> None:
    """List seams to be welded. Example: weldcal seam add A1-A6 --length 33ft"""
    units = book.job.units
    seams = [
        Seam(
            name=name,
            kind=choose("seam_kind", kind),
            lap=parse.choice("lap", lap),
            length=parse.value("length", length, units),
            place=place,
        )
        for name in _many(names)
    ]
    recorded = book.recording.seams.add_seams(seams, by)
    if as_json:
        print_json(
            [{"id": seam_recorded.id, "name": seam_recorded.name} for seam_recorded in recorded]
        )
    elif len(recorded) == 1:
        say(lines.recorded(_("Seam"), recorded[0].name))
    else:
        say(
            _(
                "{n} seams listed: {first} to {last}.",
                n=len(recorded),
                first=show.safe(recorded[0].name),
                last=show.safe(recorded[-1].name),
            )
        )


@seam.command("start", cls=Command)
def seam_start(
    book: Book,
    name: str = parse.SEAM,
    start: str = option(
        "--from", _("Distance from the chalked zero end, like 0 or 14.5ft."), default="0"
    ),
    by_hand: bool = parse.BY_HAND,
    tool: str = parse.TOOL,
    setting: parse.SettingTyped = parse.SETTING,
    weather: dict[str, str | None] = parse.WEATHER,
    roll_lot: str = option("--roll-lot", _("Lot of the roll.")),
    note: str = parse.NOTE,
    seeing: parse.SeenTyped = parse.SEEN,
) -> None:
    """Begin a run: a stretch welded without a stop or a change. Never refused; warned of where no go-ahead stands.

    Example: weldcal seam start A12 --nozzle 932 --speed 5.5
    """
    seen = seeing.read(book)
    name = plain_name(_("seam"), name)
    if by_hand or tool:
        set_to = parse.hand_setting_of(book, setting, tool, name)
    else:
        set_to = parse.setting_of(book, setting, name)
    at = read_place(start, book.job.units)
    set_to, air = parse.settled_of(book, seen, set_to, weather)
    first = (*book.upkeep.start_up_note(), *book.plies.below_note(name))
    recorded = book.recording.runs.start_run(
        name,
        at,
        set_to,
        air,
        seen,
        roll_lot=roll_lot,
        note=note,
    )
    answer(book, seeing.as_json, _("Run"), replace(recorded, notes=(*recorded.notes, *first)))
    if not seeing.as_json and recorded.values["go_ahead"]:
        say(_("It stands on go-ahead {name}.", name=recorded.values["go_ahead"]))


@seam.command("finish", cls=Command)
def seam_finish(
    book: Book,
    name: str = parse.SEAM,
    end: str = option(
        "--to", _("Distance from the chalked zero end, like 33, 26'10-5/8\", or end.")
    ),
    why: str = option("--why", _("Why it stopped there, where it was not the end.")),
    power_lost: bool = flag("--power-lost", _("The power went: strip again.")),
    seeing: parse.SeenTyped = parse.SEEN_BY,
) -> None:
    """Finish the run open on a seam. Example: weldcal seam finish A12 --to 33"""
    to = needed(
        end,
        _("Finished at"),
        "--to",
        example("far", book.job.units),
        lambda text: read_place(text, book.job.units),
    )
    seen = seeing.read(book)
    recorded = book.recording.runs.finish_run(name, to, seen, why, power_lost)
    loose = any(note.code == "no_start" for note in recorded.notes)
    if not loose:
        recorded = replace(
            recorded,
            notes=(*recorded.notes, *book.recording.covering.cover_beneath(recorded.id, seen)),
        )
    answer(book, seeing.as_json, _("Finish on seam") if loose else _("Finish of run"), recorded)


@single
def bleed(
    book: Book,
    name: str = parse.SEAM,
    place: str = argument(_("Distance from the zero end, like 14ft.")),
    readings: str = argument(_("Bleed-out, like 3/16 or 3/16,1/4.")),
    bubbling: str = option("--bubbling", _("none, trace or heavy.")),
    note: str = parse.NOTE,
    seeing: parse.SeenTyped = parse.SEEN,
) -> None:
    """Record a bleed check on a seam as it is welded. Example: weldcal bleed A12 14 3/16,1/4"""
    units = book.job.units
    check = BleedCheck(
        name="",
        seam=plain_name(_("seam"), name),
        seen=seeing.read(book),
        at=read_place(place, units),
        readings=read_many("reading", readings, units),
        bubbling=parse.choice("bubbling", bubbling),
        note=note,
    )
    answer(book, seeing.as_json, _("Bleed check"), book.recording.runs.record_bleed(check))


@single
def width(
    book: Book,
    name: str = parse.SEAM,
    place: str = argument(_("Distance from the zero end, like 14ft.")),
    overlap: str = argument(_("How far the sheets overlap, like 4in.")),
    bonded: str = option("--bonded", _("How much of it holds, like 3in.")),
    note: str = parse.NOTE,
    seeing: parse.SeenTyped = parse.SEEN,
) -> None:
    """Record the width of a lap, as a tape reads it. Example: weldcal width A12 14 4in --bonded 3in"""
    units = book.job.units
    record = LapWidth(
        name="",
        seam=plain_name(_("seam"), name),
        seen=seeing.read(book),
        at=read_place(place, units),
        overlap=read("lap_width", overlap, units),
        bonded=parse.value("lap_width", bonded, units),
        note=note,
    )
    answer(book, seeing.as_json, _("Lap width"), book.recording.probing.record_width(record))


def _many(text: str) -> list[str]:
    """`A12-A18` is seven names, `A01-A12` keeps its zeros; anything else is one."""
    match = re.fullmatch(r"(?P<a>\D*)(?P<from>\d{1,6})-(?P<b>\D*)(?P<to>\d{1,6})", text.strip())
    if not match or match["b"] not in ("", match["a"]):
        return [plain_name(_("seam"), text)]
    first, last = int(match["from"]), int(match["to"])
    if not first <= last < first + _MOST_AT_ONCE:
        raise NotAStretch(name=_("seams"), text=text, example="A1-A6")
    digits = len(match["from"])
    return [f"{match['a']}{number:0{digits}d}" for number in range(first, last + 1)]
