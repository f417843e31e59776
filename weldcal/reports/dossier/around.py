"""What stands around a roof on its drawing: its edge, dimensions, the plan's corner, north, the scale.

Invariant: a dimension is the length of the edge it stands at; what nobody
recorded is said, not guessed.
"""

from __future__ import annotations

import math

from weldcal.reports import show
from weldcal.reports.dossier.outline import Edge
from weldcal.reports.dossier.placing import TakenBoxes, words_wide
from weldcal.reports.dossier.site import LEFT, DrawnSite, View, cut
from weldcal.reports.dossier.svg import INK, MUTED, WIDTH, Svg
from weldcal.reports.dossier.telling import scale_bar
from weldcal.words import _


def outlined(svg: Svg, site: DrawnSite, view: View, *, dimensions: bool) -> TakenBoxes:
    """The roof's edge and all that stands around it; returns the room its words take."""
    taken = TakenBoxes()
    for edge in site.edge:
        part = cut(edge.a, edge.b, view)
        if part[0] < part[1]:
            a, b = (
                view.at(*(p + (q - p) * t for p, q in zip(edge.a, edge.b, strict=True)))
                for t in part
            )
            svg.line(*a, *b, INK, 1.6)
        if dimensions:
            _dimension(svg, edge, view, site.units, taken)
    if not dimensions or not site.edge:
        left, top, right, bottom = view.box
        svg.path(
            [(left, top), (right, top), (right, bottom), (left, bottom), (left, top)], MUTED, 0.6
        )
    _corner(svg, site, view)
    _north(svg, site.north_deg)
    scale_bar(svg, view.scale, svg.height - 14, site.units, LEFT)
    return taken


def _dimension(svg: Svg, edge: Edge, view: View, units: str, taken: TakenBoxes) -> None:
    """A dimension line outside an edge, moved outwards where another stands."""
    a, b = view.at(*edge.a), view.at(*edge.b)
    out = edge.out[0], -edge.out[1]
    text = show.distance(edge.length_m, units)
    wide = words_wide(text, 9.5)
    level = edge.out[0] == 0.0
    for away in (15.0, 27.0, 39.0):
        x, y = (a[0] + b[0]) / 2 + out[0] * away, (a[1] + b[1]) / 2 + out[1] * away
        box = (
            (x - wide / 2, y - 6, x + wide / 2, y + 6)
            if level
            else (x - 6, y - wide / 2, x + 6, y + wide / 2)
        )
        if taken.free(box):
            break
    taken.add(box)
    ends = [(p[0] + out[0] * away, p[1] + out[1] * away) for p in (a, b)]
    long = abs(ends[1][0] - ends[0][0]) + abs(ends[1][1] - ends[0][1])
    if long > wide + 12:
        for (px, py), to in zip(ends, ends[::-1], strict=True):
            stop = (long - wide) / 2 - 3
            tx, ty = px + (to[0] - px) * stop / long, py + (to[1] - py) * stop / long
            svg.line(px, py, tx, ty, MUTED, 0.7)
            svg.line(px - out[0] * 4, py - out[1] * 4, px + out[0] * 4, py + out[1] * 4, MUTED, 0.7)
    if level:
        svg.text(x, y + 3.5, text, 9.5, "middle", MUTED)
    else:
        svg.text(x + 3.5, y, text, 9.5, "middle", MUTED, turned=True)


def _corner(svg: Svg, site: DrawnSite, view: View) -> None:
    """The plan's corner, from which x and y are counted; on a tile where its own corners lie."""
    if view.holds((0.0, 0.0)):
        x, y = view.at(0.0, 0.0)
        svg.path(
            [
                (x - 3, y + 3),
                (x - 3, y - 9),
                (x - 9, y - 9),
                (x - 9, y + 9),
                (x + 9, y + 9),
                (x + 9, y + 3),
            ],
            INK,
            0.8,
            INK,
        )
        svg.text(x - 12, y + 20, _("plan's corner 0, 0"), 9.5)
        return
    for at, dy in ((view.low, 13.0), (view.high, -5.0)):
        x, y = view.at(*at)
        words = f"x {show.distance(at[0], site.units)}, y {show.distance(at[1], site.units)}"
        svg.text(x, y + dy, words, 9.5, "start" if at == view.low else "end", MUTED)


def _north(svg: Svg, north_deg: float | None) -> None:
    """An arrow to north, or that nobody recorded it."""
    x, y = WIDTH - 26, 20.0
    if north_deg is None:
        svg.text(WIDTH - 4, 12, _("north not recorded"), 9.5, "end", MUTED)
        return
    turn = math.radians(north_deg)
    dx, dy = math.sin(turn), -math.cos(turn)
    tip, tail = (x + 13 * dx, y + 13 * dy), (x - 11 * dx, y - 11 * dy)
    svg.line(*tail, *tip, INK, 1.4)
    left, right = (
        (tip[0] - 7 * dx - 4 * dy, tip[1] - 7 * dy + 4 * dx),
        (tip[0] - 7 * dx + 4 * dy, tip[1] - 7 * dy - 4 * dx),
    )
    svg.path([tip, left, right], INK, 0.8, INK)
    svg.text(x - 22, y + 4, _("N"), 11, "middle", bold=True)
