"""What every drawing of the roof says in words: its scale, how many seams, a description.

Invariant: the words say what the drawing shows and add nothing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from weldcal.reports import show
from weldcal.reports.dossier.lengths import length
from weldcal.reports.dossier.svg import INK, Svg
from weldcal.reports.terminal import SHAPES
from weldcal.views.dossier import SeamFacts
from weldcal.words import _, plural


def scale_bar(svg: Svg, scale: float, y: float, units: str, x: float = 40.0) -> None:
    """A bar of a round length with its unit."""
    metre = 0.3048 if units == "us" else 1.0
    rough = 120 / scale / metre
    power = 10.0 ** math.floor(math.log10(rough))
    long = power * next(m for m in (5, 2, 1) if m * power <= rough)
    end = x + long * metre * scale
    svg.line(x, y, end, y, INK, 2)
    for at in (x, end):
        svg.line(at, y - 4, at, y + 4, INK, 1.2)
    svg.text(end + 6, y + 4, show.distance(long * metre, units), 11)


def count_of(seams: Sequence[SeamFacts]) -> str:
    """How many seams."""
    return plural("n = {n} seam", "n = {n} seams", len(seams))


def alt_of(seams: Sequence[SeamFacts], units: str) -> str:
    """The drawing in words: states counted, lengths summed."""
    counts = [
        f"{_(state)} {n}" for state in SHAPES if (n := sum(s.state.state == state for s in seams))
    ]
    if not seams:
        return _("Drawing of a part of the roof where no seam is listed.")
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
