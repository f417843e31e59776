"""The proof behind: limits, corrections, warnings, people, seals, and how to check without us.

Invariant: what a seal shows and what it does not show are both said.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable
from itertools import islice
from typing import Any

from weldcal.records.day import ROLES
from weldcal.reports import corrected, sentences, show, taken_back
from weldcal.reports.dossier.document import Block, Bullets, Para, Section, Table, table
from weldcal.reports.lines import dial_span
from weldcal.views.dossier import Dossier
from weldcal.words import _, mark, number, plural

Row = dict[str, Any]
_MOST = 600
# Columns of no use on paper.
_INNER = {
    "id",
    "job",
    "device",
    "tick",
    "seen_utc",
    "day",
    "hour",
    "entered_by",
    "entered_utc",
    "late_h",
    "instrument",
    "flags",
    "marks",
    "photos",
    "carried",
    "seam_key",
    "of",
}


def limits(d: Dossier) -> Section:
    """Limits in force, where each comes from and who adopted it; and those before."""
    cells = [
        (
            f"{_(r['means'])} ({r['name']})",
            show.typed(r["text"], r["unit"]),
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
        changes = [
            (
                r["name"],
                show.typed(r["text"], r["unit"]),
                r["from_utc"],
                r["source"],
                r["adopted_by"] or "–",
            )
            for r in d.limit_changes
        ]
        blocks.append(
            table(
                _("Limits adopted, in order"),
                [_("Limit"), _("Value"), _("From (UTC)"), _("Source"), _("By")],
                changes,
                (),
                (1.4, 0.8, 1.6, 2.2, 1.2),
            )
        )
    return Section(_("Limits and where they come from"), tuple(blocks))


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
    found = d.amendments
    if not found:
        return Section(_("Corrections"), (Para(_("No record was corrected.")),))
    cells = [
        (
            r["name"],
            *_changed(r),
            taken_back.reason(r["why"]),
            f"{r['seen_by']}, {show.clock(r['entered_local'])}{_standing(r)}",
        )
        for r in islice(found, _MOST)
    ]
    headings = [_("Record"), _("Value"), _("Was"), _("Became"), _("Why"), _("By, when")]
    blocks: list[Block] = [
        Para(_("The earlier value stays in the record; nothing is overwritten.")),
        table(_("Corrections in full"), headings, cells, (), (0.8, 1.2, 1, 1, 2, 1.6)),
    ]
    return Section(_("Corrections"), (*blocks, *_left(len(found)), *_taken_back(d, units)))


def _changed(row: Row) -> tuple[str, str, str]:
    """Which value, what it was and what it became; a record taken back has none of these."""
    if row["path"] != "withdrawn":
        path = row["path"]
        was, became = (corrected.value(path, row[which]) for which in ("old", "new"))
        return corrected.field(path), was, became
    return _("the whole record"), "–", _("taken back") if row["new"] == "true" else _("put back")


def _standing(row: Row) -> str:
    if row["withdrawn"]:
        return f"; {_('taken back since')}"
    return f"; {_('CONFLICT')}" if row["conflict"] else ""


def _taken_back(d: Dossier, units: str) -> list[Block]:
    """What counts for nothing, and what it said."""
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
        for r in d.withdrawn[:_MOST]
    ]
    headings = [_("What was recorded"), _("By, when"), _("Why it was taken back"), _("By, when")]
    return [
        Para(
            _("Taken back by the crew: these stand in the record and count nowhere in this file.")
        ),
        table(_("Taken back"), headings, cells, (), (2.6, 1.4, 1.6, 1.4)),
        *_left(len(d.withdrawn)),
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
            sentences.warning(r["code"]),
            f"{r['done']} ({r['done_by']}, {show.clock(r['done_local'])})"
            if r["done"]
            else _("NOT ANSWERED"),
        )
        for r in d.warnings[:_MOST]
    ]
    headings = [
        _("Run, seam"),
        _("When"),
        _("Welded by"),
        _("Warning"),
        _("What was done about it"),
    ]
    made = table(_("Warnings and answers"), headings, cells, (), (0.9, 1.2, 1, 1.8, 2.4))
    return Section(_("Warnings"), (made, *_left(len(d.warnings))))


def _left(n: int) -> list[Block]:
    if n <= _MOST:
        return []
    return [Para(_("{n} more: weldcal export.", n=n - _MOST), loud=True)]


def others(d: Dossier, units: str) -> list[Section]:
    """Every other kind of record of the job, fire watches first."""
    found = []
    called = {s.key: s.name for s in d.seams}
    hot = [name for name in d.other if "hot" in name or "watch" in name]
    if not any(d.other[name] for name in hot):
        found.append(
            Section(
                _("Hot work and fire watches"),
                (
                    Para(
                        _(
                            "This record holds no fire watch. That is no proof that none was kept: see the permit."
                        )
                    ),
                ),
            )
        )
    for name in [*hot, *(n for n in d.other if n not in hot)]:
        if d.other[name]:
            title = (
                _("Hot work and fire watches")
                if name in hot
                else _(name.replace("_", " ")).capitalize()
            )
            found.append(
                Section(
                    title, (_plain(title, d.other[name], units, called), *_left(len(d.other[name])))
                )
            )
    return found


def _plain(title: str, rows: list[Row], units: str, called: dict[str, str]) -> Table:
    names = [n for n in rows[0] if n not in _INNER and not n.endswith(("_utc", "_id"))]
    names = [n for n in names if any(r[n] not in (None, "") for r in rows)][:8]
    if "permit" in rows[0]:  # hot work: who held it, its end, and the watch, said or not
        names = list(_HOT_WORK)
    cells = [tuple(_value(n, r[n], units, called) for n in names) for r in rows[:_MOST]]
    headings = [_(_split(n)[0].replace("_", " ")).capitalize() for n in names]
    return table(title, headings, cells)


# How a column's value is shown, by the unit its name ends in. The longest ending first.
_SHOWN: dict[str, Callable[[Any, str], str]] = {
    "_m_per_min": lambda x, u: show.speed(x, u, 2),
    "_local": lambda x, u: show.clock(x),
    "_utc": lambda x, u: _("{time} UTC", time=show.clock(x)),
    "_min": lambda x, u: show.minutes(x),
    "_mm": show.width,
    "_m": show.distance,
    "_c": show.temperature,
    "_s": lambda x, u: show.typed(number(x, "g"), "s"),
}


_HOT_WORK = (
    "name",
    "permit",
    "seen_local",
    "seen_by",
    "ended_local",
    "watched_until_utc",
    "watched_by",
    "watch_found",
)


def _split(column: str) -> tuple[str, Callable[[Any, str], str] | None]:
    """A column's name without its unit, and how its values are shown."""
    for ending, shown in _SHOWN.items():
        if column.endswith(ending):
            return column.removesuffix(ending), shown
    return column, None


def _value(name: str, value: Any, units: str, called: dict[str, str]) -> str:
    if value is None or value == "":
        return "–"
    shown = _split(name)[1]
    if name == "times_s":
        return ", ".join(show.typed(number(time, "g"), "s") for time in json.loads(value))
    if shown is not None:
        return shown(value, units)
    if name in ("places", "stretches"):
        return _drawn(json.loads(value), units)
    if name in ("seams", "unprobed"):
        return ", ".join(called.get(key, key) for key in json.loads(value)) or "–"
    if name in ("where", "mark_unit"):
        return show.unit(value)
    return number(value, "g") if isinstance(value, float) else str(value)


def _drawn(found: list[list[Any]], units: str) -> str:
    """Places or stretches of a draw: `A1 14.5 ft`, `A1 0–33 ft`."""
    told = [
        f"{seam} {show.tape(at[0], units) if len(at) == 1 else show.stretches((tuple(at),), units)}"
        for seam, *at in found
    ]
    return ", ".join(told)


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
    made = table(_("People and their entries"), headings, cells, (2,), (1.2, 1.2, 0.7, 3, 1.4))
    return Section(_("People and their entries"), (Para(note), made))


def _role(role: str | None) -> str:
    """What somebody does: in the reader's language where it is one of the program's, else as typed."""
    return _(role) if role in ROLES else role or "–"


def seal(d: Dossier) -> Section:
    """Seals, to whom they went, what they show, and how to check them without this program."""
    now = [(h["device"], str(h["seq"]), h["hash"]) for h in d.heads]
    title = _("The book when this file was made: the last entry of each device")
    book = table(title, [_("Device"), _("Entry"), _("SHA-256")], now, (1,), (1, 0.5, 4.4))
    made = _seals(d.seals) if d.seals else [_no_seal()]
    return Section(_("The seal, and how to check it"), (*made, book), (_recipe(),))


def _seals(seals: list[Row]) -> list[Block]:
    """Every seal with who has it, and what the latest ones fix."""
    cells = [
        (
            f"{s['name']} {s['label']}",
            s["code"],
            show.clock(s["seen_local"]),
            str(s["entries"]),
            "; ".join(
                f"{h['to']} ({_(h['how'])}), {show.clock(h['seen_local'])}" for h in s["handed"]
            )
            or _("nobody yet"),
        )
        for s in seals
    ]
    heads = [
        (s["name"], device, str(seq), kept)
        for s in seals[-8:]
        for device, seq, kept in json.loads(s["heads"])
    ]
    headings = [_("Seal"), _("Code"), _("Made"), _("Entries"), _("Handed to")]
    fixed = _("What the latest seals fix: the last entry of each device")
    return [
        table(_("Seals"), headings, cells, (3,), (1.2, 2.4, 1.1, 0.7, 1.8)),
        table(
            fixed,
            [_("Seal"), _("Device"), _("Entry"), _("SHA-256")],
            heads,
            (2,),
            (0.5, 1, 0.5, 4.4),
        ),
    ]


def _no_seal() -> Para:
    return Para(
        _(
            "No seal was made. Without one in other hands, this file shows only what the book said when the file was made: weldcal seal, then weldcal hand."
        ),
        loud=True,
    )


def _recipe() -> Section:
    steps = (
        _(
            "The book is one SQLite file; any SQLite program opens it. In table entries, each row's hash must be the SHA-256, in hex, of the UTF-8 bytes of its body. The body is the entry itself, canonical JSON (RFC 8785)."
        ),
        _(
            "In each body, prev must be the hash of the entry of the same device whose seq is one less; of the first, 64 zeros. A changed, removed or added entry breaks this from there on."
        ),
        _(
            "The seal is the entry of kind seal. Each of its heads (device, seq, hash) must be a row of the table. All entries before a head are fixed by it."
        ),
        _(
            "The code on paper is 24 signs. The first 20 are the first 100 bits, in base 32 (0-9, A-Z without I, L, O, U), of the SHA-256 of the seal's statement in canonical JSON; the last 4 are the first 20 bits of the SHA-256 of \"weldcal code \" and those 20 signs. What the statement holds is written down in shared/exchange.md of the program's source."
        ),
        _(
            "Two files beside this one do all of it: check_record.html in any newer browser, without a network, and check_record.py with Python alone. Drop in the record's export (weldcal pack), and type the code from the paper."
        ),
        _(
            "Compare the code with the copy that left the crew's hands: the paper, photo or mail of whoever it was handed to."
        ),
    )
    shows = Para(
        _(
            "This shows any change made after a seal left the crew's hands. It does not show that what was typed is true, nor who typed it; and before the first seal in other hands, whoever held the device could have made the whole chain anew."
        )
    )
    return Section(_("How anyone can check it without this program"), (Bullets(steps), shows))
