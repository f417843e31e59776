"""The office's pages: machines, sheets, crews, roofs and the season, as tables and as a document.

Invariant: one page is one set of tables and sentences, on the terminal and in HTML alike.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from weldcal.calibration.priors import NOZZLE_C, SHEET_C
from weldcal.reports import show
from weldcal.reports.dossier.lengths import length, probed, welded
from weldcal.reports.history import between, num, pct
from weldcal.reports.office_parts import Page, PageTable, span
from weldcal.views import office as views
from weldcal.words import _, mark, number, plural

WHEN = {"before": mark("before"), "since": mark("since then")}


def season(shown: views.Season, units: str) -> Page:
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


def _refits(rows: Sequence[views.RefitRow], units: str) -> PageTable:
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


def _line(row: views.LineRow, units: str) -> list[str]:
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


def _rate(row: views.RatesWhen, units: str) -> list[str]:
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


# -- machines ------------------------------------------------------------------------------------


def machines(rows: Sequence[views.OfficeMachine], units: str) -> Page:
    """Machines: how far off, and when last measured."""
    never = [row.name for row in rows if row.measured is None]
    first = []
    if never:
        first.append(
            plural(
                "{n} machine was never measured: {names}. How: weldcal machine measure --help",
                "{n} machines were never measured: {names}. How: weldcal machine measure --help",
                len(never),
                names=show.some(never, 6),
            )
        )
    headings = [
        _("Machine"),
        _("Jobs"),
        _("Last used"),
        _("Strips passed"),
        _("Last measured"),
        _("Speed over dial"),
        _("Nozzle over set"),
    ]
    cells = [
        [
            show.safe(row.name),
            str(row.jobs),
            show.safe(row.last_day),
            _("{passed} of {n}", passed=row.passed, n=row.strips),
            show.safe(row.measured) if row.measured else _("never"),
            _off(row.dial),
            _off(row.nozzle),
        ]
        for row in rows
    ]
    last = _(
        "Over dial, over set: the median of the last month it was measured in (least to most, n); then that of the month before."
    )
    return Page(_("Machines"), tuple(first), (PageTable(_("Machines"), headings, cells),), (last,))


def _off(off: views.Off | None) -> str:
    if off is None:
        return "–"
    text = _(
        "{median} ({between}, n {n}, {month})",
        median=pct(off.median_pct),
        between=between(off.least_pct, off.most_pct, 1),
        n=off.n,
        month=off.month,
    )
    if off.before is None:
        return text
    month, median = off.before
    return _("{now}; {median} in {month}", now=text, median=pct(median), month=month)


# -- sheets --------------------------------------------------------------------------------------


def sheets(rows: Sequence[views.OfficeSheet], units: str) -> Page:
    """Sheets: at which speeds strips passed, by temperature."""
    windows = [
        [
            show.safe(row.name),
            _(row.lap),
            show.temperature(band.temperature_c, units),
            str(band.n),
            show.speed(band.m_per_min, units, 2),
            span(band.low, band.high, units),
        ]
        for row in rows
        for band in row.bands
    ]
    kind = [_("Sheet"), _("Lap kind")]
    parts = (
        _against_temperature(rows, units),
        PageTable(
            _("Window by temperature"),
            [*kind, _("Sheet at"), _("n"), _("Speed"), _("9 of 10 strips passed between")],
            windows,
        ),
    )
    last = (
        *(() if windows else (_("No window yet: too few strips of one sheet passed."),)),
        _(
            "All machines together, by the speed measured or behind the dial. n: strips within {near}.",
            near="9 °F" if units == "us" else "5 °C",
        ),
        _("This is what passed, not advice: for today's speed, weldcal dial."),
    )
    return Page(_("Sheets"), (), parts, last)


def _against_temperature(rows: Sequence[views.OfficeSheet], units: str) -> PageTable:
    degree = "°F" if units == "us" else "°C"
    headings = [
        _("Sheet"),
        _("Lap kind"),
        _("Jobs"),
        _("Strips passed"),
        _("Speed per {degree}, 95 %", degree=degree),
        _("Strips to a go-ahead"),
    ]
    cells = [
        [
            show.safe(row.name),
            _(row.lap),
            str(row.jobs),
            str(row.n),
            _per_degree(row.pct_per_k, units),
            plural(
                "{median} on {n} morning",
                "{median} on {n} mornings",
                row.mornings,
                median=num(row.median_strips, 1),
            ),
        ]
        for row in rows
    ]
    return PageTable(_("Speed against temperature"), headings, cells)


def _per_degree(slope: tuple[float, float, float] | None, units: str) -> str:
    if slope is None:
        return _("too few")
    scale = 5 / 9 if units == "us" else 1.0
    middle, low, high = (value * scale for value in slope)
    return _("{pct} ({between})", pct=pct(middle), between=between(low, high, 1))


# -- crews ---------------------------------------------------------------------------------------


def crews(compared: views.CrewsBeside, units: str) -> Page:
    """Crews compared on like work."""
    headings = [
        _("Person"),
        _("Probed"),
        _("Alone"),
        _("Faults"),
        _("Per {per} of like work", per=show.hundred(units)),
        _("95 %"),
        _("To all, pulled in"),
        _("Chance"),
    ]
    cells = [
        [
            show.safe(row.name),
            length(row.probed_m, units),
            length(row.alone_m, units),
            str(row.faults),
            num(show.per_hundred(row.per_100ft, units), 2),
            between(show.per_hundred(row.low, units), show.per_hundred(row.high, units), 2),
            _ratio(row.level),
            _flag(row.flag),
        ]
        for row in compared.rows
    ]
    first = _("Look at the work, not at the people: what a person was given to weld comes first.")
    last = (
        _(
            "Like work: each length counts as its kind does in the whole firm (sheet, kind of lap, weather). "
            "Alone: work of a kind that nobody else did; it cannot be compared."
        ),
        _(
            "95 % intervals, allowing for faults that come in clumps (dispersion {dispersion:.2f}); {n} looked at. "
            "Pulled in: the ratio to all, as far as few faults can tell it, with 90 %.",
            dispersion=compared.dispersion,
            n=len(compared.rows),
        ),
    )
    return Page(_("Crews"), (first,), (PageTable(_("Crews on like work"), headings, cells),), last)


def _flag(flag: str | None) -> str:
    return {
        "within_chance": _("within chance"),
        "one_of_many": _("one of many looked at: likely chance"),
        "stands_out": _("STANDS OUT"),
        "too_few": _("too few faults to tell"),
        None: "–",
    }[flag]


def _ratio(level: tuple[float, float, float]) -> str:
    ratio, low, high = level
    return _("{ratio} ({between})", ratio=number(ratio, ".2f"), between=between(low, high, 2))


# -- roofs ---------------------------------------------------------------------------------------


def roofs(rows: Sequence[views.OfficeRoof], units: str) -> Page:
    """Roofs that need somebody."""
    headings = [
        _("Job"),
        _("Last work"),
        _("Machines taken out"),
        _("Open findings"),
        _("Mended, not probed again"),
        _("Not probed"),
        _("Warnings open"),
        _("Conflicts"),
    ]
    cells = [
        [
            show.safe(row.name),
            show.safe(row.last_day or "–"),
            show.safe(row.machines_out) or "–",
            str(row.open),
            str(row.mended),
            length(row.unprobed_m, units),
            str(row.warnings),
            str(row.conflicts),
        ]
        for row in rows
    ]
    count_line = plural("{n} roof needs somebody.", "{n} roofs need somebody.", len(rows))
    first = count_line if rows else _("No roof needs anybody.")
    last = (_("What is to be done there: weldcal roof, in the crew's book."),) if rows else ()
    return Page(
        _("Roofs that need somebody"), (first,), (PageTable(_("Roofs"), headings, cells),), last
    )


PAGES: dict[str, Callable[..., Page]] = {
    "machines": machines,
    "sheets": sheets,
    "crews": crews,
    "roofs": roofs,
    "season": season,
}
