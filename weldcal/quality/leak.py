"""Where to look first for a reported leak: an order, not a cause.

Invariant: a place's points are the sum of its reasons, each shown; something
more known against a place, or its lying nearer, never sends it further down.

Water travels: the wet spot and the hole are seldom one place, least of all when
the spot was seen inside. The weights are our own judgement, not a measurement;
they are data, and may be set.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from msgspec import Struct

from weldcal.words import mark

Point = tuple[float, float]

INSIDE = "inside"
ON_ROOF = "on_roof"

WEIGHTS_SOURCE = mark("weights of this program's own judgement, no source")
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

    `against` holds names of `Weights`: open_finding, in_doubt, mended_unprobed, unprobed,
    warned, detail, t_joint, self_probed.
    """

    name: str
    start: Point
    end: Point
    against: frozenset[str] = frozenset()


class Reason(Struct, frozen=True):
    """Why a place has points."""

    code: str
    points: float


class Suspect(Struct, frozen=True):
    """A place in the search order.

    Attributes:
        nearest: its point nearest to the spot, m.
        reasons: the most telling first; their points add up to `points`.
    """

    name: str
    points: float
    distance_m: float
    nearest: Point
    reasons: tuple[Reason, ...]


class Search(Struct, frozen=True):
    """The order in which to look, and what must be said with it.

    `asks` are codes of what nobody has told yet: where_seen, slope.
    """

    order: tuple[Suspect, ...]
    asks: tuple[str, ...]
    cautions: tuple[str, ...] = CAUTIONS


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
    suspects = [_suspect(spot, one, reach, uphill, weights) for one in candidates]
    suspects.sort(key=lambda one: (-one.points, one.distance_m, one.name))
    asks = [code for code, value in (("where_seen", seen), ("slope", upslope)) if value is None]
    return Search(tuple(suspects), tuple(asks))


def _suspect(
    spot: Point, one: Candidate, reach: float, uphill: Point | None, weights: Weights
) -> Suspect:
    unknown = one.against - _AGAINST
    if unknown:
        raise ValueError(f"unknown: {', '.join(sorted(unknown))}")
    nearest = nearest_point(spot, one.start, one.end)
    away = math.dist(spot, nearest)
    reasons = [Reason(code, getattr(weights, code)) for code in one.against]
    reasons.append(Reason("near", weights.near * max(0.0, 1.0 - away / reach)))
    if uphill is not None and 0.0 < away <= reach:
        dx, dy = nearest[0] - spot[0], nearest[1] - spot[1]
        cosine = (dx * uphill[0] + dy * uphill[1]) / away
        reasons.append(Reason("upslope", weights.upslope * max(0.0, cosine)))
    told = sorted((r for r in reasons if r.points > 0), key=lambda r: (-r.points, r.code))
    return Suspect(one.name, sum(r.points for r in told), away, nearest, tuple(told))


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
