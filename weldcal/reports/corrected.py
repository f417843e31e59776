"""A correction in words: which value of a record, what it was, what it became.

Invariant: numbers stand as they were typed; words of a choice and names of
values are the reader's.
"""

from __future__ import annotations

import json

from weldcal.json_values import JsonValue
from weldcal.records.amendable import AMENDABLE
from weldcal.records.fields import CHOICES, FIELDS
from weldcal.reports import show
from weldcal.views.rows import Clash
from weldcal.words import _, mark

# Values that no field or choice has a name for, or that one field has too wide a name for.
_CALLED = {
    "kind": mark("kind"),  # of a seam or of a finding
    "bonded": mark("bonded width"),
    "start": mark("where it begins"),
    "end": mark("where it ends"),
    "at": mark("place"),
    "place": mark("place"),
    "note": mark("note"),
    "seam": mark("seam"),
    "machine": mark("machine"),
    "sheet": mark("sheet"),
    "method": mark("method"),
    "tool": mark("tool"),
    "roll_lot": mark("roll lot"),
    "by": mark("who did it"),
    "seen.at": mark("time"),
    "true_speed": mark("measured speed"),
    "nozzle_measured": mark("measured nozzle temperature"),
    "damp": mark("sheet damp"),
    "supply": mark("supply"),
    "smoke": mark("smoke"),
    "exposed_mat": mark("exposed mat"),
    "readings": mark("bleed-out"),
    "why": mark("why it stopped there"),
    "power_lost": mark("power lost"),
}
_READ_AS = {place.path: place.read_as for places in AMENDABLE.values() for place in places.values()}


def field(path: str) -> str:
    """What people call the value at a path of a payload: `setting.speed` is the travel speed."""
    last = path.rpartition(":")[2].rpartition(".")[2]
    called = _CALLED.get(path) or _CALLED.get(last)
    read_as = _READ_AS.get(path, last)
    if called is None and read_as in FIELDS:
        called = FIELDS[read_as].label
    if called is None and read_as in CHOICES:
        called = CHOICES[read_as][0]
    return _(called) if called else show.safe(last)


def value(path: str, text: str) -> str:
    """A payload value of a path, as typed; a word of a choice in the reader's language."""
    parsed = json.loads(text)
    if isinstance(parsed, bool):
        return _("yes") if parsed else _("no")
    if isinstance(parsed, str) and _READ_AS.get(path) in CHOICES:
        return _(parsed)
    return typed(parsed)


def clash(clashing: Clash) -> str:
    """A value corrected differently on two devices, and how to settle it."""
    values = _("; ").join(
        _("{value} by {by}", value=value(clashing.path, new), by=show.safe(by))
        for new, by in clashing.said
    )
    name = show.safe(clashing.name)
    return _(
        "CONFLICT: {name}, {field} was corrected apart: {said}; the last counts. To settle it: weldcal amend {name} ... --why",
        name=name,
        field=field(clashing.path),
        said=values,
    )


def typed(parsed: JsonValue) -> str:
    """A payload value as it was typed."""
    if parsed is None:
        return "–"
    if isinstance(parsed, list):
        return " ".join(typed(one) for one in parsed)
    if isinstance(parsed, dict) and "text" in parsed:
        return show.typed(parsed["text"], parsed["unit"])
    return show.safe(parsed)
