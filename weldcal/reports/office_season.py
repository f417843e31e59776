"""The office's page of the season: what was done, and what was learnt."""

from __future__ import annotations

from collections.abc import Sequence

from weldcal.calibration.priors import NOZZLE_C, SHEET_C
from weldcal.reports import show
from weldcal.reports.dossier.lengths import probed, welded
from weldcal.reports.history import between, num
from weldcal.reports.office_parts import Page, PageTable, span
from weldcal.views.office import LineRow, RatesWhen, RefitRow, Season
from weldcal.words import _, mark, plural

WHEN = {"before": mark("before"), "since": mark("since then")}


def season(shown: Season, units: str) -> Page:
    """What was done and learnt since a day."""
    first = _(
        "Since {day}: {jobs}, {passed} of {strips} strips passed, {welded} welded.",
        day=show.day(shown.since),
        jobs=plural("{n} job", "{n} jobs", shown.jobs),
        passed=shown.passed,
        strips=shown.strips,
        welded=welded(shown.welded_m, shown.welded_again_m, units),
    )
    per = show.hundred(units)
    parts: tuple[PageTable, ...] = (
        PageTable(
            _("What the strips taught of speed"),
            [_("Sheet"), _("Lap kind"), _("New strips"), _("Sheet at"), _("Before"), _("Now")],
            [_line(row, units) for row in shown.lines],
        ),
        PageTable(
            _("Faults on probed lap"),
            [
                _("When"),
                _("Lap kind"),
                _("Probed"),
                _("Faults"),
                _("Per {per}", per=per),
                _("95 %"),
            ],
            [_rate(row, units) for row in shown.rates],
        ),
        PageTable(
            _("Findings"),
            [_("Kind"), _("Findings")],
            [[_(kind), str(n)] for kind, n in shown.findings],
        ),
    )
    if shown.refits:
        parts = (*parts, _refits(shown.refits, units))
    last = _(
        "Before, now: speed at that temperature, where 9 of 10 strips pass, and from how many."
    )
    return Page(_("What was learnt"), (first,), parts, (last,))


def _refits(rows: Sequence[RefitRow], units: str) -> PageTable:
    return PageTable(
        _(
            "Each machine on each sheet, refitted: the right speed with the nozzle at {nozzle}, the sheet at {sheet}, no wind",
            nozzle=show.temperature(NOZZLE_C, units),
            sheet=show.temperature(SHEET_C, units),
        ),
        [_("Machine"), _("Sheet"), _("Jobs"), _("Strips"), _("Speed"), _("90 %")],
        [
            [
                show.safe(row.machine),
                show.safe(row.sheet),
                str(row.jobs),
                str(row.strips),
                show.speed(row.m_per_min[0], units, 2),
                span(*row.m_per_min[1:], units),
            ]
            for row in rows
        ],
    )


def _line(row: LineRow, units: str) -> list[str]:
    return [
        show.safe(row.name),
        _(row.lap),
        str(row.new),
        show.temperature(row.temperature_c, units),
        _known(row.before, units),
        _known(row.now, units),
    ]


def _known(summary: tuple[int, float, float, float] | None, units: str) -> str:
    if summary is None:
        return _("too few")
    n, middle, low, high = summary
    return _(
        "{speed} ({span}, n {n})",
        speed=show.speed(middle, units, 2),
        span=span(low, high, units),
        n=n,
    )


def _rate(row: RatesWhen, units: str) -> list[str]:
    rates = (row["per_100ft"], row["low"], row["high"])
    rate, low, high = (None if value is None else show.per_hundred(value, units) for value in rates)
    return [
        _(WHEN[row["when"]]),
        _(row["lap"]),
        probed(row["probed_m"], row["probed_welded_over_m"], units),
        str(row["faults"]),
        num(rate, 2),
        between(low, high, 2),
    ]
