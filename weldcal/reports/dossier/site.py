"""What lies where: seams on the page, the roof's parts, and tiles where it is too large for one page.

Invariant: a seam lies where its coordinates put it, and each mark in one tile.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from msgspec import Struct

from weldcal.quality.doubt import in_doubt
from weldcal.reports.dossier import strokes
from weldcal.reports.dossier.outline import Edge, Rect, edges
from weldcal.reports.dossier.placing import Box, overlap
from weldcal.reports.dossier.svg import WIDTH
from weldcal.rules import on_plan
from weldcal.views.dossier import Mark, Roof, SeamFacts

Point = tuple[float, float]
# A mark with the seam it is on.
Held = tuple[SeamFacts, Mark]

# Room around the roof for dimensions, the corner and north.
LEFT, RIGHT, TOP, FOOT = 48.0, 48.0, 44.0, 52.0
# No higher than leaves room on a page for its heading and caption.
HIGHEST = 800.0
# Laps are drawn this far apart at least, or the roof is drawn in tiles.
_APART = 21.0
# Marks that are placed so that none lies over another, the most urgent first.
URGENCY = ("open", "mended", "sample")


class View(Struct, frozen=True):
    """A part of the roof on the page: its corners in metres, and the scale in units a metre."""

    low: Point
    high: Point
    scale: float

    @property
    def box(self) -> Box:
        """The part on the page."""
        left, bottom = self.at(*self.low)
        right, top = self.at(*self.high)
        return left, top, right, bottom

    @property
    def height(self) -> float:
        """Height of the drawing, with the room around."""
        return (self.high[1] - self.low[1]) * self.scale + TOP + FOOT

    def at(self, x: float, y: float) -> Point:
        """A place on the roof, on the page: y grows upwards."""
        return LEFT + (x - self.low[0]) * self.scale, TOP + (self.high[1] - y) * self.scale

    def holds(self, place: Point) -> bool:
        """Whether a place on the roof lies in it, its edge with it."""
        return all(self.low[n] - 1e-6 <= place[n] <= self.high[n] + 1e-6 for n in (0, 1))


class DrawnSite(Struct, frozen=True):
    """What lies together on one plan.

    Attributes:
        letter: of the one area, or empty for the whole roof.
        edge: of the roof; empty where no area was laid out.
        doubted: stretches in doubt, by seam key.
        links: places of seams on the page, by seam key.
    """

    letter: str
    seams: Sequence[SeamFacts]
    edge: Sequence[Edge]
    doubted: Mapping[str, list[tuple[float, float]]]
    north_deg: float | None
    links: dict[str, str]
    units: str

    def corners(self) -> tuple[Point, Point]:
        """The low and the high corner of all that is drawn."""
        places = [p for e in self.edge for p in (e.a, e.b)]
        for seam in self.seams:
            assert seam.place is not None
            places += [seam.place[1:3], seam.place[3:5]]
        xs, ys = [p[0] for p in places], [p[1] for p in places]
        low = min(xs), min(ys)
        return low, (max(max(xs), low[0] + 0.1), max(max(ys), low[1] + 0.1))


class Tile(Struct):
    """A part of a large roof with what lies in it."""

    number: int
    view: View
    seams: list[SeamFacts]
    marks: list[Held]
    doubt: bool

    @property
    def open(self) -> int:
        """How many findings are open in it."""
        return sum(mark.what == "open" for _seam, mark in self.marks)

    @property
    def mended(self) -> int:
        """How many are mended and not probed again."""
        return sum(mark.what == "mended" for _seam, mark in self.marks)

    @property
    def urgent(self) -> bool:
        """Whether it shows anything urgent."""
        waits = any(seam.state.unprobed or "covered" in seam.flags for seam in self.seams)
        return bool(self.open or self.mended or self.doubt or waits)

    @property
    def urgency(self) -> tuple[int, int]:
        """Which tiles are drawn first where there are too many."""
        return self.open, self.mended


def doubted(roof: Roof) -> dict[str, list[tuple[float, float]]]:
    """Stretches in doubt by seam key; what several failures put in doubt is one stretch."""
    return in_doubt(roof.doubts.doubts) if roof.doubts else {}


def sites(roof: Roof, units: str, links: dict[str, str]) -> list[DrawnSite]:
    """What is drawn together: the whole roof, or each area where areas lie over one another."""
    placed = [seam for seam in roof.seams if seam.place is not None]
    rects_of: dict[str, list[Rect]] = {}
    for row in roof.areas:
        if rect := on_plan.rectangle(row):
            rects_of.setdefault(row["name"], []).append(rect)
    letters = list(dict.fromkeys([seam.place[0] or "" for seam in placed if seam.place]))
    apart = doubted(roof)

    def site(letter: str, seams: list[SeamFacts], rects: list[Rect]) -> DrawnSite:
        return DrawnSite(letter, seams, edges(rects), apart, roof.north_deg, links, units)

    if not placed:
        return []
    if len(letters) == 1 or (set(letters) <= set(rects_of) and not _over(rects_of)):
        rects = [rect for name in letters for rect in rects_of.get(name, [])]
        return [site(letters[0] if len(letters) == 1 else "", placed, rects)]
    by_letter: dict[str, list[SeamFacts]] = {letter: [] for letter in letters}
    for seam in placed:
        assert seam.place is not None
        by_letter[seam.place[0] or ""].append(seam)
    return [site(name, seams, rects_of.get(name, [])) for name, seams in by_letter.items()]


def _over(rects_of: dict[str, list[Rect]]) -> bool:
    """Whether rectangles of different areas lie over one another."""
    flat = [(name, rect) for name, rects in rects_of.items() for rect in rects]
    return any(
        a != b and overlap(_shrunk(one), _shrunk(other))
        for n, (a, one) in enumerate(flat)
        for b, other in flat[:n]
    )


def _shrunk(rect: Rect) -> Rect:
    return rect[0] + 0.01, rect[1] + 0.01, rect[2] - 0.01, rect[3] - 0.01


def full_width(low: Point, high: Point) -> float:
    """The scale at which a part of the roof fills the page's width, units a metre."""
    return (WIDTH - LEFT - RIGHT) / (high[0] - low[0])


def tiles_of(site: DrawnSite) -> list[Tile]:
    """Tiles of a roof whose laps would be too near one another on one page; else none."""
    low, high = site.corners()
    wide, tall = high[0] - low[0], high[1] - low[1]
    scale = min(full_width(low, high), (HIGHEST - TOP - FOOT) / tall)
    wanted = _APART / spacing(site)
    if scale >= 0.8 * wanted:
        return []
    columns = max(1, math.ceil(wide * wanted / (WIDTH - LEFT - RIGHT) - 0.05))
    rows = max(1, math.ceil(tall * wanted / (HIGHEST - TOP - FOOT) - 0.05))
    across, up = wide / columns, tall / rows
    scale = min((WIDTH - LEFT - RIGHT) / across, (HIGHEST - TOP - FOOT) / up)
    views = [
        View(
            (low[0] + c * across, high[1] - (r + 1) * up),
            (low[0] + (c + 1) * across, high[1] - r * up),
            scale,
        )
        for r in range(rows)
        for c in range(columns)
    ]
    return _filled(site, views, columns, rows)


def spacing(site: DrawnSite) -> float:
    """How far apart laps lie, m: the roof's size over all of their length."""
    low, high = site.corners()
    laps = sum(long_m(seam) for seam in site.seams)
    return (high[0] - low[0]) * (high[1] - low[1]) / laps if laps else high[0] - low[0]


def _filled(site: DrawnSite, views: list[View], columns: int, rows: int) -> list[Tile]:
    """Tiles with the seams that cross them and the marks that lie in them, each mark in one."""
    tiles = [Tile(n + 1, view, [], [], False) for n, view in enumerate(views)]
    low, high = views[-columns].low, views[columns - 1].high
    size = (high[0] - low[0]) / columns, (high[1] - low[1]) / rows

    def cell(at: Point) -> tuple[int, int]:
        column = min(max(int((at[0] - low[0]) / size[0]), 0), columns - 1)
        return min(max(int((high[1] - at[1]) / size[1]), 0), rows - 1), column

    for seam in site.seams:
        assert seam.place is not None
        ends = cell(seam.place[1:3]), cell(seam.place[3:5])
        (top, bottom), (left, right) = (sorted(pair) for pair in zip(*ends, strict=True))
        for row in range(top, bottom + 1):
            for tile in tiles[row * columns + left : row * columns + right + 1]:
                tile.seams.append(seam)
                tile.doubt |= seam.key in site.doubted
        for mark in marks_of(seam):
            row, column = cell(middle_of(seam, mark))
            tiles[row * columns + column].marks.append((seam, mark))
    return tiles


def long_m(seam: SeamFacts) -> float:
    """How far apart a seam's ends lie, m; 0 for a point."""
    assert seam.place is not None
    return math.dist(seam.place[1:3], seam.place[3:5])


def marks_of(seam: SeamFacts) -> Iterator[Mark]:
    """The marks of a seam that are placed so that none lies over another."""
    return (mark for mark in seam.marks if mark.what in URGENCY)


def middle_of(seam: SeamFacts, mark: Mark) -> Point:
    """Where a mark lies on the roof."""
    return where(seam, (mark.start_m + mark.end_m) / 2)


def where(seam: SeamFacts, along_m: float) -> Point:
    """A place on the roof: so far along a seam."""
    assert seam.place is not None
    _area, x0, y0, x1, y1 = seam.place
    length = strokes.extent(seam)
    part = min(max(along_m / length, 0.0), 1.0) if length else 0.0
    return x0 + (x1 - x0) * part, y0 + (y1 - y0) * part


def along_of(seam: SeamFacts, view: View) -> strokes.Along:
    """Distances along a seam on the page, cut where the view ends."""
    assert seam.place is not None
    a, b = seam.place[1:3], seam.place[3:5]
    length = strokes.extent(seam)
    first, last = cut(a, b, view)

    def ends(low: float, high: float) -> tuple[Point, Point] | None:
        if not length:
            return (view.at(*a), view.at(*a)) if first <= last else None
        start, end = max(low / length, first), min(high / length, last)
        if start > end or (start == end and low != high):
            return None
        return tuple(
            view.at(*(p + (q - p) * t for p, q in zip(a, b, strict=True))) for t in (start, end)
        )  # type: ignore[return-value]

    return ends


def cut(a: Point, b: Point, view: View) -> tuple[float, float]:
    """From which to which part of a line it lies within a view (Liang and Barsky 1984)."""
    first, last = 0.0, 1.0
    for axis in (0, 1):
        step = b[axis] - a[axis]
        low, high = view.low[axis] - 1e-6 - a[axis], view.high[axis] + 1e-6 - a[axis]
        if step == 0:
            if low > 0 or high < 0:
                return 1.0, 0.0
            continue
        enters, leaves = sorted((low / step, high / step))
        first, last = max(first, enters), min(last, leaves)
    return first, last
