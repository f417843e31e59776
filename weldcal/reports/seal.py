"""A seal on paper: short enough to be written down, read aloud and typed in again.

Invariant: it promises what is true: that any change made after it left the
crew's hands shows, not that what it seals is right, nor who typed it.
"""

from __future__ import annotations

import json
from typing import Any

from weldcal.reports import show
from weldcal.reports.lines import columns, wrapped
from weldcal.reports.sentences import entries_counted
from weldcal.words import _


def page(row: dict[str, Any], job: str) -> list[str]:
    """The seal, 40 columns wide."""
    heads = json.loads(row["heads"])
    lines = [
        _("SEAL {name}", name=row["name"]),
        show.safe(job),
        show.safe(row["label"]),
        _("made {at} by {by}", at=show.clock(row["seen_local"]), by=show.safe(row["seen_by"])),
        "",
        *_code(row["code"]),
        "",
        _("{entries}, last of each device:", entries=entries_counted(row["entries"])),
        *(f"{device} {seq} {kept[:16]}" for device, seq, kept in heads),
    ]
    if row["signature"]:
        lines += ["", _("signed by key {key}", key=row["key"][:16])]
    lines += [
        "",
        _(
            'Hand this to somebody outside the crew: a photo, a paper copy. Then: weldcal hand {name} --to "..."',
            name=row["name"],
        ),
        _("Years later: weldcal verify --seal CODE"),
        _(
            "It shows any change made after it left the crew's hands. Names are declared, unless signed."
        ),
    ]
    return [wrapped(line, min(40, columns())) for line in lines]


def one_line(row: dict[str, Any]) -> list[str]:
    """A seal in the list, and to whom it went."""
    handed = [
        _(
            "handed to {to} ({how}) {at}",
            to=show.safe(h["to"]),
            how=show.safe(h["how"]),
            at=show.clock(h["seen_local"]),
        )
        + (_(", entered late") if h["late_h"] > 1 else "")
        + (
            _(", entered by {name}", name=show.safe(h["entered_by"]))
            if h["entered_by"] != h["seen_by"]
            else ""
        )
        for h in row["handed"]
    ] or [_("handed to nobody yet")]
    head = (
        f"- {row['name']} {show.clock(row['seen_local'])} {show.safe(row['label'])}: {row['code']}"
    )
    return [head, *(f"  {line}" for line in handed)]


def _code(code: str) -> list[str]:
    groups = code.split("-")
    return ["  " + "-".join(groups[:3]), "  " + "-".join(groups[3:])]
