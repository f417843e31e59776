"""What is drawn of a roof's seams: hatching, laps, points, names, and last the marks.

Invariant: the most urgent mark is drawn last; no name lies over a lap or a mark.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from weldcal.reports.dossier import bars, strokes
from weldcal.reports.dossier.placing import (
    Spot,
    TakenBoxes,
    around,
    name_box,
    place,
    shared,
    words_wide,
)
from weldcal.reports.dossier.site import (
    URGENCY,
    DrawnSite,
    Held,
    Point,
    View,
    along_of,
    long_m,
    middle_of,
    spacing,
)
from weldcal.reports.dossier.svg import INK, MUTED, PROBED, UNPROBED, Svg
from weldcal.reports.terminal import SHAPES
from weldcal.views.dossier import SeamFacts
from weldcal.words import _, plural

_MOST_MARKS = 110
_NAME = 8.5


def thin(svg: Svg, site: DrawnSite, view: View) -> None:
    """Every lap as a thin line: a few elements, however many there are."""
    drawn: dict[str, list[tuple[Point, Point]]] = {"listed": [], "probed": [], "unprobed": []}
    for seam in filter(long_m, site.seams):
        along = along_of(seam, view)
        state = seam.state
        full_length = ((0.0, strokes.extent(seam)),)
        for what, stretches in zip(drawn, (full_length, state.welded, state.unprobed), strict=True):
            drawn[what] += [ends for a, b in stretches if (ends := along(a, b)) is not None]
    wide = min(2.6, 0.5 * view.scale * spacing(site))
    svg.hatch(drawn["listed"], MUTED, min(0.6, wide / 2))
    svg.hatch(drawn["probed"], PROBED, wide)
    svg.hatch(drawn["unprobed"], INK, wide)
    svg.hatch(drawn["unprobed"], UNPROBED, 0.6 * wide)


def _drawn(svg: Svg, seam: SeamFacts, view: View, site: DrawnSite, wide: float) -> None:
    """A seam without its urgent marks."""
    along = along_of(seam, view)
    strokes.hatches(svg, seam, along, wide, site.doubted.get(seam.key, ()))
    if long_m(seam):
        strokes.lap(svg, seam, along, wide)
    elif wide > 3 and (ends := along(0.0, 0.0)):
        strokes.square(svg, seam, ends[0])


def detailed(
    svg: Svg,
    site: DrawnSite,
    view: View,
    seams: Sequence[SeamFacts],
    held: Iterable[Held],
    marks: TakenBoxes,
    *,
    names: bool = True,
) -> str:
    """Draw hatching, laps, points, names, then marks by urgency; return a note on names left out."""
    wide = 6.0 if names else 4.0
    lines = TakenBoxes()
    long = [seam for seam in seams if long_m(seam)]
    points = [seam for seam in seams if not long_m(seam)]
    for seam in [*long, *points]:
        _drawn(svg, seam, view, site, wide)
        _occupied(lines, seam, view, wide)
    for seam in long:
        along = along_of(seam, view)
        strokes.small_signs(svg, seam, along, wide)
        if seam.place and view.holds(seam.place[1:3]):
            svg.dot(*view.at(*seam.place[1:3]), 1.6)
    spots = shared(_spots(view, held), _MOST_MARKS)
    avoid = TakenBoxes()
    for spot in spots:
        avoid.add(around(spot.at, 7.0))
    unnamed = 0
    if names:
        unnamed = _names(svg, view, seams, (marks, lines, avoid))
    if names:
        for spot in spots:
            lines.add(around(spot.at, 2.0))
    left, top, right, bottom = view.box
    within = (left - 30, top - 14, right + 34, bottom + 14)
    strokes.marks(svg, place(spots, marks, lines, within), site.seams, site.links)
    if not unnamed:
        return ""
    return " " + plural("{n} name left out for room.", "{n} names left out for room.", unnamed)


def _spots(view: View, marks: Iterable[Held]) -> list[Spot]:
    """What is marked in a view, the most urgent first."""
    spots = []
    for seam, mark in marks:
        at = view.at(*middle_of(seam, mark))
        ends = along_of(seam, view)(mark.start_m, mark.end_m) or (at, at)
        spots.append(Spot(mark.what, (mark.name,), (seam.key,), at, ends))
    return sorted(spots, key=lambda spot: URGENCY.index(spot.what))


def _occupied(lines: TakenBoxes, seam: SeamFacts, view: View, wide: float) -> None:
    """Take the room of a seam: its bar, in pieces where it runs aslant."""
    if not long_m(seam):
        if (ends := along_of(seam, view)(0.0, 0.0)) is not None:
            lines.add(around(ends[0], 9.5 if seam.kind == "detail" else 3.6))
        return
    ends = along_of(seam, view)(0.0, strokes.extent(seam) or 0.0)
    if ends is None:
        return
    (x0, y0), (x1, y1) = ends
    aslant = min(abs(x1 - x0), abs(y1 - y0)) > 1
    count = max(1, int(math.dist((x0, y0), (x1, y1)) / 6)) if aslant else 1
    half = wide / 2 + 0.6
    for n in range(count):
        xs = sorted((x0 + (x1 - x0) * n / count, x0 + (x1 - x0) * (n + 1) / count))
        ys = sorted((y0 + (y1 - y0) * n / count, y0 + (y1 - y0) * (n + 1) / count))
        lines.add((xs[0] - half, ys[0] - half, xs[1] + half, ys[1] + half))


def _names(
    svg: Svg,
    view: View,
    seams: Sequence[SeamFacts],
    taken: tuple[TakenBoxes, TakenBoxes, TakenBoxes],
) -> int:
    """Names of laps and details beside their bars, over nothing; returns how many found no room."""
    marks, lines, avoid = taken
    unnamed = 0
    for seam in sorted(seams, key=lambda s: s.kind != "detail"):
        if seam.kind == "T-joint" and not seam.state.open and not seam.state.mended:
            continue
        text = f"{bars.short(seam.name)} {SHAPES[seam.state.state]}"
        if seam.kind == "detail" and seam.at:
            text = f"{bars.short(_(seam.at))} {text}"
        places = [name_box(*at, text, _NAME) for at in _name_spots(seam, view, text)]
        free = [b for b in places if marks.free(b) and lines.free(b)]
        if not places:
            continue
        if not free:
            unnamed += 1
            continue
        box = next((b for b in free if avoid.free(b)), free[0])
        marks.add(box)
        svg.text(box[0], box[1] + 0.78 * _NAME, text, _NAME, plate=True)
    return unnamed


def _name_spots(seam: SeamFacts, view: View, text: str) -> Iterator[Point]:
    """Where a seam's name may begin, the best first: beside its zero end, then along it."""
    ends = along_of(seam, view)(0.0, strokes.extent(seam))
    if ends is None:
        return
    (x0, y0), (x1, y1) = ends
    wide = words_wide(text, _NAME)
    if not long_m(seam):
        reach = 11.0 if seam.kind == "detail" else 5.0
        for dy in (-4.0, 9.0, 3.0, -8.0, 13.0, -12.0, 17.0, -17.0, 22.0, -22.0, 27.0, -27.0, 32.0):
            for dx in (reach, -reach - wide, -wide / 2):
                yield x0 + dx, y0 + dy
        return
    for part in (0.02, 0.06, 0.12, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9):
        x, y = x0 + (x1 - x0) * part, y0 + (y1 - y0) * part
        if abs(x1 - x0) >= abs(y1 - y0):
            start = x if x1 > x0 else x - wide
            yield start, y - 6.0
            yield start, y + 12.0
        else:
            yield x + 5.5, y + 3.0
            yield x - 5.5 - wide, y + 3.0
