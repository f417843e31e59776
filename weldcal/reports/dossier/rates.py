"""Faults per length, with the interval that `weldcal faults` shows: it allows for clumps.

Invariant: nothing found is no proof of nothing there: with no fault at all the
upper end is at least 3.69 faults over the length probed, not 0. How faults clump
is learnt from the probed part of every run, and from how many is said. No rate is
drawn without its interval, nor without from how much it is.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from msgspec import Struct

from weldcal.quality.faults import PER_M, ProbedPiece, clumping, interval
from weldcal.reports import show
from weldcal.reports.dossier.charts import RIGHT
from weldcal.reports.dossier.document import Figure, Table, table
from weldcal.reports.dossier.lengths import probed
from weldcal.reports.dossier.svg import INK, PAPER, PROBED, Axis, Svg, frame
from weldcal.views.dossier import SeamFacts
from weldcal.words import _, number


class ShownRate(Struct, frozen=True):
    """A rate with its interval: faults `n` over a length, both rates per length.

    Attributes:
        dispersion: how faults clump, 1 where they fall as chance alone would have them.
        seams: from how many that was learnt.
    """

    label: str
    n: int
    over: str
    rate: float
    low: float
    high: float
    dispersion: float
    seams: int


def probed_over_all(seams: Iterable[SeamFacts]) -> list[SeamFacts]:
    """Seams welded and walked, with no welded stretch left unprobed."""
    return [s for s in seams if s.walks and s.state.welded_m > 0 and not s.state.unprobed]


def rate(
    label: str, pieces: Sequence[ProbedPiece], units: str, kind: str | None = None
) -> ShownRate | None:
    """The rate of faults on probed lap, with its interval.

    Args:
        label: what it is called.
        pieces: the probed part of each run, as `weldcal faults` takes it.
        units: us or si.
        kind: of fault; all where None.

    Returns:
        Rates per 100 ft or 100 m; None where nothing was probed.
    """
    probed_m = sum(piece.length_m for piece in pieces)
    if probed_m <= 0:
        return None
    faults = sum(n for piece in pieces for of, n in piece.faults.items() if kind in (None, of))
    dispersion, over = clumping(pieces, kind)
    low, high = interval(faults, probed_m, dispersion)
    per, low, high = (show.per_hundred(x, units) for x in (faults / probed_m * PER_M, low, high))
    over_m = sum(piece.over_m for piece in pieces)
    return ShownRate(
        label, faults, probed(probed_m, over_m, units), per, low, high, dispersion, over
    )


def rates(name: str, caption: str, shown: Sequence[ShownRate], per: str) -> Figure:
    """Rates as dots with their intervals, one row each."""
    alt = _(
        "Chart of fault rates: {rows}.",
        rows="; ".join(
            _(
                "{label} {rate:.2f} per {per}, interval {low:.2f} to {high:.2f}, from {n} faults",
                label=r.label,
                rate=r.rate,
                per=per,
                low=r.low,
                high=r.high,
                n=r.n,
            )
            for r in shown
        ),
    )
    return Figure(name, caption, alt, _drawn(shown, per), _numbers(shown, per))


def _drawn(shown: Sequence[ShownRate], per: str) -> str:
    top = max([r.high for r in shown], default=1.0) * 1.05
    x = Axis(0.0, top or 1.0, 190, RIGHT - 90)
    y = Axis(0.0, len(shown) + 1.0, 16, 30.0 + 24 * len(shown))
    svg = Svg(y.end + 44)
    for n, rate in enumerate(shown, 1):
        svg.line(x.at(rate.low), y.at(n), x.at(rate.high), y.at(n), PROBED, 2)
        for end in (rate.low, rate.high):
            svg.line(x.at(end), y.at(n) - 5, x.at(end), y.at(n) + 5, PROBED, 1.4)
        svg.dot(x.at(rate.rate), y.at(n), 4, PAPER, INK)
        svg.text(RIGHT, y.at(n) + 4, _("{n} in {over}", n=rate.n, over=rate.over), 10, "end")
    axis_label = _(
        "Faults per {per} probed (n = {n} faults in the first row), 95 % interval allowing for clumps",
        per=per,
        n=shown[0].n if shown else 0,
    )
    frame(svg, x, y, axis_label, "", [(n, rate.label[:30]) for n, rate in enumerate(shown, 1)])
    return svg.done()


def _numbers(shown: Sequence[ShownRate], per: str) -> Table:
    rows = [
        (
            r.label,
            str(r.n),
            r.over,
            number(r.rate, ".3f"),
            number(r.low, ".3f"),
            number(r.high, ".3f"),
            number(r.dispersion, ".2f"),
        )
        for r in shown
    ]
    headings = [
        _("Kind"),
        _("Faults"),
        _("Probed"),
        _("Per {per}", per=per),
        _("Low"),
        _("High"),
        _("Dispersion"),
    ]
    widths = (2, 1, 1.2, 1, 1, 1, 1.2)
    return table(_("Numbers of the chart"), headings, rows, (1, 2, 3, 4, 5, 6), widths)
