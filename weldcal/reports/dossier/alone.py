"""The roof sheet as one SVG file by itself: the dossier's drawings one below the other, with their key.

Invariant: nothing is drawn that the dossier does not draw; no link, for there is
no page to lead to.
"""

from __future__ import annotations

from weldcal.reports.dossier import plan, strokes
from weldcal.reports.dossier.document import Figure, Table
from weldcal.reports.dossier.svg import WIDTH, Svg, num
from weldcal.views.dossier import Roof
from weldcal.views.walk import WalkingOrder

_LINE = 13.0
_ROOM = 12.0
# Signs of a caption's line.
_SIGNS = 128


def sheet(found: Roof, title: str, units: str) -> str:
    """The file's text.

    Args:
        found: what is drawn.
        title: what stands above it: the job, and when this was made.
        units: us or si.
    """
    figures = plan.roof(found, units)
    keyed = plan.findings(found, units)
    figures.insert(1, strokes.legend())
    return _file(title, figures, _key(keyed) if keyed is not None else [])


def walk_sheet(found: Roof, walk: WalkingOrder, title: str, units: str) -> str:
    """The roof sheet with a walk on it, what there is to do at each number below."""
    lines = [part for line in walk.lines for part in _folded(line)]
    return _file(title, [*plan.with_walk(found, walk, units), strokes.legend()], lines)


def _file(title: str, figures: list[Figure], lines: list[str]) -> str:
    """Figures one below the other, then lines."""
    parts, y = [_words([title], 14.0, bold=True)], 30.0
    for figure in figures:
        drawn, high = _with_caption(figure)
        parts.append(f'<g transform="translate(0 {num(y)})">{drawn}</g>')
        y += high + _ROOM
    if lines:
        parts.append(f'<g transform="translate(0 {num(y)})">{_words(lines, 10.0)}</g>')
        y += _LINE * len(lines) + _ROOM
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {num(WIDTH)} {num(y)}" '
        f'width="{num(WIDTH)}" height="{num(y)}"><rect width="100%" height="100%" fill="#ffffff"/>'
        f"{''.join(parts)}</svg>\n"
    )


def _with_caption(figure: Figure) -> tuple[str, float]:
    """A drawing with its caption below, and how high both are."""
    opened, _closed = figure.svg.split(">", 1)
    high = float(opened.rsplit('height="', 1)[1].rstrip('"'))
    inner = figure.svg[len(opened) + 1 : -len("</svg>")]
    lines = _folded(figure.caption)
    caption = f'<g transform="translate(0 {num(high)})">{_words(lines, 10.5)}</g>'
    return inner + caption, high + _LINE * len(lines)


def _folded(text: str) -> list[str]:
    lines = [""]
    for word in text.split():
        if len(lines[-1]) + len(word) > _SIGNS:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return lines


def _key(table: Table) -> list[str]:
    """The table's rows as lines."""
    return [table.caption, *(" · ".join(row) for row in table.rows)]


def _words(lines: list[str], size: float, *, bold: bool = False) -> str:
    svg = Svg(0)
    for n, line in enumerate(lines):
        svg.text(8, _LINE * (n + 1), line, size, bold=bold)
    return svg.inner()
