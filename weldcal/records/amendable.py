"""What can be corrected on each kind of record, and how the new value is read.

Invariant: a corrected value passes through the same reading as the first one.
"""

from __future__ import annotations

from typing import Any

from msgspec import Struct

from weldcal.errors import NotAChoice
from weldcal.records.codec import encode
from weldcal.records.fields import CHOICES, FIELDS, choose, plain_name, read, read_many
from weldcal.words import _


class Place(Struct, frozen=True):
    """Where a value stands in the payload, and the field or choice it is read as."""

    path: str
    read_as: str


_SETTING = {
    name: Place(f"setting.{name}", name)
    for name in ("nozzle", "speed", "air_flow", "nozzle_width", "roller_load", "lap")
} | {
    "machine": Place("setting.machine", "text"),
    "sheet": Place("setting.sheet", "text"),
    "true_speed": Place("setting.true_speed", "speed"),
    "nozzle_measured": Place("setting.nozzle_measured", "nozzle"),
}
_CONDITIONS = {
    name: Place(f"conditions.{name}", name)
    for name in (
        "ambient",
        "sheet_temp",
        "under_temp",
        "humidity",
        "wind",
        "line_voltage",
        "gust",
        "roll_temp",
    )
} | {
    "damp": Place("conditions.damp", "yes_no"),
    "sky": Place("conditions.sky", "sky"),
    "supply": Place("conditions.supply", "text"),
}
_SEEN = {"by": Place("seen.by", "text"), "at_time": Place("seen.at", "time")}
_STRETCH = {"start": Place("start", "distance"), "end": Place("end", "distance")}
_NOTE = {"note": Place("note", "text")}
_SEAM = {"seam": Place("seam", "text")}

AMENDABLE: dict[str, dict[str, Place]] = {
    "strip": {
        **_SETTING,
        **_CONDITIONS,
        **_SEEN,
        **_NOTE,
        "readings": Place("readings", "readings"),
        "bubbling": Place("bubbling", "bubbling"),
        "bond": Place("bond", "bond"),
        "bonded_width": Place("bonded_width", "bonded_width"),
        "parted": Place("parted", "parted"),
        "smoke": Place("smoke", "yes_no"),
        "exposed_mat": Place("exposed_mat", "yes_no"),
    },
    "run": {
        **_SETTING,
        **_CONDITIONS,
        **_SEEN,
        **_NOTE,
        **_SEAM,
        "start": Place("start", "distance"),
        "end": Place("run-finish:end", "distance"),
        "roll_lot": Place("roll_lot", "text"),
    },
    "bleed": {
        **_SEEN,
        **_NOTE,
        **_SEAM,
        "at": Place("at", "distance"),
        "readings": Place("readings", "readings"),
        "bubbling": Place("bubbling", "bubbling"),
    },
    "lap-width": {
        **_SEEN,
        **_NOTE,
        **_SEAM,
        "at": Place("at", "distance"),
        "overlap": Place("overlap", "lap_width"),
        "bonded": Place("bonded", "lap_width"),
    },
    "walk": {**_SEEN, **_NOTE, **_SEAM, **_STRETCH},
    "finding": {
        **_SEEN,
        **_NOTE,
        **_SEAM,
        **_STRETCH,
        "kind": Place("kind", "flaw"),
        "how": Place("how", "how"),
        "depth": Place("depth", "depth"),
    },
    "mend": {
        **_SEEN,
        **_NOTE,
        **_STRETCH,
        "method": Place("method", "text"),
        "tool": Place("tool", "text"),
        "patch": Place("patch", "patch"),
    },
    "peel": {
        **_SEEN,
        **_NOTE,
        "at": Place("at", "distance"),
        "load": Place("load", "load"),
        "width": Place("width", "sample_width"),
        "line_load": Place("line_load", "line_load"),
        "sample_temp": Place("sample_temp", "sample_temp"),
        "pull_rate": Place("pull_rate", "pull_rate"),
        "parted": Place("parted", "parted"),
    },
    "seam": {
        "length": Place("length", "length"),
        "kind": Place("kind", "seam_kind"),
        "place": Place("place", "text"),
        "lap": Place("lap", "lap"),
    },
}


def place_of(kind: str, field: str) -> Place:
    """Where a field of a kind stands.

    Raises:
        NotAChoice: it has no such field; names those it has.
    """
    places = AMENDABLE.get(kind, {})
    found = places.get(field.strip().lower().replace("-", "_").replace(" ", "_"))
    if found is None:
        raise NotAChoice(name=_("field"), text=field, allowed=", ".join(sorted(places)))
    return found


def read_payload(place: Place, text: str, units: str, unit: str | None = None) -> Any:
    """Read a new value as its payload form. Times are read by the book, which has the clock.

    Raises:
        Unreadable: as for the first value.
    """
    if place.read_as == "readings":
        return [encode(quantity) for quantity in read_many("reading", text, units)]
    if place.read_as == "yes_no":
        return choose("yes_no", text) == "yes"
    if place.read_as in CHOICES:
        return choose(place.read_as, text)
    if place.read_as in FIELDS:
        return encode(read(place.read_as, text, units, unit))
    return plain_name(_("text"), text)
