"""What is recorded of the site besides laps: measured machines, hot work, cover-up, leaks.

Invariant: a watch's length is what the permit or local code says, never a default.
"""

from __future__ import annotations

from msgspec import Struct

from weldcal.quantities import Quantity
from weldcal.records.common import Seen
from weldcal.records.fields import check


class Measure(Struct, frozen=True, kw_only=True):
    """A machine measured: the true speed behind a dial mark, the air behind a nozzle setting.

    Attributes:
        mark: what the dial showed.
        distance, time: measured travel; the speed is their quotient.
        again: the times of the same travel, run again; the speed is of the mean of all.
        nozzle_set, nozzle_measured: nozzle temperature as set and as measured.
    """

    machine: str
    seen: Seen
    mark: Quantity | None = None
    distance: Quantity | None = None
    time: Quantity | None = None
    again: tuple[Quantity, ...] = ()
    nozzle_set: Quantity | None = None
    nozzle_measured: Quantity | None = None
    note: str | None = None

    def __post_init__(self) -> None:
        """Refuse a travel or time that cannot be measured (OutOfRange)."""
        times = (("seconds", time) for time in self.again)
        for field, value in (("travel", self.distance), ("seconds", self.time), *times):
            if value is not None:
                check(field, value)


class HotWork(Struct, frozen=True, kw_only=True):
    """Hot work begun: its permit, what stands ready, what lies beneath.

    Attributes:
        permit: number of the permit.
        extinguisher: which, and where it stands.
        deck, facers, cavities: what they are made of.
        primer_wet: primer was still wet.
        watch: how long the permit or local code wants somebody to watch afterwards.
        watch_source: which permit or code says so.
    """

    name: str
    seen: Seen
    permit: str
    extinguisher: str
    deck: str
    facers: str | None = None
    cavities: str | None = None
    primer_wet: bool | None = None
    watch: Quantity
    watch_source: str
    note: str | None = None


class HotWorkEnd(Struct, frozen=True, kw_only=True):
    """Hot work ended; the watch begins."""

    seen: Seen


class Watch(Struct, frozen=True, kw_only=True):
    """The watch stood after hot work: until when, by whom (`seen`), what was seen."""

    seen: Seen
    found: str = "nothing"


class Hidden(Struct, frozen=True, kw_only=True):
    """A stretch of a seam that the next ply hides."""

    seam: str
    start: Quantity
    end: Quantity


class Cover(Struct, frozen=True, kw_only=True):
    """The next ply hides these seams.

    Attributes:
        seams: those hidden whole.
        stretches: of those hidden in part, what is hidden.
        unprobed: names of those not probed clean, as far as hidden, when they were hidden.
    """

    name: str
    seen: Seen
    area: str
    seams: tuple[str, ...]
    stretches: tuple[Hidden, ...] = ()
    unprobed: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()


class Repair(Struct, frozen=True, kw_only=True):
    """A machine repaired: what was done, "new element"; from then on it may run otherwise."""

    machine: str
    seen: Seen
    what: str
    note: str | None = None


class Cause(Struct, frozen=True, kw_only=True):
    """Why a machine's strips failed, as somebody found it, and what was done about it."""

    machine: str
    seen: Seen
    what: str
    note: str | None = None


class Leak(Struct, frozen=True, kw_only=True):
    """A leak reported at a place: from the plan's corner, seen inside or on the roof."""

    name: str
    seen: Seen
    x: Quantity
    y: Quantity
    where: str
    note: str | None = None


class DrawnPlace(Struct, frozen=True, kw_only=True):
    """A place drawn: seam, and distance from its zero end."""

    seam: str
    at: Quantity


class Draw(Struct, frozen=True, kw_only=True):
    """Places drawn at random for samples or probing, with the seed that draws them again.

    `stretches` are what they were drawn from, in order: seam, from, to.
    """

    name: str
    seen: Seen
    seed: int
    stretches: tuple[tuple[str, Quantity, Quantity], ...]
    places: tuple[DrawnPlace, ...]


class Embed(Struct, frozen=True, kw_only=True):
    """Granules embedded where an end lap is welded over them, and how."""

    seam: str
    seen: Seen
    how: str | None = None


class North(Struct, frozen=True, kw_only=True):
    """Where north lies on the plan, degrees clockwise from the plan's y; the one seen last counts."""

    seen: Seen
    degrees: Quantity


class OpenUp(Struct, frozen=True, kw_only=True):
    """A covered seam opened up: it can be looked at and probed again until it is covered anew."""

    name: str
    seam: str
    seen: Seen
    note: str | None = None
