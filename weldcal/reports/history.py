"""The look back on many jobs as tables and as a document.

Invariant: every table says how many rows it rests on; a rate or a slope stands
with its interval.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from weldcal.quality.history import HAND, HistoryTables
from weldcal.quality.history_rows import DriftOf, FaultsOf, GoAheadSpeed, LineOf, MorningsOf
from weldcal.reports import show
from weldcal.reports.dossier import speed_chart
from weldcal.reports.dossier.document import Document, Figure, Para, Section, table
from weldcal.reports.dossier.lengths import probed, welded
from weldcal.words import _, language, number, plural

Part = tuple[str, list[str], list[list[str]]]  # title, headings, cells
_KIND = ("machine", "sheet", "lap")


def tables(history: HistoryTables, by: Sequence[str], units: str) -> list[Part]:
    """The tables for reading: title, headings, cells."""
    return [
        _faults(history.faults, by, units),
        _mornings(history.strips, by),
        _lines(history.lines, units),
        _drift(history.drift),
    ]


def _names(by: Sequence[str]) -> list[str]:
    """Headings of what rows are grouped by."""
    names = {
        "job": _("Job"),
        "machine": _("Machine"),
        "sheet": _("Sheet"),
        "lap": _("Lap kind"),
        "person": _("Person"),
        "month": _("Month"),
    }
    return [names[name] for name in by]


def _faults(rows: list[FaultsOf], by: Sequence[str], units: str) -> Part:
    headings = [
        *_names(by),
        _("Runs"),
        _("Welded"),
        _("Probed"),
        _("Faults"),
        _("Per {per}", per=show.hundred(units)),
        _("Interval"),
    ]
    cells = [
        [
            *_group_cells(r, by),
            str(r["runs"]),
            welded(r["welded_m"], r["welded_again_m"], units),
            probed(r["probed_m"], r["probed_welded_over_m"], units),
            str(r["faults"]),
            *_rate(r, units),
        ]
        for r in rows
    ]
    return _rates_title(rows, units), headings, cells


def _mornings(rows: list[MorningsOf], by: Sequence[str]) -> Part:
    headings = [*_names(by), _("Mornings"), _("Median"), _("Most"), _("Without a go-ahead")]
    cells = [
        [
            *_group_cells(r, by),
            str(r["mornings"]),
            num(r["median_strips"], 1),
            num(r["most_strips"], 0),
            str(r["without"]),
        ]
        for r in rows
    ]
    return _("Strips to the first go-ahead of a day"), headings, cells


def _lines(rows: list[LineOf], units: str) -> Part:
    headings = [
        *_names(_KIND),
        _("Strips"),
        _("At 20 °C (68 °F)"),
        _("Per °F") if units == "us" else _("Per °C"),
        _("95 % interval"),
    ]
    cells = [
        [
            *_group_cells(r, _KIND),
            str(r["strips"]),
            show.speed(r["speed_at_20c_m_per_min"], units),
            pct(_a_degree(r["pct_per_k"], units)),
            between(_a_degree(r["low"], units), _a_degree(r["high"], units), 2),
        ]
        for r in rows
    ]
    return _("Speed of go-ahead strips against temperature: a plain line"), headings, cells


def _drift(rows: list[DriftOf]) -> Part:
    headings = [
        *_names(_KIND),
        _("Month"),
        _("What"),
        _("n"),
        _("Median"),
        _("Least to most"),
    ]
    cells = [
        [
            *_group_cells(r, _KIND),
            r["month"],
            _(r["what"]),
            str(r["n"]),
            pct(r["median_pct"]),
            between(r["least_pct"], r["most_pct"], 1),
        ]
        for r in rows
    ]
    return _("Drift by month"), headings, cells


def _rate(row: FaultsOf, units: str) -> tuple[str, str]:
    """A rate and its interval, as they read in these units."""
    if row["per_100ft"] is None:
        return "–", "–"
    rate, low, high = (
        None if value is None else show.per_hundred(value, units)
        for value in (row["per_100ft"], row["low"], row["high"])
    )
    return num(rate, 2), between(low, high, 2)


def _rates_title(rows: list[FaultsOf], units: str) -> str:
    per = show.hundred(units)
    if not rows:
        return _("Faults per {per} probed", per=per)
    dispersions = {(row["dispersion"], row["dispersion_runs"]) for row in rows}
    if len(dispersions) > 1:
        return _(
            "Faults on probed lap per {per} of it, 95 % interval allowing for clumps (dispersion {low:.2f} to {high:.2f}, job by job)",
            per=per,
            low=min(dispersion for dispersion, _runs in dispersions),
            high=max(dispersion for dispersion, _runs in dispersions),
        )
    return _(
        "Faults on probed lap per {per} of it, 95 % interval allowing for clumps (dispersion {dispersion:.2f}, from {runs} probed)",
        per=per,
        dispersion=rows[0]["dispersion"],
        runs=plural("{n} run", "{n} runs", rows[0]["dispersion_runs"]),
    )


def document(history: HistoryTables, by: Sequence[str], units: str, made: str) -> Document:
    """The look back as a document: tables, and speeds against temperature drawn."""
    parts = tables(history, by, units)
    heads = [
        _("Faults per {per} probed", per=show.hundred(units)),
        *(title for title, _headings, _rows in parts[1:]),
    ]
    sections = [
        Section(
            head,
            (table(title, headings, rows) if rows else Para(_("nothing recorded")),),
        )
        for head, (title, headings, rows) in zip(heads, parts, strict=True)
    ]
    drawn = [_drawn(line, history.speeds, n, units) for n, line in enumerate(history.lines)]
    if drawn:
        sections.append(Section(_("Speeds drawn"), tuple(drawn)))
    return Document(
        title=_("History of all jobs"),
        subtitle=_("Made {at}.", at=show.clock(made)),
        language=language(),
        made=made,
        sections=tuple(sections),
    )


def _drawn(line: LineOf, speeds: list[GoAheadSpeed], n: int, units: str) -> Figure:
    kind = (line["machine"], line["sheet"], line["lap"])
    mine = [r for r in speeds if (r["machine"], r["sheet"], r["lap"]) == kind]
    points = [(r["strip"], r["day"], r["temperature_c"], r["speed_m_per_min"]) for r in mine]
    plain = None
    if line["pct_per_k"] is not None and line["speed_at_20c_m_per_min"] is not None:
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


def _group_cells(row: Mapping[str, object], by: Sequence[str]) -> list[str]:
    groups = ((name, str(row[name])) for name in by)
    return [_(one) if name == "lap" or one == HAND else show.safe(one) for name, one in groups]


def num(value: float | None, digits: int) -> str:
    """A number with so many digits; a dash for none."""
    return "–" if value is None else number(value, f".{digits}f")


def pct(value: float | None) -> str:
    """A difference in percent, with its sign."""
    return "–" if value is None else number(value, "+.1f") + " %"


def _a_degree(per_kelvin: float | None, units: str) -> float | None:
    """A value per kelvin as one per degree of the reader's scale."""
    return per_kelvin * 5 / 9 if per_kelvin is not None and units == "us" else per_kelvin


def between(low: float | None, high: float | None, digits: int) -> str:
    """An interval."""
    return (
        "–"
        if low is None or high is None
        else _("{low} to {high}", low=num(low, digits), high=num(high, digits))
    )
