"""Speed against bleed-out: the strips of a day, the fit, the speeds really welded at.

Invariant: the band is that of the next strip, and the table holds what is drawn.
"""

from __future__ import annotations

from collections.abc import Iterator

from weldcal.reports import show
from weldcal.reports.dossier.charts import (
    DASH,
    DOTS,
    LEFT,
    RIGHT,
    explained,
    levels,
    speed_in,
    units_of,
    width_in,
)
from weldcal.reports.dossier.document import Figure, Table, table
from weldcal.reports.dossier.lengths import welded
from weldcal.reports.dossier.svg import BAND, INK, PAPER, PROBED, Axis, Svg, frame
from weldcal.views.dossier import DayFit
from weldcal.words import _, number, plural

Curve = list[tuple[float, ...]]  # speed, median, low and high, in the job's units
Used = dict[float, tuple[float, float]]  # speed -> m welded, and of them welded over again
Reading = tuple[str, float, float, bool]  # strip, speed, width, met the limits


def figure(fit: DayFit, name: str, units: str) -> Figure:
    """Speed against bleed-out: strips read, the fit with its interval, limits, speeds really used."""
    curve: Curve = [
        (speed_in(v, units), *(width_in(mm, units) for mm in rest)) for v, *rest in fit.curve
    ]
    points = [(p, speed_in(v, units), width_in(mm, units), ok) for p, v, mm, ok in fit.points]
    used: Used = {}
    for _seam, v, metres, again in fit.used:
        at = round(speed_in(v, units), 6)
        welded_m, again_m = used.get(at, (0.0, 0.0))
        used[at] = welded_m + metres, again_m + again
    return Figure(
        name,
        _caption(fit, units),
        _alt(fit, curve, used, units),
        _drawing(fit, curve, points, used, units),
        _numbers(curve, points, used, units),
    )


def _drawing(fit: DayFit, curve: Curve, points: list[Reading], used: Used, units: str) -> str:
    low, aim, high = (width_in(mm, units) for mm in (fit.low_mm, fit.aim_mm, fit.high_mm))
    top = max([high * 1.6, *(mm * 1.1 for _p, _v, mm, _ok in points)])
    x = Axis(curve[0][0], curve[-1][0], LEFT, RIGHT - 60)
    y = Axis(0.0, top, 212, 14)
    svg = Svg(276)
    inside = [(x.at(v), y.at(min(hi, top)), y.at(min(lo, top))) for v, _mid, lo, hi in curve]
    outline = [(px, a) for px, a, _b in inside] + [(px, b) for px, _a, b in reversed(inside)]
    svg.path(outline, BAND, 0.5, BAND)
    levels(svg, x, y, [(low, _("least"), DASH), (aim, _("aim"), DOTS), (high, _("most"), DASH)])
    svg.path([(x.at(v), y.at(mid)) for v, mid, _l, _h in curve if mid <= top], PROBED, 2.2)
    _points(svg, x, y, points)
    for v in used:
        svg.triangle(x.at(v), 207, 4)
    frame(svg, x, y, *_titles(fit, units))
    explained(
        svg,
        _(
            "dot: reading of a strip that met the limits · X: of one that did not · line: likeliest median · band: 90 % of next strips · triangle: speed really welded at"
        ),
    )
    return svg.done()


def _titles(fit: DayFit, units: str) -> tuple[str, str]:
    """What the axes are of."""
    speed_unit, width_unit, _t = units_of(units)
    return (
        _(
            "Travel speed, {unit} (n = {strips}, {runs})",
            unit=speed_unit,
            strips=plural("{n} strip", "{n} strips", fit.strips),
            runs=plural("{n} run", "{n} runs", len(fit.used)),
        ),
        _("Bleed-out, {unit} (n = {n} readings)", unit=width_unit, n=len(fit.points)),
    )


def _points(svg: Svg, x: Axis, y: Axis, points: list[Reading]) -> None:
    """Readings; equal ones stand beside each other."""
    at: dict[tuple[float, float], int] = {}
    for _name, v, width, ok in points:
        n = at[v, width] = at.get((v, width), 0) + 1
        px, py = x.at(v) + 9 * (n - 1), y.at(width)
        if ok:
            svg.dot(px, py, 3.6, PAPER, INK)
        else:
            svg.cross(px, py, 3.6)


def _caption(fit: DayFit, units: str) -> str:
    weather = [
        f"{label} {show.temperature(warm, units)}"
        for warm, label in (
            (fit.at["sheet_c"], _("sheet")),
            (fit.at["ambient_c"], _("ambient")),
        )
        if warm is not None
    ]
    caption = _(
        "{day}: {machine} on {sheet}, {lap}, nozzle {nozzle}; drawn for {weather}",
        day=fit.day,
        machine=fit.machine,
        sheet=fit.sheet,
        lap=_(fit.lap),
        nozzle=show.temperature(fit.nozzle_c, units),
        weather=", ".join(weather) or _("no conditions read"),
    )
    if not fit.firm_jobs:
        return caption
    taught = plural(
        "begun with what {n} other job taught",
        "begun with what {n} other jobs taught",
        fit.firm_jobs,
    )
    return f"{caption}; {taught}"


def _alt(fit: DayFit, curve: Curve, used: Used, units: str) -> str:
    speed_unit, width_unit, _t = units_of(units)
    middle = curve[len(curve) // 2]
    return _(
        "Chart of bleed-out against travel speed. {strips}. At {v:.1f} {speed} the fit gives {mid:.2f} {width}, 90 % between {low:.2f} and {high:.2f}. Welded at: {used}.",
        strips=plural("{n} strip", "{n} strips", fit.strips),
        v=middle[0],
        speed=speed_unit,
        mid=middle[1],
        width=width_unit,
        low=middle[2],
        high=middle[3],
        used=", ".join(f"{number(v, '.3g')} {speed_unit}" for v in used)
        or _("nothing on these strips"),
    )


def _numbers(curve: Curve, points: list[Reading], used: Used, units: str) -> Table:
    """The numbers of the chart: strips, speeds welded at, and the fit at some speeds."""
    speed_unit, width_unit, _t = units_of(units)
    rows = [
        *_strips(points),
        *(
            (_("welded"), number(v, ".2f"), "–", welded(metres, again, units))
            for v, (metres, again) in sorted(used.items())
        ),
        *(
            (
                _("fit"),
                number(v, ".2f"),
                number(mid, ".3f"),
                _("90 %: {low:.3f} to {high:.3f}", low=low, high=high),
            )
            for v, mid, low, high in curve[:: max(1, (len(curve) - 1) // 6)]
        ),
    ]
    headings = [
        _("What"),
        _("Speed, {unit}", unit=speed_unit),
        _("Bleed-out, {unit}", unit=width_unit),
        _("Note"),
    ]
    return table(_("Numbers of the chart"), headings, rows, (1, 2), (1.2, 1, 1.6, 2))


def _strips(points: list[Reading]) -> Iterator[tuple[str, str, str, str]]:
    """A row a strip: its speed, its readings, whether it met the limits."""
    for strip in dict.fromkeys(name for name, _v, _w, _ok in points):
        mine = [p for p in points if p[0] == strip]
        verdict = _("met the limits") if mine[0][3] else _("did not meet the limits")
        readings = " ".join(number(width, ".3g") for _n, _v, width, _ok in mine)
        yield _("strip {name}", name=strip), number(mine[0][1], ".2f"), readings, verdict
