"""A seam traced: one line for each thing recorded, in the order it was seen.

Invariant: who, when and what stand in every line; a late entry, one entered by
another, a carried-over value and a correction are said where they stand.
"""

from __future__ import annotations

from msgspec import Struct, to_builtins

from weldcal.json_values import JsonObject, of_row
from weldcal.quality.doubt import in_doubt
from weldcal.reports import show
from weldcal.reports.record_text import record_text
from weldcal.views.rows import SeenAndMarked
from weldcal.views.seam import SeamSeen
from weldcal.views.trace import (
    AmendEvent,
    BleedEvent,
    SeamEvent,
    SeamTrace,
    SeenEvent,
    SettleEvent,
    StripEvent,
    WithdrawnEvent,
)
from weldcal.words import _

MOST_NAMED = 6  # failures named on one line


class Traced(Struct, frozen=True):
    """A trace in words.

    Attributes:
        head: the seam, its length, its state and its flags.
        open: what of it is unprobed, to be probed again, walked with different findings, or in
            doubt.
        events: one line for each thing recorded.
    """

    head: str
    open: tuple[str, ...]
    events: tuple[str, ...]


def document(found: SeamTrace) -> JsonObject:
    """The trace as one JSON document."""
    state = found.state
    return {
        "seam": found.name,
        "state": state.state,
        "flags": list(found.flags),
        "unprobed_stretches_m": [list(s) for s in state.unprobed],
        "open": list(state.open),
        "mended_unprobed": list(state.mended),
        "probe_again": to_builtins(state.again),
        "disagreements": [of_row(one) for one in found.disagreements],
        "in_doubt": _doubted_document(found),
        "events": [{"what": event.what, **_columns(event)} for event in found.events],
    }


def _doubted_document(found: SeamTrace) -> list[JsonObject] | None:
    """Each failure that puts the seam in doubt, and where on it, m."""
    if found.doubts is None:
        return None
    return [
        {
            "failure": doubt.failure,
            "stretches_m": [
                [place.start_m, place.end_m] for place in doubt.places if place.seam == found.key
            ],
        }
        for doubt in found.doubts
    ]


def _columns(event: SeamEvent) -> JsonObject:
    """An event's row; what it falls short of as codes."""
    match event:
        case StripEvent(row=strip):
            return of_row({**strip, "shortfalls": [short.code for short in strip["shortfalls"]]})
        case BleedEvent(row=bleed) if "shortfalls" in bleed:
            return of_row({**bleed, "shortfalls": [short.code for short in bleed["shortfalls"]]})
    return of_row(event.row)


def seam_document(found: SeamSeen) -> JsonObject:
    """One seam of the roof as JSON: stretches and lengths in metres."""
    state, seam = found["state"], found["seam"]
    return {
        "name": found["name"],
        "state": state.state,
        "flags": found["flags"],
        "length_m": seam["length_m"] if seam else None,
        "welded_m": state.welded_m,
        "probed_m": state.probed_m,
        "welded_stretches_m": [list(s) for s in state.welded],
        "unprobed_stretches_m": [list(s) for s in state.unprobed],
        "open": list(state.open),
        "mended_unprobed": list(state.mended),
        "probe_again": to_builtins(state.again),
    }


def page(found: SeamTrace, units: str) -> list[str]:
    """The trace in lines."""
    traced = blocks(found, units)
    return [traced.head, *traced.open, *(f"- {line}" for line in traced.events)]


def blocks(found: SeamTrace, units: str) -> Traced:
    """The trace in words, part by part."""
    head = title(found, units)
    if found.flags:
        head += f" ({', '.join(_(flag) for flag in found.flags)})"
    names = _names(found)
    return Traced(
        head, tuple(_open(found, units)), tuple(_line(e, names, units) for e in found.events)
    )


def title(found: SeamTrace, units: str) -> str:
    """The seam, its length and its state."""
    seam = found.seam
    return _(
        "Seam {name}, {length}: {state}",
        name=show.safe(found.name),
        length=show.tape(seam["length_m"], units) if seam else _("not on the seam list"),
        state=_(found.state.state),
    )


def _open(found: SeamTrace, units: str) -> list[str]:
    """What of the seam is unprobed, to be probed again, or walked with different findings."""
    state = found.state
    lines = []
    if state.unprobed:
        lines.append(_("Unprobed: {where}", where=show.stretches(state.unprobed, units)))
    lines += [
        _(
            "Mended, to be probed again: {name} {where}",
            name=one.finding,
            where=show.stretches(one.stretches, units),
        )
        for one in state.again
    ]
    lines += [
        _(
            "Walks disagree: {name} at {where} was found, and {by} walked over it at {at} ({walk}) and told nothing.",
            name=one["finding"],
            where=show.stretches(((one["start_m"], one["end_m"]),), units),
            by=show.safe(one["seen_by"]),
            at=show.clock(one["seen_local"]),
            walk=one["walk"],
        )
        for one in found.disagreements
    ]
    return [*lines, *_doubted(found, units)]


def _doubted(found: SeamTrace, units: str) -> list[str]:
    """Where failures put the seam in doubt, and which: its own, or of what was welded beside."""
    if not found.doubts:
        return []
    where = show.stretches(tuple(in_doubt(found.doubts)[found.key]), units)
    names = [doubt.failure for doubt in found.doubts]
    if len(names) > MOST_NAMED:
        more = len(names) - MOST_NAMED
        names = [*names[:MOST_NAMED], _("{n} more", n=more)]
    return [
        _(
            "In doubt: {where}, after {names}; what clears it: weldcal doubt",
            where=where,
            names=show.listed(names),
        )
    ]


def _names(found: SeamTrace) -> dict[str, str]:
    """Names of the records by their ids, for what is said about one of them."""
    names = {
        str(e.row.get("of", e.row["id"])): str(e.row["name"])
        for e in found.events
        if e.row.get("name")
    }
    if found.seam:
        names[found.seam["id"]] = found.seam["name"]
    return names


def _line(event: SeamEvent, names: dict[str, str], units: str) -> str:
    """One event; `names` of the records by their ids."""
    text = record_text(event, units)
    match event:
        # These have no time of being seen, but one of when they were entered.
        case WithdrawnEvent(row=gone):
            return f"{show.clock(gone['withdrawn_local'])} {text}"
        case AmendEvent(row=amendment):
            about = names.get(amendment["of"]) if amendment["path"] == "withdrawn" else None
            return _dated(amendment["entered_local"], about, text)
        case SettleEvent(row=warning):
            return _dated(warning["done_local"] or "", names.get(warning["of"]), text)
        case SeenEvent(row=row):
            return _seen(row, text)
    raise AssertionError(event.what)


def _dated(at: str, about: str | None, text: str) -> str:
    named = f"{show.safe(about)} {text}" if about else text
    return f"{show.clock(at)} {named}"


def _seen(row: SeenAndMarked, text: str) -> str:
    """What somebody saw: when, its name, who, and what is odd about it."""
    marks = [m for m in row["marks"] if m != "entered by another"]
    if row["seen_by"] != row["entered_by"]:
        marks.append(_("entered by {name}", name=show.safe(row["entered_by"])))
    tail = f" [{', '.join(_(m) for m in marks)}]" if marks else ""
    named = f"{row['name']} {text}" if row["name"] else text
    return f"{show.clock(row['seen_local'])} {named}; {show.safe(row['seen_by'])}{tail}"
