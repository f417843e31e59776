"""Setting a job up: job, areas, sheets, machines, instruments, people, limits."""

from __future__ import annotations

import re
from typing import Any

import typer

from weldcal.book import Recorded
from weldcal.book.setup import limit_defaults
from weldcal.cli.parse import AT, BY, INSTRUMENT, JSON, NOTE
from weldcal.cli.shell import Command, answer, book_of, group, say, single
from weldcal.errors import Missing, NotATime
from weldcal.quantities import Quantity
from weldcal.records import job as records
from weldcal.records.fields import choose, plain_name, read
from weldcal.records.site import Measure
from weldcal.reports import cautions as caution_lines
from weldcal.reports import lines, show
from weldcal.words import _

job = group(_("Jobs: one roof contract each."))
area = group(_("Roof areas."))
sheet = group(_("Sheets being lapped."))
machine = group(_("Hot-air machines and their dials."))
instrument = group(_("Thermometers, tapes, stopwatches, testers."))
person = group(_("People on the job: name, initials, what they do."))
limit = group(_("Acceptance numbers, each with its source."))
me = single()
cautions = single()


@job.command("new", cls=Command)
def job_new(
    ctx: typer.Context,
    name: str = typer.Argument(..., help=_("Name of the job.")),
    units: str = typer.Option("us", "--units", help=_("us or si: what a bare number means.")),
    zone: str = typer.Option(None, "--zone", help=_("Time zone, like America/Denver.")),
    day_begins: str = typer.Option("0", "--day-begins", help=_("Hour the day begins (night shifts).")),
    place: str = typer.Option(None, "--place", help=_("Where it is.")),
    area: list[str] = typer.Option([], "--area", help=_('Roof area, like "A 60ft x 40ft".')),
    sheet: list[str] = typer.Option([], "--sheet", help=_('Sheet, like "base: polyester SBS, 3 mm".')),
    machine: list[str] = typer.Option([], "--machine", help=_('Machine, like "blue: ft/min 1-20 step 0.5".')),
    instrument: list[str] = typer.Option([], "--instrument", help=_('Instrument, like "tape 1: tape, checked 2026-05-01, due 2027-05-01".')),
    person: list[str] = typer.Option([], "--person", help=_('Person, like "Ana Ruiz: AR, operator".')),
    limit: list[str] = typer.Option([], "--limit", help=_('Limit, like "bleed_high 3/8in: maker sheet rev 4".')),
    by: str = BY,
    as_json: bool = JSON,
) -> None:  # fmt: skip
    """Begin a job.

    Example: weldcal job new "School roof" --units us --zone America/Denver
    --sheet "base: polyester SBS" --machine "blue: ft/min" --person "Ana Ruiz: AR, operator"
    """
    book = book_of(ctx)
    units = choose("units", units)
    parts = [
        *(("area", _area(text, units)) for text in area),
        *(("sheet", _sheet(text)) for text in sheet),
        *(("machine", _machine(text, units)) for text in machine),
        *(("instrument", _instrument(text)) for text in instrument),
        *(("person", _person(text)) for text in person),
    ]
    limits = [_limit(text) for text in limit]
    done = book.new_job(
        name, units=units, zone_name=zone or _local_zone(), day_begins=_whole(day_begins), place=place,
        parts=parts, limits=limits, by=by,
    )  # fmt: skip
    answer(ctx, as_json, _("Job"), done)
    if not as_json:
        say(_("Limits are common practice until you adopt the sheet maker's: weldcal limit list"))


@job.command("use", cls=Command)
def job_use(ctx: typer.Context, name: str = typer.Argument(...), as_json: bool = JSON) -> None:
    """Work on that job from now on, on this device. Example: weldcal job use "School roof" """
    done = book_of(ctx).use_job(name)
    if as_json:
        print(show.as_json({"id": done.id, "name": done.name}))
    else:
        say(_("Working on {name} now.", name=show.safe(done.name)))


@job.command("show", cls=Command)
def job_show(ctx: typer.Context, as_json: bool = JSON) -> None:
    """Show the job and all that belongs to it. Example: weldcal job show"""
    book = book_of(ctx)
    job_id = book.job.id
    tables = ("jobs", "areas", "sheets", "machines", "instruments", "people")
    found = {
        t: book.rows(f"SELECT * FROM {t} WHERE job = ? ORDER BY tick", (job_id,)) for t in tables
    }
    if as_json:
        print(show.as_json(found))
        return
    row = found["jobs"][0]
    say(_("Job {name}: units {units}, time zone {zone}, day begins at {hour}:00.",
          name=show.safe(row["name"]), units=row["units"], zone=row["zone"], hour=row["day_begins"]))  # fmt: skip
    for table, label in (("areas", _("Area")), ("sheets", _("Sheet")), ("machines", _("Machine")),
                         ("instruments", _("Instrument")), ("people", _("Person"))):  # fmt: skip
        for part in found[table]:
            detail = _detail(table, part, row["units"])
            say(f"{label} {show.safe(part['name'])}: {show.safe(detail)}")


def _detail(table: str, part: dict[str, Any], units: str) -> str:
    if table == "areas":
        return f"{show.distance(part['length_m'], units)} x {show.distance(part['width_m'], units)}"
    if table == "machines":
        span = f"{part['dial_low']:g}–{part['dial_high']:g}"
        return f"{part['dial']} {span}, " + _("step {step}", step=f"{part['dial_step']:g}")
    columns = {
        "sheets": ("description",),
        "instruments": ("kind", "checked"),
        "people": ("initials", "role"),
    }
    return ", ".join(part[name] for name in columns[table] if part[name])


def _added(
    ctx: typer.Context, as_json: bool, kind: str, label: str, record: object, by: str | None
) -> None:
    done: Recorded = book_of(ctx).add(kind, record, by)
    answer(ctx, as_json, label, done)


_WHAT = typer.Argument(..., help=_("What is added, as in the example."))


@area.command("add", cls=Command)
def area_add(ctx: typer.Context, what: str = _WHAT, by: str = BY, as_json: bool = JSON) -> None:
    """Add a roof area. Example: weldcal area add "A 60ft x 40ft" """
    _added(ctx, as_json, "area", _("Area"), _area(what, book_of(ctx).job.units), by)


@sheet.command("add", cls=Command)
def sheet_add(
    ctx: typer.Context,
    what: str = _WHAT,
    judged_by: str = typer.Option("bleed-out", "--judged-by", help=_("bleed-out, or bond for sheets that may show none.")),
    thickness: str = typer.Option(None, "--thickness", help=_("Like 3mm.")),
    roll_width: str = typer.Option(None, "--roll-width", help=_("Like 39.4in.")),
    roll_length: str = typer.Option(None, "--roll-length", help=_("Like 33ft.")),
    by: str = BY,
    as_json: bool = JSON,
) -> None:  # fmt: skip
    """Add a sheet. Example: weldcal sheet add "base: polyester-reinforced SBS base sheet" --thickness 3mm"""
    units = book_of(ctx).job.units
    plain = _sheet(what)
    record = records.Sheet(
        name=plain.name, description=plain.description, judged_by=choose("judged_by", judged_by),
        thickness=read("thickness", thickness, units) if thickness else None,
        roll_width=read("roll_width", roll_width, units) if roll_width else None,
        roll_length=read("length", roll_length, units) if roll_length else None,
    )  # fmt: skip
    _added(ctx, as_json, "sheet", _("Sheet"), record, by)


@machine.command("add", cls=Command)
def machine_add(
    ctx: typer.Context,
    what: str = _WHAT,
    nozzle_range: str = typer.Option(None, "--nozzle-range", help=_("Nozzle temperatures it may be set to, like 572F-1112F.")),
    rated_voltage: str = typer.Option(None, "--rated-voltage", help=_("Like 230.")),
    mark: list[str] = typer.Option([], "--mark", help=_('A dial mark and its measured speed, like "5=1.6m/min".')),
    by: str = BY,
    as_json: bool = JSON,
) -> None:  # fmt: skip
    """Add a machine. Example: weldcal machine add "blue: ft/min 1-20 step 0.5" --rated-voltage 230"""
    units = book_of(ctx).job.units
    record = _machine(what, units, nozzle_range, rated_voltage, mark)
    _added(ctx, as_json, "machine", _("Machine"), record, by)


@machine.command("measure", cls=Command)
def machine_measure(
    ctx: typer.Context,
    name: str = typer.Argument(..., help=_("The machine.")),
    mark: str = typer.Option(None, "--mark", help=_("What the dial showed, like 5.5.")),
    distance: str = typer.Option(None, "--distance", help=_("Measured travel, like 20ft.")),
    time: str = typer.Option(None, "--time", help=_("Its time, like 218s.")),
    nozzle_set: str = typer.Option(None, "--nozzle-set", help=_("Nozzle temperature as set.")),
    nozzle_measured: str = typer.Option(None, "--nozzle-measured", help=_("Nozzle air as measured.")),
    instrument: str = INSTRUMENT,
    note: str = NOTE,
    by: str = BY,
    at: str = AT,
    as_json: bool = JSON,
) -> None:  # fmt: skip
    """Record a machine measured: distance over seconds behind a dial mark, or the nozzle's air. Example: weldcal machine measure blue --mark 5.5 --distance 20ft --time 218s"""
    book = book_of(ctx)
    units = book.job.units
    machine_name, _listed = book.listed("machines", name, _("machine"))
    dial, _row = book.dial_of(machine_name)
    if not (mark and distance and time) and not (nozzle_set and nozzle_measured):
        raise Missing(
            name=_("what was measured"),
            option="--mark --distance --time",
            example="--mark 5.5 --distance 20ft --time 218s",
        )
    record = Measure(
        machine=machine_name, seen=book.seen(by, at, instrument), note=note,
        mark=read("mark" if dial.unit == "mark" else "speed", mark, units, dial.unit) if mark else None,
        distance=read("travel", distance, units) if distance else None,
        time=read("seconds", time, units) if time else None,
        nozzle_set=read("nozzle", nozzle_set, units) if nozzle_set else None,
        nozzle_measured=read("nozzle", nozzle_measured, units) if nozzle_measured else None,
    )  # fmt: skip
    answer(ctx, as_json, _("Measurement of"), book.record_measure(record))


@machine.command("drift", cls=Command)
def machine_drift(
    ctx: typer.Context,
    name: str = typer.Argument(..., help=_("The machine.")),
    as_json: bool = JSON,
) -> None:
    """Show a machine's measurements, whether it has drifted, and the seams that concerns. Example: weldcal machine drift blue"""
    from weldcal.reports import reasoning

    book = book_of(ctx)
    machine_name, _listed = book.listed("machines", name, _("machine"))
    rows, checks, found, affected = book.drift(machine_name)
    heats = book.heat_checks(machine_name)
    if as_json:
        print(show.as_json(reasoning.measured_document(checks, found, rows, affected, heats)))
        return
    for line in reasoning.measured(checks, found, rows, affected, heats, book.job.units):
        say(line)


@instrument.command("add", cls=Command)
def instrument_add(
    ctx: typer.Context, what: str = _WHAT, by: str = BY, as_json: bool = JSON
) -> None:
    """Add an instrument. Example: weldcal instrument add "tape 1: tape, checked 2026-05-01, due 2027-05-01" """
    _added(ctx, as_json, "instrument", _("Instrument"), _instrument(what), by)


@person.command("add", cls=Command)
def person_add(ctx: typer.Context, what: str = _WHAT, by: str = BY, as_json: bool = JSON) -> None:
    """Add a person: only name, initials and what they do. Example: weldcal person add "Ana Ruiz: AR, operator" """
    _added(ctx, as_json, "person", _("Person"), _person(what), by)


@limit.command("set", cls=Command)
def limit_set(
    ctx: typer.Context,
    name: str = typer.Argument(..., help=_("Name of the limit; see: weldcal limit list")),
    value: str = typer.Argument(..., help=_("Like 3/8in.")),
    source: str = typer.Option(None, "--source", help=_("Document and revision it comes from.")),
    by: str = BY,
    as_json: bool = JSON,
) -> None:
    """Adopt a limit from now on. Example: weldcal limit set bleed_high 3/8in --source "maker sheet 12, rev 4" --by AR"""
    if not source:
        raise Missing(
            name=_("source"), option="--source", example='--source "maker sheet 12, rev 4"'
        )
    answer(ctx, as_json, _("Limit"), book_of(ctx).set_limit(name, value, source, by))


@limit.command("list", cls=Command)
def limit_list(ctx: typer.Context, as_json: bool = JSON) -> None:
    """Show the limits in force and where each comes from. Example: weldcal limit list"""
    limits = book_of(ctx).limits()
    if as_json:
        print(show.as_json([
            {"name": n, "value": x.value.text, "unit": x.value.unit, "source": x.source, "adopted_by": x.adopted_by}
            for n, x in limits.items()
        ]))  # fmt: skip
        return
    for name, found in limits.items():
        value = found.value.text
        unit = "" if value.endswith(found.value.unit) else f" {found.value.unit}"
        adopted = f", {show.safe(found.adopted_by)}" if found.adopted_by else ""
        say(
            f"- {name}: {show.safe(value)}{unit} ({_(limit_defaults()[name].means)}); {show.safe(_(found.source))}{adopted}"
        )
    say(_("All yield to the sheet maker's instructions: adopt theirs with weldcal limit set."))


@me.command(cls=Command)
def me_(ctx: typer.Context, name: str = typer.Argument(...), as_json: bool = JSON) -> None:
    """Say who is typing on this device. Example: weldcal me "Ana Ruiz" """
    book = book_of(ctx)
    done = book.me(name)
    if as_json:
        print(show.as_json({"name": done.name, "notes": [n.code for n in done.notes]}))
    else:
        say(_("This device types for {name} from now on.", name=show.safe(done.name)))
        for line in lines.notes(done.notes, book.job.units):
            say(line)


@cautions.command(cls=Command)
def cautions_(as_json: bool = JSON) -> None:
    """Show the cautions that stand before hot air. Example: weldcal cautions"""
    if as_json:
        print(show.as_json(caution_lines.short()))
        return
    for line in caution_lines.short():
        say(line)


APPS = {
    "job": job, "area": area, "sheet": sheet, "machine": machine, "instrument": instrument,
    "person": person, "limit": limit, "me": me, "cautions": cautions,
}  # fmt: skip


# -- short forms ---------------------------------------------------------------------


def _head(text: str, label: str) -> tuple[str, str]:
    name, _colon, rest = text.partition(":")
    return plain_name(label, name), rest.strip()


def _area(text: str, units: str) -> records.Area:
    found = re.fullmatch(r"(.+?)[:\s]+([\d][^x×]*)[x×](.+)", text.strip())
    if not found:
        return records.Area(name=plain_name(_("area"), text))
    return records.Area(
        name=plain_name(_("area"), found[1]),
        length=read("length", found[2], units), width=read("length", found[3], units),
    )  # fmt: skip


def _sheet(text: str) -> records.Sheet:
    name, rest = _head(text, _("sheet"))
    return records.Sheet(name=name, description=rest or None)


def _machine(
    text: str, units: str, nozzles: str | None = None, volts: str | None = None, marks: list[str] | None = None
) -> records.Machine:  # fmt: skip
    name, rest = _head(text, _("machine"))
    found = re.fullmatch(
        r"(?P<dial>ft/min|m/min|marks?)?\s*(?:(?P<low>[\d.]+)\s*-\s*(?P<high>[\d.]+))?\s*(?:step\s*(?P<step>[\d.]+))?",
        rest,
    )
    if found is None:
        raise Missing(name=_("dial"), option=_("it"), example='"blue: ft/min 1-20 step 0.5"')
    dial = (found["dial"] or ("ft/min" if units == "us" else "m/min")).rstrip("s")
    usual = {
        "ft/min": ("1", "25", "0.5"),
        "m/min": ("0.3", "7.5", "0.1"),
        "mark": ("1", "10", "0.5"),
    }[dial]
    low, high, step = (
        _number(found[key] or default, dial)
        for key, default in zip(("low", "high", "step"), usual, strict=True)
    )
    ends = (nozzles or "100C-620C").split("-")
    if len(ends) != 2:
        raise Missing(name=_("nozzle range"), option="--nozzle-range", example="572F-1112F")
    return records.Machine(
        name=name, dial=dial, dial_low=low, dial_high=high, dial_step=step,
        nozzle_low=read("nozzle", ends[0], units), nozzle_high=read("nozzle", ends[1], units),
        rated_voltage=read("line_voltage", volts, units) if volts else None,
        marks=tuple(_mark(one, units) for one in marks or ()),
    )  # fmt: skip


def _number(text: str, unit: str) -> Quantity:
    return read("mark" if unit == "mark" else "speed", text, "us", unit)


def _mark(text: str, units: str) -> records.DialMark:
    mark, equals, speed = text.partition("=")
    if not equals:
        raise Missing(name=_("measured speed"), option="--mark", example='--mark "5=1.6m/min"')
    return records.DialMark(mark=read("mark", mark, units), speed=read("speed", speed, units))


def _instrument(text: str) -> records.Instrument:
    name, rest = _head(text, _("instrument"))
    kind, *dates = (part.strip() for part in rest.split(","))
    found = {}
    for part in dates:
        word, _space, date = part.partition(" ")
        if word not in ("checked", "due") or not re.fullmatch(r"\d{4}-\d\d-\d\d", date.strip()):
            raise NotATime(name=name, text=part)
        found[word] = date.strip()
    return records.Instrument(name=name, kind=kind or name, **found)


def _person(text: str) -> records.Person:
    name, rest = _head(text, _("person"))
    initials, _comma, role = rest.partition(",")
    return records.Person(name=name, initials=initials.strip() or None, role=role.strip() or None)


def _limit(text: str) -> tuple[str, str, str]:
    value, colon, source = text.partition(":")
    name, _space, number = value.strip().partition(" ")
    if not (colon and number):
        raise Missing(
            name=_("source"), option="--limit", example='"bleed_high 3/8in: maker sheet rev 4"'
        )
    return name, number, source


def _whole(text: str) -> int:
    return int(read("count", text, "us").number)


def _local_zone() -> str:
    """The machine's own time zone, by name, as Debian and macOS keep it; else UTC."""
    import os
    from pathlib import Path

    named = os.environ.get("TZ", "")
    if "/" in named and not named.startswith("/"):
        return named
    target = Path("/etc/localtime").resolve()
    parts = str(target).split("zoneinfo/")
    return parts[1] if len(parts) == 2 else "UTC"
