"""How laps, doubt, cover and marks are drawn, the same in every drawing of the roof.

Invariant: each meaning has a shape of its own, so that it reads in grey and by
every eye; doubt and cover are hatched in opposite directions beneath the lap.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Callable, Sequence

from weldcal.reports.dossier.document import Figure
from weldcal.reports.dossier.placing import SIZE, PlacedMark
from weldcal.reports.dossier.svg import INK, MUTED, OPEN, PAPER, PROBED, UNPROBED, Svg
from weldcal.reports.terminal import SHAPES
from weldcal.views.dossier import SeamFacts
from weldcal.words import _

Point = tuple[float, float]
# From distances along a seam, m, to the drawing; None where that part is not on it.
Along = Callable[[float, float], tuple[Point, Point] | None]

_HATCH = 5.5
URGENT = ("open", "mended")


def lap(svg: Svg, seam: SeamFacts, along: Along, wide: float) -> None:
    """A lap with what was welded and probed of it, and its mends beside it."""
    length = extent(seam)
    for what, stretches in (
        ("listed", ((0.0, length),)),
        ("probed", seam.state.welded),
        ("unprobed", seam.state.unprobed),
    ):
        for low, high in stretches:
            ends = along(low, high)
            if ends is not None:
                stretch(svg, *ends, what, wide)


def small_signs(svg: Svg, seam: SeamFacts, along: Along, wide: float) -> None:
    """Mends, and findings mended and probed again: signs too small to hide another."""
    for mark in seam.marks:
        if mark.what not in ("mend", "closed"):
            continue
        ends = along(mark.start_m, mark.end_m)
        if ends is None:
            continue
        if mark.what == "mend":
            mend(svg, *ends, wide)
        else:
            svg.dot(*middle(*ends), 1.8 if wide >= 6 else 1.2, PAPER, PAPER)


def hatches(
    svg: Svg, seam: SeamFacts, along: Along, wide: float, doubted: Sequence[tuple[float, float]]
) -> None:
    """Doubt over its stretches, cover over the whole seam: strokes beneath the lap."""
    for low, high in doubted:
        ends = along(low, high)
        if ends is not None:
            svg.hatch(_strokes(*ends, wide / 2 + 3.4, 1.0), MUTED, 0.9)
    if "covered" in seam.flags:
        ends = along(0.0, extent(seam))
        if ends is not None:
            svg.hatch(_strokes(*ends, wide / 2 + 3.4, -1.0), MUTED, 0.9)


def _strokes(a: Point, b: Point, half: float, lean: float) -> list[tuple[Point, Point]]:
    length = math.dist(a, b)
    count = max(1, int(length / _HATCH))
    ux, uy = ((b[0] - a[0]) / length, (b[1] - a[1]) / length) if length else (1.0, 0.0)
    strokes = []
    for n in range(count):
        at = _towards(a, b, length * (n + 0.5) / count)
        # Across the lap and along it by a third as far; the lean is one on the page, however the lap runs.
        dx, dy = (half * 0.45 * lean, -half) if abs(ux) >= abs(uy) else (half, -half * 0.45 * lean)
        strokes.append(((at[0] - dx, at[1] - dy), (at[0] + dx, at[1] + dy)))
    return strokes


def stretch(svg: Svg, a: Point, b: Point, what: str, wide: float) -> None:
    """A stretch of lap between two points."""
    if what == "listed":
        svg.line(*a, *b, MUTED, 1.2, "2 3")
    elif what == "unprobed":
        svg.line(*a, *b, INK, wide)
        inset = min(1.2, math.dist(a, b) / 4)
        if wide > 3:
            svg.line(*_towards(a, b, inset), *_towards(b, a, inset), UNPROBED, wide - 2.4)
        else:
            svg.line(*_towards(a, b, inset), *_towards(b, a, inset), UNPROBED, wide - 1.0)
    else:
        svg.line(*a, *b, PROBED, wide)


def _towards(a: Point, b: Point, by: float) -> Point:
    length = math.dist(a, b)
    if not length:
        return a
    return a[0] + (b[0] - a[0]) * by / length, a[1] + (b[1] - a[1]) * by / length


def middle(a: Point, b: Point) -> Point:
    """Half-way."""
    return (a[0] + b[0]) / 2, (a[1] + b[1]) / 2


def offset(a: Point, b: Point, by: float) -> Point:
    """How far to step to lie `by` to the right of the way from a to b."""
    length = math.dist(a, b) or 1.0
    return -(b[1] - a[1]) / length * by, (b[0] - a[0]) / length * by


def mend(svg: Svg, a: Point, b: Point, wide: float = 7.0) -> None:
    """A bracket beside the lap, over the length of a mend."""
    near, far = wide / 2, wide / 2 + 3
    (dx, dy), (ux, uy) = offset(a, b, far), offset(a, b, near)
    points = [
        (a[0] + ux, a[1] + uy),
        (a[0] + dx, a[1] + dy),
        (b[0] + dx, b[1] + dy),
        (b[0] + ux, b[1] + uy),
    ]
    svg.path(points, INK, 1.4 if wide >= 6 else 0.9)


def extent(seam: SeamFacts) -> float:
    """The length to draw a seam at, m: as listed, and never less than what was recorded on it."""
    ends = [high for _low, high in seam.state.welded] + [mark.end_m for mark in seam.marks]
    return float(max([seam.length_m or 0.0, *ends]))


def square(svg: Svg, seam: SeamFacts, at: Point) -> None:
    """A T-joint or a detail: a small square, filled by what was done; a detail's shape around it."""
    state = seam.state
    if seam.kind == "detail":
        _detail(svg, seam.at or "", at)
    fill = PAPER if not state.welded else UNPROBED if state.unprobed else PROBED
    svg.rect(at[0] - 3, at[1] - 3, 6, 6, fill, INK)


def _detail(svg: Svg, what: str, at: Point) -> None:
    x, y = at
    if what == "drain":
        svg.dot(x, y, 8.5, PAPER)
        svg.line(x - 8.5, y, x + 8.5, y, INK, 0.8)
        svg.line(x, y - 8.5, x, y + 8.5, INK, 0.8)
    elif what == "curb":
        svg.rect(x - 8.5, y - 8.5, 17, 17, PAPER, INK)
        svg.rect(x - 6, y - 6, 12, 12, PAPER, INK)
    else:
        svg.path([(x, y - 10), (x + 9.5, y + 6.5), (x - 9.5, y + 6.5)], INK, 1.0, PAPER)


def sign(svg: Svg, what: str, at: Point) -> None:
    """The sign of a mark: an X, a circle or a diamond."""
    if what == "open":
        svg.cross(*at, 4.2)
    elif what == "mended":
        svg.dot(*at, 4.2, PAPER)
    else:
        svg.diamond(*at, 4.6)


def marks(
    svg: Svg, placed: Sequence[PlacedMark], seams: Sequence[SeamFacts], links: dict[str, str]
) -> None:
    """Leaders first, then the marks, the most urgent last and so on top."""
    called = {seam.key: seam.name for seam in seams}
    for one in placed:
        if one.moved:
            leader(svg, one)
    for one in reversed(placed):
        marked(svg, one, links, called)


def leader(svg: Svg, placed: PlacedMark) -> None:
    """A thin line from where a mark stands to what it marks."""
    svg.line(*placed.sign, *placed.spot.at, INK, 0.8)
    svg.dot(*placed.spot.at, 1.1)


def marked(svg: Svg, placed: PlacedMark, links: dict[str, str], called: dict[str, str]) -> None:
    """A mark with its name, leading to its seam."""
    spot = placed.spot
    a, b = spot.stretch
    seams = [called[key] for key in spot.seams]
    spoken = _(
        "{findings} on {seams}, {state}",
        findings=spot.label,
        seams=", ".join(seams[:6]),
        state=_MEANT[spot.what](),
    )
    href = links.get(spot.seams[0], "")
    data = {"mark": spot.what, "n": len(spot.names), "names": " ".join(spot.names[:12])}
    with svg.marked(spoken, href, **data, seams=" ".join(seams[:6])):
        if math.dist(a, b) > 4 and spot.what in URGENT:
            dx, dy = offset(a, b, -5.0)
            svg.line(a[0] + dx, a[1] + dy, b[0] + dx, b[1] + dy, INK, 1.6)
        sign(svg, spot.what, placed.sign)
        x, y = placed.name[0], placed.name[1] + 0.78 * SIZE
        colour = OPEN if spot.what == "open" else INK
        svg.text(x + 1, y, spot.label, SIZE, colour=colour, bold=spot.what == "open", plate=True)


_MEANT: dict[str, Callable[[], str]] = {
    "open": lambda: _("open finding"),
    "mended": lambda: _("finding mended, not probed again"),
    "sample": lambda: _("sample cut for a peel test"),
}


# Signs of a line of the legend, by the widest font that a drawing opened elsewhere is shown in.
_MEANING_SIGNS, _STATES_SIGNS = 46, 105


def legend() -> Figure:
    """What lines, marks and signs mean, once for all drawings of the roof."""
    meanings = _meanings()
    states = [f"{sign} {_(state)}".replace(" ", "\u00a0") for state, sign in SHAPES.items()]
    rows = math.ceil(len(meanings) / 2)
    below = textwrap.wrap(" · ".join(states), _STATES_SIGNS, break_on_hyphens=False)
    svg = Svg(23.0 * rows + 26 + 15 * len(below))
    for n, (meaning, draw) in enumerate(meanings):
        x, y = 8 + 360 * (n // rows), 14 + 23 * (n % rows)
        draw(svg, x, y)
        words = textwrap.wrap(meaning, _MEANING_SIGNS)
        for m, line in enumerate(words):
            svg.text(x + 56, y + 4 + 11 * m - 5.5 * (len(words) - 1), line, 10.5)
    svg.text(8, 23.0 * rows + 18, _("The sign after a seam's name tells its state:"), 10.5)
    for n, line in enumerate(below):
        svg.text(8, 23.0 * rows + 33 + 15 * n, line, 10.5)
    texts = [meaning for meaning, _draw in meanings]
    alt = _("Legend: {what}.", what="; ".join([*texts, *states]))
    return Figure("legend", _("How to read the drawings of the roof"), alt, svg.done())


def _meanings() -> list[tuple[str, Callable[[Svg, float, float], None]]]:
    def bar(what: str) -> Callable[[Svg, float, float], None]:
        return lambda s, x, y: stretch(s, (x, y), (x + 44, y), what, 7)

    def shown(what: str) -> Callable[[Svg, float, float], None]:
        return lambda s, x, y: sign(s, what, (x + 22, y))

    return [
        (_("X with its name: open finding"), shown("open")),
        (_("circle with its name: mended, not probed again"), shown("mended")),
        (_("thin line: the mark had to move; it belongs at the dot"), _moved),
        (_("diamond: sample cut for a peel test"), shown("sample")),
        (_("bracket beside the lap: mend, over its length"), _mended),
        (_("small white dot: mended and probed again"), _closed),
        (_("hatched /: in doubt, between a failed check and good ones"), _hatched(1.0)),
        (_("hatched \\: covered by the next ply"), _hatched(-1.0)),
        (_("thin dotted line: lap listed, not welded"), bar("listed")),
        (_("hollow bar: welded, not probed"), bar("unprobed")),
        (_("solid bar: welded and probed"), bar("probed")),
        (_("small square: T-joint or detail, filled alike"), _points),
        (_("ring: drain"), lambda s, x, y: _detail(s, "drain", (x + 22, y))),
        (_("double square: curb"), lambda s, x, y: _detail(s, "curb", (x + 22, y))),
        (_("triangle: other detail, by its name"), lambda s, x, y: _detail(s, "", (x + 22, y))),
    ]


def _moved(svg: Svg, x: float, y: float) -> None:
    stretch(svg, (x, y + 5), (x + 44, y + 5), "probed", 5)
    svg.line(x + 34, y - 4, x + 14, y + 5, INK, 0.8)
    svg.dot(x + 14, y + 5, 1.1)
    sign(svg, "open", (x + 34, y - 4))


def _mended(svg: Svg, x: float, y: float) -> None:
    stretch(svg, (x, y), (x + 44, y), "probed", 7)
    mend(svg, (x + 8, y), (x + 36, y))


def _closed(svg: Svg, x: float, y: float) -> None:
    stretch(svg, (x, y), (x + 44, y), "probed", 7)
    svg.dot(x + 22, y, 1.8, PAPER, PAPER)


def _hatched(lean: float) -> Callable[[Svg, float, float], None]:
    def draw(svg: Svg, x: float, y: float) -> None:
        svg.hatch(_strokes((x, y), (x + 44, y), 8.0, lean), MUTED, 0.9)
        stretch(svg, (x, y), (x + 44, y), "probed", 7)

    return draw


def _points(svg: Svg, x: float, y: float) -> None:
    for n, fill in enumerate((PAPER, UNPROBED, PROBED)):
        svg.rect(x + 6 + 14 * n, y - 3, 6, 6, fill, INK)
