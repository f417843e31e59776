"""Setting a job up: job, areas, sheets, instruments, people."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from weldcal.book import Book
from weldcal.book.job_reader import AS_LISTED
from weldcal.cli import complete, outliving, parse, shorthand
from weldcal.cli.parse import BY, JSON, WHAT, argument, option, several
from weldcal.cli.shell import Command, answer, group, print_all, print_json, say, single
from weldcal.records import job as records
from weldcal.records.fields import choose, read
from weldcal.records.times import zone_name
from weldcal.reports import cautions as caution_lines
from weldcal.reports import lines, show
from weldcal.row_types import TABLES
from weldcal.row_types.listed import AreaRow, InstrumentRow, JobRow, MachineRow, PersonRow, SheetRow
from weldcal.settings import local_zone
from weldcal.words import _, mark

if TYPE_CHECKING:
    from weldcal.book.recording.setup import Listed

job = group(_("Jobs: one roof contract each."))
area = group(_("Roof areas."))
sheet = group(_("Sheets being lapped."))
instrument = group(_("Thermometers, tapes, stopwatches, testers."))
person = group(_("People on the job: name, initials, what they do."))


@job.command("new", cls=Command)
def job_new(
    book: Book,
    name: str = argument(_("Name of the job.")),
    units: str = option("--units", _("us or si: what a bare number means."), default="us"),
    zone: str = option("--zone", _("Time zone, or its city: America/Denver, Denver.")),
    day_begins: str = option("--day-begins", _("Hour the day begins (night shifts)."), default="0"),
    place: str = option(
        "--place",
        _("Where it is: coordinates or a large city; the sun over the roof follows from it."),
    ),
    area: list[str] = several("--area", _('Roof area, like "A 60ft x 40ft".')),
    sheet: list[str] = several("--sheet", _('Sheet, like "base: polyester SBS, 3 mm".')),
    machine: list[str] = several("--machine", _('Machine, like "blue: ft/min 1-20 step 0.5".')),
    instrument: list[str] = several(
        "--instrument", _('Instrument, like "tape 1: tape, checked 2026-05-01, due 2027-05-01".')
    ),
    person: list[str] = several("--person", _('Person, like "Ana Ruiz: AR, operator".')),
    limit: list[str] = several("--limit", _('Limit, like "bleed_high 3/8in: maker sheet rev 4".')),
    by: str = BY,
    as_json: bool = JSON,
) -> None:
    """Begin a job.

    Example: weldcal job new "School roof" --units us --zone America/Denver
    --sheet "base: polyester SBS" --machine "blue: ft/min" --person "Ana Ruiz: AR, operator"
    """
    units = choose("units", units)
    parts = _begun_with(units, area, sheet, machine, instrument, person)
    limits = [shorthand.limit(text, units) for text in limit]
    recorded = book.recording.setup.new_job(
        name,
        units=units,
        zone_name=zone_name(zone) if zone else local_zone(),
        day_begins=int(read("count", day_begins, "us").number),
        place=place,
        parts=parts,
        limits=limits,
        by=by,
    )
    answer(book, as_json, _("Job"), recorded)
    if not as_json:
        _say_about_new(book, units)


def _say_about_new(book: Book, units: str) -> None:
    """What to know of a job just begun: its clock, its sun, its limits."""
    for line in lines.notes(
        (*book.beginning.clock_notes(), *book.recording.amending.sun_notes()), units
    ):
        say(line)
    say(_("Limits are common practice until you adopt the sheet maker's: weldcal limit list"))


def _begun_with(
    units: str,
    area: list[str],
    sheet: list[str],
    machine: list[str],
    instrument: list[str],
    person: list[str],
) -> list[tuple[str, Listed]]:
    """What a job begins with, each with its kind."""
    return [
        *(("area", shorthand.area(text, units)) for text in area),
        *(("sheet", shorthand.sheet(text)) for text in sheet),
        *(("machine", shorthand.machine(text, units)) for text in machine),
        *(("instrument", shorthand.instrument(text)) for text in instrument),
        *(("person", shorthand.person(text)) for text in person),
    ]


@job.command("use", cls=Command)
def job_use(
    book: Book,
    name: str = argument(_("Name of the job."), complete.names("jobs")),
    as_json: bool = JSON,
) -> None:
    """Work on that job from now on, on this device. Example: weldcal job use "School roof" """
    done = book.recording.setup.use_job(name)
    if as_json:
        print_json({"id": done.id, "name": done.name})
    else:
        say(_("Working on {name} now.", name=show.safe(done.name)))
        print_all(lines.notes(book.beginning.clock_notes(), book.job.units))


@job.command("place", cls=Command)
def job_place(
    book: Book,
    place: str = argument(
        _('Where it is: coordinates, like "42.36, -71.06", or a large city, like Boston.')
    ),
    why: str = option("--why", _("Why it is said now.")),
    by: str = BY,
    as_json: bool = JSON,
) -> None:
    """Say where the job is: the sun over the roof follows from it. Example: weldcal job place "42.36, -71.06" """
    answer(book, as_json, _("Place"), book.recording.amending.put_place(place, why, by=by))


@job.command("show", cls=Command)
def job_show(book: Book, as_json: bool = JSON) -> None:
    """Show the job and all that belongs to it. Example: weldcal job show"""
    (row,) = book.reader.select(JobRow, "SELECT * FROM jobs WHERE id = ?", (book.job.id,))
    if as_json:
        listed: dict[str, list[object]] = {
            t: book.reader.of_job(TABLES[t], AS_LISTED) for t in _LABEL
        }
        print_json({"jobs": [row], **listed})
        return
    say(
        _(
            "Job {name}: units {units}, time zone {zone}, day begins at {hour}:00.",
            name=show.safe(row["name"]),
            units=row["units"],
            zone=row["zone"],
            hour=row["day_begins"],
        )
    )
    print_all(lines.notes(book.recording.amending.sun_notes(), row["units"]))
    for table in _LABEL:
        _tell(book, table)


def belongings(book: Book, table: str, as_json: bool) -> None:
    """What of one kind belongs to the job, in the order listed: one JSON document, or a line each."""
    if as_json:
        print_json(book.reader.of_job(TABLES[table], AS_LISTED))
        return
    _tell(book, table)
    if not book.reader.names_in(table):
        thing = {"people": "person"}.get(table, table.removesuffix("s"))
        say(_("None listed yet. How: weldcal {thing} add --help", thing=thing))


# What a job lists, table by table, and what one of it is called.
_LABEL = {
    "areas": mark("Area"),
    "sheets": mark("Sheet"),
    "machines": mark("Machine"),
    "instruments": mark("Instrument"),
    "people": mark("Person"),
}


def _tell(book: Book, table: str) -> None:
    """A line for each one that a table of the job's lists holds."""
    for name, detail in _details(book, table):
        say(f"{_(_LABEL[table])} {show.safe(name)}: {show.safe(detail)}")


def _details(book: Book, table: str) -> Iterator[tuple[str, str]]:
    """What is listed of each: its name, and the rest."""
    units = book.job.units
    if table == "areas":
        for area in book.reader.of_job(AreaRow, AS_LISTED):
            size = f"{show.tape(area['length_m'], units)} x {show.tape(area['width_m'], units)}"
            yield area["name"], size
    elif table == "machines":
        for machine in book.reader.of_job(MachineRow, AS_LISTED):
            dial, step = lines.dial_span(machine), machine["dial_step"]
            yield machine["name"], _("{dial}, step {step:g}", dial=dial, step=step)
    elif table == "sheets":
        for sheet in book.reader.of_job(SheetRow, AS_LISTED):
            yield sheet["name"], sheet["description"] or ""
    elif table == "instruments":
        for one in book.reader.of_job(InstrumentRow, AS_LISTED):
            yield one["name"], ", ".join(filter(None, (one["kind"], one["checked"])))
    else:
        for person in book.reader.of_job(PersonRow, AS_LISTED):
            yield person["name"], ", ".join(filter(None, (person["initials"], person["role"])))


@area.command("add", cls=Command)
def area_add(book: Book, what: str = WHAT, by: str = BY, as_json: bool = JSON) -> None:
    """Add a roof area. Example: weldcal area add "A 60ft x 40ft" """
    recorded = book.recording.setup.add("area", shorthand.area(what, book.job.units), by)
    answer(book, as_json, _("Area"), recorded)


@sheet.command("add", cls=Command)
def sheet_add(
    book: Book,
    what: str = WHAT,
    judged_by: str = option(
        "--judged-by", _("bleed-out, or bond for sheets that may show none."), default="bleed-out"
    ),
    thickness: str = option("--thickness", _("Like 3mm.")),
    roll_width: str = option("--roll-width", _("Like 39.4in.")),
    roll_length: str = option("--roll-length", _("Like 33ft.")),
    peel_least: str = option(
        "--peel-least", _("Least peel load its data sheet declares, like 200N/50mm.")
    ),
    peel_source: str = option("--peel-source", _("That data sheet and its revision.")),
    by: str = BY,
    as_json: bool = JSON,
) -> None:
    """Add a sheet. Example: weldcal sheet add "base: polyester-reinforced SBS base sheet" --thickness 3mm"""
    units = book.job.units
    plain = shorthand.sheet(what)
    record = records.Sheet(
        name=plain.name,
        description=plain.description,
        judged_by=choose("judged_by", judged_by),
        thickness=parse.value("thickness", thickness, units),
        roll_width=parse.value("roll_width", roll_width, units),
        roll_length=parse.value("length", roll_length, units),
        peel_least=parse.value("line_load", peel_least, units),
        peel_source=peel_source,
    )
    answer(book, as_json, _("Sheet"), book.recording.setup.add("sheet", record, by))


@instrument.command("add", cls=Command)
def instrument_add(book: Book, what: str = WHAT, by: str = BY, as_json: bool = JSON) -> None:
    """Add an instrument. Example: weldcal instrument add "tape 1: tape, checked 2026-05-01, due 2027-05-01" """
    recorded = book.recording.setup.add("instrument", shorthand.instrument(what), by)
    answer(book, as_json, _("Instrument"), recorded)


@person.command("add", cls=Command)
def person_add(book: Book, what: str = WHAT, by: str = BY, as_json: bool = JSON) -> None:
    """Add a person: only name, initials and what they do. Example: weldcal person add "Ana Ruiz: AR, operator" """
    recorded = book.recording.setup.add("person", shorthand.person(what), by)
    answer(book, as_json, _("Person"), recorded)


@person.command("list", cls=Command)
def person_list(book: Book, as_json: bool = JSON) -> None:
    """List the people on the job and what they do. Example: weldcal person list"""
    belongings(book, "people", as_json)


@sheet.command("list", cls=Command)
def sheet_list(book: Book, as_json: bool = JSON) -> None:
    """List the sheets being lapped. Example: weldcal sheet list"""
    belongings(book, "sheets", as_json)


@single
def me(
    book: Book,
    name: str = argument(_("Your name."), complete.PEOPLE),
    as_json: bool = JSON,
) -> None:
    """Say who is typing on this device. Example: weldcal me "Ana Ruiz" """
    recorded = book.recording.setup.me(name)
    if as_json:
        print_json({"name": recorded.name, "notes": [n.code for n in recorded.notes]})
    else:
        say(_("This device types for {name} from now on.", name=show.safe(recorded.name)))
        print_all(lines.notes(recorded.notes, book.job.units))


@single
def cautions(as_json: bool = JSON) -> None:
    """Show the cautions that stand before hot air. Example: weldcal cautions"""
    if as_json:
        print_json(caution_lines.short())
        return
    print_all(caution_lines.short())


outliving.add_to(sheet, "sheet", complete.SHEETS)
outliving.add_to(instrument, "instrument", complete.INSTRUMENTS)
outliving.add_to(person, "person", complete.PEOPLE)
