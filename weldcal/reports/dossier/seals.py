"""Seals: what they fix, who has them, and how to check them without this program.

Invariant: what a seal shows and what it does not show are both said.
"""

from __future__ import annotations

import json

from weldcal.reports import show
from weldcal.reports.dossier.document import Block, Bullets, Para, Section, table
from weldcal.views.dossier import Dossier
from weldcal.views.rows import HandedSeal
from weldcal.words import _


def seal(d: Dossier) -> Section:
    """Seals, to whom they went, what they show, and how to check them without this program."""
    now = [(h["device"], str(h["seq"]), h["hash"]) for h in d.heads]
    title = _("The book when this file was made: the last entry of each device")
    book = table(title, [_("Device"), _("Entry"), _("SHA-256")], now, (1,), (1, 0.5, 4.4))
    blocks_of_seals = _seals(d.seals) if d.seals else [_no_seal()]
    return Section(_("The seal, and how to check it"), (*blocks_of_seals, book), (_recipe(),))


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
        (s["name"], device, str(seq), digest)
        for s in seals[-8:]
        for device, seq, digest in json.loads(s["heads"])
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
