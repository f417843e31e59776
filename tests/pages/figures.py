"""The fit as the dossier draws it: the same morning, known from two strips and from a week's.

Invariant: the curve and its band are the engine's, for the demo's invented roof.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from weldcal.book import Book
from weldcal.cli import demo
from weldcal.reports.dossier import fit_chart
from weldcal.reports.dossier.svg import PAPER

from .program import Program, demo_roof, surroundings
from .shots import made

_PULLED = next(n for n, (_d, _t, words) in enumerate(demo.SCRIPT, 1) if "pull S2" in words)


def taken(folder: Path) -> Iterator[tuple[str, str]]:
    """Every figure: its file name and the SVG."""
    yield "fit-two-strips", _fit(demo_roof(made(folder / "fit-two"), _PULLED))
    yield "fit-five-strips", _fit(demo_roof(made(folder / "fit-five")))


def _fit(program: Program) -> str:
    """Monday morning's fit, on paper of its own: a page behind it may be dark."""
    with surroundings(program.home, 80):
        book = Book(program.book, clock=program.clock)
        found = book.dossiers.dossier()
        book.close()
        svg = fit_chart.figure(found.fits[0], "fit", "us").svg
    head, _, rest = svg.partition(">")
    return f'{head}><rect width="100%" height="100%" fill="{PAPER}"/>{rest}'
