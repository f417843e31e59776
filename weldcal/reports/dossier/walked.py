"""A walk over the drawing of a roof: numbered stops, the way between them, a wet spot.

Invariant: no number lies over another; one that had to move keeps a line to its place.
"""

from __future__ import annotations

import math
from itertools import pairwise

from weldcal.records.fields import same_name
from weldcal.reports.dossier.palette import BAND, INK, MUTED, PAPER
from weldcal.reports.dossier.placing import TakenBoxes, around
from weldcal.reports.dossier.site import DrawnSite, View
from weldcal.reports.dossier.svg import Point, Svg
from weldcal.views.walk import Stop, WalkingOrder
from weldcal.words import _

_RADIUS = 7.5
# How far beside its lap a walked stretch is drawn, and how long an arrow's head is.
_BESIDE, _HEAD = 4.8, 5.0
_RINGS = (0.0, 12.0, 18.0, 26.0, 36.0, 50.0, 70.0, 100.0)
_TURNS = [(math.cos(n * math.pi / 6), math.sin(n * math.pi / 6)) for n in range(12)]


def walked(svg: Svg, site: DrawnSite, view: View, walk: WalkingOrder, taken: TakenBoxes) -> None:
    """Draw the parts of a walk on a site: the way first, then the spot, last the numbers."""
    keys = {seam.key for seam in site.seams}
    mine = [stop for stop in walk.stops if same_name(stop.seam) in keys]
    _way(svg, view, walk, mine)
    if walk.spot is not None and view.holds(walk.spot):
        _spot(svg, view.at(*walk.spot), taken)
    for stop in mine:
        with svg.marked("", "", stop=stop.n):
            _number(svg, view, stop, taken)


def _way(svg: Svg, view: View, walk: WalkingOrder, mine: list[Stop]) -> None:
    """Dashes from stop to stop, an arrow beside each stretch walked."""
    if mine and mine[0].n == 1 and view.holds(walk.begin):
        at = view.at(*walk.begin)
        svg.line(*at, *view.at(*mine[0].start), MUTED, 1.1, "5 3")
        if walk.spot is None:  # the drop lies where a search begins
            svg.triangle(at[0], at[1], 5)
    for one, after in pairwise(mine):
        if after.n == one.n + 1:
            svg.line(*view.at(*one.end), *view.at(*after.start), MUTED, 1.1, "5 3")
    for stop in mine:
        _arrow(svg, view.at(*stop.start), view.at(*stop.end))


def _arrow(svg: Svg, a: Point, b: Point) -> None:
    """The way along a lap, beside it; nothing for a place."""
    length = math.dist(a, b)
    if length < 2 * _HEAD:
        return
    ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    start, tip = ((p[0] - uy * _BESIDE, p[1] + ux * _BESIDE) for p in (a, b))
    svg.line(*start, *tip, INK, 1.1)
    back = tip[0] - ux * _HEAD, tip[1] - uy * _HEAD
    wings = [(back[0] + s * uy * 3, back[1] - s * ux * 3) for s in (1, -1)]
    svg.path([wings[0], tip, wings[1]], INK, 1.1)


def _spot(svg: Svg, at: Point, taken: TakenBoxes) -> None:
    """Where water was seen: a drop, its tip on the place."""
    x, y = at
    round_ = [
        (x + 6 * math.sin(n * math.pi / 8), y + 14 - 6 * math.cos(n * math.pi / 8))
        for n in range(3, 14)
    ]
    svg.path([(x, y), *round_], PAPER, 3.0, PAPER)
    svg.path([(x, y), *round_], INK, 1.2, BAND)
    taken.add((x - 7.0, y, x + 7.0, y + 21.0))


def _number(svg: Svg, view: View, stop: Stop, taken: TakenBoxes) -> None:
    """A stop's number in a disc: where it begins if that is free, else near by with a line."""
    at = view.at(*stop.start)
    place = next(
        (
            (at[0] + far * dx, at[1] + far * dy)
            for far in _RINGS
            for dx, dy in (_TURNS if far else _TURNS[:1])
            if taken.free(around((at[0] + far * dx, at[1] + far * dy), _RADIUS))
        ),
        at,
    )
    taken.add(around(place, _RADIUS))
    if math.dist(place, at) > 1:
        svg.line(*place, *at, INK, 0.8)
        svg.dot(*at, 1.6)
    svg.dot(*place, _RADIUS, INK)
    size = 9.5 if stop.n < 10 else 8.5 if stop.n < 100 else 7.0
    svg.text(place[0], place[1] + 0.35 * size, str(stop.n), size, "middle", PAPER, bold=True)


def caption(walk: WalkingOrder) -> str:
    """What the numbers mean, for the caption."""
    if walk.spot is None:
        return _(
            "Numbers: the way, in walking order; arrows: the stretch walked; dashes: from one to the next; triangle: where it begins."
        )
    return _(
        "Numbers: the places to look at, in walking order; arrows: the stretch walked; dashes: from one to the next; the drop: where water was seen, and where it begins. Not a cause: water travels."
    )
