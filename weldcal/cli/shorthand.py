"""Short forms of what a job is made of: `blue: ft/min 1-20 step 0.5`.

Invariant: one text makes one record, or is refused with the form it should have.
"""

from __future__ import annotations

import re
from datetime import date

from weldcal.errors import Missing, NotADay
from weldcal.quantities import Quantity
from weldcal.records import job as records
from weldcal.records.examples import example
from weldcal.records.fields import plain_name, read
from weldcal.words import _


def _head(text: str, label: str) -> tuple[str, str]:
    name, _colon, rest = text.partition(":")
    return plain_name(label, name), rest.strip()


def area(text: str, units: str) -> records.Area:
    """A roof area: `A 60ft x 40ft`."""
    match = re.fullmatch(r"(.+?)[:\s]+([\d][^x×]*)[x×](.+)", text.strip())
    if not match:
        return records.Area(name=plain_name(_("area"), text))
    return records.Area(
        name=plain_name(_("area"), match[1]),
        length=read("length", match[2], units),
        width=read("length", match[3], units),
    )


def sheet(text: str) -> records.Sheet:
    """A sheet: `base: polyester SBS`."""
    name, rest = _head(text, _("sheet"))
    return records.Sheet(name=name, description=rest or None)


def machine(
    text: str,
    units: str,
    nozzles: str | None = None,
    volts: str | None = None,
    marks: list[str] | None = None,
) -> records.Machine:
    """A machine: `blue: ft/min 1-20 step 0.5`."""
    name, rest = _head(text, _("machine"))
    match = re.fullmatch(
        r"(?P<dial>ft/min|m/min|marks?)?\s*(?:(?P<low>[\d.]+)\s*-\s*(?P<high>[\d.]+))?\s*(?:step\s*(?P<step>[\d.]+))?",
        rest,
    )
    if match is None:
        raise Missing(name=_("dial"), option=_("it"), example=example("machine", units))
    dial = (match["dial"] or ("ft/min" if units == "us" else "m/min")).rstrip("s")
    usual = {
        "ft/min": ("1", "25", "0.5"),
        "m/min": ("0.3", "7.5", "0.1"),
        "mark": ("1", "10", "0.5"),
    }[dial]
    low, high, step = (
        _number(match[key] or default, dial)
        for key, default in zip(("low", "high", "step"), usual, strict=True)
    )
    ends = (nozzles or "100C-620C").split("-")
    if len(ends) != 2:
        raise Missing(
            name=_("nozzle range"), option="--nozzle-range", example=example("nozzle range", units)
        )
    return records.Machine(
        name=name,
        dial=dial,
        dial_low=low,
        dial_high=high,
        dial_step=step,
        nozzle_low=read("nozzle", ends[0], units),
        nozzle_high=read("nozzle", ends[1], units),
        rated_voltage=read("line_voltage", volts, units) if volts else None,
        marks=tuple(_mark(one, units) for one in marks or ()),
    )


def _number(text: str, unit: str) -> Quantity:
    return read("mark" if unit == "mark" else "speed", text, "us", unit)


def _mark(text: str, units: str) -> records.DialMark:
    mark, equals, speed = text.partition("=")
    if not equals:
        raise Missing(name=_("measured speed"), option="--mark", example=example("mark", units))
    return records.DialMark(mark=read("mark", mark, units), speed=read("speed", speed, units))


def instrument(text: str) -> records.Instrument:
    """An instrument: `tape 1: tape, checked 2026-05-01, due 2027-05-01`."""
    name, rest = _head(text, _("instrument"))
    kind, *dates = (part.strip() for part in rest.split(","))
    found = {}
    for part in dates:
        word, _space, day = part.partition(" ")
        if word not in ("checked", "due") or not _is_day(day.strip()):
            raise NotADay(name=name, text=part)
        found[word] = day.strip()
    return records.Instrument(name=name, kind=kind or name, **found)


def _is_day(text: str) -> bool:
    """Whether a text is a day of the calendar, written 2026-05-01."""
    try:
        return bool(re.fullmatch(r"\d{4}-\d\d-\d\d", text)) and bool(date.fromisoformat(text))
    except ValueError:
        return False


def person(text: str) -> records.Person:
    """A person: `Ana Ruiz: AR, operator`."""
    name, rest = _head(text, _("person"))
    initials, _comma, role = rest.partition(",")
    return records.Person(name=name, initials=initials.strip() or None, role=role.strip() or None)


def limit(text: str, units: str) -> tuple[str, str, str]:
    """A limit's name, value and source: `bleed_high 3/8in: maker sheet rev 4`."""
    value, colon, source = text.partition(":")
    name, _space, number = value.strip().partition(" ")
    if not (colon and number):
        raise Missing(name=_("source"), option="--limit", example=example("limit", units))
    return name, number, source
