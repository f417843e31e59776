"""What of a probe walk counts: lap that was cold then, and that nothing hid.

Invariant: what counts for a seam's state counts for its doubts and for what a day's page calls
probed. A walk made before a lap was welded again probed what lay there then.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, TypedDict, TypeVar

from weldcal.book.hiding import in_reach, spells_of
from weldcal.quality.coverage import Stretch, minus, ordered
from weldcal.rules.cold import Cooled, Walked, warm
from weldcal.rules.welded import RowOnSeam, RunPlace, by_seam

if TYPE_CHECKING:
    from typing_extensions import ReadOnly

    from weldcal.book.job_reader import JobReader
    from weldcal.book.limits import Limits


class WalkOnSeam(Walked, RowOnSeam):
    """A walk on a seam, and when it was entered, UTC."""

    entered_utc: ReadOnly[str]


class Finished(RunPlace, RowOnSeam):
    """A run on a seam, and when it was finished, UTC; None where nobody said."""

    finished_utc: ReadOnly[str | None]


class _Cold(Cooled, RowOnSeam, TypedDict):
    """A run on a seam, and from when it was cold."""


Walk = TypeVar("Walk", bound=WalkOnSeam)


def that_count(
    reader: JobReader, limits: Limits, walks: Iterable[Walk], runs: Sequence[Finished]
) -> list[tuple[Walk, Stretch]]:
    """Walks with each part of them that counts.

    Args:
        reader, limits: of the job.
        walks: in any order.
        runs: all of the seams walked.
    """
    cold_from, slack, spells = limits.cooling(), limits.tolerances(), spells_of(reader)
    welded = by_seam(
        _Cold(
            seam_key=run["seam_key"],
            seen_utc=run["seen_utc"],
            tick=run["tick"],
            start_m=run["start_m"],
            end_m=run["end_m"],
            cold_utc=cold_from(run["finished_utc"]),
        )
        for run in runs
    )
    counted = []
    for walk in walks:
        key, near = walk["seam_key"], slack.at(walk["seen_utc"])
        place = ordered(walk["start_m"], walk["end_m"])
        left = in_reach(spells.get(key, []), place, walk["seen_utc"], walk["entered_utc"])
        still_warm = [
            ordered(run["start_m"], run["end_m"])
            for run in welded.get(key, [])
            if run["end_m"] is not None and warm(walk, run, near)
        ]
        counted += [(walk, part) for part in minus(left, still_warm, near)]
    return counted
