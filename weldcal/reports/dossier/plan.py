"""The roof drawn: its outline with dimensions, every seam to scale, every finding where it lies.

Invariant: seams without a place are bars in the order listed (`bars`). A roof
too large for its findings to be distinct on one page is drawn as a key plan
and tiles; a tile left out is counted. Of a walk drawn on it no number lies over another, and
one that had to move keeps a line to its place.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from weldcal.records.fields import same_name
from weldcal.reports import show
from weldcal.reports.dossier import bars, strokes
from weldcal.reports.dossier.around import outlined
from weldcal.reports.dossier.document import Figure, Table, table
from weldcal.reports.dossier.inside import detailed, thin
from weldcal.reports.dossier.placing import TakenBoxes, around
from weldcal.reports.dossier.site import (
    FOOT,
    HIGHEST,
    TOP,
    URGENCY,
    DrawnSite,
    Held,
    Tile,
    View,
    doubted,
    full_width,
    marks_of,
    sites,
    tiles_of,
)
from weldcal.reports.dossier.svg import BAND, INK, MUTED, PAPER, Point, Svg
from weldcal.reports.dossier.telling import alt_of, count_of
from weldcal.views.dossier import Roof
from weldcal.views.walk import Stop, WalkingOrder
from weldcal.words import _

_MOST_TILES, _MOST_LISTED = 48, 400
# Of the key plan's roof: the legend has room below it on the same page.
_KEY_HIGHEST = 500.0


def roof(found: Roof, units: str, links: dict[str, str] | None = None) -> list[Figure]:
    """The roof in as many drawings as it takes: plans first, then seams without a place as bars.

    Args:
        found: what is drawn.
        units: us or si.
        links: places of seams on the page, by seam key.
    """
    links = links or {}
    drawn = [figure for site in sites(found, units, links) for figure in _site(site)]
    rest = [seam for seam in found.seams if seam.place is None]
    return [*drawn, *bars.figures(rest, doubted(found), units, links)]


def with_walk(roof: Roof, walk: WalkingOrder, units: str) -> list[Figure]:
    """One plan of each site that a walk touches, with the walk on it."""
    drawn = []
    for site in sites(roof, units, {}):
        keys = {seam.key for seam in site.seams}
        if any(same_name(stop.seam) in keys for stop in walk.stops):
            drawn.append(_walk_plan(site, walk))
    return drawn


def _walk_plan(site: DrawnSite, walk: WalkingOrder) -> Figure:
    low, high = site.corners()
    scale = min(full_width(low, high), (HIGHEST - TOP - FOOT) / (high[1] - low[1]))
    view = View(low, high, scale)
    svg = Svg(view.height)
    boxes = outlined(svg, site, view, dimensions=True)
    if tiles_of(site):
        thin(svg, site, view)
    else:
        detailed(svg, site, view, site.seams, _all_marks(site), boxes)
    walked(svg, site, view, walk, boxes)
    title = _("Area {name}", name=site.letter) if site.letter else _("The roof")
    caption = f"{title}. {_walk_caption(walk)}"
    return Figure(f"walk-{site.letter}", caption, alt_of(site.seams, site.units), svg.done())


def at_a_glance(roof: Roof, units: str, links: dict[str, str] | None = None) -> Figure | None:
    """The roof in one small drawing; None where no seam is listed. The largest plan, where there are several."""
    plans = sites(roof, units, links or {})
    if plans:
        largest = max(plans, key=lambda site: len(site.seams))
        low, high = largest.corners()
        view = View(low, high, min(full_width(low, high), 215.0 / (high[1] - low[1])))
        return _key(largest, view, "glance", tiles_of(largest))
    if not roof.seams:
        return None
    return bars.at_a_glance(roof.seams, doubted(roof), units, links or {})


def _site(site: DrawnSite) -> Iterator[Figure]:
    """One plan, or a key plan with its tiles."""
    low, high = site.corners()
    scale = min(full_width(low, high), (HIGHEST - TOP - FOOT) / (high[1] - low[1]))
    tiles = tiles_of(site)
    if not tiles:
        yield _plan(site, View(low, high, scale))
        return
    small = min(scale, _KEY_HIGHEST / (high[1] - low[1]))
    yield _key(site, View(low, high, small), "key", tiles)
    wanted = [tile for tile in tiles if tile.urgent]
    shown = sorted(wanted, key=lambda t: t.urgency, reverse=True)[:_MOST_TILES]
    for tile in sorted(shown, key=lambda t: t.number):
        yield _tile(site, tile, len(tiles))


def findings(roof: Roof, units: str) -> Table | None:
    """The table that the names on the drawings are keyed to, the open first; None where there are none."""
    tiles = _tile_numbers(roof, units)
    urgent = [(s, m) for s in roof.seams for m in s.marks if m.what in strokes.URGENT]
    if not urgent:
        return None
    urgent.sort(key=lambda one: URGENCY.index(one[1].what))
    cells = [
        (
            f"{'X' if mark.what == 'open' else 'o'} {mark.name}",
            seam.name,
            show.stretches(((mark.start_m, mark.end_m),), units),
            _(mark.kind),
            _("open") if mark.what == "open" else _("mended, not probed again"),
            *([str(tiles.get((seam.key, mark.name), "–"))] if tiles else []),
        )
        for seam, mark in urgent[:_MOST_LISTED]
    ]
    caption = _("Findings on the drawings")
    if len(urgent) > _MOST_LISTED:
        caption += " " + _(
            "(the first {n} of {of}; all stand in the CSV)", n=_MOST_LISTED, of=len(urgent)
        )
    headings = [_("Finding"), _("Seam"), _("From, to"), _("Kind"), _("State")]
    widths = [1, 1, 1.6, 1.4, 2]
    if tiles:
        headings, widths = [*headings, _("Tile")], [*widths, 0.6]
    return table(caption, headings, cells, (), widths)


def _tile_numbers(roof: Roof, units: str) -> dict[tuple[str, str], int]:
    """The tile each finding is drawn in, by seam and name."""
    return {
        (seam.key, mark.name): tile.number
        for site in sites(roof, units, {})
        for tile in tiles_of(site)
        for seam, mark in tile.marks
    }


def _plan(site: DrawnSite, view: View) -> Figure:
    svg = Svg(view.height)
    boxes = outlined(svg, site, view, dimensions=True)
    left_out = detailed(svg, site, view, site.seams, _all_marks(site), boxes)
    title = _("Area {name}", name=site.letter) if site.letter else _("The roof")
    caption = _(
        "{title} to scale: x to the right, y upwards from the plan's corner; a dot at each seam's zero end. {seams}. Findings by their names: the table of findings; the numbers of seams: the table of seams.",
        title=title,
        seams=count_of(site.seams),
    )
    return Figure(
        f"plan-{site.letter}", caption + left_out, alt_of(site.seams, site.units), svg.done()
    )


def _tile(site: DrawnSite, tile: Tile, of: int) -> Figure:
    svg = Svg(tile.view.height)
    boxes = outlined(svg, site, tile.view, dimensions=False)
    left_out = detailed(svg, site, tile.view, tile.seams, tile.marks, boxes)
    low, high = tile.view.low, tile.view.high
    caption = _(
        "Tile {n} of {of}: x {x}, y {y} from the plan's corner. {open} open, {mended} mended and not probed again. Findings by their names: the table of findings; the numbers of seams: the table of seams.",
        n=tile.number,
        of=of,
        x=show.stretches(((low[0], high[0]),), site.units),
        y=show.stretches(((low[1], high[1]),), site.units),
        open=tile.open,
        mended=tile.mended,
    )
    name = f"tile-{site.letter}-{tile.number}"
    return Figure(name, caption + left_out, alt_of(tile.seams, site.units), svg.done())


def _key(site: DrawnSite, view: View, name: str, tiles: Sequence[Tile]) -> Figure:
    """The whole roof small: by what is open in each tile, or by every finding where there are no tiles."""
    svg = Svg(view.height)
    boxes = outlined(svg, site, view, dimensions=True)
    if not tiles:
        left_out = detailed(svg, site, view, site.seams, _all_marks(site), boxes, names=False)
    else:
        left_out = ""
        thin(svg, site, view)
        _counts(svg, view, tiles)
    caption = _(
        "The roof to scale, {seams}. The numbers: table of seams.", seams=count_of(site.seams)
    )
    if tiles:
        drawn = min(sum(tile.urgent for tile in tiles), _MOST_TILES)
        caption = _(
            "Key plan, {seams}: in each tile its number, X open findings, o mended and not probed again. Drawn large: {drawn} of {of} tiles, those where something waits for a person. The numbers: table of seams.",
            seams=count_of(site.seams),
            drawn=drawn,
            of=len(tiles),
        )
    return Figure(
        f"{name}-{site.letter}", caption + left_out, alt_of(site.seams, site.units), svg.done()
    )


def _counts(svg: Svg, view: View, tiles: Sequence[Tile]) -> None:
    """The tiles' edges, and in each its number and how much is open."""
    for tile in tiles:
        left, bottom = view.at(*tile.view.low)
        right, top = view.at(*tile.view.high)
        svg.path(
            [(left, top), (right, top), (right, bottom), (left, bottom), (left, top)], INK, 0.8
        )
    for tile in tiles:
        left, top = view.at(tile.view.low[0], tile.view.high[1])
        right, bottom = view.at(tile.view.high[0], tile.view.low[1])
        x, y = (left + right) / 2, (top + bottom) / 2
        wide = min(right - left - 2, 15.0 + 6.2 * len(f"{tile.open}{tile.mended}") + 34)
        lines = [str(tile.number)]
        if tile.open or tile.mended:
            lines.append(f"X {tile.open}   o {tile.mended}")
        high = 13.0 * len(lines) + 3
        with svg.marked("", "", tile=tile.number, open=tile.open, mended=tile.mended):
            svg.rect(x - wide / 2, y - high / 2, wide, high, PAPER, MUTED)
            for n, line in enumerate(lines):
                svg.text(
                    x,
                    y - high / 2 + 12 + 13 * n,
                    line,
                    11 if n == 0 else 10,
                    "middle",
                    bold=n > 0 and tile.open > 0,
                )


def _all_marks(site: DrawnSite) -> Iterator[Held]:
    return ((seam, mark) for seam in site.seams for mark in marks_of(seam))


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


def _walk_caption(walk: WalkingOrder) -> str:
    """What the numbers mean, for the caption."""
    if walk.spot is None:
        return _(
            "Numbers: the way, in walking order; arrows: the stretch walked; dashes: from one to the next; triangle: where it begins."
        )
    return _(
        "Numbers: the places to look at, in walking order; arrows: the stretch walked; dashes: from one to the next; the drop: where water was seen, and where it begins. Not a cause: water travels."
    )
