"""Areas of a roof as shapes on the plan: which make one roof, which overlap, what lies where.

Invariant: two areas are one roof where they share an edge; a corner alone lets no water
and no lap across. Lengths are metres on the plan. The geometry is shapely's (GEOS).
"""

from __future__ import annotations

from collections.abc import Sequence

from shapely import LineString, Polygon, box
from shapely import Point as Spot
from shapely.ops import unary_union

from weldcal.quality.sheets import Point, Rectangle

# Plans are kept to a tenth of a millimetre: edges nearer than this are one.
_JOIN_M = 1e-3


def shape(area: Rectangle, wider_m: float = 0.0) -> Polygon:
    """An area as a polygon, wider by some metres on every side."""
    low_x, low_y = area.x_m - wider_m, area.y_m - wider_m
    high_x = area.x_m + area.length_x_m + wider_m
    high_y = area.y_m + area.length_y_m + wider_m
    return box(low_x, low_y, high_x, high_y)


def overlap_m2(a: Rectangle, b: Rectangle) -> float:
    """How much of two areas is the same roof, m²."""
    return float(shape(a).intersection(shape(b)).area)


def away_m(area: Rectangle, place: Point) -> float:
    """How far a place lies outside an area, m; 0 within it."""
    return float(shape(area).distance(Spot(place)))


def area_at(areas: Sequence[Rectangle], place: Point) -> Rectangle:
    """The area that a place lies in, else the nearest; the one laid first where two meet."""
    return min(areas, key=lambda area: away_m(area, place))


def within(area: Rectangle, others: Sequence[Rectangle]) -> bool:
    """Whether an area lies within others, to a millimetre."""
    union = unary_union([shape(other, _JOIN_M) for other in others])
    return bool(union.covers(shape(area)))


def roofs(areas: Sequence[Rectangle]) -> list[list[Rectangle]]:
    """The areas split into roofs: those that share an edge, however far round, together."""
    parts: list[list[Rectangle]] = []
    for area in areas:
        mine = [area]
        apart = []
        for part in parts:
            if any(_share_an_edge(area, other) for other in part):
                mine = [*part, *mine]
            else:
                apart.append(part)
        parts = [*apart, mine]
    return parts


def roof_of(areas: Sequence[Rectangle], place: Point) -> list[Rectangle]:
    """The areas that make one roof with the place, or with what is nearest to it."""
    area = area_at(areas, place)
    return next(part for part in roofs(areas) if area in part)


def lies_on(areas: Sequence[Rectangle], start: Point, end: Point) -> bool:
    """Whether a lap, or a place, lies on these areas for all of its length."""
    union = unary_union([shape(area, _JOIN_M) for area in areas])
    return bool(union.covers(Spot(start) if start == end else LineString([start, end])))


def _share_an_edge(a: Rectangle, b: Rectangle) -> bool:
    low_x, low_y, high_x, high_y = (
        shape(a, _JOIN_M).intersection(shape(b, _JOIN_M)).bounds or (0.0,) * 4
    )
    return bool(max(high_x - low_x, high_y - low_y) > 4 * _JOIN_M)
