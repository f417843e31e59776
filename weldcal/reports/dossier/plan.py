"""The roof drawn: every seam to scale, what was welded, probed, found, mended and cut.

Invariant: a seam lies where its coordinates put it; where it has none it is a
bar in the order listed, to the scale of its length, and the drawing says so.
What a line and a mark mean is the same in both, and stands in the legend.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from weldcal.quality.seam import PROBED as PROBED_STATE
from weldcal.reports import show
from weldcal.reports.dossier.document import Figure, table
from weldcal.reports.dossier.lengths import length
from weldcal.reports.dossier.palette import INK, MUTED, OPEN, PAPER, PROBED, UNPROBED
from weldcal.reports.dossier.svg import WIDTH, Svg
from weldcal.reports.terminal import SHAPES
from weldcal.words import _, plural

# Seams a page with their names, and those without where there are more than `_NAMED` in all.
_ROWS, _NAMED = 44, 440
_SMALL_ROWS, _COLUMNS = 96, 4
# Marks are drawn for so many seams; beyond, one a seam for all that is open, one for all mended.
_MARKED = 1500
_URGENT = ("open", "mended")

Point = tuple[float, float]


def roof(seams: Sequence[Any], units: str) -> list[Figure]:
    """The roof in as many drawings as it takes: areas with coordinates first, then bars."""
    placed: dict[str, list[Any]] = {}
    for seam in seams:
        if seam.place is not None:
            placed.setdefault(seam.place[0] or "", []).append(seam)
    found = [_area(name, part, units, len(seams)) for name, part in placed.items()]
    rest = [seam for seam in seams if seam.place is None]
    return [*found, *(_bars(rest, units) if len(rest) <= _NAMED else _small_bars(rest, units))]


def legend() -> Figure:
    """What lines, marks and signs mean."""
    meanings = _meanings()
    svg = Svg(26.0 * math.ceil(len(meanings) / 2) + 4)
    for n, (_sign, meaning, draw) in enumerate(meanings):
        x, y = 8 + 360 * (n % 2), 16 + 26 * (n // 2)
        draw(svg, x, y)
        svg.text(x + 56, y + 4, meaning, 12)
    rows = [(sign, meaning) for sign, meaning, _draw in meanings]
    rows += [
        (sign, _("state of a seam: {state}", state=_(state))) for state, sign in SHAPES.items()
    ]
    alt = _("Legend: {what}.", what="; ".join(f"{sign}: {meaning}" for sign, meaning in rows))
    return Figure(
        "legend",
        _("How to read the drawings"),
        alt,
        svg.done(),
        table(_("Lines, marks and signs"), [_("Sign"), _("Meaning")], rows, widths=(1, 3)),
    )


def _meanings() -> list[tuple[str, str, Any]]:
    return [
        (
            _("thin dotted line"),
            _("listed, not welded"),
            lambda s, x, y: _stretch(s, (x, y), (x + 44, y), "listed", 7),
        ),
        (
            _("hollow bar"),
            _("welded, not probed"),
            lambda s, x, y: _stretch(s, (x, y), (x + 44, y), "unprobed", 7),
        ),
        (
            _("solid bar"),
            _("welded and probed"),
            lambda s, x, y: _stretch(s, (x, y), (x + 44, y), "probed", 7),
        ),
        ("X", _("open finding"), lambda s, x, y: s.cross(x + 22, y, 5)),
        (
            _("circle"),
            _("finding mended, not probed again"),
            lambda s, x, y: s.dot(x + 22, y, 4.5, PAPER),
        ),
        (_("small white dot"), _("finding mended and probed again"), _closed),
        (
            _("bracket beside the bar"),
            _("mend, over its length"),
            lambda s, x, y: _mend(s, (x + 8, y), (x + 36, y)),
        ),
        (_("diamond"), _("sample cut for a peel test"), lambda s, x, y: s.diamond(x + 22, y, 5)),
        (
            _("small square"),
            _("T-joint or detail; hollow: welded, not probed; solid: probed"),
            lambda s, x, y: s.rect(x + 18, y - 4, 8, 8, UNPROBED, INK),
        ),
    ]


def _closed(svg: Svg, x: float, y: float) -> None:
    _stretch(svg, (x, y), (x + 44, y), "probed", 7)
    svg.dot(x + 22, y, 2, PAPER, PAPER)


def _stretch(svg: Svg, a: Point, b: Point, what: str, wide: float) -> None:
    """A stretch of lap between two points."""
    if what == "listed":
        svg.line(*a, *b, MUTED, 1.2, "2 3")
    elif what == "unprobed":
        svg.line(*a, *b, INK, wide)
        inset = min(1.2, math.dist(a, b) / 4)
        svg.line(*_along(a, b, inset), *_along(b, a, inset), UNPROBED, wide - 2.4)
    else:
        svg.line(*a, *b, PROBED, wide)


def _along(a: Point, b: Point, by: float) -> Point:
    whole = math.dist(a, b)
    if not whole:
        return a
    return a[0] + (b[0] - a[0]) * by / whole, a[1] + (b[1] - a[1]) * by / whole


def _beside(a: Point, b: Point, by: float) -> Point:
    """How far to step to lie `by` to the right of the way from a to b."""
    whole = math.dist(a, b) or 1.0
    return -(b[1] - a[1]) / whole * by, (b[0] - a[0]) / whole * by


def _mend(svg: Svg, a: Point, b: Point) -> None:
    dx, dy = _beside(a, b, 6.5)
    ux, uy = dx * 3.5 / 6.5, dy * 3.5 / 6.5
    svg.path(
        [
            (a[0] + ux, a[1] + uy),
            (a[0] + dx, a[1] + dy),
            (b[0] + dx, b[1] + dy),
            (b[0] + ux, b[1] + uy),
        ],
        INK,
        1.4,
    )


def _seam(svg: Svg, seam: Any, a: Point, b: Point, wide: float, marks: bool) -> None:
    """One seam from its zero end `a` to `b`."""
    length = extent(seam)
    if length <= 0:
        return

    def at(distance: float) -> Point:
        part = min(max(distance / length, 0.0), 1.0)
        return a[0] + (b[0] - a[0]) * part, a[1] + (b[1] - a[1]) * part

    _stretch(svg, a, b, "listed", wide)
    for low, high in seam.state.welded:
        _stretch(svg, at(low), at(high), "probed", wide)
    for low, high in seam.state.unprobed:
        _stretch(svg, at(low), at(high), "unprobed", wide)
    drawn: dict[str, Point] = {}
    for what, low, high in sorted(seam.marks, key=lambda m: m[0] in _URGENT):
        middle = at((low + high) / 2)
        crowded = what in drawn and (not marks or math.dist(drawn[what], middle) < wide)
        if crowded or not (marks or what in _URGENT):
            continue
        drawn[what] = middle
        _marked(svg, what, at(low), at(high), wide)


def _marked(svg: Svg, what: str, a: Point, b: Point, wide: float) -> None:
    middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
    small = wide < 6
    if what == "mend":
        _mend(svg, a, b)
        return
    if math.dist(a, b) > 4 and what in _URGENT:
        dx, dy = _beside(a, b, -(wide / 2 + 1.5))
        colour = OPEN if what == "open" else INK
        svg.line(a[0] + dx, a[1] + dy, b[0] + dx, b[1] + dy, colour, 1.6)
    if what == "open":
        svg.cross(*middle, 3 if small else 4.5)
    elif what == "mended":
        svg.dot(*middle, 2.6 if small else 3.8, PAPER)
    elif what == "closed":
        svg.dot(*middle, 1.8, PAPER, PAPER)
    else:
        svg.diamond(*middle, 3 if small else 4.5)


def extent(seam: Any) -> float:
    """The length to draw a seam at, m: as listed, and never less than what was recorded on it."""
    ends = [high for _low, high in seam.state.welded] + [high for _w, _l, high in seam.marks]
    return float(max([seam.length_m or 0.0, *ends]))


def _area(name: str, seams: list[Any], units: str, of: int) -> Figure:
    """Seams where their coordinates put them."""
    xs = [v for s in seams for v in (s.place[1], s.place[3])]
    ys = [v for s in seams for v in (s.place[2], s.place[4])]
    wide, high = max(max(xs) - min(xs), 0.1), max(max(ys) - min(ys), 0.1)
    scale = min((WIDTH - 80) / wide, 760 / high)
    svg = Svg(high * scale + 84)

    def at(x: float, y: float) -> Point:
        return 40 + (x - min(xs)) * scale, 26 + (max(ys) - y) * scale

    thick = 7.0 if len(seams) <= 80 else 3.4
    for seam in seams:
        _area_name, x0, y0, x1, y1 = seam.place
        a, b = at(x0, y0), at(x1, y1)
        if a == b:
            _point(svg, seam, a)
            continue
        _seam(svg, seam, a, b, thick, of <= _MARKED)
        svg.dot(*a, 1.6)
        if len(seams) <= 160:
            dx, dy = _beside(a, b, -8)
            end = _along(a, b, 10)
            svg.text(end[0] + dx, end[1] + dy, f"{seam.name} {SHAPES[seam.state.state]}", 9)
    _scale_bar(svg, scale, svg.height - 20, units)
    title = _("Area {name} to scale", name=name) if name else _("The roof to scale")
    return Figure(
        f"plan-{name}",
        _(
            "{title}: x to the right, y upwards; a dot at each seam's zero end. {seams}.",
            title=title,
            seams=_count(seams),
        ),
        _alt(seams, units),
        svg.done(),
    )


def _point(svg: Svg, seam: Any, at: Point) -> None:
    """A T-joint or a detail: a small square; named where it is no T-joint, or wants somebody."""
    state = seam.state
    fill = PROBED if state.state == PROBED_STATE else UNPROBED if state.unprobed else PAPER
    svg.rect(at[0] - 3, at[1] - 3, 6, 6, fill, INK)
    if state.open:
        svg.cross(*at, 3.5)
    elif state.mended:
        svg.dot(*at, 2.2, PAPER)
    if seam.kind != "T-joint" or state.open or state.mended:
        svg.text(at[0] + 6, at[1] - 5, f"{seam.name} {SHAPES[state.state]}", 9)


def _scale_bar(svg: Svg, scale: float, y: float, units: str) -> None:
    """A bar of a round length with its unit."""
    metre = 0.3048 if units == "us" else 1.0
    rough = 120 / scale / metre
    power = 10.0 ** math.floor(math.log10(rough))
    length = power * next(m for m in (5, 2, 1) if m * power <= rough)
    end = 40 + length * metre * scale
    svg.line(40, y, end, y, INK, 2)
    for x in (40.0, end):
        svg.line(x, y - 4, x, y + 4, INK, 1.2)
    svg.text(end + 6, y + 4, show.distance(length * metre, units), 11)


def _bars(seams: list[Any], units: str) -> Iterator[Figure]:
    """Seams as bars with their names, some to a drawing."""
    longest = max((extent(seam) for seam in seams), default=0.0) or 1.0
    scale = (WIDTH - 160) / longest
    parts = [seams[at : at + _ROWS] for at in range(0, len(seams), _ROWS)]
    for n, part in enumerate(parts, 1):
        svg = Svg(18.0 * len(part) + 54)
        for row, seam in enumerate(part):
            y = 18 + 18.0 * row
            svg.text(104, y + 4, _short(seam.name), 11, "end")
            _seam(svg, seam, (112, y), (112 + extent(seam) * scale, y), 7, True)
            svg.text(WIDTH - 34, y + 4, SHAPES[seam.state.state], 12, bold=True)
        _scale_bar(svg, scale, svg.height - 16, units)
        yield _bar_figure(n, len(parts), part, svg, units, True)


def _small_bars(seams: list[Any], units: str) -> Iterator[Figure]:
    """Seams as small bars in columns, every eighth named."""
    longest = max((extent(seam) for seam in seams), default=0.0) or 1.0
    column = WIDTH / _COLUMNS
    scale = (column - 62) / longest
    each = _SMALL_ROWS * _COLUMNS
    parts = [seams[at : at + each] for at in range(0, len(seams), each)]
    marks = len(seams) <= _MARKED
    for n, part in enumerate(parts, 1):
        svg = Svg(7.5 * min(len(part), _SMALL_ROWS) + 50)
        for at, seam in enumerate(part):
            x, y = column * (at // _SMALL_ROWS), 12 + 7.5 * (at % _SMALL_ROWS)
            if at % 8 == 0:
                svg.text(x + 44, y + 3, _short(seam.name, 8), 8, "end")
            _seam(svg, seam, (x + 48, y), (x + 48 + extent(seam) * scale, y), 4.6, marks)
        _scale_bar(svg, scale, svg.height - 14, units)
        yield _bar_figure(n, len(parts), part, svg, units, marks)


def _bar_figure(n: int, of: int, seams: list[Any], svg: Svg, units: str, marks: bool) -> Figure:
    part = f" {n}/{of}" if of > 1 else ""
    caption = _(
        "Seams as bars in the order listed{part}, to the scale of their lengths; the record holds no places on the roof for them. {seams}. The numbers: table of seams.",
        part=part,
        seams=_count(seams),
    )
    if not marks:
        caption += " " + _(
            "One X stands for all that is open on a seam, one circle for all that is mended and not probed again."
        )
    return Figure(f"bars-{n}", caption, _alt(seams, units), svg.done())


def _count(seams: list[Any]) -> str:
    return plural("n = {n} seam", "n = {n} seams", len(seams))


def _short(name: str, most: int = 16) -> str:
    return name if len(name) <= most else name[: most - 1] + "…"


def _alt(seams: list[Any], units: str) -> str:
    """The drawing in words: states counted, lengths summed."""
    counts = [
        f"{_(state)} {n}" for state in SHAPES if (n := sum(s.state.state == state for s in seams))
    ]
    return _(
        "Drawing of seams {first} to {last}: {states}. {welded} welded, {probed} of it probed, {open} findings open, {mended} mended and not probed again.",
        first=seams[0].name,
        last=seams[-1].name,
        states=", ".join(counts),
        welded=length(sum(s.state.welded_m for s in seams), units),
        probed=length(sum(s.state.probed_m for s in seams), units),
        open=sum(len(s.state.open) for s in seams),
        mended=sum(len(s.state.mended) for s in seams),
    )
