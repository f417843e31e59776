"""Which run welded this place at this time.

Invariant: what happened is ordered by when it was seen, then by tick; a check is never
attributed to a run that began after it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, TypedDict, TypeVar

if TYPE_CHECKING:
    from typing_extensions import ReadOnly


class SeenAt(TypedDict):
    """When a row was seen, UTC, and its tick."""

    seen_utc: ReadOnly[str]
    tick: ReadOnly[int]


class RunPlace(SeenAt):
    """A run's place, m from the seam's zero end; it is still open where `end_m` is None."""

    start_m: ReadOnly[float]
    end_m: ReadOnly[float | None]


class RowOnSeam(SeenAt):
    """A row of something on a seam."""

    seam_key: ReadOnly[str]


Run = TypeVar("Run", bound=RunPlace)
Along = TypeVar("Along", bound=RowOnSeam)
Moment = tuple[str, int]


def moment(row: SeenAt) -> Moment:
    """When a row was seen, UTC, and its tick: the order of everything that happened.

    Args:
        row: with `seen_utc` and `tick`.

    Returns:
        both.
    """
    return row["seen_utc"], row["tick"]


def by_seam(runs: Iterable[Along]) -> dict[str, list[Along]]:
    """Runs by the key of their seam, in the order in which they were welded.

    Args:
        runs: in any order.

    Returns:
        by key, earliest first.
    """
    runs_by_seam: dict[str, list[Along]] = {}
    for run in sorted(runs, key=moment):
        runs_by_seam.setdefault(run["seam_key"], []).append(run)
    return runs_by_seam


def run_that_welded(runs: Sequence[Run], at_m: float, when: Moment, slack_m: float) -> Run | None:
    """The run that had welded a place of a seam by a time.

    Args:
        runs: of this seam, in the order in which they were welded.
        at_m: the place, m from the seam's zero end.
        when: the moment of whatever looked there.
        slack_m: how near two places along a lap count as one, m (a limit of the job).

    Returns:
        The last run that began by then and reaches the place; one that is still open may
        reach any place. None where nothing had.
    """
    # Within a run before beside one: a tape that is off must not move a check to another run.
    near: Run | None = None
    for run in reversed(runs):
        if moment(run) > when:
            continue
        if _reaches(run, at_m, 0.0):
            return run
        if near is None and _reaches(run, at_m, slack_m):
            near = run
    return near


def _reaches(run: RunPlace, at_m: float, slack: float) -> bool:
    start, end = run["start_m"], run["end_m"]
    if end is None:
        return True
    low, high = sorted((start, end))
    return low - slack <= at_m <= high + slack
