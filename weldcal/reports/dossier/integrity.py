"""How independent the proof is, counted, never a mark for quality; and the seals that fix it.

Invariant: every question stands with its number, out of how many, and what it means. Of a
seal both are said: what it shows, and what it does not show.
"""

from __future__ import annotations

import json
from collections.abc import Sequence

from weldcal.reports import show
from weldcal.reports.dossier.document import Block, Bullets, Para, Section, table
from weldcal.views.dossier import Dossier, Tell
from weldcal.views.rows import HandedSeal
from weldcal.words import _


def section(counts: Sequence[Tell]) -> Section:
    """The page."""
    cells = [(_question(one.code), _number(one), _names(one), _means(one.code)) for one in counts]
    return Section(
        _("How independent the proof is"),
        (
            Para(
                _(
                    "These are counts of who recorded what, and when. A high number is no proof that work is bad, nor a low one that it is good."
                )
            ),
            table(
                _("Independence, counted"),
                [_("Question"), _("Number"), _("Which, by whom"), _("What it means")],
                cells,
                (),
                (2.2, 0.9, 1.8, 2.6),
            ),
        ),
    )


def _number(one: Tell) -> str:
    if one.of is None:
        return str(one.n)
    return _("{n} of {of}", n=one.n, of=one.of)


def _names(one: Tell) -> str:
    who = {
        "welder": _("by the welder of the seam or strip"),
        "finder": _("by the one who recorded it"),
        "other": _("by another"),
    }
    by = "; ".join(f"{who[kind]}: {n}" for kind, n in sorted(one.by.items()))
    names = ", ".join(one.names) + (" …" if one.n > len(one.names) else "")
    return "; ".join(part for part in (names, by) if part)


def _question(code: str) -> str:
    return {
        "undone": _("Failures taken back: findings, samples and strips that failed"),
        "amended": _("Failures corrected into passes"),
        "late": _("Work on seams entered over an hour after it was seen"),
        "entered_after_cover": _("Seams with a walk entered after the cover-up, for before it"),
        "worked_on_after_cover": _("Seams with work recorded while the next ply hid them"),
        "too_fast": _("Walks too fast to probe, of those with both times"),
        "too_soon": _("Seams walked before the lap was cold"),
        "two_places": _("One person at two seams at one time, of all timed walks and runs"),
        "self_probed": _("Seams probed by who welded them, of all probed"),
        "no_permit": _("Days welded with no hot work recorded"),
        "no_watch": _("Hot work without its end or its whole watch"),
        "no_bleed": _("Seams welded by machine with no bleed check"),
        "alike": _("Names with invisible signs, or that look like another"),
    }[code]


def _means(code: str) -> str:
    return {
        "undone": _(
            "Each still stands in the record. One that the welder took back had no second look."
        ),
        "amended": _("The first value still stands in the record, with the reason."),
        "late": _("Entered from memory or paper; the order of events rests on the person."),
        "entered_after_cover": _("Such a walk does not count as probing: nobody can look again."),
        "worked_on_after_cover": _("It was opened up, or it was not done then."),
        "too_fast": _(
            "Over 15 m/min (site setting, no source): the lap was passed, hardly probed."
        ),
        "too_soon": _("A warm lap says nothing: such a walk does not count."),
        "two_places": _("A time was typed wrong, or a name."),
        "self_probed": _("Nobody else has looked at these laps."),
        "no_permit": _("No proof that none was held: see the permits on paper."),
        "no_watch": _("No proof that nobody watched: see the permits on paper."),
        "no_bleed": _("Their only sign of heat is the go-ahead of their strip."),
        "alike": _("Two names may be one person or seam, or one name two."),
    }[code]


def seals(d: Dossier) -> Section:
    """Seals, to whom they went, what they show, and how to check them without this program."""
    now = [(h["device"], str(h["seq"]), h["hash"]) for h in d.heads]
    title = _("The book when this file was made: the last entry of each device")
    book = table(title, [_("Device"), _("Entry"), _("SHA-256")], now, (1,), (1, 0.5, 4.4))
    made = _seals(d.seals) if d.seals else [_no_seal()]
    return Section(_("The seal, and how to check it"), (*made, book), (_recipe(),))


def _seals(seals: list[HandedSeal]) -> list[Block]:
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
