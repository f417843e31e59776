"""From when a lap is cold, and does a walk probe what was welded: only once it is.

Invariant: a warm lap holds a probe that it would not hold cold, and a probe opens a warm
lap that would have held; either way a walk over it says nothing.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from weldcal.rules.welded import Moment, RunPlace, SeenAt, moment

if TYPE_CHECKING:
    from typing_extensions import ReadOnly


def cold_from(welded_utc: str, cool_min: float) -> str:
    """From when a lap counts as cold, UTC.

    Args:
        welded_utc: when the run was finished, or the mend made, UTC.
        cool_min: how long a lap cools before it is probed, minutes (a limit of the job).

    Returns:
        ISO 8601, UTC.
    """
    cold = datetime.fromisoformat(welded_utc) + timedelta(minutes=cool_min)
    return cold.isoformat(timespec="seconds")


class Walked(SeenAt):
    """A walk's place, m, and when it began, UTC; None where nobody said."""

    start_m: ReadOnly[float]
    end_m: ReadOnly[float]
    started_utc: ReadOnly[str | None]


class Cooled(RunPlace):
    """A run, and from when its lap was cold, UTC; None where nobody said when it was finished."""

    cold_utc: ReadOnly[str | None]


def probes(walk: Moment, began_utc: str, welded: Moment, cold_utc: str | None) -> bool:
    """Whether a walk probes what was welded.

    Args:
        walk: when the walk was seen, UTC, and its tick.
        began_utc: when it began, UTC; when it was seen, where nobody said.
        welded: when the run or mend was seen, UTC, and its tick.
        cold_utc: from when the lap was cold, UTC; None where nobody said when it was finished.

    Returns:
        whether it does.
    """
    return walk >= welded and (cold_utc is None or began_utc >= cold_utc)


def warm(walk: Walked, run: Cooled, slack_m: float) -> bool:
    """Whether a walk went over some of a run before it was cold.

    Args:
        walk: a probe walk.
        run: a run of the same seam.
        slack_m: how near two places along a lap count as one, m.

    Returns:
        whether it did.
    """
    walked, welded = moment(walk), moment(run)
    if run["end_m"] is None or walked < welded:
        return False
    if probes(walked, walk["started_utc"] or walk["seen_utc"], welded, run["cold_utc"]):
        return False
    low, high = sorted((run["start_m"], run["end_m"]))
    start, end = sorted((walk["start_m"], walk["end_m"]))
    return min(high, end) - max(low, start) > slack_m
