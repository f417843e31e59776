"""The job and what belongs to it: areas, sheets, machines, instruments, people.

Invariant: everything is named by what it is in general (a sheet's reinforcement
and compound), and people by name and initials only.
"""

from __future__ import annotations

from itertools import pairwise

from msgspec import Struct

from weldcal.errors import BadDial, NotAChoice
from weldcal.quantities import Quantity
from weldcal.records.fields import choose
from weldcal.records.times import zone
from weldcal.words import _


class Job(Struct, frozen=True, kw_only=True):
    """One roof contract.

    Attributes:
        units: us or si, what a bare number means.
        zone: IANA time zone; a day is the job's own local day.
        day_begins: local hour at which the job's day begins (night shifts).
    """

    name: str
    units: str
    zone: str
    day_begins: int = 0
    place: str | None = None

    def __post_init__(self) -> None:
        """Refuse units, a zone or an hour that are none (NotAChoice)."""
        choose("units", self.units)
        zone(self.zone)
        if not 0 <= self.day_begins <= 23:
            raise NotAChoice(
                name=_("hour the day begins"), text=str(self.day_begins), allowed="0 … 23"
            )


class Area(Struct, frozen=True, kw_only=True):
    """A roof area: a rectangle, or only its name; `x` and `y` are its low corner, once laid out.

    `slope` is which way water runs on it, where somebody said: x+, x-, y+ or y-. `over` is the
    area that it lies over as the next ply; None for the first ply.
    """

    name: str
    length: Quantity | None = None
    width: Quantity | None = None
    x: Quantity | None = None
    y: Quantity | None = None
    slope: str | None = None
    over: str | None = None


class Sheet(Struct, frozen=True, kw_only=True):
    """The membrane product class being lapped.

    `judged_by` is "bleed-out" for bituminous sheets, "bond" for those whose
    perfect lap may show none. `peel_least` is the least load per width that its data sheet
    declares for the lap, `peel_source` that document.
    """

    name: str
    description: str | None = None
    judged_by: str = "bleed-out"
    thickness: Quantity | None = None
    roll_width: Quantity | None = None
    roll_length: Quantity | None = None
    peel_least: Quantity | None = None
    peel_source: str | None = None


class DialMark(Struct, frozen=True, kw_only=True):
    """A mark of the dial tied to a measured speed (distance over seconds)."""

    mark: Quantity
    speed: Quantity


class Machine(Struct, frozen=True, kw_only=True):
    """The hot-air welder.

    Attributes:
        dial: unit its dial shows: ft/min, m/min, or mark for bare numbers.
        dial_low, dial_high, dial_step: what the dial can be set to.
        nozzle_low, nozzle_high: nozzle temperatures it may be set to.
        marks: dial marks tied to measured speeds.
    """

    name: str
    dial: str
    dial_low: Quantity
    dial_high: Quantity
    dial_step: Quantity
    nozzle_low: Quantity
    nozzle_high: Quantity
    rated_voltage: Quantity | None = None
    marks: tuple[DialMark, ...] = ()

    def __post_init__(self) -> None:
        """Refuse a dial that cannot be set or read.

        Raises:
            BadDial: says what is wrong.
        """
        low, high, step = (q.number for q in (self.dial_low, self.dial_high, self.dial_step))
        ordered = sorted((m.mark.number, m.speed.to("m/min")) for m in self.marks)
        why = None
        if step <= 0 or not low < high or (high - low) / step > _MOST_STEPS:
            why = _("its dial must run from low to high in steps above 0")
        elif self.nozzle_low.to("C") >= self.nozzle_high.to("C"):
            why = _("its nozzle range must run from low to high")
        elif any(a[0] == b[0] or a[1] >= b[1] for a, b in pairwise(ordered)):
            why = _("each mark needs one speed, and higher marks higher speeds")
        if why:
            raise BadDial(name=self.name, why=why, example='"blue: ft/min 1-20 step 0.5"')


_MOST_STEPS = 2000


class Instrument(Struct, frozen=True, kw_only=True):
    """Thermometer, tape, stopwatch, tensile tester.

    `checked` is the date of its last check, `due` the date until which that holds.
    """

    name: str
    kind: str
    checked: str | None = None
    due: str | None = None


class Person(Struct, frozen=True, kw_only=True):
    """Somebody on the job: name, initials, what they do."""

    name: str
    initials: str | None = None
    role: str | None = None
