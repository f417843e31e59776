"""A day as the guided flow needs it: what the book says of it.

Invariant: nothing here is an entry. A `Day` is read from the book and thrown away.
Values are text as a person would type it in the job's units.
"""

from __future__ import annotations

from typing import Any

from msgspec import Struct


class LastReading(Struct, frozen=True):
    """A condition last read: its name, text with unit, and age."""

    name: str
    text: str
    age_h: float


class ListedMachine(Struct, frozen=True):
    """A machine listed and the unit of its dial."""

    name: str
    unit: str


class TypedSetting(Struct, frozen=True):
    """A setting as typed before, to be used again."""

    machine: str
    sheet: str
    lap: str
    nozzle: str
    speed: str


class LastStrip(Struct, frozen=True):
    """The day's last strip: what keeps it from being a go-ahead, as codes."""

    name: str
    short: tuple[str, ...]


class GoAheadNow(Struct, frozen=True):
    """The newest go-ahead: good, look or strip_again, and why: (code, numbers)."""

    name: str
    level: str
    setting: TypedSetting
    why: tuple[tuple[str, dict[str, Any]], ...] = ()


class DayLap(Struct, frozen=True):
    """A stretch of a seam: to weld, being welded, or to probe.

    Attributes:
        end: None where nobody said how long the seam is.
        run: the run being welded, or None.
        checks: bleed checks on it so far.
        by: who welded it.
        age_h: since it was welded.
        mended: the finding mended here and not probed again.
        outside: its newest bleed check was outside the limits.
        kind: the lap kind it is listed as, or None.
        by_hand: a detail, welded with a hand tool.
    """

    seam: str
    start: str
    end: str | None = None
    run: str | None = None
    checks: int = 0
    by: str | None = None
    age_h: float | None = None
    mended: str | None = None
    outside: bool = False
    kind: str | None = None
    by_hand: bool = False


class OpenFinding(Struct, frozen=True):
    """A finding nobody has mended."""

    name: str
    seam: str
    kind: str
    place: str


class Warned(Struct, frozen=True):
    """A run or cover that was warned of and not answered for."""

    run: str
    where: str
    codes: tuple[str, ...]


class DaySeal(Struct, frozen=True):
    """A seal of the day, and whether it was handed to somebody."""

    name: str
    handed: bool


class SpeedWanted(Struct, frozen=True):
    """What advice is wanted for: names, and values as typed.

    Attributes:
        nozzle: None where nobody set another than the last.
        weather: (condition, text) of what was read just now, for all else was read before.
    """

    machine: str
    sheet: str
    lap: str
    nozzle: str | None = None
    weather: tuple[tuple[str, str], ...] = ()


class Advised(Struct, frozen=True):
    """A setting advised: the speed as the dial shows it, the nozzle in the job's units.

    Attributes:
        speed: None where the verdict was STOP.
        wanted: what it was advised for.
    """

    speed: str | None
    nozzle: str | None
    wanted: SpeedWanted


class Watching(Struct, frozen=True):
    """Hot work ended whose watch is not stood in full.

    Attributes:
        until: when it is, by the clock.
        source: which permit or code asks for it.
        over: whether that time has come.
    """

    name: str
    until: str
    source: str
    over: bool


class Sample(Struct, frozen=True):
    """A place drawn for a peel sample and not cut yet."""

    seam: str
    at: str


class Joint(Struct, frozen=True):
    """A T-joint, and the lap it lies on with how far along, m."""

    name: str
    seam: str
    at_m: float


class Needs(Struct, frozen=True, kw_only=True):
    """What a day needs besides strips and laps, as far as it is due.

    Attributes:
        lots: roll lots known.
        new_roll: a new roll is likely begun at the next lap.
        hand_strip: the next lap is welded by hand, and no hand strip of this person stands.
        hot_work: hot work begun and not ended.
        watch: hot work whose watch is not stood.
        samples: places drawn and not cut.
        joints: T-joints on laps.
        covers: whether the next ply hides laps on this job.
        start_up: lines of the start-up list still open before the first lap, like 1-3,7.
    """

    lots: tuple[str, ...] = ()
    new_roll: bool = False
    hand_strip: bool = False
    hot_work: str | None = None
    watch: Watching | None = None
    samples: tuple[Sample, ...] = ()
    joints: tuple[Joint, ...] = ()
    covers: bool = False
    start_up: str | None = None


class ListedPerson(Struct, frozen=True):
    """Somebody on the job and what they do: operator, inspector, foreman, or None.

    Attributes:
        initials: as listed; None where none are.
    """

    name: str
    role: str | None
    initials: str | None = None


class Day(Struct, frozen=True, kw_only=True):
    """The day as the book has it; what a role has no use for is left empty.

    Attributes:
        now: the present, ISO 8601 on the job's clock; `date` is the job's own day.
        tick: of the last entry the book holds.
        job: its name; None where there is none yet.
        typist: who a plain command takes for the person typing.
        by_bond: sheets whose strips need no readings of bleed-out.
        hot: whether hot air was used today already.
        hidden: seams the next ply hides that were not probed clean.
        warm: seams not cold enough to be probed, each with the time from which it is.
        read_h: hours after which a reading is too old to be taken on trust.
        volts_read: whether anybody ever read the voltage on this job.
        damp: whether the sheet was last noted damp.
        advised: the setting advised for how things stand; None where nothing was, or it is out of date.
    """

    now: str
    date: str
    tick: int = 0
    job: str | None = None
    units: str = "us"
    zone: str = "UTC"
    typist: str | None = None
    people: tuple[ListedPerson, ...] = ()
    machines: tuple[ListedMachine, ...] = ()
    sheets: tuple[str, ...] = ()
    laps: tuple[str, ...] = ()
    by_bond: tuple[str, ...] = ()
    read: tuple[LastReading, ...] = ()
    read_h: float = 2.0
    volts_read: bool = False
    damp: bool = False
    last: TypedSetting | None = None
    hot: bool = False
    strip: LastStrip | None = None
    waiting: tuple[str, ...] = ()
    standing: GoAheadNow | None = None
    advised: Advised | None = None
    welding: tuple[DayLap, ...] = ()
    to_weld: tuple[DayLap, ...] = ()
    seams: int = 0
    to_probe: tuple[DayLap, ...] = ()
    hidden: tuple[str, ...] = ()
    warm: tuple[tuple[str, str], ...] = ()
    findings: tuple[OpenFinding, ...] = ()
    warned: tuple[Warned, ...] = ()
    needs: Needs = Needs()
    seal: DaySeal | None = None
