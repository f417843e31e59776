"""Faults of the record in words, each with what to do about it.

Invariant: every fault is reported, and each kind has its remedy or says that there is none.
"""

from __future__ import annotations

from collections.abc import Sequence

from weldcal.reports import show
from weldcal.views.fault import Fault
from weldcal.words import _, plural

_MOST = 200


def lines(faults: Sequence[Fault]) -> list[str]:
    """Every fault, a line each, and then what to do about them."""
    lines = [
        _(
            "Entry {entry}, {what}: expected {expected}, found {found}.",
            entry=show.safe(fault.entry),
            what=show.safe(_(fault.what)),
            expected=show.safe(_(fault.expected)),
            found=show.safe(_(fault.found)),
        )
        for fault in faults[:_MOST]
    ]
    if len(faults) > _MOST:
        lines.append(_("And {n} more: weldcal verify --json.", n=len(faults) - _MOST))
    return [*lines, *remedies(faults)]


def remedies(faults: Sequence[Fault]) -> list[str]:
    """What to do about faults of these kinds, a line for each kind.

    Tables are not rebuilt from entries that were changed: the change would be in them too.
    """
    kinds = dict.fromkeys(_kind(fault.what) for fault in faults)
    if "entry" in kinds:
        kinds.pop("table", None)
    return [_remedy(kind) for kind in kinds]


def in_short(faults: Sequence[Fault], where: str) -> list[str]:
    """How many faults, of which kinds, and what to do: for commands that do something else.

    Args:
        where: what they are in, like "the copy".
    """
    counted = plural("{n} fault", "{n} faults", len(faults))
    kinds = ", ".join(dict.fromkeys(show.safe(_(fault.what)) for fault in faults[:6]))
    line = _("{faults} in {where}: {kinds}.", faults=counted, where=where, kinds=kinds)
    return [line, *remedies(faults)]


def _kind(what: str) -> str:
    first = what.partition(" ")[0].rstrip(":")
    return (
        first if first in ("gap", "fork", "table", "schema", "photo", "payload", "id") else "entry"
    )


def _remedy(kind: str) -> str:
    return {
        "gap": _(
            "A gap: entries of a device are not here yet. Merge the pack that has them: weldcal merge FILE."
        ),
        "fork": _(
            'A fork: two copies of one book went on. Both are kept; say why once: weldcal settle DEVICE/ENTRY "what was done".'
        ),
        "table": _(
            "A table was changed behind the record. Make the tables anew from the entries: weldcal verify --rebuild."
        ),
        "schema": _(
            "The book's own guards were changed. Put them right: weldcal verify --rebuild."
        ),
        "photo": _("A photo is not as it was. Merge a pack that has it, or copy it back."),
        "payload": _("An entry cannot be read as what it says it is. It counts nowhere."),
        "id": _(
            "Two entries have one id: one is a changed copy. Both are kept; the one known first counts: weldcal trace."
        ),
        "entry": _(
            "Entries were changed, or some are gone. Nothing here can mend that: restore a backup, or merge a pack from another device."
        ),
    }[kind]
