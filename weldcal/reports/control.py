"""Charts of bleed checks in letters, and what samples show, in words.

Invariant: a limit that comes from few values, or from rounding alone, says so.
Where no drawing is wanted, its numbers are listed.
"""

from __future__ import annotations

from msgspec import to_builtins

from weldcal import settings
from weldcal.json_values import JsonObject
from weldcal.quality.sampling import (
    SPACING_SOURCE,
    WITHIN_LAP,
    WITHIN_LAP_SOURCE,
    Feet,
    Loads,
    ShareBad,
    Spacing,
)
from weldcal.reports import show
from weldcal.reports.dossier.peels import bound
from weldcal.reports.lines import columns, wrapped
from weldcal.views.dossier import BleedChart
from weldcal.words import _, plural

_HEIGHT = 9


def document(found: BleedChart) -> JsonObject:
    """The chart as JSON, widths in mm."""
    from msgspec import structs

    return {
        "strip": found.strip["name"],
        "checks": [
            {"name": r["name"], "seam": r["seam"], "at_m": r["at_m"], "width_mm": v}
            for r, v in zip(found.rows, found.values_mm, strict=True)
        ],
        "individuals": structs.asdict(found.single),
        "ewma": structs.asdict(found.average) if found.average else None,
        "first_out": _first(found),
        "seams_in_doubt": list(found.doubt),
    }


def page(found: BleedChart, units: str) -> list[str]:
    """The chart in lines."""
    single = found.single
    lines = [
        _(
            "Bleed checks on go-ahead {name}, n = {n}",
            name=found.strip["name"],
            n=len(found.values_mm),
        ),
        "",
    ]
    lines += _numbers(found, units) if settings.linear() else _drawn(found, units)
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
    lines.append(_out_of_control(found, units))
    return [line if " |" in line or not line else wrapped(line) for line in lines]


def _out_of_control(found: BleedChart, units: str) -> str:
    """The first point out of control, and what is in doubt for it."""
    first = _first(found)
    if first is None:
        return _("No point is out of control, by single values or by their moving average (EWMA).")
    row = found.rows[first]
    return _(
        "FIRST OUT OF CONTROL: {name} on seam {seam} at {at}. In doubt since the check before: {seams}.",
        name=row["name"],
        seam=show.safe(row["seam"]),
        at=show.tape(row["at_m"], units),
        seams=show.listed(list(found.doubt)),
    )


def _first(found: BleedChart) -> int | None:
    firsts = [found.single.first_out, found.average.first_out if found.average else None]
    return min((n for n in firsts if n is not None), default=None)


def _drawn(found: BleedChart, units: str) -> list[str]:
    values, single = found.values_mm[-max(5, columns() - 12) :], found.single
    limits = [x for x in (single.low, single.high) if x is not None]
    low, high = min(*values, single.centre, *limits), max(*values, single.centre, *limits)
    span = (high - low) or 1.0

    def row(value: float) -> int:
        return int((_HEIGHT - 1) * (high - value) / span + 0.5)

    grid = [[" "] * (len(values) + 1) for _n in range(_HEIGHT)]
    for value, sign in ((single.centre, "."), *((x, "-") for x in limits)):
        grid[row(value)] = [sign] * (len(values) + 1)
    offset = len(found.values_mm) - len(values)
    called = {*single.out, *(found.average.out if found.average else ())}
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


def _numbers(found: BleedChart, units: str) -> list[str]:
    """Each check in the order it was seen."""
    called = {*found.single.out, *(found.average.out if found.average else ())}
    lines = []
    for n, (row, value) in enumerate(zip(found.rows, found.values_mm, strict=True)):
        values = {
            "name": row["name"],
            "seam": show.safe(row["seam"]),
            "at": show.tape(row["at_m"], units),
            "width": show.width(value, units),
        }
        lines.append(
            _("Out of control: {name} on seam {seam} at {at}, {width}.", **values)
            if n in called
            else _("In control: {name} on seam {seam} at {at}, {width}.", **values)
        )
    return lines


def plan(share: float, sure: float, allowed: int, needed: int, feet: Feet) -> list[str]:
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
            alike=WITHIN_LAP,
            source=_(WITHIN_LAP_SOURCE),
        ),
        _(
            "It speaks of the lap the places were drawn from, and of nothing else. Draw them: weldcal sample draw"
        ),
    ]


def plan_document(needed: int, feet: Feet) -> JsonObject:
    """The same as JSON."""
    return {
        "samples": needed,
        "probing": to_builtins(feet),
        "within_lap": WITHIN_LAP,
        "within_lap_source": WITHIN_LAP_SOURCE,
    }


def loads(
    found: Loads,
    spacing: Spacing,
    share: ShareBad | None,
    least: float | None,
    units: str,
    source: str | None = None,
) -> list[str]:
    """What peel samples show; `source` is the data sheet that `least` comes from."""
    parted = ", ".join(f"{_(how)} {n}" for how, n in found.parted.items())
    lines = [
        _(
            "{n}, mean {mean}{spread}; parted {parted}.",
            n=plural("{n} sample", "{n} samples", found.n),
            mean=show.line_load(found.mean, units),
            spread=_(", spread {s}", s=show.line_load(found.spread, units))
            if found.spread is not None
            else "",
            parted=parted,
        )
    ]
    if found.bound is not None:
        lines.append(bound(found, units))
    lines += _against(found, least, units, source)
    return [*lines, *_share(share), _spacing(spacing, share, units)]


def _against(found: Loads, least: float | None, units: str, source: str | None) -> list[str]:
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
        below=found.below,
        verdict=verdict[found.shown],
    )
    if not source:
        return [judged]
    return [judged, _("The least load is from: {source}.", source=show.safe(source))]


def _share(share: ShareBad | None) -> list[str]:
    """What samples from seams that failed, or did not, say of the lap they were drawn from."""
    if share is None:
        return []
    if share.bad:
        return [
            _(
                "{bad} of {n} samples from seams failed: {low:.1f} to {high:.1f} % of the lap is bad, at {conf:.0f} % confidence, if their places were drawn at random (exact binomial).",
                bad=share.bad,
                n=share.samples,
                low=100 * share.low,
                high=100 * share.high,
                conf=100 * share.confidence,
            )
        ]
    lines = [
        _(
            "None of {n} samples from seams failed: with {conf:.0f} % confidence no more than {most:.1f} % of the lap is bad, if their places were drawn at random (exact binomial).",
            n=share.samples,
            conf=100 * share.confidence,
            most=100 * share.most,
        )
    ]
    if share.by_three is not None:
        lines.append(
            _(
                "The rule of three says {most:.1f} % (3 divided by {n}; Hanley & Lippman-Hand 1983).",
                most=100 * share.by_three,
                n=share.samples,
            )
        )
    return lines


def _spacing(spacing: Spacing, share: ShareBad | None, units: str) -> str:
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
        source=_(SPACING_SOURCE),
    )


def loads_document(found: Loads, spacing: Spacing, share: ShareBad | None) -> JsonObject:
    """The same as JSON: loads in N/mm."""
    return {
        "loads": to_builtins(found),
        "spacing": to_builtins(spacing),
        "spacing_source": SPACING_SOURCE,
        "share_bad": to_builtins(share),
    }
