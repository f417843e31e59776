"""A seal on paper: short enough to be written down, read aloud and typed in again.

Invariant: it promises what is true: that any change made after it left the
crew's hands shows, not that what it seals is right, nor who typed it.
"""

from __future__ import annotations

import json
from collections.abc import Sequence

from weldcal.reports import show
from weldcal.reports.corrected import field
from weldcal.reports.lines import columns, wrapped
from weldcal.reports.sentences import entries_counted
from weldcal.row_types.record import SealRow
from weldcal.views.rows import HandedSeal
from weldcal.views.seal import CorrectedSince, Sealed
from weldcal.words import _, plural

_MOST_CORRECTED = 20


def page(row: SealRow, job: str) -> list[str]:
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
        lines += ["", _("signed by key {key}", key=(row["key"] or "")[:16])]
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


def one_line(row: HandedSeal) -> list[str]:
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


def report(sealed: Sealed, *, whole: bool) -> list[str]:
    """What a seal sealed, by whose key, and what came of it since.

    Args:
        whole: nothing of the record is at fault.
    """
    heads = ", ".join(f"{head['device']} {head['seq']}" for head in sealed["heads"])
    return [
        _(
            "Seal {name}, {label}, of {at}: {entries}; last of each device: {heads}.",
            name=show.safe(sealed["name"]),
            label=show.safe(sealed["label"]),
            at=show.clock(sealed["at"]),
            entries=entries_counted(sealed["entries"]),
            heads=show.safe(heads),
        ),
        _("The record holds all of it, unchanged.")
        if whole
        else _("NOT ALL OF THIS HOLDS: see the faults above."),
        _(
            "Signed with key {key}. Compare it with the key on paper.",
            key=show.safe(sealed.get("key")),
        )
        if sealed.get("signature")
        else _("Not signed: nothing ties it to a key. If the paper shows one, it was taken off."),
        _(
            "Recorded since: {since}; of what was sealed, corrected or taken back since: {n}.",
            since=plural("{n} entry", "{n} entries", sealed["entries_since"]),
            n=sealed["corrected_since"],
        ),
        *_corrections(sealed["corrected"]),
        *_ends(sealed),
    ]


def _corrections(corrected: Sequence[CorrectedSince]) -> list[str]:
    """What was corrected since; the first of it, where it is much."""
    lines = [_corrected(one) for one in corrected[:_MOST_CORRECTED]]
    if (more := len(corrected) - _MOST_CORRECTED) > 0:
        lines.append(_("And {n} more: add --json.", n=more))
    return lines


def _ends(sealed: Sealed) -> list[str]:
    """Whether clocks went back, and where the record ends."""
    ends = ", ".join(
        f"{device} {seq} ({show.clock(str(at))})" for device, seq, at in sealed["ends"]
    )
    return [
        _(
            "Within what was sealed, clocks went back {n} times; the counts give the order.",
            n=sealed["clocks_back"],
        )
        if sealed["clocks_back"]
        else _("Within what was sealed, counts and times of each device rise."),
        _(
            "The record ends at: {ends}. What was recorded after the seal and cut off again does not show by it; a later seal shows that.",
            ends=show.safe(ends),
        ),
    ]


def _corrected(one: CorrectedSince) -> str:
    values = {
        "name": show.safe(one["of"]),
        "by": show.safe(one["by"]),
        "at": show.clock(one["at"]),
    }
    if one["path"] == "withdrawn":
        return _("- {name}: taken back or put back, {by}, {at}", **values)
    return _("- {name}: {field} corrected, {by}, {at}", field=field(one["path"]), **values)
