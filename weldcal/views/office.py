"""What the office's pages show."""

from __future__ import annotations

from msgspec import Struct

from weldcal.quality.history_rows import FaultsOf


class PackedJob(Struct, frozen=True):
    """A job as a pack names it; `people` are those it lists or who typed."""

    id: str
    name: str
    people: tuple[str, ...]


class PackTaken(Struct, frozen=True):
    """A pack taken in.

    Attributes:
        file: its name in the folder.
        book: the name of the office's book that holds it.
        new, known, photos: entries taken in, those that were here already, photos taken in.
        forks: places that two entries take.
    """

    file: str
    book: str
    new: int
    known: int
    photos: int
    forks: int


class Refused(Struct, frozen=True):
    """A file of which nothing was taken in, and why."""

    file: str
    why: str


class Stranger(Struct, frozen=True):
    """A whole pack in which nothing is known here: no job, no device, no person."""

    file: str
    jobs: tuple[PackedJob, ...]
    people: tuple[str, ...]


class PeopleGroup(Struct, frozen=True):
    """Books that share people, and share nobody with any other."""

    books: tuple[str, ...]
    jobs: tuple[str, ...]
    people: tuple[str, ...]


class CameIn(Struct, frozen=True):
    """What a folder of packs came to.

    Attributes:
        before: packs of the folder that were here already.
        missing: (device, first, last) entries that another pack must bring.
        groups: filled where the office was empty before: more than one may mean two firms.
        others: files of the folder that are no packs.
        jobs: how many the office holds now.
    """

    taken: tuple[PackTaken, ...]
    before: int
    refused: tuple[Refused, ...]
    strangers: tuple[Stranger, ...]
    missing: tuple[tuple[str, int, int], ...]
    groups: tuple[PeopleGroup, ...]
    others: tuple[str, ...]
    jobs: int


class Filled(Struct, frozen=True):
    """What filling the lake came to, in jobs.

    Attributes:
        written, unchanged: written again, and left as they were.
        mended: of the first, those that were not whole.
        jobs: in the lake now.
        unread: books that cannot be read; their jobs' tables are as they were.
    """

    written: int
    unchanged: int
    mended: int
    jobs: int
    unread: tuple[Refused, ...] = ()


class Off(Struct, frozen=True):
    """How far a machine's dial or nozzle is off, %, in the last month it was measured.

    Attributes:
        n: measurements of that month; median_pct, least_pct, most_pct: of them.
        before: the month before that it was measured in, and its median; None where there is none.
    """

    month: str
    n: int
    median_pct: float
    least_pct: float
    most_pct: float
    before: tuple[str, float] | None


class OfficeMachine(Struct, frozen=True):
    """A machine over all jobs; `measured` is the day it was last measured."""

    name: str
    jobs: int
    last_day: str
    strips: int
    passed: int
    measured: str | None
    dial: Off | None
    nozzle: Off | None


class SpeedBand(Struct, frozen=True):
    """Go-ahead strips within 5 °C of a temperature, how many, and between which speeds 9 of 10 lie."""

    temperature_c: float
    n: int
    m_per_min: float
    low: float
    high: float


class OfficeSheet(Struct, frozen=True):
    """A sheet and lap kind over all jobs.

    Attributes:
        n: go-ahead strips with a temperature and a speed.
        pct_per_k: speed per kelvin, % with its 95 % interval; None where there are too few.
        bands: its window by temperature, where strips were made.
        mornings, median_strips: days it was tried on, strips to the first go-ahead.
    """

    name: str
    lap: str
    jobs: int
    n: int
    pct_per_k: tuple[float, float, float] | None
    bands: tuple[SpeedBand, ...]
    mornings: int
    median_strips: float | None


class CrewRow(Struct, frozen=True):
    """A person who welds, compared with the others on like work.

    Attributes:
        probed_m, alone_m: exposure, and of it what nobody else's work compares with.
        per_100ft, low, high: faults on like work with the 95 % interval.
        flag: as `quality.faults.Rate`.
        level: ratio to all, pulled in as far as chance may have made it, with its 90 % interval.
    """

    name: str
    probed_m: float
    alone_m: float
    faults: int
    per_100ft: float
    low: float
    high: float
    flag: str | None
    level: tuple[float, float, float]


class CrewsBeside(Struct, frozen=True):
    """People who weld, compared; `dispersion` is how faults clump."""

    rows: tuple[CrewRow, ...]
    dispersion: float


class OfficeRoof(Struct, frozen=True):
    """A roof that needs somebody, and for what."""

    name: str
    last_day: str | None
    machines_out: str
    open: int
    mended: int
    unprobed_m: float
    warnings: int
    conflicts: int


class LineRow(Struct, frozen=True):
    """What a sheet's strips say of its speed at a temperature, before a day and with those since."""

    name: str
    lap: str
    new: int
    temperature_c: float
    before: tuple[int, float, float, float] | None
    now: tuple[int, float, float, float] | None


class RefitRow(Struct, frozen=True):
    """A machine on a sheet: the right speed at the reference conditions with its 90 % interval."""

    machine: str
    sheet: str
    jobs: int
    strips: int
    m_per_min: tuple[float, float, float]


class Refitted(Struct, frozen=True):
    """What refitting came to.

    Attributes:
        groups: machines with sheets; done: of them, refitted now.
        lost: workers lost on the way.
        failed: groups whose every worker was lost.
    """

    groups: int
    done: int
    lost: int
    failed: tuple[str, ...]


class RatesWhen(FaultsOf):
    """A fault rate, `before` a day or `since`."""

    when: str


class Season(Struct, frozen=True):
    """What was done and learnt since a day.

    Attributes:
        welded_again_m: of `welded_m`, what an earlier run had welded.
        rates: fault rates before and since.
        findings: (kind, how many), the most first.
        refits: of each machine on each sheet, as `weldcal office refit` left them.
    """

    since: str
    jobs: int
    strips: int
    passed: int
    welded_m: float
    welded_again_m: float
    rates: tuple[RatesWhen, ...]
    findings: tuple[tuple[str, int], ...]
    lines: tuple[LineRow, ...]
    refits: tuple[RefitRow, ...]
