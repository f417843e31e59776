"""The proof behind: limits, what was welded with what, corrections, warnings, people.

Invariant: where a table is cut short, how much is left out and where it stands is said.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Sequence
from itertools import islice

from weldcal.records.draft import ROLES
from weldcal.records.times import moment_of, stamp, zone
from weldcal.reports import corrected, shortfalls, show, taken_back
from weldcal.reports.dossier.document import Block, Para, Section, Table, table
from weldcal.reports.lines import dial_span
from weldcal.row_types.listed import LimitRow
from weldcal.views.dossier import Dossier
from weldcal.views.rows import NamedAmendment
from weldcal.words import _, mark, plural

MOST = 600


def limits(d: Dossier, units: str) -> Section:
    """Limits in force, where each comes from and who adopted it; and those before."""
    cells = [
        (
            f"{_(r['means'])} ({r['name']})",
            show.limit(r["text"], r["unit"], r["adopted_by"], units),
            _(r["source"]),
            r["adopted_by"] or _("nobody: a default"),
        )
        for r in d.limits
    ]
    blocks: list[Block] = [
        Para(
            _(
                "Work is judged by the limits in force when it was done. Defaults yield to the sheet maker's instructions."
            )
        ),
        table(
            _("Limits in force when this was made"),
            [_("Limit"), _("Value"), _("Source"), _("Adopted by")],
            cells,
            (),
            (2.4, 0.9, 2.4, 1.3),
        ),
    ]
    if d.limit_changes:
        blocks.append(_adopted(d.limit_changes, d.job["zone"]))
    return Section(_("Limits and where they come from"), tuple(blocks))


def _adopted(changes: Sequence[LimitRow], zone_name: str) -> Table:
    """Limits as they were adopted, on the job's clock."""
    cells = [
        (
            r["name"],
            show.typed(r["text"], r["unit"]),
            _on_clock(r["from_utc"], zone_name),
            r["source"],
            r["adopted_by"] or "–",
        )
        for r in changes
    ]
    return table(
        _("Limits adopted, in order"),
        [_("Limit"), _("Value"), _("From"), _("Source"), _("By")],
        cells,
        (),
        (1.4, 0.8, 1.6, 2.2, 1.2),
    )


def _on_clock(at_utc: str, zone_name: str) -> str:
    """A recorded time in UTC as the job's clock showed it; what is no time, as it stands."""
    moment = moment_of(at_utc)
    return show.clock(stamp(moment.astimezone(zone(zone_name))) if moment else at_utc)


def job(d: Dossier, units: str) -> Section:
    """What was welded with what."""
    blocks: list[Block] = []
    if d.lists["sheets"]:
        cells = [(r["name"], r["description"] or "–", _(r["judged_by"])) for r in d.lists["sheets"]]
        blocks.append(
            table(_("Sheets"), [_("Sheet"), _("Description"), _("Judged by")], cells, (), (1, 3, 1))
        )
    if d.lists["machines"]:
        machines = [
            (
                r["name"],
                dial_span(r),
                f"{show.temperature(r['nozzle_low_c'], units)} – {show.temperature(r['nozzle_high_c'], units)}",
                plural("{n} mark measured", "{n} marks measured", len(json.loads(r["marks"]))),
            )
            for r in d.lists["machines"]
        ]
        headings = [_("Machine"), _("Dial"), _("Nozzle"), _("Dial tied to speeds")]
        blocks.append(table(_("Machines"), headings, machines, (), (1, 1.4, 1.4, 1.4)))
    if d.lists["instruments"]:
        tools = [
            (r["name"], r["kind"], r["checked"] or "–", r["due"] or "–")
            for r in d.lists["instruments"]
        ]
        headings = [_("Instrument"), _("Kind"), _("Checked"), _("Due")]
        blocks.append(table(_("Instruments"), headings, tools, (), (1, 1.6, 1, 1)))
    return Section(_("Sheets, machines, instruments"), tuple(blocks or [Para(_("None listed."))]))


def corrections(d: Dossier, units: str) -> Section:
    """Every correction: what it was, what it became, why, by whom; and what was taken back."""
    amendments = d.amendments
    if not amendments:
        return Section(_("Corrections"), (Para(_("No record was corrected.")),))
    cells = [
        (
            r["name"],
            *_changed(r),
            taken_back.reason(r["why"]),
            f"{r['seen_by']}, {show.clock(r['entered_local'])}{_standing(r)}",
        )
        for r in islice(amendments, MOST)
    ]
    headings = [_("Record"), _("Value"), _("Was"), _("Became"), _("Why"), _("By, when")]
    blocks: list[Block] = [
        Para(_("The earlier value stays in the record; nothing is overwritten.")),
        table(_("Corrections in full"), headings, cells, (), (0.8, 1.2, 1, 1, 2, 1.6)),
    ]
    return Section(_("Corrections"), (*blocks, *left(len(amendments)), *_taken_back(d, units)))


def _changed(row: NamedAmendment) -> tuple[str, str, str]:
    """Which value, what it was and what it became; a record taken back has none of these."""
    if row["path"] != "withdrawn":
        path = row["path"]
        was, became = (corrected.value(path, row[which]) for which in ("old", "new"))
        return corrected.field(path), was, became
    return _("the whole record"), "–", _("taken back") if row["new"] == "true" else _("put back")


def _standing(row: NamedAmendment) -> str:
    if row["withdrawn"]:
        return f"; {_('taken back since')}"
    return f"; {_('CONFLICT')}" if row["conflict"] else ""


def _taken_back(d: Dossier, units: str) -> list[Block]:
    """Records taken back, and what they said."""
    if not d.withdrawn:
        return []
    cells = [
        (
            taken_back.what(r, units),
            f"{r['seen_by']}, {show.clock(r['seen_local'])}",
            taken_back.reason(r["why"]),
            f"{r['withdrawn_by']}, {show.clock(r['withdrawn_local'])}"
            + (f"; {_('something was recorded about it afterwards')}" if r["added_to"] else ""),
        )
        for r in d.withdrawn[:MOST]
    ]
    headings = [_("What was recorded"), _("By, when"), _("Why it was taken back"), _("By, when")]
    return [
        Para(
            _("Taken back by the crew: these stand in the record and count nowhere in this file.")
        ),
        table(_("Taken back"), headings, cells, (), (2.6, 1.4, 1.6, 1.4)),
        *left(len(d.withdrawn)),
    ]


def warnings(d: Dossier) -> Section:
    """Warnings that were overridden, and what was done about them."""
    if not d.warnings:
        return Section(_("Warnings"), (Para(_("Nothing was welded against a warning.")),))
    cells = [
        (
            f"{r['run']}, {r['seam'] or '–'}",
            show.clock(r["seen_local"]),
            r["seen_by"],
            shortfalls.warning(r["code"]),
            f"{r['done']} ({r['done_by']}, {show.clock(r['done_local'] or '')})"
            if r["done"]
            else _("NOT ANSWERED"),
        )
        for r in d.warnings[:MOST]
    ]
    headings = [
        _("Run, seam"),
        _("When"),
        _("Welded by"),
        _("Warning"),
        _("What was done about it"),
    ]
    warnings_table = table(_("Warnings and answers"), headings, cells, (), (0.9, 1.2, 1, 1.8, 2.4))
    return Section(_("Warnings"), (warnings_table, *left(len(d.warnings))))


def left(n: int) -> list[Block]:
    """A line on rows left out beyond the most shown, and where they are."""
    if n <= MOST:
        return []
    return [Para(_("{n} more: weldcal export.", n=n - MOST), loud=True)]


# What an entry holds where nobody said who typed.
_NOBODY = mark("not named")


def people(d: Dossier) -> Section:
    """Who entered what, how much and when."""
    roles = {r["name"]: _role(r["role"]) for r in d.lists["people"]}
    kinds: dict[str, Counter[str]] = {}
    spans: dict[str, list[str]] = {}
    for r in d.entries:
        kinds.setdefault(r["who"], Counter())[r["kind"]] += r["n"]
        spans.setdefault(r["who"], []).extend((r["first"], r["last"]))
    cells = [
        (
            _(who) if who == _NOBODY else who,
            roles.get(who, _("not on the job's list")),
            str(counted.total()),
            ", ".join(f"{_(kind)} {n}" for kind, n in sorted(counted.items())),
            f"{min(spans[who])[:10]} – {max(spans[who])[:10]}",
        )
        for who, counted in kinds.items()
    ]
    note = _(
        "Names are as declared when typing; a name is no proof of who typed, unless a seal is signed."
    )
    if not d.people_shown:
        note += " " + _(
            "Names were left out of this file on request; free text may still name somebody."
        )
    headings = [_("Person"), _("Role"), _("Entries"), _("Of which"), _("From, to")]
    people_table = table(
        _("People and their entries"), headings, cells, (2,), (1.2, 1.2, 0.7, 3, 1.4)
    )
    return Section(_("People and their entries"), (Para(note), people_table))


def _role(role: str | None) -> str:
    """What somebody does: in the reader's language where it is one of the program's, else as typed."""
    return _(role) if role in ROLES else role or "–"
