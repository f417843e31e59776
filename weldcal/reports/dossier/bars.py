"""Seams that have no place on the plan, as bars in the order listed, to the scale of their lengths.

Invariant: the drawing says that the record holds no places for them; an urgent
mark lies over no other, or stands for several and says how many.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from msgspec import structs

from weldcal.reports.dossier import strokes
from weldcal.reports.dossier.document import Figure
from weldcal.reports.dossier.placing import Spot, TakenBoxes, place, shared
from weldcal.reports.dossier.svg import WIDTH, Svg
from weldcal.reports.dossier.telling import alt_of, count_of, scale_bar
from weldcal.reports.terminal import SHAPES
from weldcal.views.dossier import SeamFacts
from weldcal.words import _

Point = tuple[float, float]
Doubted = Mapping[str, list[tuple[float, float]]]

# Seams a page with their names and marks one by one, and those without where there are more.
_ROWS, _NAMED, _PITCH = 34, 440, 22.0
_SMALL_ROWS, _COLUMNS, _SMALL_PITCH = 62, 4, 11.5
_MOST_MARKS = 120
# Mends and closed findings are drawn on so many seams; a PDF of more would cost memory for specks.
_WITH_SMALL_SIGNS = 1500
# On page 1: rows and columns of bars, and how far apart.
_GLANCE_ROWS, _GLANCE_COLUMNS = 19, 4
# The most urgent state first: these are drawn where not all can be.
_FIRST = ("X", "o", "?", "%", ">", ".", "=")


def figures(
    seams: Sequence[SeamFacts], doubted: Doubted, units: str, links: dict[str, str]
) -> Iterator[Figure]:
    """All of these seams."""
    if len(seams) <= _NAMED:
        yield from _bars(seams, doubted, units, links)
    else:
        yield from _small_bars(seams, doubted, units, links)


def short(name: str, most: int = 16) -> str:
    """A name with no more signs than there is room for."""
    return name if len(name) <= most else name[: most - 1] + "…"


def at_a_glance(
    seams: Sequence[SeamFacts], doubted: Doubted, units: str, links: dict[str, str]
) -> Figure:
    """The bars of one small drawing; where there are more seams, those that most want a person."""
    most = _GLANCE_ROWS * _GLANCE_COLUMNS
    some = list(seams)
    if len(some) > most:
        urgent = sorted(seams, key=lambda s: _FIRST.index(SHAPES[s.state.state]))[:most]
        keys = {seam.key for seam in urgent}
        some = [seam for seam in seams if seam.key in keys]
    rows = max(1, math.ceil(len(some) / _GLANCE_COLUMNS)) if len(some) > 8 else len(some)
    svg = _columns(some, doubted, units, links, rows, _GLANCE_COLUMNS if len(some) > 8 else 1)
    caption = _(
        "Seams as bars in the order listed, to the scale of their lengths, {seams}; the record holds no places on the roof for them. The numbers: table of seams.",
        seams=count_of(seams),
    )
    if len(some) < len(seams):
        caption += " " + _("Here the {n} that most want a person.", n=len(some))
    return Figure("glance", caption, alt_of(seams, units), svg.done())


def _bars(
    seams: Sequence[SeamFacts], doubted: Doubted, units: str, links: dict[str, str]
) -> Iterator[Figure]:
    """Seams as bars with their names, some to a drawing."""
    scale = _scale(seams, WIDTH - 190)
    parts = [seams[at : at + _ROWS] for at in range(0, len(seams), _ROWS)]
    for n, part in enumerate(parts, 1):
        svg = Svg(_PITCH * len(part) + 54)
        rows = [(seam, (112.0, 20 + _PITCH * row)) for row, seam in enumerate(part)]
        marks, lines = TakenBoxes(), TakenBoxes()
        for seam, (x, y) in rows:
            svg.text(104, y + 4, short(seam.name), 11, "end")
            svg.text(WIDTH - 10, y + 4, SHAPES[seam.state.state], 12, bold=True)
            _bar(svg, seam, (x, y), scale, 7, doubted, lines)
        spots = shared(_spots(rows, scale), _MOST_MARKS)
        placed = place(spots, marks, lines, (108, 2, WIDTH - 22, svg.height - 24))
        strokes.marks(svg, placed, part, links)
        scale_bar(svg, scale, svg.height - 14, units, 112)
        yield _figure(n, len(parts), part, svg, units)


def _small_bars(
    seams: Sequence[SeamFacts], doubted: Doubted, units: str, links: dict[str, str]
) -> Iterator[Figure]:
    """Seams as small bars in columns: one mark a seam for all that is open on it, one for all mended."""
    each = _SMALL_ROWS * _COLUMNS
    bare = len(seams) > _WITH_SMALL_SIGNS
    parts = [seams[at : at + each] for at in range(0, len(seams), each)]
    for n, part in enumerate(parts, 1):
        svg = _columns(
            part, doubted, units, links, min(len(part), _SMALL_ROWS), _COLUMNS, bare=bare
        )
        yield _figure(n, len(parts), part, svg, units, _bar_marks(bare))


def _columns(
    seams: Sequence[SeamFacts],
    doubted: Doubted,
    units: str,
    links: dict[str, str],
    rows: int,
    columns: int,
    *,
    bare: bool = False,
) -> Svg:
    """Bars in columns, each (`bare`: every eighth) with its name before it, and its marks behind it."""
    column = WIDTH / columns
    name, behind = 52.0, 84.0
    scale = _scale(seams, column - name - behind)
    svg = Svg(_SMALL_PITCH * rows + 34)
    for at, seam in enumerate(seams):
        x, y = column * (at // rows), 10 + _SMALL_PITCH * (at % rows)
        if not bare or at % 8 == 0:
            svg.text(x + name - 4, y + 3, short(seam.name, 9), 8.5, "end")
        shown = structs.replace(seam, marks=()) if bare else seam
        _bar(svg, shown, (x + name, y), scale, 4.6, doubted, TakenBoxes())
        _behind(svg, seam, (x + column - behind + 8, y), links, counted=not bare)
    scale_bar(svg, scale, svg.height - 12, units, name)
    return svg


def _behind(svg: Svg, seam: SeamFacts, at: Point, links: dict[str, str], *, counted: bool) -> None:
    """Behind a small bar: the state's sign, an X for what is open, a circle for what is mended; `counted`: how many."""
    x, y = at
    for what in strokes.URGENT:
        names = tuple(mark.name for mark in seam.marks if mark.what == what)
        if names:
            spot = Spot(what, names, (seam.key,), (x, y), ((x, y), (x, y)))
            data = {"mark": what, "n": len(names), "names": " ".join(names[:12])}
            with svg.marked(
                f"{spot.label} {seam.name}", links.get(seam.key, ""), **data, seams=seam.name
            ):
                if what == "open":
                    svg.cross(x, y, 3.2)
                else:
                    svg.dot(x, y, 3.2)
                if counted:
                    svg.text(x + 6, y + 3, str(len(names)), 8.5, bold=what == "open")
            x += 34
    if x == at[0] and counted:
        svg.text(x - 3, y + 3, SHAPES[seam.state.state], 9)


def _scale(seams: Sequence[SeamFacts], wide: float) -> float:
    longest = max((strokes.extent(seam) for seam in seams), default=0.0) or 1.0
    return wide / longest


def _along(seam: SeamFacts, start: Point, scale: float) -> strokes.Along:
    def ends(low: float, high: float) -> tuple[Point, Point]:
        return (start[0] + low * scale, start[1]), (start[0] + high * scale, start[1])

    return ends


def _bar(
    svg: Svg,
    seam: SeamFacts,
    start: Point,
    scale: float,
    wide: float,
    doubted: Doubted,
    lines: TakenBoxes,
) -> None:
    """A seam without its urgent marks; a T-joint, which has no length, is its square."""
    along = _along(seam, start, scale)
    long = strokes.extent(seam)
    strokes.hatches(svg, seam, along, wide, doubted.get(seam.key, ()))
    if not long:
        strokes.square(svg, structs.replace(seam, kind="T-joint"), start)
    else:
        strokes.lap(svg, seam, along, wide)
        strokes.small_signs(svg, seam, along, wide)
    x, y = start
    lines.add((x - 1, y - wide / 2, x + long * scale, y + wide / 2))


def _spots(rows: Sequence[tuple[SeamFacts, Point]], scale: float) -> list[Spot]:
    found = []
    for seam, start in rows:
        along = _along(seam, start, scale)
        for mark in seam.marks:
            if mark.what in (*strokes.URGENT, "sample"):
                a, b = along(mark.start_m, mark.end_m) or (start, start)
                found.append(
                    Spot(mark.what, (mark.name,), (seam.key,), strokes.middle(a, b), (a, b))
                )
    order = (*strokes.URGENT, "sample")
    return sorted(found, key=lambda spot: order.index(spot.what))


def _bar_marks(bare: bool) -> str:
    """What the marks behind small bars stand for."""
    if bare:
        return _(
            "One X stands for all that is open on a seam, one circle for all that is mended and not probed again."
        )
    return _(
        "Behind a bar, X and a number stand for all that is open on that seam, a circle and a number for all that is mended and not probed again."
    )


def _figure(
    n: int, of: int, seams: Sequence[SeamFacts], svg: Svg, units: str, more: str = ""
) -> Figure:
    part = f" {n}/{of}" if of > 1 else ""
    caption = _(
        "Seams as bars in the order listed{part}, to the scale of their lengths; the record holds no places on the roof for them. {seams}. The numbers: table of seams.",
        part=part,
        seams=count_of(seams),
    )
    if more:
        caption += f" {more}"
    return Figure(f"bars-{n}", caption, alt_of(seams, units), svg.done())
