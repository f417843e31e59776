"""Doubt by bracketing: what was welded around a failure, between two good checks.

Invariant: the order is that of welding, never that of checking: a lap probed
today tells of the day it was welded. A check brackets only failures it could
have seen: a clean probe says nothing of a cold weld, a pull says it of both.

The line: all that one machine welded on one go-ahead, end to end in the order
of welding, in metres. A check lies on it where the place it looked at was
welded. Doubt reaches from a failure back to the last good check before it (or
to the go-ahead, whose strip was pulled apart) and on to the first good one
after it (or to the end of what is welded).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from msgspec import Struct

from weldcal.quality.coverage import SAME_PLACE_M, Stretch, union

PROBE = "walk"
BLEED = "bleed"
PEEL = "peel"

# Failure -> the good checks that bracket it. Common practice, no source: a probe finds open
# laps only; bleed-out shows the heat of the moment; a pull shows the bond itself.
ANSWERS = {
    PROBE: frozenset({PROBE, PEEL}),
    BLEED: frozenset({BLEED, PEEL}),
    PEEL: frozenset({PEEL}),
}

Key = tuple[str, str | None]


class Welded(Struct, frozen=True):
    """A run on the line of its machine and go-ahead.

    Attributes:
        start_m, end_m: as welded, so end may lie below start; None while it is being welded.
        at_s: when it began, seconds since any epoch.
    """

    id: str
    machine: str
    go_ahead: str | None
    seam: str
    start_m: float
    end_m: float | None
    at_s: float


class FailedStrip(Struct, frozen=True):
    """A go-ahead's strip that fell short after it may have passed: its whole line begins in doubt.

    Attributes:
        id: what shows it: its sample, else the strip itself.
        go_ahead: the strip.
        kind: the check that could have seen it, and that answers it on a lap.
        finding: what was found; None where its sample failed.
    """

    id: str
    go_ahead: str
    kind: str = PEEL
    finding: str | None = None


class Check(Struct, frozen=True):
    """An outcome at a place: a bleed check, a walk or a peel sample; a point has equal ends.

    `slack_m` is how near two places along the lap counted as one when it was made, m; `finding`
    what was found, where it is a finding: its `kind` is then the check that could have seen it.
    """

    id: str
    kind: str
    good: bool
    seam: str
    start_m: float
    end_m: float
    at_s: float
    slack_m: float = SAME_PLACE_M
    finding: str | None = None


class Place(Struct, frozen=True):
    """A stretch of a seam, m from its zero end."""

    seam: str
    start_m: float
    end_m: float


class Clear(Struct, frozen=True):
    """What would clear part of a doubt; what destroys nothing comes first.

    look_again along a stretch (its edge, its bleed-out), probe_again a stretch, or cut_here at
    a place, where only a pull can tell.
    """

    code: str
    place: Place


class Doubt(Struct, frozen=True):
    """What one failure puts in doubt.

    Attributes:
        failure, kind: the check that failed, or that could have seen the finding.
        places: in the order welded, the failed place itself included; each once, also where it
            was welded twice.
        before, after: checks that bound it; None before is the go-ahead itself, None after
            is the end of what is welded.
        length_m, failed_m: of all places, and of the failed one alone.
        clears: the failed place itself wants a mend; these narrow the rest.
        finding: what was found, as void or scorched; None where a check or a sample failed.
    """

    machine: str
    go_ahead: str | None
    failure: str
    kind: str
    places: tuple[Place, ...]
    before: str | None
    after: str | None
    length_m: float
    failed_m: float
    clears: tuple[Clear, ...]
    finding: str | None = None

    @property
    def beyond(self) -> bool:
        """Whether more is in doubt than the failed place itself, which wants a mend alone."""
        return self.length_m > self.failed_m + SAME_PLACE_M


class Cut(Struct, frozen=True):
    """A sample to cut beside failures; a good pull there clears what they put in doubt.

    Attributes:
        clears: the failures whose doubt on that side it ends.
        drawn: it was drawn at random already, so it serves the sample plan as well.
        strips: those of the failures that are of a strip: no place on a lap failed.
    """

    place: Place
    clears: tuple[str, ...]
    drawn: bool
    strips: tuple[str, ...]


class Doubts(Struct, frozen=True):
    """All doubts, and the checks of places that no run is known to have welded."""

    doubts: tuple[Doubt, ...]
    unplaced: tuple[str, ...]


def of_seam(doubts: Doubts, key: str) -> tuple[Doubt, ...]:
    """The doubts with a place on a seam.

    Args:
        doubts: all of them.
        key: of the seam.
    """
    return tuple(d for d in doubts.doubts if any(place.seam == key for place in d.places))


def in_doubt(doubts: Iterable[Doubt]) -> dict[str, list[Stretch]]:
    """All that is in doubt, by seam, stretches merged."""
    return _merged(place for doubt in doubts for place in doubt.places)


def each_once(places: Sequence[Place]) -> tuple[Place, ...]:
    """The same places, stretches of one seam merged: a lap welded twice is one lap.

    Args:
        places: in the order welded.
    """
    if len({place.seam for place in places}) == len(places):
        return tuple(places)
    return tuple(
        Place(seam, *stretch)
        for seam, stretches in _merged(places).items()
        for stretch in stretches
    )


def _merged(places: Iterable[Place]) -> dict[str, list[Stretch]]:
    by_seam: dict[str, list[Stretch]] = {}
    for place in places:
        by_seam.setdefault(place.seam, []).append((place.start_m, place.end_m))
    return {seam: union(stretches) for seam, stretches in by_seam.items()}
