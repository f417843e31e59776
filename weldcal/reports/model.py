"""The model report in words and plain columns.

Invariant: prior beside posterior for every coefficient, and the past forecast
from the days before only; nothing is left out because it looks bad.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from fractions import Fraction
from math import log
from typing import TYPE_CHECKING, NamedTuple

from weldcal.json_values import JsonObject
from weldcal.quantities import convert
from weldcal.reports import show
from weldcal.words import _, plural

if TYPE_CHECKING:
    from weldcal.calibration import Report


def document(report: Report) -> JsonObject:
    """The report as JSON, with what is computed from it."""
    report_values = dataclasses.asdict(report)
    for plain, coefficient in zip(report_values["coefficients"], report.coefficients, strict=True):
        plain["moved_prior_sds"] = coefficient.moved
    for plain, morning in zip(report_values["past"], report.past, strict=True):
        plain["inside"] = morning.inside
    return {**report_values, "covered": report.covered}


def page(report: Report, units: str) -> Iterator[str]:
    """The report in lines."""
    yield _("MODEL REPORT, sheet {sheet}", sheet=show.safe(report.sheet))
    yield ""
    if report.firm_jobs:
        yield plural(
            "What was believed beforehand is what {n} other job of the firm taught.",
            "What was believed beforehand is what {n} other jobs of the firm taught.",
            report.firm_jobs,
        )
    yield from _learnt(report, units)
    yield ""
    yield from _past(report, units)
    yield ""
    yield from _residuals(report, units)
    yield from _plain(report, units)
    yield from _rivals(report, units)


def _learnt(report: Report, units: str) -> list[str]:
    """What the strips made of what was believed, what each day taught, how all of it scatters."""
    moved = [
        _(
            "- {name} ({unit}): {was:.3g} ± {was_sd:.2g} -> {now:.3g} ± {now_sd:.2g}, {moved:+.1f}; {reason}",
            name=_coefficient(c.name),
            unit=_(c.unit).replace(scale.of, _(scale.called)),
            was=scale.per * c.prior_mean + scale.off,
            was_sd=scale.per * c.prior_sd,
            now=scale.per * c.mean + scale.off,
            now_sd=scale.per * c.sd,
            moved=round(c.moved, 1) + 0.0,  # no "-0.0"
            reason=_(c.reason),
        )
        for c in report.coefficients
        for scale in [_scale(c.unit, units)]
    ]
    days = [
        f"- {d.day} {show.safe(d.machine)}: {100 * d.offset:+.0f} %, n = {d.strips}"
        for d in report.days
    ]
    return [
        _("What was believed, and what the strips made of it (mean ± sd; moved in prior sds):"),
        *moved,
        "",
        _("What each day taught (its offset in speed):"),
        *days,
        "",
        _(
            "Scatter: along a strip {a:.2f}, strip to strip {b:.2f} (ln width), day to day {c:.2f} (ln speed).",
            a=report.reading_spread,
            b=report.strip_spread,
            c=report.day_spread,
        ),
    ]


class _Scale(NamedTuple):
    """How a coefficient is shown in the job's units: times `per`, plus `off`; unit `of` becomes `called`."""

    per: float
    off: float
    of: str
    called: str


def _scale(unit: str, units: str) -> _Scale:
    """How a coefficient of a unit is shown: per °F, per mph and in ft/min on a US job."""
    if units != "us":
        return _Scale(1.0, 0.0, "K", "°C")
    if "ln m/min" in unit:
        return _Scale(1.0, log(convert(Fraction(1), "m/min", "ft/min")), "m/min", "ft/min")
    if "m/s" in unit:
        return _Scale(float(convert(Fraction(1), "mph", "m/s")), 0.0, "m/s", "mph")
    degrees = 2 if "K²" in unit else " K" in unit
    return _Scale((5 / 9) ** degrees, 0.0, "K", "°F")


def _coefficient(name: str) -> str:
    """`weather`, or `sheet: base` where it is one sheet's own."""
    ours, _colon, whose = name.partition(":")
    return (
        f"{_(ours.replace('_', ' '))}: {show.safe(_(whose))}"
        if whose
        else _(ours.replace("_", " "))
    )


def _past(report: Report, units: str) -> list[str]:
    if not report.past:
        return [_("No past morning to forecast yet.")]
    inside = sum(m.inside for m in report.past)
    lines = [
        _(
            "This job's own past, each morning forecast from the days before it only: {k} of {n} first strips inside the 90 % interval.",
            k=inside,
            n=len(report.past),
        )
    ]
    return lines + [
        f"- {m.day}: {show.width(m.width_mm, units)}, "
        + _(
            "forecast {f} ({low} to {high})",
            f=show.width(m.forecast_mm, units),
            low=show.width(m.low_mm, units),
            high=show.width(m.high_mm, units),
        )
        + ("" if m.inside else " " + _("OUTSIDE"))
        for m in report.past
    ]


def _residuals(report: Report, units: str) -> list[str]:
    worst = sorted(report.residuals, key=lambda r: -abs(r.off))[:8]
    lines = [
        _(
            "Strips furthest from the fit (of {n}; {aside} set aside):",
            n=len(report.residuals),
            aside=len(report.set_aside),
        )
    ]
    return lines + [
        f"- {r.day}: {show.width(r.width_mm, units)}, "
        + _("fit {fit}, {off:+.1f} sd", fit=show.width(r.fitted_mm, units), off=r.off)
        + (" " + _("set aside") if r.set_aside else "")
        for r in worst
    ]


def _plain(report: Report, units: str) -> list[str]:
    plain = report.plain
    if plain is None:
        return []
    return [
        "",
        _(
            "Plain least squares on the strips of {day} alone (n = {n}): elasticity {e:.2f}, {width} ({low} to {high}) at their mean speed.",
            day=plain.day,
            n=plain.strips,
            e=plain.elasticity,
            width=show.width(plain.width_mm, units),
            low=show.width(plain.low_mm, units),
            high=show.width(plain.high_mm, units),
        ),
    ]


def _rivals(report: Report, units: str) -> Iterator[str]:
    if not report.rivals:
        yield ""
        yield _("Too few days to judge the model beside other methods: it takes three.")
        return
    yield ""
    yield _("Does the model earn its place here? Each day forecast from the other days:")
    for r in report.rivals:
        inside = (
            _("{share:.0f} % inside its 90 % interval", share=100 * r.covered)
            if r.covered is not None
            else _("gives no interval")
        )
        yield _(
            "- {method}: off by {off} (median of {n}), {log:.2f} in ln width; {inside}",
            method=_(r.method),
            off=show.width(r.off_mm, units),
            n=r.strips,
            log=r.off_log,
            inside=inside,
        )
