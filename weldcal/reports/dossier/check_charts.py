"""Bleed checks in the order they were read: against the limits, and in control or not.

Invariant: a check with a reading outside, or out of control, is crossed; the
table holds what is drawn.
"""

from __future__ import annotations

from collections.abc import Sequence

from weldcal.reports import show
from weldcal.reports.dossier.charts import (
    DASH,
    DOTS,
    explained,
    in_order,
    levels,
    signs,
    units_of,
    width_in,
)
from weldcal.reports.dossier.document import Figure, Table, table
from weldcal.reports.dossier.svg import PROBED, Axis, Svg, frame
from weldcal.row_types.strips import StripRow
from weldcal.row_types.work import BleedRow
from weldcal.views.dossier import BleedChart
from weldcal.words import _, number

Width = tuple[float, float, float]  # median, least and most of a check, in the job's units


def bleed_order(rows: Sequence[BleedRow], low_mm: float, high_mm: float, units: str) -> Figure:
    """Bleed checks in the order they were read: median and range of each, and the limits.

    Args:
        rows: of checks with readings.
    """
    unit = units_of(units)[1]
    values = [_width(row, units) for row in rows]
    low, high = width_in(low_mm, units), width_in(high_mm, units)
    inside = [low <= least and most <= high for _middle, least, most in values]
    return Figure(
        "bleed-order",
        _("Bleed-out read on the seams while welding, against the limits in force now"),
        _(
            "Chart of {n} bleed checks in order; {outside} with a reading outside the limits {low:.3g} to {high:.3g} {unit}.",
            n=len(values),
            outside=inside.count(False),
            low=low,
            high=high,
            unit=unit,
        ),
        _order_drawn(values, inside, low, high, unit),
        _order_numbers(rows, values, unit),
    )


def _width(row: BleedRow, units: str) -> Width:
    middle, least, most = row["width_median_mm"], row["width_min_mm"], row["width_max_mm"]
    assert middle is not None and least is not None and most is not None  # it has readings
    return width_in(middle, units), width_in(least, units), width_in(most, units)


def _order_drawn(
    values: Sequence[Width], inside: Sequence[bool], low: float, high: float, unit: str
) -> str:
    top = max([high * 1.4, *(most * 1.1 for _middle, _least, most in values)])
    x, y = in_order(len(values)), Axis(0.0, top, 222, 14)
    svg = Svg(276)
    levels(svg, x, y, [(low, _("least"), DASH), (high, _("most"), DASH)])
    for n, (_middle, least, most) in enumerate(values, 1):
        svg.line(x.at(n), y.at(least), x.at(n), y.at(most), PROBED, 1.6)
    signs(svg, x, y, [(v[0], well) for v, well in zip(values, inside, strict=True)])
    frame(
        svg,
        x,
        y,
        _("Bleed checks in order (n = {n})", n=len(values)),
        _("Bleed-out, {unit}", unit=unit),
    )
    explained(
        svg,
        _(
            "dot: median, every reading inside the limits · X: a reading outside · bar: least to most"
        ),
    )
    return svg.done()


def _order_numbers(rows: Sequence[BleedRow], values: Sequence[Width], unit: str) -> Table:
    cells = [
        (
            r["name"],
            r["seam"],
            show.clock(r["seen_local"]),
            *(number(width, ".3f") for width in widths),
            str(r["readings_n"]),
        )
        for r, widths in zip(rows, values, strict=True)
    ]
    headings = [
        _("Check"),
        _("Seam"),
        _("Seen"),
        _("Median, {unit}", unit=unit),
        _("Least"),
        _("Most"),
        _("Readings"),
    ]
    return table(_("Bleed checks"), headings, cells, (3, 4, 5, 6), (1, 1, 1.6, 1, 1, 1, 1))


def control(chart: BleedChart, units: str) -> Figure:
    """Control chart of one go-ahead's bleed checks: individuals and EWMA, with their limits."""
    single, average = chart.single, chart.average
    values = [width_in(mm, units) for mm in chart.values_mm]
    limits = [max(0.0, width_in(mm, units)) for mm in (single.low, single.high) if mm is not None]
    centre = width_in(single.centre, units)
    smooth = [width_in(mm, units) for mm in average.averages] if average else []
    name = chart.strip["name"]
    return Figure(
        f"control-{name}",
        _control_caption(chart.strip, centre, limits, units_of(units)[1]),
        _(
            "Control chart of {n} bleed checks on go-ahead {name}; {out} out of control.",
            n=len(values),
            name=name,
            out=len(single.out),
        ),
        _control_drawn(chart, values, smooth, centre, limits, units),
        _control_numbers(chart, values, smooth, units),
    )


def _control_drawn(
    chart: BleedChart,
    values: Sequence[float],
    smooth: Sequence[float],
    centre: float,
    limits: Sequence[float],
    units: str,
) -> str:
    top = max([*values, *limits, centre]) * 1.12
    x, y = in_order(len(values)), Axis(min(0.0, *limits, centre), top, 202, 14)
    svg = Svg(256)
    levels(svg, x, y, [(centre, _("centre"), DOTS), *((v, _("limit"), DASH) for v in limits)])
    svg.path([(x.at(n), y.at(v)) for n, v in enumerate(smooth, 1)], PROBED, 1.8)
    signs(svg, x, y, [(value, n not in chart.single.out) for n, value in enumerate(values)])
    frame(
        svg,
        x,
        y,
        _(
            "Bleed checks on go-ahead {name}, in order (n = {n})",
            name=chart.strip["name"],
            n=len(values),
        ),
        _("Median bleed-out, {unit}", unit=units_of(units)[1]),
    )
    explained(
        svg,
        _(
            "dot: check · X: out of control · line: moving average (EWMA) · dashes: 3-sigma limits of single values"
        ),
    )
    return svg.done()


def _control_numbers(
    chart: BleedChart, values: Sequence[float], smooth: Sequence[float], units: str
) -> Table:
    unit = units_of(units)[1]
    rows = [
        (
            r["name"],
            r["seam"],
            number(value, ".3f"),
            number(smooth[n], ".3f") if smooth else "–",
            _("out") if n in chart.single.out else _("within"),
        )
        for n, (r, value) in enumerate(zip(chart.rows, values, strict=True))
    ]
    headings = [
        _("Check"),
        _("Seam"),
        _("Median, {unit}", unit=unit),
        _("EWMA, {unit}", unit=unit),
        _("Control"),
    ]
    return table(_("Numbers of the chart"), headings, rows, (2, 3), (1, 1, 1, 1, 1))


def _control_caption(strip: StripRow, centre: float, limits: Sequence[float], unit: str) -> str:
    limits_text = (
        _("limits {low:.3f} to {high:.3f} {unit}", low=limits[0], high=limits[-1], unit=unit)
        if limits
        else _("no limits: one check tells no spread")
    )
    return _(
        "{day}: control chart on go-ahead {name}, centre {centre:.3f} {unit}, {told}",
        day=strip["day"],
        name=strip["name"],
        centre=centre,
        unit=unit,
        told=limits_text,
    )
