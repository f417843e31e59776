"""Which run a fault belongs to, and how much of a run was probed.

Invariant: a fault is attributed to the last run begun at its place before it was found,
never to one that welded the place again; and it counts in a rate only where the
lap was probed, for lap that nobody probed is not clean lap.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from typing import TypedDict

from msgspec import Struct

from weldcal.book.hiding import Spell, in_reach, spells_of
from weldcal.book.job_reader import AS_SEEN, JobReader
from weldcal.book.limits import Limits
from weldcal.quality.coverage import Stretch, covers, minus, ordered, total, union
from weldcal.quality.faults import ProbedPiece
from weldcal.quality.welded_over import after, stretches
from weldcal.row_types.work import FindingRow, RunRow
from weldcal.rules.cold import probes
from weldcal.rules.on_seam import Tolerances
from weldcal.rules.welded import Moment, by_seam, moment, run_that_welded

# Cuts for samples are made on purpose.
SAMPLE = "sample cut"


class _Walk(TypedDict):
    """The columns of a walk that say which lap it probed."""

    seam_key: str
    start_m: float
    end_m: float
    seen_utc: str
    started_utc: str | None
    entered_utc: str
    tick: int


class Laid(Struct, frozen=True):
    """A fault attributed to the run that welded its place.

    Attributes:
        fault: its row.
        run: the row of the run; None where no run had been there.
        on_probed: it lies on lap of that run that was probed.
    """

    fault: FindingRow
    run: RunRow | None
    on_probed: bool


class Faulted(Struct, frozen=True):
    """Runs with the lengths probed, and the faults attributed to them.

    Attributes:
        probed_m: how much of each run was probed, m, by its id.
        over_m: how much of that was welded over since.
        faults: in the order seen.
    """

    probed_m: dict[str, float]
    over_m: dict[str, float]
    faults: list[Laid]

    def on_probed(self) -> Counter[str]:
        """How many faults lie on probed lap of each run, by its id."""
        return Counter(fault.run["id"] for fault in self.faults if fault.run and fault.on_probed)


def faults_on_runs(reader: JobReader, limits: Limits, runs: list[RunRow]) -> Faulted:
    """Attribute the faults of a job to the runs that welded their places.

    Args:
        reader, limits: of the job.
        runs: the runs to lay faults to, in the order seen.
    """
    spells = spells_of(reader)
    walks = by_seam(
        [
            part
            for walk in reader.part(_Walk, "walks")
            for part in _in_reach(walk, spells.get(walk["seam_key"], []))
        ]
    )
    slack, cold_from = limits.tolerances(), limits.cooling()
    on_seam = by_seam(runs)
    probed = {
        run["id"]: _probed(
            run,
            cold_from(run["finished_utc"]),
            walks.get(run["seam_key"], []),
            on_seam[run["seam_key"]],
            slack,
        )
        for run in runs
    }
    placed = []
    for fault in reader.of_job(FindingRow, f"AND kind <> ? {AS_SEEN}", SAMPLE):
        middle = (fault["start_m"] + fault["end_m"]) / 2
        near = slack.at(fault["seen_utc"])
        run = run_that_welded(on_seam.get(fault["seam_key"], []), middle, moment(fault), near)
        stretches = probed[run["id"]] if run else []
        placed.append(Laid(fault, run, covers(stretches, (middle, middle), near)))
    over = {
        run["id"]: total(probed[run["id"]]) - total(minus(probed[run["id"]], again))
        if (again := [stretch for _when, stretch in _again(run, on_seam[run["seam_key"]])])
        else 0.0
        for run in runs
    }
    return Faulted({key: total(parts) for key, parts in probed.items()}, over, placed)


def _in_reach(walk: _Walk, spells: Sequence[Spell]) -> list[_Walk]:
    """The parts of a walk that nothing hid then."""
    place = ordered(walk["start_m"], walk["end_m"])
    return [
        {**walk, "start_m": low, "end_m": high}
        for low, high in in_reach(spells, place, walk["seen_utc"], walk["entered_utc"])
    ]


def probed_pieces(reader: JobReader, limits: Limits) -> list[ProbedPiece]:
    """The probed part of every finished run of a job, with the faults on it by kind.

    Args:
        reader, limits: of the job.
    """
    runs = finished_runs(reader)
    faulted = faults_on_runs(reader, limits, runs)
    kinds: defaultdict[str, Counter[str]] = defaultdict(Counter)
    for fault in faulted.faults:
        if fault.run and fault.on_probed:
            kinds[fault.run["id"]][fault.fault["kind"]] += 1
    return [
        ProbedPiece(probed_m, kinds.get(run, {}), faulted.over_m[run])
        for run, probed_m in faulted.probed_m.items()
        if probed_m
    ]


def finished_runs(reader: JobReader) -> list[RunRow]:
    """Runs of a job that are finished, in the order seen.

    Args:
        reader: of the job.
    """
    return reader.of_job(RunRow, f"AND end_m IS NOT NULL {AS_SEEN}")


def _probed(
    run: RunRow,
    cold_utc: str | None,
    walks: list[_Walk],
    on_seam: list[RunRow],
    slack: Tolerances,
) -> list[Stretch]:
    """What of a run walks made once it was cold cover, m: not what was welded again before them."""
    if run["end_m"] is None:
        return []
    low, high = ordered(run["start_m"], run["end_m"])
    again = _again(run, on_seam)
    counted = [
        w
        for w in walks
        if probes(moment(w), w["started_utc"] or w["seen_utc"], moment(run), cold_utc)
    ]
    later = union(
        part
        for w in counted
        for part in minus(
            [ordered(w["start_m"], w["end_m"])],
            [stretch for when, stretch in again if when <= moment(w)],
        )
    )
    last = max((w["seen_utc"] for w in counted), default="")
    if covers(later, (low, high), slack.at(last)):
        return [(low, high)]
    return [(max(low, a), min(high, b)) for a, b in later if min(high, b) > max(low, a)]


def _again(run: RunRow, on_seam: list[RunRow]) -> list[tuple[Moment, Stretch]]:
    """What later runs of the same seam welded, and when they began."""
    later = after(on_seam, run)
    return [(moment(other), stretch) for other in later for stretch in stretches([other])]
