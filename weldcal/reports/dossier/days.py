"""Day by day: weather, power, strips and what they came to, the fit, the speeds really used.

Invariant: a strip stands with every reading and every shortfall; a speed really
used stands with the length welded at it, and with the go-ahead or the warning.
"""

from __future__ import annotations

from msgspec import Struct

from weldcal.quality.welded_over import again_m, welded_m
from weldcal.reports import shortfalls, show
from weldcal.reports.dossier import fit_chart
from weldcal.reports.dossier.document import Block, Para, Photos, Section, Table, table
from weldcal.reports.dossier.lengths import welded
from weldcal.reports.dossier.pictures import Album, of_strips
from weldcal.views.dossier import DayFit, Dossier
from weldcal.views.rows import JudgedStrip, MarkedConditions, MarkedRun, ReadBleed, SeenAndMarked
from weldcal.words import _, plural

# Days shown in full, the latest; those before are one row each.
_IN_FULL = 90


class DayRows(Struct):
    """What was seen on a day."""

    conditions: list[MarkedConditions] = []
    strips: list[JudgedStrip] = []
    runs: list[MarkedRun] = []
    bleeds: list[ReadBleed] = []


def days(d: Dossier, units: str, album: Album | None = None) -> Section:
    """One section a day something was seen on."""
    by_day = {day: DayRows() for day in d.days}
    for read in d.conditions:
        by_day[read["day"]].conditions.append(read)
    for strip in d.strips:
        by_day[strip["day"]].strips.append(strip)
    for run in d.runs:
        by_day[run["day"]].runs.append(run)
    for bleed in d.bleeds:
        by_day[bleed["day"]].bleeds.append(bleed)
    fits: dict[str, list[DayFit]] = {}
    for fit in d.fits:
        fits.setdefault(fit.day, []).append(fit)
    names, again = {s["id"]: s["name"] for s in d.strips}, again_m(d.runs)
    parts = [
        _day(day, d.days[day], rows, fits.get(day, []), names, again, units, album)
        for day, rows in list(by_day.items())[-_IN_FULL:]
    ]
    lead: list[Block] = []
    earlier = list(by_day.items())[:-_IN_FULL]
    if earlier:
        lead.append(_earlier(earlier, d.days, units))
    if not parts:
        lead.append(Para(_("Nothing was recorded on any day.")))
    if d.unfitted:
        lead.append(
            Para(
                _(
                    "The fit is drawn for the latest {n} spells of strips; {left} earlier ones stand in their tables only.",
                    n=len(d.fits),
                    left=d.unfitted,
                )
            )
        )
    return Section(_("Day by day"), tuple(lead), tuple(parts))


def _day(
    day: str,
    counts: dict[str, int],
    rows: DayRows,
    fits: list[DayFit],
    names: dict[str, str],
    again: dict[str, float],
    units: str,
    album: Album | None,
) -> Section:
    blocks: list[Block] = [Para(_counted(counts))]
    if rows.conditions:
        blocks.append(weather(rows.conditions, units))
    if rows.strips:
        blocks.append(strips(rows.strips, units))
        shown = of_strips(rows.strips, album) if album else []
        blocks += [Photos(tuple(shown))] if shown else []
        passed = [s["name"] for s in rows.strips if not s["shortfalls"]]
        blocks.append(Para(_("Go-aheads: {names}.", names=", ".join(passed) or _("none"))))
    blocks += [fit_chart.figure(fit, f"fit-{day}-{n}", units) for n, fit in enumerate(fits)]
    if rows.runs:
        blocks.append(_used(rows.runs, names, again, units))
    if rows.bleeds:
        blocks.append(bleeds(rows.bleeds, units))
    written = show.day(day)  # begins with a small letter in some languages
    return Section(written[:1].upper() + written[1:], tuple(blocks))


def _earlier(
    days: list[tuple[str, DayRows]], counts: dict[str, dict[str, int]], units: str
) -> Table:
    """Earlier days, one row each: weather, go-aheads, speeds used, what was recorded."""
    cells = []
    for day, rows in days:
        air = [
            r["ambient_c"] for r in (*rows.conditions, *rows.strips) if r["ambient_c"] is not None
        ]
        passed = [s["name"] for s in rows.strips if not s["shortfalls"]]
        used = dict.fromkeys(show.speed_measured(r, units) for r in rows.runs if not r["by_hand"])
        weather = (
            f"{show.temperature(min(air), units)} – {show.temperature(max(air), units)}"
            if air
            else "–"
        )
        cells.append(
            (
                day,
                weather,
                ", ".join(passed) or _("none"),
                ", ".join(used) or "–",
                _counted(counts[day]),
            )
        )
    headings = [_("Day"), _("Ambient"), _("Go-aheads"), _("Speeds used"), _("Recorded")]
    return table(_("Earlier days"), headings, cells, (), (0.8, 1, 1, 1.2, 4))


def _counted(counts: dict[str, int]) -> str:
    parts = [
        plural("{n} strip", "{n} strips", counts.get("strips", 0)),
        plural("{n} run", "{n} runs", counts.get("runs", 0)),
        plural("{n} bleed check", "{n} bleed checks", counts.get("bleeds", 0)),
        plural("{n} probe walk", "{n} probe walks", counts.get("walks", 0)),
        plural("{n} finding", "{n} findings", counts.get("findings", 0)),
        plural("{n} mend", "{n} mends", counts.get("mends", 0)),
        plural("{n} sample", "{n} samples", counts.get("peels", 0)),
    ]
    return _("Recorded: {what}.", what=", ".join(parts))


def marks_of(row: SeenAndMarked) -> str:
    """Marks of a row, in words."""
    marks = [m for m in row["marks"] if m != "entered by another"]
    if row["entered_by"] != row["seen_by"]:
        marks.append(_("entered by {name}", name=row["entered_by"]))
    return ", ".join(_(m) for m in marks)


def weather(rows: list[MarkedConditions], units: str) -> Table:
    """Weather and power as read."""
    cells = [
        (
            show.clock(r["seen_local"], date=False),
            show.temperature(r["ambient_c"], units),
            show.temperature(r["sheet_c"], units),
            f"{r['humidity_pct']:.0f} %" if r["humidity_pct"] is not None else "–",
            show.wind(r["wind_m_per_s"], units),
            f"{r['line_v']:.0f} V" if r["line_v"] is not None else "–",
            "; ".join(p for p in (r["seen_by"], r["instrument"] or "", marks_of(r)) if p),
        )
        for r in rows
    ]
    shares = (0.8, 1, 1, 1, 1, 1, 3)
    named = _("Weather and power as read")
    return table(named, weather_headings(), cells, (1, 2, 3, 4, 5), shares)


def weather_headings() -> list[str]:
    """What is read of weather and power."""
    return [
        _("Time"),
        _("Ambient"),
        _("Sheet"),
        _("Humidity"),
        _("Wind"),
        _("Line"),
        _("By, with, marks"),
    ]


def strips(rows: list[JudgedStrip], units: str) -> Table:
    """Strips with their readings and what they came to."""
    cells = []
    for r in rows:
        short = shortfalls.listed(r["shortfalls"], units)
        came = "; ".join(short) or _("go-ahead")
        setting = (
            f"{r['machine']}, {r['sheet']}, {_(r['lap'])}, {show.temperature(r['nozzle_c'], units)}"
        )
        pull = _(
            "bubbling {bubbling}, pull {bond}", bubbling=_(r["bubbling"] or "–"), bond=_(r["bond"])
        )
        who = "; ".join(p for p in (r["seen_by"], marks_of(r)) if p)
        cells.append(
            (
                f"{r['name']} {show.clock(r['seen_local'], date=False)}",
                setting,
                show.speed_measured(r, units),
                f"{' '.join(r['readings'])}; {pull}",
                came,
                who,
            )
        )
    headings = [_("Strip"), _("Setting"), _("Speed"), _("Read"), _("Came to"), _("By, marks")]
    return table(_("Strips"), headings, cells, (), (1, 1.6, 1.1, 1.8, 1.8, 1.4))


def _used(
    rows: list[MarkedRun], names: dict[str, str], again: dict[str, float], units: str
) -> Table:
    """Speeds really used: runs of one setting and one go-ahead together."""
    groups: dict[tuple[str, ...], list[MarkedRun]] = {}
    for r in rows:
        how = (
            _("by hand")
            if r["machine"] is None
            else f"{r['machine']}, {r['sheet']}, {_(r['lap'] or '–')}, {show.temperature(r['nozzle_c'], units)}"
        )
        speed = show.speed_measured(r, units)
        stands = names.get(r["go_ahead"] or "", "")
        warned = shortfalls.warned(r["warnings"])
        groups.setdefault((how, speed, stands or warned or "–"), []).append(r)
    cells = []
    for (how, speed, stands), part in groups.items():
        how_much = welded(welded_m(part), sum(again[r["id"]] for r in part), units)
        cells.append((how, speed, stands, str(len(part)), how_much, _few_seams(part)))
    headings = [
        _("Setting"),
        _("Speed"),
        _("Go-ahead, or warning"),
        _("Runs"),
        _("Welded"),
        _("Seams"),
    ]
    return table(_("Speeds really used"), headings, cells, (3, 4), (1.8, 1, 1.6, 0.6, 0.9, 1.6))


def _few_seams(rows: list[MarkedRun]) -> str:
    names = list(dict.fromkeys(r["seam"] for r in rows))
    if len(names) <= 8:
        return ", ".join(names)
    return _("{first} to {last}, {n} in all", first=names[0], last=names[-1], n=len(names))


def bleeds(rows: list[ReadBleed], units: str) -> Table:
    """Bleed checks with their readings."""
    cells = [
        (
            r["name"],
            f"{r['seam']}, {show.tape(r['at_m'], units)}",
            " ".join(r["readings"]),
            _(r["bubbling"] or "–"),
            "; ".join(p for p in (r["seen_by"], marks_of(r)) if p),
        )
        for r in rows
    ]
    headings = [_("Check"), _("Seam, at"), _("Bleed-out"), _("Bubbling"), _("By, marks")]
    return table(_("Bleed checks"), headings, cells, (), (0.8, 1.4, 1.6, 1, 2))
