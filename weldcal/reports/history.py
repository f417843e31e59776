"""The look back on many jobs as tables and as a document.

Invariant: every table says how many rows it rests on; a rate or a slope stands
with its interval.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from weldcal.quality.history import HAND, Told
from weldcal.reports import show
from weldcal.reports.dossier import speed_chart
from weldcal.reports.dossier.document import Document, Figure, Para, Section, table
from weldcal.reports.dossier.lengths import length
from weldcal.words import _, language, number, plural

Row = dict[str, Any]


def tables(
    told: Told, by: Sequence[str], units: str
) -> list[tuple[str, list[str], list[list[str]]]]:
    """The tables for reading: title, headings, cells."""
    names = {
        "job": _("Job"),
        "machine": _("Machine"),
        "sheet": _("Sheet"),
        "lap": _("Lap kind"),
        "person": _("Person"),
        "month": _("Month"),
    }
    grouped = [names[name] for name in by]
    kind = [names[name] for name in ("machine", "sheet", "lap")]
    return [
        (
            _rates_title(told.faults, units),
            [
                *grouped,
                _("Runs"),
                _("Welded"),
                _("Probed"),
                _("Faults"),
                _("Per {per}", per=show.hundred(units)),
                _("Interval"),
            ],
            [
                [
                    *_said(r, by),
                    str(r["runs"]),
                    length(r["welded_m"], units),
                    length(r["probed_m"], units),
                    str(r["faults"]),
                    *_rate(r, units),
                ]
                for r in told.faults
            ],
        ),
        (
            _("Strips to the first go-ahead of a day"),
            [*grouped, _("Mornings"), _("Median"), _("Most"), _("Without a go-ahead")],
            [
                [
                    *_said(r, by),
                    str(r["mornings"]),
                    num(r["median_strips"], 1),
                    num(r["most_strips"], 0),
                    str(r["without"]),
                ]
                for r in told.strips
            ],
        ),
        (
            _("Speed of go-ahead strips against temperature: a plain line"),
            [
                *kind,
                _("Strips"),
                _("At 20 °C (68 °F)"),
                _("Per °F") if units == "us" else _("Per °C"),
                _("95 % interval"),
            ],
            [
                [
                    *_said(r, ("machine", "sheet", "lap")),
                    str(r["strips"]),
                    show.speed(r["speed_at_20c_m_per_min"], units),
                    pct(_a_degree(r["pct_per_k"], units)),
                    between(_a_degree(r["low"], units), _a_degree(r["high"], units), 2),
                ]
                for r in told.lines
            ],
        ),
        (
            _("Drift by month"),
            [*kind, _("Month"), _("What"), _("n"), _("Median"), _("Least to most")],
            [
                [
                    *_said(r, ("machine", "sheet", "lap")),
                    r["month"],
                    _(r["what"]),
                    str(r["n"]),
                    pct(r["median_pct"]),
                    between(r["least_pct"], r["most_pct"], 1),
                ]
                for r in told.drift
            ],
        ),
    ]


def _rate(row: Row, units: str) -> tuple[str, str]:
    """A rate and its interval, as they read in these units."""
    if row["per_100ft"] is None:
        return "–", "–"
    rate, low, high = (show.per_hundred(row[k], units) for k in ("per_100ft", "low", "high"))
    return num(rate, 2), between(low, high, 2)


def _rates_title(rows: list[Row], units: str) -> str:
    per = show.hundred(units)
    if not rows:
        return _("Faults per {per} probed", per=per)
    known = {(row["dispersion"], row["dispersion_runs"]) for row in rows}
    if len(known) > 1:
        return _(
            "Faults on probed lap per {per} of it, 95 % interval allowing for clumps (dispersion {low:.2f} to {high:.2f}, job by job)",
            per=per,
            low=min(dispersion for dispersion, _runs in known),
            high=max(dispersion for dispersion, _runs in known),
        )
    return _(
        "Faults on probed lap per {per} of it, 95 % interval allowing for clumps (dispersion {dispersion:.2f}, from {runs} probed)",
        per=per,
        dispersion=rows[0]["dispersion"],
        runs=plural("{n} run", "{n} runs", rows[0]["dispersion_runs"]),
    )


def document(told: Told, by: Sequence[str], units: str, made: str) -> Document:
    """The look back as a document: tables, and speeds against temperature drawn."""
    found = tables(told, by, units)
    heads = [
        _("Faults per {per} probed", per=show.hundred(units)),
        *(title for title, _headings, _rows in found[1:]),
    ]
    sections = [
        Section(
            head,
            (table(title, headings, rows) if rows else Para(_("nothing recorded")),),
        )
        for head, (title, headings, rows) in zip(heads, found, strict=True)
    ]
    drawn = [_drawn(line, told.speeds, n, units) for n, line in enumerate(told.lines)]
    if drawn:
        sections.append(Section(_("Speeds drawn"), tuple(drawn)))
    return Document(
        title=_("History of all jobs"),
        subtitle=_("Made {at}.", at=show.clock(made)),
        language=language(),
        made=made,
        sections=tuple(sections),
    )


def _drawn(line: Row, speeds: list[Row], n: int, units: str) -> Figure:
    kind = ("machine", "sheet", "lap")
    mine = [r for r in speeds if all(r[k] == line[k] for k in kind)]
    points = [(r["strip"], r["day"], r["temperature_c"], r["speed_m_per_min"]) for r in mine]
    plain = None
    if line["pct_per_k"] is not None:
        slope = line["pct_per_k"] / 100
        plain = (slope, math.log(line["speed_at_20c_m_per_min"]) - 20 * slope)
    caption = _(
        "{machine} on {sheet}, {lap}: speed of go-ahead strips against temperature; {told}",
        machine=line["machine"],
        sheet=line["sheet"],
        lap=_(line["lap"]),
        told=_(
            "line: {pct} per {degree}, 95 % {between}",
            pct=pct(_a_degree(line["pct_per_k"], units)),
            degree="°F" if units == "us" else "°C",
            between=between(_a_degree(line["low"], units), _a_degree(line["high"], units), 2),
        )
        if plain
        else _("too few, or too near in temperature, for a line"),
    )
    return speed_chart.speeds(f"speeds-{n}", caption, points, plain, units)


def _said(row: Row, by: Sequence[str]) -> list[str]:
    return [_(row[n]) if n == "lap" or row[n] == HAND else show.safe(row[n]) for n in by]


def num(value: float | None, digits: int) -> str:
    """A number with so many digits; a dash for none."""
    return "–" if value is None else number(value, f".{digits}f")


def pct(value: float | None) -> str:
    """A difference in percent, with its sign."""
    return "–" if value is None else number(value, "+.1f") + " %"


def _a_degree(per_kelvin: float | None, units: str) -> float | None:
    """What is so much per kelvin, per degree of the reader's scale."""
    return per_kelvin * 5 / 9 if per_kelvin is not None and units == "us" else per_kelvin


def between(low: float | None, high: float | None, digits: int) -> str:
    """An interval."""
    return (
        "–"
        if low is None or high is None
        else _("{low} to {high}", low=num(low, digits), high=num(high, digits))
    )
