"""What the warranty dossier says, page by page, as one document.

Invariant: HTML and PDF are made from this and add nothing. Page 1 is an answer:
the roof, three numbers, what is open, what is unproven, what was proved.
"""

from __future__ import annotations

from collections import Counter

from weldcal.json_values import JsonObject
from weldcal.reports import show
from weldcal.reports.dossier import (
    check_charts,
    days,
    first_page,
    integrity,
    other_records,
    peels,
    plan,
    proof,
    rates,
    seams,
    strokes,
    upkeep,
)
from weldcal.reports.dossier.document import Block, Document, Figure, Para, Section
from weldcal.reports.dossier.pictures import Album
from weldcal.reports.dossier.rates import rate
from weldcal.reports.dossier.totals import Totals, all_faults, totals, totals_table
from weldcal.reports.sentences import entries_counted
from weldcal.views.dossier import Dossier, Roof
from weldcal.words import _, language

_MOST_CHECKS = 120


def document(d: Dossier, csv_names: tuple[str, ...] = (), album: Album | None = None) -> Document:
    """The dossier of a job.

    Args:
        d: what the book gathered (`book.dossier.Dossier`).
        csv_names: files written beside this one.
        album: photos to show; None leaves them out.
    """
    units = d.job["units"]
    sums = totals(d.seams)
    answers = first_page.answers(d, sums, units)
    links = seams.links(d)
    return Document(
        title=_("Warranty dossier: {job}", job=d.job["name"]),
        subtitle=_subtitle(d),
        language=language(),
        made=d.made,
        lead=tuple(_lead(d, sums, answers, units, links)),
        sections=(
            _roof(d, units, links),
            Section(_("Totals"), (totals_table(sums, d.pieces, units),)),
            proof.job(d, units),
            proof.limits(d, units),
            days.days(d, units, album),
            *_charts(d, sums, units),
            seams.section(d.seams, units, links),
            seams.traced(d, units, album),
            peels.section(d, units),
            proof.corrections(d, units),
            proof.warnings(d),
            *upkeep.sections(d, units),
            *other_records.others(d, units),
            integrity.section(d.integrity),
            proof.people(d),
            integrity.seals(d),
            Section(_("Asked, with nothing found"), (first_page.nothing_found(answers),)),
            _made(d, csv_names, album),
        ),
    )


def _subtitle(d: Dossier) -> str:
    place = f"{d.job['place']}. " if d.job["place"] else ""
    return place + _(
        "Made {at} from {entries} by weldcal {version}.",
        at=show.clock(d.made),
        entries=entries_counted(sum(e["n"] for e in d.entries)),
        version=d.version,
    )


def _lead(
    d: Dossier, sums: Totals, answers: first_page.Answers, units: str, links: dict[str, str]
) -> list[Block]:
    """Page 1."""
    drawn = plan.at_a_glance(roof_of(d), units, links)
    return [
        Para(
            _(
                'This file tells what the crew\'s record holds: what was done and found. A seam is at best "probed with no open finding"; whether it is sound is for people to judge.'
            )
        ),
        *([drawn] if drawn else []),
        first_page.numbers(sums),
        *first_page.tables(answers),
        first_page.guide(),
    ]


def roof_of(d: Dossier) -> Roof:
    """The parts of the dossier that the roof is drawn from."""
    return Roof(d.seams, d.lists["areas"], d.doubts, d.north_deg)


def _roof(d: Dossier, units: str, links: dict[str, str]) -> Section:
    """The roof sheet: drawings, one legend, the table that findings are keyed to."""
    if not d.seams:
        return Section(
            _("The roof"),
            (Para(_("No seam is listed, so there is nothing to draw.")),),
            new_page=True,
        )
    areas = [
        f"{a['name']} {show.tape(a['length_m'], units)} × {show.tape(a['width_m'], units)}"
        for a in d.lists["areas"]
        if a["length_m"] is not None
    ]
    roof = roof_of(d)
    drawn = plan.roof(roof, units, links)
    keyed = plan.findings(roof, units)
    # The legend below the first drawing, or below all where it would leave a page nearly blank.
    at = 1 if len(drawn) > 1 and drawn[0].name.startswith("key") else len(drawn)
    blocks: list[Block] = [*drawn[:at], strokes.legend(), *drawn[at:]]
    if areas:
        blocks.insert(0, Para(_("Areas: {areas}.", areas=", ".join(areas))))
    if d.doubts is None:
        blocks.append(Para(_("Doubt is not drawn: there are too many findings to reckon it here.")))
    return Section(_("The roof"), (*blocks, *([keyed] if keyed else [])), new_page=True)


def fault_rates(d: Dossier, units: str) -> Figure | None:
    """Rates of faults, all and by kind; None where nothing was probed."""
    kinds = Counter(kind for piece in d.pieces for kind in Counter(piece.faults).elements())
    all_rates = [all_faults(d.pieces, units)]
    all_rates += [
        rate(_(kind), d.pieces, units, kind)
        for kind, _n in sorted(kinds.items(), key=lambda kind: (-kind[1], kind[0]))
    ]
    drawn = [r for r in all_rates if r is not None]
    if not drawn:
        return None
    caption = _(
        "Faults on probed lap per {per} of it, by kind, however they were found; cuts for samples not counted",
        per=show.hundred(units),
    )
    return rates.rates("rates", caption, drawn, show.hundred(units))


def _charts(d: Dossier, sums: Totals, units: str) -> list[Section]:
    blocks: list[Block] = []
    drawn = fault_rates(d, units)
    if drawn is not None:
        blocks.append(drawn)
    checked = [b for b in d.bleeds if b["readings_n"]][-_MOST_CHECKS:]
    if checked:
        low, high = (_limit_mm(d, name) for name in ("bleed_low", "bleed_high"))
        blocks.append(check_charts.bleed_order(checked, low, high, units))
    blocks += [check_charts.control(chart, units) for chart in d.charts]
    if not blocks:
        blocks.append(
            Para(
                _(
                    "Nothing was probed and no bleed-out was read on a seam, so there is nothing to chart."
                )
            )
        )
    return [Section(_("Charts"), tuple(blocks))]


def _limit_mm(d: Dossier, name: str) -> float:
    return float(next(r["si"] for r in d.limits if r["name"] == name))


def _made(d: Dossier, csv_names: tuple[str, ...], album: Album | None) -> Section:
    lines = [
        _(
            "Rates stand with the interval for a count (Garwood 1936), widened as far as faults come in clumps (their dispersion: Pearson's, by the probed part of each run); the fit's band is the 90 % interval of the next strip, by a regression that starts from heat conduction."
        ),
        _(
            "The PDF is declared as PDF/A-2a and PDF/UA-1. Whether it conforms is unproven: no validator ran when it was made."
        ),
    ]
    if csv_names:
        lines.append(
            _(
                "Beside this file: {files}, every finding and every seam in full.",
                files=", ".join(csv_names),
            )
        )
    lines.append(
        _("Photos were left out on request.")
        if album is None
        else _(
            "Photos stand small at their finding, mend or strip; the full sizes lie beside, in {folder}, each under the SHA-256 of its bytes. Those of records taken back are left out.",
            folder=album.folder,
        )
    )
    return Section(_("How this file was made"), tuple(Para(line) for line in lines))


def summary(d: Dossier) -> JsonObject:
    """What the dossier comes to, as JSON: lengths in metres."""
    from msgspec import structs

    sums = totals(d.seams)
    return {
        "made": d.made,
        "entries": sum(e["n"] for e in d.entries),
        **structs.asdict(sums),
        "seam_pages": len(d.traces),
        "seams_left_to_csv": d.untraced,
        "faults_of_record": len(d.faults),
        "fits_drawn": len(d.fits),
        "fits_left": d.unfitted,
    }


def in_short(d: Dossier) -> list[str]:
    """What the dossier comes to, in a few lines: what is not in order first."""
    units = d.job["units"]
    answers = first_page.answers(d, totals(d.seams), units)
    wrong = [*answers.open, *answers.unproven]
    lines = [_("Page 1 says of this roof:"), *(f"- {row[0]}: {row[1]}" for row in wrong)]
    if d.untraced:
        lines.append(_("{n} seams have no page of their own: see the CSV.", n=d.untraced))
    return lines
