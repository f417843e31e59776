"""Where to look for a reported leak: places by points, walked in rounds; not a cause.

It ranks places, not seams: the finding at the far end of a lap is where the finding is.

Invariant: a place's points are the sum of its reasons, each shown; something
more known against a place, or its lying nearer, never sends it further down.

Water travels: the wet spot and the hole are seldom one place, least of all when
the spot was seen inside. The weights are our own judgement, not a measurement;
they are data, and may be set.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from msgspec import Struct

from weldcal.quality.coverage import SAME_PLACE_M, Stretch
from weldcal.quality.route import Leg, Task, way
from weldcal.words import mark

Point = tuple[float, float]

INSIDE = "inside"
ON_ROOF = "on_roof"

WEIGHTS_SOURCE = mark("weights of this program's own judgement, no source")
ON_THE_WAY = 15  # places walked to: as many as a person looks at before thinking again
# Of a long stretch, how far on either side of its point nearest to the spot is looked at on the
# way (our own judgement, no source).
AROUND_M = 3.0
# Least share of the most points that a place of each round has (our own judgement, no source).
ROUNDS = (0.8, 0.6, 0.0)
CAUTIONS = ("order_not_cause", "water_travels")


class Weights(Struct, frozen=True):
    """Points for each thing known against a place, and how far away still counts.

    Attributes:
        near: at no distance; it falls in a straight line to 0 at the reach.
        upslope: straight uphill of the spot; it falls with the cosine to 0 across the slope.
        reach_inside_m, reach_on_roof_m: water seen inside has gone further. The first holds
            where nobody said which.
    """

    near: float = 40.0
    upslope: float = 15.0
    open_finding: float = 30.0
    in_doubt: float = 20.0
    mended_unprobed: float = 15.0
    unprobed: float = 15.0
    warned: float = 10.0
    detail: float = 10.0
    t_joint: float = 5.0
    self_probed: float = 5.0
    reach_inside_m: float = 20.0
    reach_on_roof_m: float = 8.0


class Candidate(Struct, frozen=True):
    """A seam or a place on one, m on the roof, and the codes known against it.

    Attributes:
        against: names of `Weights`: open_finding, in_doubt, mended_unprobed, unprobed,
            warned, detail, t_joint, self_probed.
        what: the finding that lies there, where it is one.
        from_m, to_m: the stretch along its lap; None for a whole one without a length.
    """

    name: str
    start: Point
    end: Point
    against: frozenset[str] = frozenset()
    what: str | None = None
    from_m: float | None = None
    to_m: float | None = None


class LeakReason(Struct, frozen=True):
    """Why a place has points."""

    code: str
    points: float


class Suspect(Struct, frozen=True):
    """A place in the search order.

    Attributes:
        nearest: its point nearest to the spot, m; `start` and `end` are its own ends.
        reasons: the most telling first; their points add up to `points`.
        what, from_m, to_m: as of its candidate; `at_m` is `nearest`, along its lap.
    """

    name: str
    points: float
    distance_m: float
    nearest: Point
    reasons: tuple[LeakReason, ...]
    what: str | None
    from_m: float | None
    to_m: float | None
    at_m: float | None
    start: Point
    end: Point


class Search(Struct, frozen=True):
    """The order in which to look, and what must be said with it.

    Attributes:
        order: by points, the most first.
        rounds: the first places of that order, each round one way that begins where the one
            before ended, the first at the spot; the task of each leg is for its place in the
            order, from 1.
        asks: codes of what nobody has said yet: where_seen, slope.
        roof: letters of the areas that make one roof with the spot; elsewhere nothing is ranked.
        elsewhere: how many seams lie on other roofs.
    """

    order: tuple[Suspect, ...]
    asks: tuple[str, ...]
    cautions: tuple[str, ...] = CAUTIONS
    roof: tuple[str, ...] = ()
    elsewhere: int = 0
    rounds: tuple[tuple[Leg, ...], ...] = ()


_AGAINST = frozenset(
    {
        "open_finding",
        "in_doubt",
        "mended_unprobed",
        "unprobed",
        "warned",
        "detail",
        "t_joint",
        "self_probed",
    }
)


def search(
    spot: Point,
    candidates: Iterable[Candidate],
    *,
    seen: str | None = None,
    upslope: Point | None = None,
    weights: Weights | None = None,
) -> Search:
    """Rank places by distance, by lying uphill, and by what is known against each.

    Args:
        spot: where water was seen, m.
        seen: inside, on_roof, or None where nobody said.
        upslope: direction of uphill, of any length; None where not known or flat.

    Raises:
        ValueError: an unknown code against a place, or an uphill of no direction.
    """
    weights = weights or Weights()
    uphill = _unit(upslope)
    reach = weights.reach_on_roof_m if seen == ON_ROOF else weights.reach_inside_m
    suspects = [_suspect(spot, candidate, reach, uphill, weights) for candidate in candidates]
    suspects.sort(key=lambda one: (-one.points, one.distance_m, one.name, one.from_m or 0.0))
    asks = [code for code, value in (("where_seen", seen), ("slope", upslope)) if value is None]
    return Search(tuple(suspects), tuple(asks), rounds=tuple(_rounds(spot, suspects)))


def _rounds(spot: Point, suspects: list[Suspect]) -> Iterator[tuple[Leg, ...]]:
    """The first places that have points, the most points first, each round as one route."""
    telling = [suspect for suspect in suspects[:ON_THE_WAY] if suspect.points > 0] or suspects[:1]
    legs = [_leg(n, one) for n, one in enumerate(telling, 1)]
    most, at = max((one.points for one in telling), default=0.0), spot
    above = math.inf
    for share in ROUNDS:
        mine = [
            leg
            for leg, one in zip(legs, telling, strict=True)
            if share * most <= one.points < above
        ]
        above = share * most
        if mine:
            route_found = way(mine, at)
            at = route_found[-1].end or at
            yield route_found


def _leg(n: int, suspect: Suspect) -> Leg:
    """A place to walk to; of a long stretch, the part around its point nearest to the spot."""
    low, high = suspect.from_m or 0.0, suspect.to_m or 0.0
    at = low if suspect.at_m is None else suspect.at_m
    ends = max(low, at - AROUND_M), min(high, at + AROUND_M)
    if suspect.start == suspect.end:  # a detail: one goes round it
        ends = low, high
    start, end = (point_on(suspect.start, suspect.end, high - low, m - low) for m in ends)
    return Leg(suspect.name, (Task("look", *ends, str(n)),), start, end)


def _suspect(
    spot: Point, candidate: Candidate, reach: float, uphill: Point | None, weights: Weights
) -> Suspect:
    unknown = candidate.against - _AGAINST
    if unknown:
        raise ValueError(f"unknown: {', '.join(sorted(unknown))}")
    nearest = nearest_point(spot, candidate.start, candidate.end)
    away = math.dist(spot, nearest)
    reasons = [LeakReason(code, getattr(weights, code)) for code in candidate.against]
    reasons.append(LeakReason("near", weights.near * max(0.0, 1.0 - away / reach)))
    if uphill is not None and 0.0 < away <= reach:
        dx, dy = nearest[0] - spot[0], nearest[1] - spot[1]
        cosine = (dx * uphill[0] + dy * uphill[1]) / away
        reasons.append(LeakReason("upslope", weights.upslope * max(0.0, cosine)))
    counted = sorted((r for r in reasons if r.points > 0), key=lambda r: (-r.points, r.code))
    along = None
    if candidate.from_m is not None and candidate.to_m is not None:
        length = math.dist(candidate.start, candidate.end)
        share = math.dist(candidate.start, nearest) / length if length else 0.0
        along = candidate.from_m + share * (candidate.to_m - candidate.from_m)
    points = sum(r.points for r in counted)
    what = (candidate.what, candidate.from_m, candidate.to_m, along, candidate.start, candidate.end)
    return Suspect(candidate.name, points, away, nearest, tuple(counted), *what)


class LapFacts(Struct, frozen=True):
    """What is known of a placed lap: its ends on the plan, and stretches along it, m.

    Attributes:
        length_m: None where nobody listed one: then it is as long as it is on the plan.
        open: (finding, from, to) of findings still open.
        mended, unprobed, in_doubt: stretches.
        of_all: codes that hold for all of it: warned, detail, t_joint, self_probed.
    """

    name: str
    start: Point
    end: Point
    length_m: float | None = None
    open: tuple[tuple[str, float, float], ...] = ()
    mended: tuple[Stretch, ...] = ()
    unprobed: tuple[Stretch, ...] = ()
    in_doubt: tuple[Stretch, ...] = ()
    of_all: frozenset[str] = frozenset()


def places_of(lap: LapFacts) -> list[Candidate]:
    """The places of a lap to look at: each finding, each stretch of one kind, else all of it.

    A place bears what is known against all of it: a void within an unprobed stretch is
    unprobed as well; the stretch is not open for having a void at its far end.
    """
    stretches = {
        "mended_unprobed": lap.mended,
        "unprobed": lap.unprobed,
        "in_doubt": lap.in_doubt,
    }
    spots: list[tuple[str | None, Stretch, set[str]]] = [
        (what, (low, high), {"open_finding"}) for what, low, high in lap.open
    ]
    # What is doubted or unprobed is listed with the finding, where there is no more of it.
    spots += [
        (None, one, {code})
        for code, many in stretches.items()
        for one in many
        if not any(_holds((low, high), one) for _what, low, high in lap.open)
    ]
    length = lap.length_m or math.dist(lap.start, lap.end)
    if not spots:
        return [_candidate(lap, None, (0.0, length), set())]
    by_place: dict[tuple[str | None, Stretch], Candidate] = {}
    for what, (low, high), codes in spots:
        all_codes = codes | {
            code
            for code, many in stretches.items()
            if any(_holds(one, (low, high)) for one in many)
        }
        by_place[what, (low, high)] = _candidate(lap, what, (low, high), all_codes)
    return list(by_place.values())


def _holds(whole: Stretch, part: Stretch) -> bool:
    """Whether a stretch lies within another, as near as two places are one."""
    return whole[0] <= part[0] + SAME_PLACE_M and part[1] <= whole[1] + SAME_PLACE_M


def _candidate(lap: LapFacts, what: str | None, stretch: Stretch, codes: set[str]) -> Candidate:
    start, end = (point_on(lap.start, lap.end, lap.length_m, at) for at in stretch)
    return Candidate(lap.name, start, end, lap.of_all | codes, what, *stretch)


def along_within(a: float, b: float, length_m: float, band: Stretch) -> Stretch | None:
    """The stretch of a straight lap whose coordinate on one axis lies within a band, m along it.

    Args:
        a, b: that coordinate at its zero end and at its far end.

    Returns:
        None where none of it does; all of it for a lap that runs along the band, within it.
    """
    low, high = band
    if abs(b - a) <= SAME_PLACE_M:
        return (0.0, length_m) if low <= a <= high else None
    ends = sorted(min(1.0, max(0.0, (edge - a) / (b - a))) for edge in band)
    if (ends[1] - ends[0]) * length_m <= SAME_PLACE_M:
        return None
    return ends[0] * length_m, ends[1] * length_m


def point_on(start: Point, end: Point, length_m: float | None, at_m: float) -> Point:
    """The point of the plan that lies some way along a straight lap, m from its start."""
    length = length_m or math.dist(start, end)
    share = min(1.0, max(0.0, at_m / length)) if length else 0.0
    return start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])


def nearest_point(spot: Point, start: Point, end: Point) -> Point:
    """The point of a straight seam nearest to a spot."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    length2 = dx * dx + dy * dy
    if length2 == 0.0:
        return start
    share = ((spot[0] - start[0]) * dx + (spot[1] - start[1]) * dy) / length2
    share = min(1.0, max(0.0, share))
    return start[0] + share * dx, start[1] + share * dy


def _unit(direction: Point | None) -> Point | None:
    if direction is None:
        return None
    length = math.hypot(*direction)
    if length == 0.0:
        raise ValueError("uphill needs a direction")
    return direction[0] / length, direction[1] / length
