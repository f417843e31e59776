"""Conditions as the operator reads them: what is asked, and what still counts.

Invariant: a reading over its limit is kept by a word, never by Enter alone.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator

from msgspec.structs import replace

from weldcal.errors import WeldcalError
from weldcal.flow.question import Given, Question, Words, command, got, seen_at
from weldcal.records.day import Day, Reading
from weldcal.records.fields import read
from weldcal.words import mark

_SI = {"nozzle": "C", "distance": "m", "humidity": "%"}
_FRESH_H = 0.25  # read so lately, nobody is asked whether it still is so
_WEATHER = (
    ("ambient", "ambient"),
    ("sheet_temp", "sheet_temp"),
    ("wind", "wind"),
    ("humidity", "humidity"),
)
_VOLTS = "line_voltage"
_READ = (*(name for name, _field in _WEATHER), _VOLTS, "damp")
_HUMID_PCT = 85.0  # from here a sheet is looked at for damp (site setting, no source)


def _condition(day: Day, name: str, field: str) -> Question:
    last = next((r for r in day.read if r.name == name), None)
    return Question(
        name,
        "value",
        field,
        optional=True,
        carried=last is not None,
        default=last.text if last else None,
        values={"age_h": last.age_h} if last else {},
    )


def _condition_again(day: Day, name: str, field: str) -> Question:
    """A condition where it changed: one read too long ago is kept by a word, not by Enter."""
    asked = _condition(day, name, field)
    if not asked.carried:
        return asked
    again = replace(asked, choices=(mark("same"),))
    if not any(reading.name == name for reading in _too_old(day)):
        return again
    told = {**asked.values, "was": asked.default}
    return replace(again, carried=False, optional=False, default=None, values=told)


def typed(given: Given) -> dict[str, str | None]:
    """What was read just now, by name."""
    return {name: got(given, name) for name, _field in _WEATHER}


def questions(day: Day, given: Given) -> Iterator[Question]:
    """The conditions, each left out by Enter; voltage and damp only where they may matter."""
    for name, field in _WEATHER:
        yield _condition(day, name, field)
    if day.volts_read:  # who read it once wants to know of it again
        yield _condition(day, _VOLTS, _VOLTS)
    if _may_be_damp(day, given):
        yield Question("damp", "choice", choices=("yes", "no"), optional=True)
    if any(got(given, name) for name in _READ):
        yield Question("confirm_conditions")


def _may_be_damp(day: Day, given: Given) -> bool:
    """Whether the sheet has to be looked at for damp: humid air, or it was noted damp before."""
    share = si("humidity", got(given, "humidity") or "", day.units)
    return day.damp or (share is not None and share >= _HUMID_PCT)


def questions_words(day: Day, given: Given) -> Words:
    """The command that records what was read; none where nothing was."""
    told = {name: got(given, name) for name in _READ}
    if not any(told.values()):
        return []
    first = next(a.at for a in given if a.text is not None)
    return [command("conditions", **told, at=seen_at(day, first))]


def still(day: Day, given: Given) -> Iterator[Question]:
    """Whether readings of a while ago still are so; where not, each of them."""
    if any(reading.age_h > _FRESH_H for reading in day.read):
        usual = None if _too_old(day) else "yes"
        fresh = tuple(
            name for name, _field in _WEATHER if not any(r.name == name for r in _too_old(day))
        )
        told = {"read": day.read, "fresh": fresh}
        yield Question("still", "choice", choices=("yes", "no"), default=usual, values=told)
        if got(given, "still") == "no":
            yield from (_condition_again(day, name, field) for name, field in _WEATHER)


def _old(day: Day, reading: Reading) -> bool:
    """Whether a reading is too old for Enter alone to say that it still is so."""
    return reading.age_h > day.read_h


def _too_old(day: Day) -> tuple[Reading, ...]:
    return tuple(reading for reading in day.read if _old(day, reading))


def sheet_old(day: Day) -> bool:
    """Whether the sheet (the air, where nobody reads the sheet) was read too long ago."""
    ages = {reading.name: reading for reading in day.read}
    sheet = ages.get("sheet_temp") or ages.get("ambient")
    return sheet is not None and _old(day, sheet)


def si(field: str, text: str, units: str) -> float | None:
    """A value in SI; None where a word stands in its place, as where nobody was asked yet."""
    with contextlib.suppress(WeldcalError):
        return read(field, text, units).si(_SI[field])
    return None
