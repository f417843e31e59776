"""Charts of the dossier: fit, bleed-out in order, rates, speeds against temperature.

Invariant: every axis has its unit and the number of points; an interval is
drawn wherever one is known; the numbers drawn are those of the figure's table.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from msgspec import Struct

from weldcal.reports import show
from weldcal.reports.dossier.document import Figure, table
from weldcal.reports.dossier.lengths import length
from weldcal.reports.dossier.palette import BAND, INK, MUTED, PAPER, PROBED
from weldcal.reports.dossier.svg import WIDTH, Axis, Svg, frame
from weldcal.words import _, number, plural

_LEFT, _RIGHT = 58.0, WIDTH - 16
_DASH, _DOTS = "7 3", "1.5 3"


class Rate(Struct, frozen=True):
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


def speed_in(m_per_min: float, units: str) -> float:
    """A speed in the job's unit."""
    return m_per_min / 0.3048 if units == "us" else m_per_min


def width_in(mm: float, units: str) -> float:
    """A width in the job's unit."""
    return mm / 25.4 if units == "us" else mm


def units_of(units: str) -> tuple[str, str, str]:
    """Units of speed, width and temperature."""
    named = ("ft/min", "in", "degF") if units == "us" else ("m/min", "mm", "degC")
    speed, width, temperature = (show.unit(name) for name in named)
    return speed, width, temperature


def fit(found: Any, name: str, units: str) -> Figure:
    """Speed against bleed-out: strips read, the fit with its interval, limits, speeds really used."""
    speed_unit, width_unit, _t = units_of(units)
    curve = [
        (speed_in(v, units), *(width_in(mm, units) for mm in rest)) for v, *rest in found.curve
    ]
    points = [(p, speed_in(v, units), width_in(mm, units), ok) for p, v, mm, ok in found.points]
    low, aim, high = (width_in(mm, units) for mm in (found.low_mm, found.aim_mm, found.high_mm))
    top = max([high * 1.6, *(mm * 1.1 for _p, _v, mm, _ok in points)])
    x = Axis(curve[0][0], curve[-1][0], _LEFT, _RIGHT - 60)
    y = Axis(0.0, top, 212, 14)
    svg = Svg(276)
    inside = [(x.at(v), y.at(min(hi, top)), y.at(min(lo, top))) for v, _mid, lo, hi in curve]
    outline = [(px, a) for px, a, _b in inside] + [(px, b) for px, _a, b in reversed(inside)]
    svg.path(outline, BAND, 0.5, BAND)
    _levels(svg, x, y, [(low, _("least"), _DASH), (aim, _("aim"), _DOTS), (high, _("most"), _DASH)])
    svg.path([(x.at(v), y.at(mid)) for v, mid, _l, _h in curve if mid <= top], PROBED, 2.2)
    _points(svg, x, y, points)
    used: dict[float, float] = {}
    for _seam, v, metres in found.used:
        at = round(speed_in(v, units), 6)
        used[at] = used.get(at, 0.0) + metres
    for v in used:
        svg.triangle(x.at(v), 207, 4)
    frame(
        svg,
        x,
        y,
        _(
            "Travel speed, {unit} (n = {strips}, {runs})",
            unit=speed_unit,
            strips=plural("{n} strip", "{n} strips", found.strips),
            runs=plural("{n} run", "{n} runs", len(found.used)),
        ),
        _("Bleed-out, {unit} (n = {n} readings)", unit=width_unit, n=len(points)),
    )
    svg.text(
        _LEFT,
        270,
        _(
            "dot: reading of a strip that met the limits · X: of one that did not · line: likeliest median · band: 90 % of next strips · triangle: speed really welded at"
        ),
        9,
        colour=MUTED,
    )
    return Figure(
        name,
        _fit_caption(found, units),
        _fit_alt(found, curve, used, units),
        svg.done(),
        _fit_table(found, curve, points, used, units),
    )


def _levels(svg: Svg, x: Axis, y: Axis, levels: Sequence[tuple[float, str, str]]) -> None:
    """Lines across: a value, its name at the right edge, its dash."""
    for value, label, dash in levels:
        svg.line(x.start, y.at(value), x.end, y.at(value), INK, 1.1, dash)
        svg.text(x.end + 5, y.at(value) + 3.5, label, 10)


def _signs(svg: Svg, x: Axis, y: Axis, values: Sequence[tuple[float, bool]]) -> None:
    """Values one after another: a dot where all is well, an X where not."""
    for n, (value, well) in enumerate(values, 1):
        if well:
            svg.dot(x.at(n), y.at(value), 3.3, PAPER, INK)
        else:
            svg.cross(x.at(n), y.at(value), 3.7)


def _in_order(n: int) -> Axis:
    """An axis of so many things one after another."""
    return Axis(0.0, n + 1.0, _LEFT, _RIGHT - 60, counts=True)


def _points(svg: Svg, x: Axis, y: Axis, points: list[tuple[str, float, float, bool]]) -> None:
    """Readings; equal ones stand beside each other."""
    at: dict[tuple[float, float], int] = {}
    for _name, v, width, ok in points:
        n = at[v, width] = at.get((v, width), 0) + 1
        px, py = x.at(v) + 9 * (n - 1), y.at(width)
        if ok:
            svg.dot(px, py, 3.6, PAPER, INK)
        else:
            svg.cross(px, py, 3.6)


def _fit_caption(found: Any, units: str) -> str:
    weather = [
        f"{label} {show.temperature(found.at[column], units)}"
        for column, label in (("sheet_c", _("sheet")), ("ambient_c", _("ambient")))
        if found.at[column] is not None
    ]
    caption = _(
        "{day}: {machine} on {sheet}, {lap}, nozzle {nozzle}; drawn for {weather}",
        day=found.day,
        machine=found.machine,
        sheet=found.sheet,
        lap=_(found.lap),
        nozzle=show.temperature(found.nozzle_c, units),
        weather=", ".join(weather) or _("no conditions read"),
    )
    if not found.firm_jobs:
        return caption
    taught = plural(
        "begun with what {n} other job taught",
        "begun with what {n} other jobs taught",
        found.firm_jobs,
    )
    return f"{caption}; {taught}"


def _fit_alt(found: Any, curve: list[Any], used: dict[float, float], units: str) -> str:
    speed_unit, width_unit, _t = units_of(units)
    middle = curve[len(curve) // 2]
    return _(
        "Chart of bleed-out against travel speed. {strips}. At {v:.1f} {speed} the fit gives {mid:.2f} {width}, 90 % between {low:.2f} and {high:.2f}. Welded at: {used}.",
        strips=plural("{n} strip", "{n} strips", found.strips),
        v=middle[0],
        speed=speed_unit,
        mid=middle[1],
        width=width_unit,
        low=middle[2],
        high=middle[3],
        used=", ".join(f"{number(v, '.3g')} {speed_unit}" for v in used)
        or _("nothing on these strips"),
    )


def _fit_table(
    found: Any, curve: list[Any], points: list[Any], used: dict[float, float], units: str
) -> Any:
    speed_unit, width_unit, _t = units_of(units)
    rows = []
    for strip in dict.fromkeys(name for name, _v, _w, _ok in points):
        mine = [p for p in points if p[0] == strip]
        said = _("met the limits") if mine[0][3] else _("did not meet the limits")
        readings = " ".join(number(width, ".3g") for _n, _v, width, _ok in mine)
        rows.append((_("strip {name}", name=strip), number(mine[0][1], ".2f"), readings, said))
    for v, metres in sorted(used.items()):
        rows.append((_("welded"), number(v, ".2f"), "–", length(metres, units)))
    for v, mid, low, high in curve[:: max(1, (len(curve) - 1) // 6)]:
        rows.append(
            (
                _("fit"),
                number(v, ".2f"),
                number(mid, ".3f"),
                _("90 %: {low:.3f} to {high:.3f}", low=low, high=high),
            )
        )
    headings = [
        _("What"),
        _("Speed, {unit}", unit=speed_unit),
        _("Bleed-out, {unit}", unit=width_unit),
        _("Note"),
    ]
    return table(_("Numbers of the chart"), headings, rows, (1, 2), (1.2, 1, 1.6, 2))


def bleed_order(rows: Sequence[Any], low_mm: float, high_mm: float, units: str) -> Figure:
    """Bleed checks in the order they were read: median and range of each, and the limits.

    Args:
        rows: name, seam, seen_local, width_median_mm, width_min_mm, width_max_mm, readings_n.
    """
    unit = units_of(units)[1]
    values = [
        tuple(width_in(r[f"width_{k}_mm"], units) for k in ("median", "min", "max")) for r in rows
    ]
    low, high = width_in(low_mm, units), width_in(high_mm, units)
    top = max([high * 1.4, *(v[2] * 1.1 for v in values)])
    x, y = _in_order(len(values)), Axis(0.0, top, 222, 14)
    inside = [low <= least and most <= high for _middle, least, most in values]
    svg = Svg(276)
    _levels(svg, x, y, [(low, _("least"), _DASH), (high, _("most"), _DASH)])
    for n, (_middle, least, most) in enumerate(values, 1):
        svg.line(x.at(n), y.at(least), x.at(n), y.at(most), PROBED, 1.6)
    _signs(svg, x, y, [(v[0], well) for v, well in zip(values, inside, strict=True)])
    frame(
        svg,
        x,
        y,
        _("Bleed checks in order (n = {n})", n=len(values)),
        _("Bleed-out, {unit}", unit=unit),
    )
    svg.text(
        _LEFT,
        270,
        _(
            "dot: median, every reading inside the limits · X: a reading outside · bar: least to most"
        ),
        9,
        colour=MUTED,
    )
    cells = [
        (
            r["name"],
            r["seam"],
            show.clock(r["seen_local"]),
            number(mid, ".3f"),
            number(lo, ".3f"),
            number(hi, ".3f"),
            str(r["readings_n"]),
        )
        for r, (mid, lo, hi) in zip(rows, values, strict=True)
    ]
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
        svg.done(),
        table(
            _("Bleed checks"),
            [
                _("Check"),
                _("Seam"),
                _("Seen"),
                _("Median, {unit}", unit=unit),
                _("Least"),
                _("Most"),
                _("Readings"),
            ],
            cells,
            (3, 4, 5, 6),
            (1, 1, 1.6, 1, 1, 1, 1),
        ),
    )


def control(found: Any, units: str) -> Figure:
    """Control chart of one go-ahead's bleed checks: individuals and EWMA, with their limits."""
    unit, single, average = units_of(units)[1], found.single, found.average
    values = [width_in(mm, units) for mm in found.values_mm]
    limits = [max(0.0, width_in(mm, units)) for mm in (single.low, single.high) if mm is not None]
    centre = width_in(single.centre, units)
    smooth = [width_in(mm, units) for mm in average.averages] if average else []
    top = max([*values, *limits, centre]) * 1.12
    x, y = _in_order(len(values)), Axis(min(0.0, *limits, centre), top, 202, 14)
    svg = Svg(256)
    _levels(svg, x, y, [(centre, _("centre"), _DOTS), *((v, _("limit"), _DASH) for v in limits)])
    svg.path([(x.at(n), y.at(v)) for n, v in enumerate(smooth, 1)], PROBED, 1.8)
    _signs(svg, x, y, [(value, n not in single.out) for n, value in enumerate(values)])
    name = found.strip["name"]
    frame(
        svg,
        x,
        y,
        _("Bleed checks on go-ahead {name}, in order (n = {n})", name=name, n=len(values)),
        _("Median bleed-out, {unit}", unit=unit),
    )
    svg.text(
        _LEFT,
        250,
        _(
            "dot: check · X: out of control · line: moving average (EWMA) · dashes: 3-sigma limits of single values"
        ),
        9,
        colour=MUTED,
    )
    rows = [
        (
            r["name"],
            r["seam"],
            number(value, ".3f"),
            number(smooth[n], ".3f") if smooth else "–",
            _("out") if n in single.out else _("within"),
        )
        for n, (r, value) in enumerate(zip(found.rows, values, strict=True))
    ]
    return Figure(
        f"control-{name}",
        _control_caption(found.strip, centre, limits, unit),
        _(
            "Control chart of {n} bleed checks on go-ahead {name}; {out} out of control.",
            n=len(values),
            name=name,
            out=len(single.out),
        ),
        svg.done(),
        table(
            _("Numbers of the chart"),
            [
                _("Check"),
                _("Seam"),
                _("Median, {unit}", unit=unit),
                _("EWMA, {unit}", unit=unit),
                _("Control"),
            ],
            rows,
            (2, 3),
            (1, 1, 1, 1, 1),
        ),
    )


def _control_caption(strip: Any, centre: float, limits: list[float], unit: str) -> str:
    told = (
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
        told=told,
    )


def rates(name: str, caption: str, found: Sequence[Rate], per: str) -> Figure:
    """Rates as dots with their intervals, one row each."""
    top = max([r.high for r in found], default=1.0) * 1.05
    x = Axis(0.0, top or 1.0, 190, _RIGHT - 90)
    y = Axis(0.0, len(found) + 1.0, 16, 30.0 + 24 * len(found))
    svg = Svg(y.end + 44)
    for n, rate in enumerate(found, 1):
        svg.line(x.at(rate.low), y.at(n), x.at(rate.high), y.at(n), PROBED, 2)
        for end in (rate.low, rate.high):
            svg.line(x.at(end), y.at(n) - 5, x.at(end), y.at(n) + 5, PROBED, 1.4)
        svg.dot(x.at(rate.rate), y.at(n), 4, PAPER, INK)
        svg.text(_RIGHT, y.at(n) + 4, _("{n} in {over}", n=rate.n, over=rate.over), 10, "end")
    frame(
        svg,
        x,
        y,
        _(
            "Faults per {per} probed (n = {n} faults in the first row), 95 % interval allowing for clumps",
            per=per,
            n=found[0].n if found else 0,
        ),
        "",
        [(n, rate.label[:30]) for n, rate in enumerate(found, 1)],
    )
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
        for r in found
    ]
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
            for r in found
        ),
    )
    headings = [
        _("Kind"),
        _("Faults"),
        _("Probed"),
        _("Per {per}", per=per),
        _("Low"),
        _("High"),
        _("Dispersion"),
    ]
    return Figure(
        name,
        caption,
        alt,
        svg.done(),
        table(
            _("Numbers of the chart"), headings, rows, (1, 2, 3, 4, 5, 6), (2, 1, 1.2, 1, 1, 1, 1.2)
        ),
    )


def speeds(
    name: str,
    caption: str,
    rows: Sequence[tuple[str, str, float, float]],
    line: tuple[float, float] | None,
    units: str,
) -> Figure:
    """Speeds of go-ahead strips against the sheet's temperature, and a plain line through them.

    Args:
        rows: (strip, day, temperature °C, speed m/min).
        line: slope and height of ln(speed m/min) against °C, where enough strips give one.
    """
    import math

    speed_unit, _w, temp_unit = units_of(units)
    points = [(_degrees(c, units), speed_in(v, units)) for _n, _d, c, v in rows]
    temps, fast = [p[0] for p in points], [p[1] for p in points]
    pad = max((max(temps) - min(temps)) * 0.1, 5.0)
    x = Axis(min(temps) - pad, max(temps) + pad, _LEFT, _RIGHT)
    y = Axis(0.0, max(fast) * 1.2, 222, 14)
    svg = Svg(276)
    if line is not None:
        lo, hi = min(r[2] for r in rows), max(r[2] for r in rows)
        along = [lo + (hi - lo) * n / 20 for n in range(21)]
        svg.path(
            [
                (x.at(_degrees(c, units)), y.at(speed_in(math.exp(line[1] + line[0] * c), units)))
                for c in along
            ],
            PROBED,
            2,
        )
    for px, py in points:
        svg.dot(x.at(px), y.at(py), 3.6, PAPER, INK)
    frame(
        svg,
        x,
        y,
        _(
            "Sheet temperature (ambient where none was read), {unit} (n = {n} go-ahead strips)",
            unit=temp_unit,
            n=len(points),
        ),
        _("Travel speed, {unit}", unit=speed_unit),
    )
    cells = [
        (n, d, number(_degrees(c, units), ".0f"), number(speed_in(v, units), ".2f"))
        for n, d, c, v in rows
    ]
    return Figure(
        name,
        caption,
        _("Chart of {n} go-ahead strips, travel speed against temperature.", n=len(points)),
        svg.done(),
        table(
            _("Numbers of the chart"),
            [_("Strip"), _("Day"), temp_unit, speed_unit],
            cells,
            (2, 3),
            (1, 1.4, 1, 1),
        ),
    )


def _degrees(celsius: float, units: str) -> float:
    return celsius * 9 / 5 + 32 if units == "us" else celsius
