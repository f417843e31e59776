"""Conditions as the operator reads them: what is asked, and what still counts.

Invariant: a reading over its limit is kept by a word, never by Enter alone.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator

from msgspec import Struct
from msgspec.structs import replace

from weldcal.errors import WeldcalError
from weldcal.flow.question import Call, Calls, Given, Question, Step, got
from weldcal.records.day import Day, LastReading
from weldcal.records.examples import example
from weldcal.records.fields import read
from weldcal.words import mark

_SI = {"nozzle": "C", "distance": "m", "humidity": "%", "wind": "m/s", "ambient": "C"}
_FRESH_H = 0.25  # read so lately, nobody is asked whether it still is so
_WINDY_M_PER_S = 6.5  # from here gusts are asked for: half of what stops work (site setting)
_COLD_C = 10.0  # up to here a roll's temperature is asked for: it has to be warmer (`STOPS`)
_HUMID_PCT = 85.0  # from here a sheet is looked at for damp (site setting, no source)


class WeatherRead(Struct, frozen=True):
    """A condition that is read: its name, which is its field and option too, and its question.

    Its help may show something to type: `like` is which of `records.examples`.
    """

    name: str
    asks: str
    means: str = ""
    like: str = ""

    def question(self, day: Day, *, seen: bool = False) -> Question:
        """Left out by Enter; where it was read before, carried over by Enter."""
        last = next((r for r in day.read if r.name == self.name), None)
        return Question(
            self.name,
            "value",
            self.asks,
            self.means,
            field=self.name,
            option=f"--{self.name.replace('_', '-')}",
            seen=seen,
            optional=True,
            carried=last is not None,
            default=last.text if last else None,
            age_h=last.age_h if last else None,
            values={"like": example(self.like, day.units)} if self.like else {},
        )


_WEATHER = (
    WeatherRead("ambient", mark("Air"), mark("In the shade, away from the machine.")),
    WeatherRead(
        "sheet_temp",
        mark("Sheet's surface"),
        mark("On the sheet itself, in the sun if it lies in the sun."),
    ),
    WeatherRead("wind", mark("Wind")),
    WeatherRead("humidity", mark("Relative humidity")),
)
_GUST = WeatherRead(
    "gust", mark("Gusts"), mark("The strongest you feel or read, like {like}."), "gust"
)
_ROLL = WeatherRead(
    "roll_temp",
    mark("A roll before it is laid out"),
    mark("On the roll itself. Cold rolls crack and bond badly."),
)
VOLTS = WeatherRead(
    "line_voltage",
    mark("Voltage at the machine, under load"),
    mark("While the machine heats. A low one takes heat away: look at the cord."),
)


def _again(day: Day, condition: WeatherRead) -> Question:
    """A condition where it changed: one read too long ago is kept by a word, not by Enter."""
    asked = condition.question(day)
    if not asked.carried:
        return asked
    again = replace(asked, choices=(mark("same"),))
    if not any(reading.name == condition.name for reading in _too_old(day)):
        return again
    return replace(again, carried=False, optional=False, default=None, was=asked.default)


def typed(given: Given) -> dict[str, str | None]:
    """What was read just now, by name."""
    return {condition.name: got(given, condition.name) for condition in _WEATHER}


def _conditions(day: Day, given: Given) -> Iterator[Question]:
    """The conditions, each left out by Enter; voltage and damp only where they may matter."""
    asked = [condition.question(day, seen=True) for condition in _WEATHER]
    asked += [condition.question(day, seen=True) for condition in _asked_too(day, given)]
    if day.volts_read:  # who read it once wants to know of it again
        asked += volts(day, given)
    if _may_be_damp(day, given):
        asked.append(_DAMP)
    yield from asked
    if any(got(given, question.code) for question in asked):
        yield Question("confirm_conditions", asks=mark("Enter records the conditions"))


_DAMP = Question(
    "damp",
    "choice",
    mark("Is the sheet damp"),
    mark("Dew, rain, frost or a wet film anywhere on the lap: yes. Then nobody welds on it."),
    option="--damp",
    seen=True,
    choices=("yes", "no"),
    optional=True,
)


def volts(day: Day, given: Given, asks: str = VOLTS.asks) -> Iterator[Question]:
    """The voltage; where it was read, what feeds the machine."""
    yield replace(VOLTS.question(day, seen=True), asks=asks)
    if got(given, VOLTS.name):
        yield _SUPPLY


_SUPPLY = Question(
    "supply",
    "text",
    mark("Fed by, like generator 2 or mains"),
    mark("Another generator or another cord is a reason to read the voltage again."),
    option="--supply",
    optional=True,
)


def _asked_too(day: Day, given: Given) -> Iterator[WeatherRead]:
    """Gusts where it blows; a roll's own temperature where it is cold."""
    wind, air = (_now(day, given, name) for name in ("wind", "ambient"))
    if wind is not None and wind >= _WINDY_M_PER_S:
        yield _GUST
    if air is not None and air <= _COLD_C:
        yield _ROLL


def _now(day: Day, given: Given, name: str) -> float | None:
    """A condition as typed just now, SI; None where it was not."""
    return si(name, got(given, name) or "", day.units)


def _may_be_damp(day: Day, given: Given) -> bool:
    """Whether the sheet has to be looked at for damp: humid air, or it was noted damp before."""
    share = si("humidity", got(given, "humidity") or "", day.units)
    return day.damp or (share is not None and share >= _HUMID_PCT)


def recorded_of(call: Call, *options: str) -> Call:
    """The reading among a call's options, as a command of its own."""
    return Call("conditions", (), {k: v for k, v in call.options.items() if k in options})


def _recorded(day: Day, given: Given, call: Call) -> Calls:
    """What was read is recorded; where nothing was, nothing."""
    return (call,) if call.options else ()


CONDITIONS = Step(
    mark("conditions"),
    mark("air, sheet, wind as read now"),
    _conditions,
    "conditions",
    ("conditions",),
    _recorded,
    skips=True,
    dated=True,
)


def still(day: Day, given: Given) -> Iterator[Question]:
    """Whether readings of a while ago still are so; where not, each of them."""
    if any(reading.age_h > _FRESH_H for reading in day.read):
        old = {reading.name for reading in _too_old(day)}
        yield Question(
            "still",
            "choice",
            mark("Still so? {read}"),
            mark(
                "Yes: the readings are carried over with their age. No: each is asked for. Old "
                "readings need a look: Enter alone does not say yes."
            ),
            choices=("yes", "no"),
            default=None if old else "yes",
            fresh=tuple(condition.name for condition in _WEATHER if condition.name not in old),
            values={"read": day.read},
        )
        if got(given, "still") == "no":
            yield from (_again(day, condition) for condition in _WEATHER)


def _old(day: Day, reading: LastReading) -> bool:
    """Whether a reading is too old for Enter alone to say that it still is so."""
    return reading.age_h > day.read_h


def _too_old(day: Day) -> tuple[LastReading, ...]:
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
