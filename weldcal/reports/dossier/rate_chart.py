"""Rates of faults as dots with their intervals.

Invariant: no rate is drawn without its interval, nor without from how much it is.
"""

from __future__ import annotations

from collections.abc import Sequence

from weldcal.reports.dossier.charts import RIGHT
from weldcal.reports.dossier.document import Figure, Table, table
from weldcal.reports.dossier.palette import INK, PAPER, PROBED
from weldcal.reports.dossier.rates import ShownRate
from weldcal.reports.dossier.svg import Axis, Svg, frame
from weldcal.words import _, number


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


def _drawn(rates: Sequence[ShownRate], per: str) -> str:
    top = max([r.high for r in rates], default=1.0) * 1.05
    x = Axis(0.0, top or 1.0, 190, RIGHT - 90)
    y = Axis(0.0, len(rates) + 1.0, 16, 30.0 + 24 * len(rates))
    svg = Svg(y.end + 44)
    for n, rate in enumerate(rates, 1):
        svg.line(x.at(rate.low), y.at(n), x.at(rate.high), y.at(n), PROBED, 2)
        for end in (rate.low, rate.high):
            svg.line(x.at(end), y.at(n) - 5, x.at(end), y.at(n) + 5, PROBED, 1.4)
        svg.dot(x.at(rate.rate), y.at(n), 4, PAPER, INK)
        svg.text(RIGHT, y.at(n) + 4, _("{n} in {over}", n=rate.n, over=rate.over), 10, "end")
    axis_label = _(
        "Faults per {per} probed (n = {n} faults in the first row), 95 % interval allowing for clumps",
        per=per,
        n=rates[0].n if rates else 0,
    )
    frame(svg, x, y, axis_label, "", [(n, rate.label[:30]) for n, rate in enumerate(rates, 1)])
    return svg.done()


def _numbers(rates: Sequence[ShownRate], per: str) -> Table:
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
        for r in rates
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
