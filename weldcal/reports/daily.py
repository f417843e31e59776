"""The daily sheet for the manufacturer's representative: one page, filled from the day, or blank.

Invariant: what it says of the day are the evening page's own lines; the tables
beside them show the same rows as the dossier's day. Signing says that the sheet
was seen, never that the roof is sound.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct

from weldcal.quality.coverage import ordered
from weldcal.quality.welded_over import walked_m, welded_m
from weldcal.reports import evening, forms, show
from weldcal.reports.dossier import days, peels
from weldcal.reports.dossier.document import Block, Bullets, Document, Para, Section, Table, table
from weldcal.reports.dossier.lengths import probed, welded
from weldcal.views.evening import DaySheet, Evening
from weldcal.views.rows import MarkedMend, MarkedRun, MarkedWalk, MarkedWidth
from weldcal.words import _, language, plural

# Rows of a table on the sheet: one page holds no more. What is left out is counted on the sheet.
_MOST = 6
# Rows to write in, on the blank.
_ROWS = 3


def document(e: Evening, sheet: DaySheet, units: str) -> Document:
    """The sheet of a day.

    Args:
        e: what the evening page tells of the day.
        sheet: what it shows besides.
        units: the job's.
    """
    return Document(
        title=_("Daily sheet: {job}, {day}", job=e.job["name"], day=show.day(e.day)),
        subtitle=_subtitle(e),
        language=language(),
        made=e.made,
        compact=True,
        lead=(*_areas(e, units), Bullets(tuple(evening.work_lines(e, units)))),
        sections=(
            Section(_("Conditions"), tuple(_conditions(sheet, units))),
            Section(_("Strips and go-aheads"), tuple(_strips(e, units))),
            Section(_("Widths, repairs, samples"), tuple(_checked(e, sheet, units))),
            Section(
                _("Open that evening") if e.gone_by else _("Open now"),
                (Bullets(tuple(evening.open_lines(e, units))),),
            ),
            _signatures(),
        ),
    )


def blank(job: str, place: str | None, units: str, made: str) -> Document:
    """The sheet to be filled in by hand."""
    return Document(
        title=_("Daily sheet"),
        subtitle=" ".join(filter(None, (forms.subtitle(job, units), place))),
        language=language(),
        made=made,
        compact=True,
        lead=tuple(_to_fill(*part) for part in _blank_parts()),
        sections=(_signatures(),),
    )


def _blank_parts() -> list[tuple[str, list[str], int]]:
    """Tables to write in: caption, headings and how many rows."""
    strip = [_("Strip, time"), _("Setting"), _("Speed"), _("Read"), _("Came to"), _("By, marks")]
    check = [_("Check"), _("Seam, at"), _("Bleed-out"), _("Bubbling"), _("By, marks")]
    walk = [_("Walk"), _("Seam"), _("From, to"), _("Found"), _("By")]
    return [
        (_("The day"), [_("Date"), _("From, to"), _("Operator"), _("Inspector")], 1),
        (_("Areas and laps"), _area_headings(), _ROWS),
        (_("Weather and power as read"), days.weather_headings(), _ROWS),
        (_("Strips and go-aheads"), strip, _ROWS),
        (_("Bleed checks"), check, _ROWS),
        (_("Probe walks"), walk, _ROWS),
        (_("Repairs"), _mend_headings(), _ROWS - 1),
        (_("Peel samples"), peels.sample_headings(), _ROWS - 1),
        (_("Open items"), [_("What is open"), _("Where"), _("Who, until when")], _ROWS),
    ]


def _to_fill(caption: str, headings: Sequence[str], rows: int) -> Table:
    return Table(caption, tuple(headings), (("",) * len(headings),) * rows, fill=True)


def _subtitle(e: Evening) -> str:
    place = f"{e.job['place']}. " if e.job["place"] else ""
    if e.gone_by:
        return place + _(
            "Filled from the crew's record as of the end of that day, made {at}. It says what the evening page of that day says.",
            at=show.clock(e.made),
        )
    return place + _(
        "Filled from the crew's record, made {at}. It says what the evening page says.",
        at=show.clock(e.made),
    )


def _area_headings() -> list[str]:
    return [_("Area, lap"), _("Seams"), _("Welded, by"), _("Probed, by")]


class SeamOfDay(Struct):
    """What was welded and walked on one seam."""

    runs: list[MarkedRun] = []
    walks: list[MarkedWalk] = []


def _areas(e: Evening, units: str) -> list[Block]:
    """What was welded and probed, by area and kind of lap."""
    seams = {s.key: s for s in e.seams}
    groups: dict[str, dict[str, SeamOfDay]] = {}

    def on(row: MarkedRun | MarkedWalk) -> SeamOfDay:
        seam = seams.get(row["seam_key"])
        kind = _(seam.kind) if seam and seam.kind else _("not on the seam list")
        area = seam.place[0] if seam and seam.place else None
        part = groups.setdefault(f"{area}, {kind}" if area else kind, {})
        return part.setdefault(row["seam"], SeamOfDay())

    for run in e.runs:
        on(run).runs.append(run)
    for walk in e.walks:
        on(walk)
    for walk in e.probed:
        on(walk).walks.append(walk)
    cells = [
        (
            called,
            evening.few(list(part)),
            _welded([run for s in part.values() for run in s.runs], e.again_m, units),
            _walked([walk for s in part.values() for walk in s.walks], e.walked_over_m, units),
        )
        for called, part in groups.items()
    ]
    if not cells:
        return [Para(_("Nothing was welded or probed on this day."))]
    widths = (1.4, 2.6, 1.6, 1.6)
    return _cut(table(_("Areas and laps"), _area_headings(), cells, (), widths))


def _welded(runs: Sequence[MarkedRun], again_m: Mapping[str, float], units: str) -> str:
    """How much was welded, how much of it again, and by whom."""
    again = sum(again_m[run["id"]] for run in runs)
    return _done(welded(welded_m(runs), again, units), runs)


def _walked(walks: Sequence[MarkedWalk], over_m: Mapping[str, float], units: str) -> str:
    """How much of the seams was walked, how much of it was welded over since, and by whom."""
    over = sum(over_m[key] for key in {walk["seam_key"] for walk in walks})
    return _done(probed(walked_m(walks), over, units), walks)


def _done(how_much: str, rows: Sequence[MarkedRun | MarkedWalk]) -> str:
    return ", ".join((how_much, *dict.fromkeys(row["seen_by"] for row in rows))) if rows else "–"


def _conditions(sheet: DaySheet, units: str) -> list[Block]:
    if not sheet.conditions:
        return [Para(_("No reading of weather or power is recorded."))]
    return _cut(days.weather(sheet.conditions, units))


def _strips(e: Evening, units: str) -> list[Block]:
    blocks: list[Block] = []
    if e.strips:
        blocks += _cut(days.strips(e.strips, units))
    return [*blocks, Bullets(tuple(evening.go_ahead_lines(e, units)))]


def _checked(e: Evening, sheet: DaySheet, units: str) -> list[Block]:
    """Bleed checks, measured laps, mends, samples: tables that have rows, and what has none."""
    tables = [
        days.bleeds(sheet.bleeds, units),
        _laps(sheet.widths, units),
        _mends(e.mends, sheet, units),
        peels.samples(sheet.peels, sheet.conditions, units),
    ]
    none = [one.caption for one in tables if not one.rows]
    blocks = [block for one in tables if one.rows for block in _cut(one)]
    if none:
        blocks.append(Para(_("None recorded: {what}.", what=", ".join(none))))
    return blocks


def _laps(rows: list[MarkedWidth], units: str) -> Table:
    cells = [
        (
            r["name"],
            f"{r['seam']}, {show.tape(r['at_m'], units)}",
            show.limit_width(r["overlap_mm"], units),
            show.limit_width(r["bonded_mm"], units),
            "; ".join(p for p in (r["seen_by"], days.marks_of(r)) if p),
        )
        for r in rows
    ]
    headings = [_("Name"), _("Seam, at"), _("Overlap"), _("Bonded"), _("By, marks")]
    return table(_("Laps measured"), headings, cells, (), (0.8, 1.4, 1, 1, 2))


def _mend_headings() -> list[str]:
    return [_("Mend"), _("Seam, where"), _("How"), _("Of finding"), _("By, when")]


def _mends(rows: list[MarkedMend], sheet: DaySheet, units: str) -> Table:
    cells = [
        (
            r["name"],
            f"{r['seam']}, {show.stretches((ordered(r['start_m'], r['end_m']),), units)}",
            r["method"],
            sheet.mended.get(r["finding"] or "", "–"),
            f"{r['seen_by']}, {show.clock(r['seen_local'], date=False)}",
        )
        for r in rows
    ]
    return table(_("Repairs"), _mend_headings(), cells, (), (0.8, 1.6, 1.8, 0.9, 1.6))


def _cut(full: Table) -> list[Block]:
    """The table with as many rows as the page holds, and how many more there are."""
    left = len(full.rows) - _MOST
    if left <= 0:
        return [full]
    shown = table(full.caption, full.headings, full.rows[:_MOST], full.right, full.widths)
    more = plural("{n} more row: weldcal dossier.", "{n} more rows: weldcal dossier.", left)
    return [shown, Para(f"{full.caption}: {more}")]


def _signatures() -> Section:
    who = (_("Operator"), _("Inspector"), _("Manufacturer's representative"))
    meaning = _("Signed means: this sheet was seen. It does not say that a seam is sound.")
    rows = tuple((who_signs, "", "", "") for who_signs in who)
    headings = (_("Who"), _("Name"), _("Signature"), _("Date, time"))
    return Section(
        _("Signatures"),
        (Para(meaning), Table("", headings, rows, widths=(1.3, 1.5, 2, 1), fill=True)),
    )
