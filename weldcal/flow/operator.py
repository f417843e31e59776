"""The operator's day: conditions, cautions, strip, pull when cold, dial, laps.

Invariant: a step comes next because of what the book lacks, never because of
what was typed before.
"""

from __future__ import annotations

from collections.abc import Iterator

from weldcal.flow import laps, site, strips, weather
from weldcal.quality.go_ahead_rules import WAIT, permits
from weldcal.records.day import Day

STEPS = (
    weather.CONDITIONS,
    site.CAUTIONS,
    strips.DIAL,
    strips.STRIP,
    strips.PULL,
    laps.START,
    laps.LAP,
    strips.HAND_STRIP,
    laps.SEAMS,
    site.ROLLS,
    site.ENDED,
    site.WATCH,
    site.START_UP,
)


def due(day: Day) -> Iterator[str]:
    """Steps that are due, in order."""
    if day.welding:
        yield "lap"
    if day.waiting:
        yield "pull"
    if not day.read or weather.sheet_old(day) or _waits(day):
        yield "conditions"
    if not day.hot:
        yield "cautions"
    if not _stands(day):
        if day.advised is None:
            yield "dial"
        yield "strip"
    elif not day.seams:
        yield "seams"
    elif day.to_weld:
        if day.needs.start_up:
            yield site.START_UP.code
        if day.needs.hand_strip:
            yield "hand strip"
        yield "start"
    yield from site.due(day)


def _waits(day: Day) -> bool:
    return day.standing is not None and day.standing.level == WAIT


def _stands(day: Day) -> bool:
    return day.standing is not None and permits(day.standing.level)


def open_steps(day: Day) -> tuple[str, ...]:
    """Steps that can be taken now, in the order of a day."""
    unavailable = {"pull": not day.waiting, "lap": not day.welding, **site.gone(day)}
    return tuple(step.code for step in STEPS if not unavailable.get(step.code, False))
