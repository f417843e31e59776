"""How much was welded, how much of it over again, and how much of what was walked.

Invariant: what runs welded, less what they welded again, is the lap that the roof shows as
welded; so it is for the runs of a day, a machine or a person, for each run has its own part.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, TypedDict, TypeVar

from weldcal.quality.coverage import Stretch, minus, ordered, total
from weldcal.rules.welded import RowOnSeam, RunPlace, SeenAt, by_seam, moment

if TYPE_CHECKING:
    from typing_extensions import ReadOnly


class StretchOf(TypedDict):
    """A stretch, m from the seam's zero end; `end_m` is None while it is not finished."""

    start_m: ReadOnly[float]
    end_m: ReadOnly[float | None]


class OnSeam(RowOnSeam, StretchOf):
    """A run or a walk, and its seam."""


class RunOnSeam(RowOnSeam, RunPlace):
    """A run and its seam."""

    id: ReadOnly[str]


Done = TypeVar("Done", bound=SeenAt)


def stretches(rows: Iterable[StretchOf]) -> list[Stretch]:
    """Where runs or walks lie; one that is not finished lies nowhere.

    Args:
        rows: with their ends.
    """
    return [ordered(row["start_m"], end) for row in rows if (end := row["end_m"]) is not None]


def after(rows: Iterable[Done], done: SeenAt) -> Iterator[Done]:
    """What was begun after something else.

    Args:
        rows: of one seam.
        done: that something.
    """
    return (row for row in rows if moment(row) > moment(done))


def welded_m(runs: Iterable[StretchOf]) -> float:
    """How much was welded, m: what machine and person did, so a stretch welded twice counts twice.

    Args:
        runs: those summed up.
    """
    return sum(high - low for low, high in stretches(runs))


def again_m(runs: Iterable[RunOnSeam]) -> dict[str, float]:
    """How much of each run lies where an earlier one had welded, m, by its id.

    Args:
        runs: all of a job, in any order.
    """
    again = {}
    for on_seam in by_seam(runs).values():
        before: list[Stretch] = []
        for run in on_seam:
            mine = stretches([run])
            again[run["id"]] = total(mine) - total(minus(mine, before)) if before else 0.0
            before += mine
    return again


def walked_m(walks: Iterable[OnSeam]) -> float:
    """On how much lap walks lie, m, each place once.

    Args:
        walks: of any seams.
    """
    return sum(total(stretches(on_seam)) for on_seam in by_seam(walks).values())


def over_m(walks: Iterable[OnSeam], runs: Iterable[RunOnSeam]) -> dict[str, float]:
    """On how much of the lap that was walked a later run welded, m, by the key of its seam.

    Args:
        walks: those summed up.
        runs: all of the job, in any order.
    """
    over, welded = {}, by_seam(runs)
    for key, on_seam in by_seam(walks).items():
        still = [
            part
            for walk in on_seam
            for part in minus(stretches([walk]), stretches(after(welded.get(key, []), walk)))
        ]
        over[key] = total(stretches(on_seam)) - total(still)
    return over
