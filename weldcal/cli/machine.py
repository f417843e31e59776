"""Machines: listed, their dials and nozzles measured, their drift shown."""

from __future__ import annotations

from weldcal.book import Book
from weldcal.cli import complete, outliving, parse, shorthand
from weldcal.cli.parse import BY, JSON, WHAT, argument, option, several
from weldcal.cli.setup import belongings
from weldcal.cli.shell import Command, answer, ask, group, interactive, print_all, print_json
from weldcal.errors import Missing
from weldcal.quality.measure import RUNS_LEAST
from weldcal.quantities import Quantity
from weldcal.records.examples import example
from weldcal.records.fields import plain_name, read, read_many
from weldcal.records.site import Cause, Measure, Repair
from weldcal.words import _

machine = group(_("Hot-air machines and their dials."))


@machine.command("add", cls=Command)
def machine_add(
    book: Book,
    what: str = WHAT,
    nozzle_range: str = option(
        "--nozzle-range", _("Nozzle temperatures it may be set to, like 572F-1112F.")
    ),
    rated_voltage: str = option("--rated-voltage", _("Like 230.")),
    mark: list[str] = several(
        "--mark", _('A dial mark and its measured speed, like "5=1.6m/min".')
    ),
    by: str = BY,
    as_json: bool = JSON,
) -> None:
    """Add a machine. Example: weldcal machine add "blue: ft/min 1-20 step 0.5" --rated-voltage 230"""
    units = book.job.units
    record = shorthand.machine(what, units, nozzle_range, rated_voltage, mark)
    answer(book, as_json, _("Machine"), book.recording.setup.add("machine", record, by))


@machine.command("list", cls=Command)
def machine_list(book: Book, as_json: bool = JSON) -> None:
    """List the machines and what their dials show. Example: weldcal machine list"""
    belongings(book, "machines", as_json)


@machine.command("measure", cls=Command)
def machine_measure(
    book: Book,
    name: str = argument(_("The machine."), complete.MACHINES),
    mark: str = option("--mark", _("What the dial showed, like 5.5.")),
    distance: str = option("--distance", _("Measured travel, like 20ft.")),
    time: str = option("--time", _("Its time; of three runs, like 218s,221s,216s.")),
    nozzle_set: str = option("--nozzle-set", _("Nozzle temperature as set.")),
    nozzle_measured: str = option("--nozzle-measured", _("Nozzle air as measured.")),
    note: str = parse.NOTE,
    seeing: parse.SeenTyped = parse.SEEN,
) -> None:
    """Record a machine measured: distance over seconds behind a dial mark, timed three times, or the nozzle's air.

    Example: weldcal machine measure blue --mark 5.5 --distance 20ft --time 218s,221s,216s
    """
    units = book.job.units
    machine_name, _listed = book.reader.listed("machines", name, _("machine"))
    dial, _row = book.machines.dial_of(machine_name)
    if not (mark and distance and time) and not (nozzle_set and nozzle_measured):
        raise Missing(
            name=_("what was measured"),
            option="--mark --distance --time",
            example=example("measured", units),
        )
    runs = _times(time, units)
    record = Measure(
        machine=machine_name,
        seen=seeing.read(book),
        note=note,
        mark=read("mark" if dial.unit == "mark" else "speed", mark, units, dial.unit)
        if mark
        else None,
        distance=parse.value("travel", distance, units),
        time=runs[0] if runs else None,
        again=runs[1:],
        nozzle_set=parse.value("nozzle", nozzle_set, units),
        nozzle_measured=parse.value("nozzle", nozzle_measured, units),
    )
    answer(book, seeing.as_json, _("Measurement of"), book.recording.site.record_measure(record))


@machine.command("cause", cls=Command)
def machine_cause(
    book: Book,
    name: str = argument(_("The machine, or the hand tool."), complete.MACHINES),
    what: str = argument(_("What was found and done, in words.")),
    note: str = parse.NOTE,
    seeing: parse.SeenTyped = parse.SEEN,
) -> None:
    """Name the cause of strips that failed in a row: a machine taken out needs one, and strips that pass after it. Example: weldcal machine cause blue "nozzle half blocked; cleaned" --by CM"""
    record = Cause(
        machine=plain_name(_("machine"), name),
        seen=seeing.read(book),
        what=plain_name(_("cause"), what),
        note=note,
    )
    answer(book, seeing.as_json, _("Cause at"), book.recording.site.record_cause(record))


@machine.command("repaired", cls=Command)
def machine_repaired(
    book: Book,
    name: str = argument(_("The machine."), complete.MACHINES),
    what: str = argument(_("What was done, in words.")),
    note: str = parse.NOTE,
    seeing: parse.SeenTyped = parse.SEEN,
) -> None:
    """Record a machine repaired: it may run otherwise from then on, and advice waits for a strip. Example: weldcal machine repaired blue "new element" --by CM"""
    machine_name, _listed = book.reader.listed("machines", name, _("machine"))
    record = Repair(
        machine=machine_name,
        seen=seeing.read(book),
        what=plain_name(_("repair"), what),
        note=note,
    )
    answer(book, seeing.as_json, _("Repair of"), book.recording.site.record_repair(record))


def _times(text: str | None, units: str) -> tuple[Quantity, ...]:
    """The times of the runs; a second and a third are asked for where somebody is there."""
    if not text:
        return ()
    runs = list(read_many("seconds", text, units))
    while len(runs) < RUNS_LEAST and interactive():
        again = ask(
            _("The same travel again, run {n} of 3", n=len(runs) + 1),
            lambda typed: read("seconds", typed, units),
            left_out=_("Enter: not run again"),
        )
        if again is None:
            break
        runs.append(again)
    return tuple(runs)


@machine.command("drift", cls=Command)
def machine_drift(
    book: Book,
    name: str = argument(_("The machine."), complete.MACHINES),
    as_json: bool = JSON,
) -> None:
    """Show a machine's measurements, whether it has drifted, and the seams that concerns. Example: weldcal machine drift blue"""
    from weldcal.reports import measured

    machine_name, _listed = book.reader.listed("machines", name, _("machine"))
    drift = book.judging.drift(machine_name)
    heats = book.judging.heat_checks(machine_name)
    if as_json:
        print_json(measured.document(drift, heats))
        return
    print_all(measured.page(drift, heats, book.job.units))


outliving.add_to(machine, "machine", complete.MACHINES)
