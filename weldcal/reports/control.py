"""Charts of bleed checks in letters, and what samples show, in words.

Invariant: a limit that comes from few values, or from rounding alone, says so.
Where no drawing is wanted, its numbers are listed.
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import to_builtins

from weldcal import settings
from weldcal.json_values import JsonObject
from weldcal.quality import sampling
from weldcal.reports import show
from weldcal.reports.dossier.peels import bound
from weldcal.reports.lines import columns, wrapped
from weldcal.views.dossier import BleedChart
from weldcal.words import _, plural

_HEIGHT = 9


def document(chart: BleedChart) -> JsonObject:
    """The chart as JSON, widths in mm."""
    from msgspec import structs

    return {
        "strip": chart.strip["name"],
        "checks": [
            {"name": r["name"], "seam": r["seam"], "at_m": r["at_m"], "width_mm": v}
            for r, v in zip(chart.rows, chart.values_mm, strict=True)
        ],
        "individuals": structs.asdict(chart.single),
        "ewma": structs.asdict(chart.average) if chart.average else None,
        "first_out": _first(chart),
        "seams_in_doubt": list(chart.doubt),
    }


def page(chart: BleedChart, units: str) -> list[str]:
    """The chart in lines."""
    single = chart.single
    lines = [
        _(
            "Bleed checks on go-ahead {name}, n = {n}",
            name=chart.strip["name"],
            n=len(chart.values_mm),
        ),
        "",
    ]
    lines += _numbers(chart, units) if settings.linear() else _drawn(chart, units)
    if single.low is None:
        lines.append(_("One check tells no spread yet: limits come with the second."))
    else:
        lines.append(
            _(
                "Centre {centre} (the go-ahead's median), individual limits {low} to {high}.",
                centre=show.width(single.centre, units),
                low=show.width(max(0.0, single.low), units),
                high=show.width(single.high, units),
            )
        )
    if single.coarse:
        lines.append(
            _("The tape's step is coarse against this spread: the chart sees only larger moves.")
        )
    lines.append(_out_of_control(chart, units))
    return [line if " |" in line or not line else wrapped(line) for line in lines]


def _out_of_control(chart: BleedChart, units: str) -> str:
    """The first point out of control, and what is in doubt for it."""
    first = _first(chart)
    if first is None:
        return _("No point is out of control, by single values or by their moving average (EWMA).")
    row = chart.rows[first]
    return _(
        "FIRST OUT OF CONTROL: {name} on seam {seam} at {at}. In doubt since the check before: {seams}.",
        name=row["name"],
        seam=show.safe(row["seam"]),
        at=show.tape(row["at_m"], units),
        seams=show.listed(list(chart.doubt)),
    )


def _first(chart: BleedChart) -> int | None:
    firsts = [chart.single.first_out, chart.average.first_out if chart.average else None]
    return min((n for n in firsts if n is not None), default=None)


def _drawn(chart: BleedChart, units: str) -> list[str]:
    values, single = chart.values_mm[-max(5, columns() - 12) :], chart.single
    limits = [x for x in (single.low, single.high) if x is not None]
    low, high = min(*values, single.centre, *limits), max(*values, single.centre, *limits)
    span = (high - low) or 1.0

    def row(value: float) -> int:
        return int((_HEIGHT - 1) * (high - value) / span + 0.5)

    grid = [[" "] * (len(values) + 1) for _n in range(_HEIGHT)]
    for value, sign in ((single.centre, "."), *((x, "-") for x in limits)):
        grid[row(value)] = [sign] * (len(values) + 1)
    offset = len(chart.values_mm) - len(values)
    called = {*single.out, *(chart.average.out if chart.average else ())}
    out = {n - offset for n in called}
    for n, value in enumerate(values):
        grid[row(value)][n] = "X" if n in out else "o"
    labels = {0: show.width(high, units), _HEIGHT - 1: show.width(low, units)}
    drawn = [f"{labels.get(n, ''):>8} |{''.join(line).rstrip()}" for n, line in enumerate(grid)]
    return [
        *drawn,
        _("o check, X out, . centre, - limits; in the order they were seen, newest right"),
        "",
    ]


def _numbers(chart: BleedChart, units: str) -> Iterator[str]:
    """Each check in the order it was seen."""
    called = {*chart.single.out, *(chart.average.out if chart.average else ())}
    for n, (row, value) in enumerate(zip(chart.rows, chart.values_mm, strict=True)):
        values = {
            "name": row["name"],
            "seam": show.safe(row["seam"]),
            "at": show.tape(row["at_m"], units),
            "width": show.width(value, units),
        }
        yield (
            _("Out of control: {name} on seam {seam} at {at}, {width}.", **values)
            if n in called
            else _("In control: {name} on seam {seam} at {at}, {width}.", **values)
        )


def plan(share: float, sure: float, allowed: int, needed: int, feet: sampling.Feet) -> list[str]:
    """How many samples or feet."""
    return [
        _(
            "To show with {sure:.0f} % confidence that no more than {share:g} % of the lap is bad, {allowed} failures allowed:",
            sure=100 * sure,
            share=100 * share,
            allowed=allowed,
        ),
        _("- {n} samples at places drawn at random (exact binomial); or", n=needed),
        _(
            "- {feet:.0f} ft ({m:.0f} m) of probing on {laps}: feet of one lap are alike (beta-binomial; likeness within a lap {alike:g}: {source}).",
            feet=feet.length_m / 0.3048,
            m=feet.length_m,
            laps=plural("{n} lap", "{n} laps", feet.laps),
            alike=sampling.WITHIN_LAP,
            source=_(sampling.WITHIN_LAP_SOURCE),
        ),
        _(
            "It speaks of the lap the places were drawn from, and of nothing else. Draw them: weldcal sample draw"
        ),
    ]


def plan_document(needed: int, feet: sampling.Feet) -> JsonObject:
    """The same as JSON."""
    return {
        "samples": needed,
        "probing": to_builtins(feet),
        "within_lap": sampling.WITHIN_LAP,
        "within_lap_source": sampling.WITHIN_LAP_SOURCE,
    }


def loads(
    peel_loads: sampling.Loads,
    spacing: sampling.Spacing,
    share: sampling.ShareBad | None,
    least: float | None,
    units: str,
    source: str | None = None,
) -> list[str]:
    """What peel samples show; `source` is the data sheet that `least` comes from."""
    parted = ", ".join(f"{_(how)} {n}" for how, n in peel_loads.parted.items())
    lines = [
        _(
            "{n}, mean {mean}{spread}; parted {parted}.",
            n=plural("{n} sample", "{n} samples", peel_loads.n),
            mean=show.line_load(peel_loads.mean, units),
            spread=_(", spread {s}", s=show.line_load(peel_loads.spread, units))
            if peel_loads.spread is not None
            else "",
            parted=parted,
        )
    ]
    if peel_loads.bound is not None:
        lines.append(bound(peel_loads, units))
    lines += _against(peel_loads, least, units, source)
    return [*lines, *_share(share), _spacing(spacing, share, units)]


def _against(
    peel_loads: sampling.Loads, least: float | None, units: str, source: str | None
) -> list[str]:
    """How the loads compare with the least one, and where that is from."""
    if least is None:
        return [
            _(
                "No load was judged: give the least with --least, or the sheet's own: weldcal sheet add --peel-least"
            )
        ]
    verdict = {True: _("shown"), False: _("NOT shown"), None: _("not known from one sample")}
    judged = _(
        "Against {least}: {below} below; {verdict}.",
        least=show.line_load(least, units),
        below=peel_loads.below,
        verdict=verdict[peel_loads.shown],
    )
    if not source:
        return [judged]
    return [judged, _("The least load is from: {source}.", source=show.safe(source))]


def _share(share: sampling.ShareBad | None) -> Iterator[str]:
    """What samples, failed and good, show of the lap they were drawn from."""
    if share is None:
        return
    if share.bad:
        yield _(
            "{bad} of {n} samples from seams failed: {low:.1f} to {high:.1f} % of the lap is bad, at {conf:.0f} % confidence, if their places were drawn at random (exact binomial).",
            bad=share.bad,
            n=share.samples,
            low=100 * share.low,
            high=100 * share.high,
            conf=100 * share.confidence,
        )
        return
    yield _(
        "None of {n} samples from seams failed: with {conf:.0f} % confidence no more than {most:.1f} % of the lap is bad, if their places were drawn at random (exact binomial).",
        n=share.samples,
        conf=100 * share.confidence,
        most=100 * share.most,
    )
    if share.by_three is not None:
        yield _(
            "The rule of three says {most:.1f} % (3 divided by {n}; Hanley & Lippman-Hand 1983).",
            most=100 * share.by_three,
            n=share.samples,
        )


def _spacing(spacing: sampling.Spacing, share: sampling.ShareBad | None, units: str) -> str:
    """How far to the next sample, and by what rule."""
    why = {
        "first": _("the first spacing"),
        "tightened": _("tightened after a failure"),
        "relaxed": _("relaxed after a run of passes"),
        "held": _("held"),
    }[spacing.why]
    n = share.samples if share else 0
    return _(
        "Next sample from a seam within {distance} of lap ({why}; {k} of {n} passed; spacing rule: {source}).",
        distance=show.distance(spacing.spacing_m, units),
        why=why,
        k=n - share.bad if share else 0,
        n=n,
        source=_(sampling.SPACING_SOURCE),
    )


def loads_document(
    peel_loads: sampling.Loads, spacing: sampling.Spacing, share: sampling.ShareBad | None
) -> JsonObject:
    """The same as JSON: loads in N/mm."""
    return {
        "loads": to_builtins(peel_loads),
        "spacing": to_builtins(spacing),
        "spacing_source": sampling.SPACING_SOURCE,
        "share_bad": to_builtins(share),
    }
