"""When a machine or its sheet may have changed: power lost, a roll of another lot, damp, a repair.

Invariant: an observation is marked for what happened after the one before it on the same
machine, and for nothing else.
"""

from __future__ import annotations

import dataclasses
from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, TypedDict

from weldcal.records.times import seconds

if TYPE_CHECKING:
    from weldcal.calibration import Observation


class Ran(TypedDict):
    """The columns of a run that show power lost and rolls of another lot."""

    machine: str | None
    seen_utc: str
    finished_utc: str | None
    power_lost: int | None
    roll_lot: str | None


def may_have_broken(runs: Iterable[Ran]) -> dict[str, list[float]]:
    """By machine, the times of such events, seconds since the epoch.

    Args:
        runs: a job's, in the order welded.
    """
    by_machine: dict[str, list[float]] = {}
    lots: dict[str, str] = {}
    for run in runs:
        machine, lot = run["machine"] or "", run["roll_lot"]
        at = by_machine.setdefault(machine, [])
        if lot and lots.setdefault(machine, lot) != lot:
            at.append(seconds(run["seen_utc"]))
            lots[machine] = lot
        if run["power_lost"] and run["finished_utc"]:
            at.append(seconds(run["finished_utc"]))
    return {machine: sorted(times) for machine, times in by_machine.items()}


def marked(
    observations: Sequence[Observation],
    events: Mapping[str, Sequence[float]],
    damp: Sequence[float] = (),
) -> list[Observation]:
    """The same observations in the same order, marked for what lies before each.

    Args:
        observations: of a job.
        events: by machine, when power was lost or another roll begun (seconds since the epoch, in
            order): `after_event`.
        damp: when somebody noted damp, on whatever machine (seconds, in order): `after_damp`.
    """
    before: dict[str, float] = {}
    out = list(observations)
    timed = [(o.seen_s, n) for n, o in enumerate(observations) if o.seen_s is not None]
    for at, n in sorted(timed):
        o = observations[n]
        since = before.get(o.machine)
        if since is not None:
            broke = _between(events.get(o.machine, ()), since, at)
            wet = _between(damp, since, at)
            if broke or wet:
                out[n] = dataclasses.replace(o, after_event=broke, after_damp=wet)
        before[o.machine] = at
    return out


def _between(times: Sequence[float], since: float, until: float) -> bool:
    """Whether one of the sorted times lies after `since` and not after `until`."""
    return bisect_right(times, until) > bisect_right(times, since)


def repaired(
    observations: Sequence[Observation], repairs: Mapping[str, Sequence[float]]
) -> list[Observation]:
    """The same observations in the same order, with how many repairs of their machine lie before.

    Args:
        observations: in any order.
        repairs: by machine, their times (seconds since the epoch).
    """
    if not any(repairs.values()):
        return list(observations)
    return [
        dataclasses.replace(o, repairs=sum(at <= o.seen_s for at in repairs.get(o.machine, ())))
        if o.seen_s is not None
        else o
        for o in observations
    ]
