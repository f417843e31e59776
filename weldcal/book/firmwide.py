"""What one job says to questions over all jobs, as rows: what the pages of that job rest on.

Invariant: nothing is judged here: strips by the job's own limits, faults by the run that welded
their place, seams by their state, each by the function that the job's own pages ask.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TypedDict, get_type_hints

import msgspec
from msgspec import Struct

from weldcal.book.fault_groups import groups_of
from weldcal.book.naming import class_of
from weldcal.book.seams import in_reach
from weldcal.book.trials import machine_out
from weldcal.book.whole import Book
from weldcal.quality.coverage import total
from weldcal.quality.made import MadeRun, MadeStrip, MadeWith
from weldcal.records.fields import same_name
from weldcal.row_types.listed import SeamRow, SheetRow
from weldcal.tables.columns import utc


class OfJob(TypedDict):
    """Of which job and day, on what machine and sheet: by name, and by the key names are found under."""

    id: str
    job: str
    day: str
    machine: str | None
    machine_key: str
    sheet: str | None
    sheet_key: str
    sheet_class: str


class MadeRow(OfJob):
    """What something was made or measured with.

    True speed and what the dial said; what the nozzle was set to and what it was.
    """

    lap: str | None
    seen_by: str
    person_key: str
    by_hand: int | None
    true_speed_m_per_min: float | None
    dial_m_per_min: float | None
    nozzle_c: float | None
    nozzle_measured_c: float | None


class ToldStrip(MadeRow):
    """A strip; `n` counts the job's in the order seen, `temperature_c` is the sheet's, else air's."""

    n: int
    passed: int
    temperature_c: float | None
    true_m_per_min: float | None


class ToldRun(MadeRow):
    """A run, with what was probed of it and the faults there.

    Of `welded_m`, `welded_again_m` lies where an earlier run had welded; of `probed_m`,
    `probed_welded_over_m` was welded over since.
    """

    welded_m: float
    welded_again_m: float
    probed_m: float
    probed_welded_over_m: float
    faults: int
    kind: str | None
    hour: str
    weather: str | None


class ToldMeasure(MadeRow):
    """A measurement."""

    by: str


class ObservedRow(OfJob):
    """A strip or check as the computation takes it; `body` is JSON."""

    body: str


class FirmRoof(TypedDict):
    """How a roof stands; `machines_out` are names, with commas between."""

    id: str
    job: str
    name: str
    units: str
    first_day: str | None
    last_day: str | None
    seams: int
    welded_m: float
    unprobed_m: float
    open: int
    mended: int
    warnings: int
    conflicts: int
    machines_out: str


class Facts(Struct, frozen=True):
    """What a job says, each in the order seen; named as the tables of `FACTS`."""

    told_strips: list[ToldStrip]
    told_runs: list[ToldRun]
    told_measures: list[ToldMeasure]
    observations: list[ObservedRow]
    roofs: list[FirmRoof]

    def rows(self, table: str) -> Sequence[Mapping[str, object]]:
        """The rows of a table.

        Args:
            table: of `FACTS`.
        """
        found: dict[str, Sequence[Mapping[str, object]]] = {
            "told_strips": self.told_strips,
            "told_runs": self.told_runs,
            "told_measures": self.told_measures,
            "observations": self.observations,
            "roofs": self.roofs,
        }
        return found[table]


def _columns(row: type) -> dict[str, type]:
    """Each column's type, None aside."""
    return {
        name: getattr(kind, "__args__", (kind,))[0] for name, kind in get_type_hints(row).items()
    }


FACTS: dict[str, dict[str, type]] = {
    "told_strips": _columns(ToldStrip),
    "told_runs": _columns(ToldRun),
    "told_measures": _columns(ToldMeasure),
    "observations": _columns(ObservedRow),
    "roofs": _columns(FirmRoof),
}


def facts(book: Book) -> Facts:
    """What a job says.

    Args:
        book: on that job.
    """
    past, job = book.looking_back.past(), book.job.id
    seams = {row["seam_key"]: row for row in reversed(book.roof.seams())}
    listed = book.reader.of_job(SheetRow)
    kinds = {row["name"]: class_of(row) for row in listed}
    return Facts(
        [_strip(one, n, _made_with(one, job, kinds)) for n, one in enumerate(past.strips)],
        [
            _run(run, seams.get(run.row["seam_key"]), _made_with(run, job, kinds))
            for run in past.runs
        ],
        [{**_made_with(measure, job, kinds), "by": measure.seen_by} for measure in past.measures],
        _observations(book, kinds),
        [_roof(book, past.strips, past.runs)],
    )


def _made_with(made: MadeWith, job: str, kinds: dict[str, str]) -> MadeRow:
    return {
        "id": made.id,
        "job": job,
        "day": made.day,
        "machine": made.machine,
        "machine_key": same_name(made.machine or ""),
        "sheet": made.sheet,
        "sheet_key": same_name(made.sheet or ""),
        "sheet_class": kinds.get(made.sheet or "", ""),
        "lap": made.lap,
        "seen_by": made.seen_by,
        "person_key": same_name(made.seen_by),
        "by_hand": made.by_hand,
        "true_speed_m_per_min": made.true_speed_m_per_min,
        "dial_m_per_min": made.dial_m_per_min,
        "nozzle_c": made.nozzle_c,
        "nozzle_measured_c": made.nozzle_measured_c,
    }


def _strip(strip: MadeStrip, n: int, made: MadeRow) -> ToldStrip:
    return {
        **made,
        "n": n,
        "passed": int(strip.passed),
        "temperature_c": strip.temperature_c,
        "true_m_per_min": strip.true_m_per_min,
    }


def _run(run: MadeRun, seam: SeamRow | None, made: MadeRow) -> ToldRun:
    groups = groups_of(run.row, seam, by_clock=False)
    return {
        **made,
        "welded_m": run.welded_m,
        "welded_again_m": run.again_m,
        "probed_m": run.probed_m,
        "probed_welded_over_m": run.over_m,
        "faults": run.faults,
        "kind": groups.get("kind"),
        "hour": groups["hour"],
        "weather": groups.get("weather"),
    }


def _observations(book: Book, kinds: dict[str, str]) -> list[ObservedRow]:
    """Strips and checks as the computation takes them, where bleed-out judges the sheet."""
    return [
        {
            "id": observation.id,
            "job": book.job.id,
            "day": observation.day,
            "machine": observation.machine,
            "machine_key": same_name(observation.machine),
            "sheet": observation.sheet,
            "sheet_key": same_name(observation.sheet),
            "sheet_class": kinds.get(observation.sheet, ""),
            "body": msgspec.json.encode(observation).decode(),
        }
        for observation in book.observing.observations()
        if book.limits.acceptance(observation.sheet).by_bleed_out
    ]


def _roof(book: Book, strips: list[MadeStrip], runs: list[MadeRun]) -> FirmRoof:
    """How the roof stands, in a few numbers."""
    seams, job = book.roof.view(), book.job
    days = sorted({facts_of.day for facts_of in (*strips, *runs)})
    last = max((strip.seen_utc for strip in strips), default=utc(book.now().isoformat()))
    machines = dict.fromkeys((strip.machine, bool(strip.by_hand)) for strip in strips)
    out = [
        name
        for name, hand in machines
        if machine_out(book.reader, book.limits, book.strips, name, last, by_hand=hand)
    ]
    return {
        "id": job.id,
        "job": job.id,
        "name": job.name,
        "units": job.units,
        "first_day": days[0] if days else None,
        "last_day": days[-1] if days else None,
        "seams": len(seams),
        "welded_m": sum(seam["state"].welded_m for seam in seams),
        "unprobed_m": sum(total(in_reach(seam)) for seam in seams),
        "open": sum(len(seam["state"].open) for seam in seams),
        "mended": sum(len(seam["state"].mended) for seam in seams),
        "warnings": len(book.roof.warnings()),
        "conflicts": len(book.roof.conflicts()),
        "machines_out": ", ".join(out),
    }
