"""What can be corrected on each kind of record, and how the new value is read.

Invariant: a corrected value passes through the same reading as the first one.
"""

from __future__ import annotations

from msgspec import Struct

from weldcal.errors import NotAChoice
from weldcal.json_values import JsonValue
from weldcal.records.codec import encode
from weldcal.records.fields import CHOICES, FIELDS, choose, plain_name, read, read_many
from weldcal.words import _


class ValueAt(Struct, frozen=True):
    """Where a value stands in the payload, and the field or choice it is read as."""

    path: str
    read_as: str


_SETTING = {
    name: ValueAt(f"setting.{name}", name)
    for name in ("nozzle", "speed", "air_flow", "nozzle_width", "roller_load", "lap")
} | {
    "machine": ValueAt("setting.machine", "text"),
    "sheet": ValueAt("setting.sheet", "text"),
    "true_speed": ValueAt("setting.true_speed", "speed"),
    "nozzle_measured": ValueAt("setting.nozzle_measured", "nozzle"),
}
_CONDITIONS = {
    name: ValueAt(f"conditions.{name}", name)
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
    "damp": ValueAt("conditions.damp", "yes_no"),
    "sky": ValueAt("conditions.sky", "sky"),
    "supply": ValueAt("conditions.supply", "text"),
}
_SEEN = {"by": ValueAt("seen.by", "text"), "at_time": ValueAt("seen.at", "time")}
_STRETCH = {"start": ValueAt("start", "distance"), "end": ValueAt("end", "distance")}
_NOTE = {"note": ValueAt("note", "text")}
_SEAM = {"seam": ValueAt("seam", "text")}

AMENDABLE: dict[str, dict[str, ValueAt]] = {
    "strip": {
        **_SETTING,
        **_CONDITIONS,
        **_SEEN,
        **_NOTE,
        "readings": ValueAt("readings", "readings"),
        "bubbling": ValueAt("bubbling", "bubbling"),
        "bond": ValueAt("bond", "bond"),
        "bonded_width": ValueAt("bonded_width", "bonded_width"),
        "parted": ValueAt("parted", "parted"),
        "smoke": ValueAt("smoke", "yes_no"),
        "exposed_mat": ValueAt("exposed_mat", "yes_no"),
    },
    "run": {
        **_SETTING,
        **_CONDITIONS,
        **_SEEN,
        **_NOTE,
        **_SEAM,
        "start": ValueAt("start", "distance"),
        "end": ValueAt("run-finish:end", "distance"),
        "why": ValueAt("run-finish:why", "text"),
        "power_lost": ValueAt("run-finish:power_lost", "yes_no"),
        "roll_lot": ValueAt("roll_lot", "text"),
    },
    "bleed": {
        **_SEEN,
        **_NOTE,
        **_SEAM,
        "at": ValueAt("at", "distance"),
        "readings": ValueAt("readings", "readings"),
        "bubbling": ValueAt("bubbling", "bubbling"),
    },
    "lap-width": {
        **_SEEN,
        **_NOTE,
        **_SEAM,
        "at": ValueAt("at", "distance"),
        "overlap": ValueAt("overlap", "lap_width"),
        "bonded": ValueAt("bonded", "lap_width"),
    },
    "walk": {**_SEEN, **_NOTE, **_SEAM, **_STRETCH},
    "finding": {
        **_SEEN,
        **_NOTE,
        **_SEAM,
        **_STRETCH,
        "kind": ValueAt("kind", "flaw"),
        "how": ValueAt("how", "how"),
        "depth": ValueAt("depth", "depth"),
    },
    "mend": {
        **_SEEN,
        **_NOTE,
        **_STRETCH,
        "method": ValueAt("method", "text"),
        "tool": ValueAt("tool", "text"),
        "patch": ValueAt("patch", "patch"),
    },
    "peel": {
        **_SEEN,
        **_NOTE,
        "at": ValueAt("at", "distance"),
        "load": ValueAt("load", "load"),
        "width": ValueAt("width", "sample_width"),
        "line_load": ValueAt("line_load", "line_load"),
        "sample_temp": ValueAt("sample_temp", "sample_temp"),
        "pull_rate": ValueAt("pull_rate", "pull_rate"),
        "parted": ValueAt("parted", "parted"),
    },
    "seam": {
        "length": ValueAt("length", "length"),
        "kind": ValueAt("kind", "seam_kind"),
        "place": ValueAt("place", "text"),
        "lap": ValueAt("lap", "lap"),
    },
}


def place_of(kind: str, field: str) -> ValueAt:
    """Where a field of a kind stands.

    Raises:
        NotAChoice: it has no such field; names those it has.
    """
    places = AMENDABLE.get(kind, {})
    place = places.get(field.strip().lower().replace("-", "_").replace(" ", "_"))
    if place is None:
        raise NotAChoice(name=_("field"), text=field, allowed=", ".join(sorted(places)))
    return place


def read_payload(place: ValueAt, text: str, units: str, unit: str | None = None) -> JsonValue:
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
