"""Before the first lap and after the last: start-up list, visits and yearly looks, leaks.

Invariant: every line of the list stands here with who answered it and when, or as open.
"""

from __future__ import annotations

from weldcal.reports import show
from weldcal.reports import upkeep as upkeep_text
from weldcal.reports.dossier.document import Block, Bullets, Para, Section, table
from weldcal.reports.sentences import stage
from weldcal.views.dossier import Dossier
from weldcal.views.upkeep import LeakNow, ListLine
from weldcal.words import _


def sections(d: Dossier, units: str) -> list[Section]:
    """The start-up list; visits with their items, and leaks, where there are any."""
    found = [_start_up(d.start_up)]
    if d.punch or d.looks or d.looks_due:
        found.append(_visits(d))
    if d.leaks:
        found.append(Section(_("Leaks"), tuple(_leak(one, units) for one in d.leaks)))
    return found


def _start_up(lines: list[ListLine]) -> Section:
    if all(one.answer is None for one in lines):
        text = _(
            "No line of the start-up list was answered. That is no proof that nobody looked before the first lap."
        )
        return Section(_("Start-up list"), (Para(text),))
    cells = [
        (
            str(one.n),
            show.safe(one.asks) if one.added else _(one.asks),
            show.safe(one.source) if one.added else _(one.source),
            upkeep_text.answered(one.answer) if one.answer else _("NOT ANSWERED"),
        )
        for one in lines
    ]
    headings = [_("Line"), _("Looked at"), _("Source"), _("Answer, by, when")]
    made = table(_("Start-up list"), headings, cells, (), (0.4, 2.6, 1.4, 2))
    return Section(_("Start-up list"), (made,))


def _visits(d: Dossier) -> Section:
    blocks: list[Block] = []
    if d.looks_due:
        blocks.append(Bullets(tuple(upkeep_text.due(one) for one in d.looks_due)))
    if d.looks:
        blocks.append(Bullets(tuple(upkeep_text.look(row) for row in d.looks)))
    looks = {row["id"]: row["name"] for row in d.looks}
    cells = [
        (
            row["name"],
            row["place"],
            row["what"],
            " ".join(
                [
                    _(row["visitor"]) if row["look"] else row["visitor"],
                    looks.get(row["look"] or "", ""),
                ]
            ).strip(),
            show.clock(row["seen_local"]),
            f"{row['done']} ({row['done_by']}, {show.clock(row['done_local'] or '')})"
            if row["done"]
            else _("OPEN"),
        )
        for row in d.punch
    ]
    if cells:
        headings = [_("Item"), _("Place"), _("What"), _("Asked by"), _("When"), _("Settled")]
        widths = (0.5, 1.2, 2, 1.4, 1.2, 1.8)
        blocks.append(table(_("Items of visits"), headings, cells, (), widths))
    return Section(_("Visits and yearly looks"), tuple(blocks))


def _leak(one: LeakNow, units: str) -> Bullets:
    steps = (upkeep_text.step(row) for row in one.steps)
    return Bullets((upkeep_text.leak(one, units), *steps, stage(one.row["name"], one.stage)))
