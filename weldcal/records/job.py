"""The job and what belongs to it: areas, sheets, machines, instruments, people.

Invariant: everything is named by what it is in general (a sheet's reinforcement
and compound), and people by name and initials only.
"""

from __future__ import annotations

from msgspec import Struct

from weldcal.quantities import Quantity


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


class Area(Struct, frozen=True, kw_only=True):
    """A roof area: a rectangle, or only its name."""

    name: str
    length: Quantity | None = None
    width: Quantity | None = None


class Sheet(Struct, frozen=True, kw_only=True):
    """The membrane product class being lapped.

    `judged_by` is "bleed-out" for bituminous sheets, "bond" for those whose
    perfect lap may show none.
    """

    name: str
    description: str | None = None
    judged_by: str = "bleed-out"
    thickness: Quantity | None = None
    roll_width: Quantity | None = None
    roll_length: Quantity | None = None


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


class Instrument(Struct, frozen=True, kw_only=True):
    """Thermometer, tape, stopwatch, tensile tester; `checked` is its last check date."""

    name: str
    kind: str
    checked: str | None = None


class Person(Struct, frozen=True, kw_only=True):
    """Somebody on the job: name, initials, what they do."""

    name: str
    initials: str | None = None
    role: str | None = None
