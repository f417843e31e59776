"""What was taken back, and what would be, in words.

Invariant: every line tells what the record said; who took it back and why stand
beside it.
"""

from __future__ import annotations

import json
from collections.abc import Iterator

from weldcal.quantities import convert
from weldcal.records.notes import USUAL_REASONS
from weldcal.reports import corrected, show
from weldcal.reports.record_text import record_text
from weldcal.row_types.record import WithdrawnRow
from weldcal.views.act import Act
from weldcal.views.rows import Called, EntrySaid
from weldcal.views.trace import event
from weldcal.words import _, mark, plural

_KINDS = {
    "strip": mark("strip"),
    "conditions": mark("conditions"),
    "seam": mark("seam"),
    "machine": mark("machine"),
    "sheet": mark("sheet"),
    "area": mark("area"),
    "instrument": mark("instrument"),
    "person": mark("person"),
    "limit": mark("limit"),
    "measure": mark("measurement of"),
    "cause": mark("cause at"),
    "repair": mark("repair"),
    "hot-work": mark("hot work"),
    "cover": mark("cover-up"),
    "leak": mark("leak"),
    "draw": mark("drawn places"),
    "open-up": mark("opening"),
    "north": mark("north on the plan"),
    "roll": mark("rolls of lot"),
    "lot-doubt": mark("doubt of lot"),
    "substrate": mark("substrate of"),
    "punch": mark("item of a visit"),
    "punch-done": mark("settling of an item"),
    "start-line": mark("line of the start-up list"),
    "start-answer": mark("answer to the start-up list"),
    "look": mark("yearly look"),
    "embed": mark("granules embedded at"),
    "leak-step": mark("step of a leak"),
    "pull": mark("pull"),
    "run-finish": mark("finish"),
    "settle": mark("answer to the warning"),
    "hot-work-end": mark("end of hot work"),
    "watch": mark("fire watch"),
    "amend": mark("correction"),
}
_AS_TRACED = ("run", "bleed", "lap-width", "walk", "finding", "mend", "peel")


def what(row: EntrySaid, units: str) -> str:
    """What an entry says, as one phrase: `F3 finding: void from 14.5 ft to 14.75 ft, probed`."""
    values, kind = json.loads(row["said"]), row["kind"]
    name = show.safe(row["name"] or values.get("machine") or "")
    if kind in _AS_TRACED:
        return _(
            "{name} {text} on {seam}",
            name=name,
            text=record_text(event(kind, values, values["seen_utc"], values["tick"]), units),
            seam=show.safe(row["seam"] or "–"),
        )
    if kind == "strip":
        speed = show.speed_set(values, units)
        readings = show.safe(" ".join(values["readings"]) or "–")
        return _(
            "{name} strip: speed {speed}, readings {readings}, bubbling {bubbling}",
            name=name,
            speed=speed,
            readings=readings,
            bubbling=_(values["bubbling"] or "–"),
        )
    if kind == "pull":
        return _("pull of {name}: {bond}", name=name, bond=_(values["bond"]))
    if kind == "run-finish" and row["was_in"] is None:
        return _("finish of {name} at {at}", name=name, at=show.tape(_metres(values["end"]), units))
    if kind == "amend":
        new = corrected.value(values["path"], json.dumps(values.get("new")))
        return _(
            "correction of {name}: {field} became {new}",
            name=name,
            field=corrected.field(values["path"]),
            new=new,
        )
    if kind == "settle":
        return _("answer to a warning of {name}: {done}", name=name, done=show.safe(values["done"]))
    return _("{kind} {name}", kind=kind_word(kind), name=name).strip()


def _metres(quantity: dict[str, str]) -> float:
    from fractions import Fraction

    return float(convert(Fraction(quantity["number"]), quantity["unit"], "m"))


def reason(why: str) -> str:
    """A reason as it is shown: one of the usual ones in the reader's language, any other as typed."""
    return _(why) if why in USUAL_REASONS else show.safe(why)


def called(row: Called) -> str:
    """What an entry is called: its record's name, a later stage as such; its kind where there is none."""
    kind = kind_word(row["kind"])
    if not row["name"]:
        return kind
    name = show.safe(row["name"])
    return name if row["was_in"] else _("{kind} of {name}", kind=kind, name=name)


def kind_word(kind: str) -> str:
    """A kind of entry in words."""
    return _(_KINDS.get(kind) or kind)


def line(row: WithdrawnRow, units: str) -> str:
    """One entry that was taken back: whose and when it was, why it was taken back and by whom."""
    text = _(
        "TAKEN BACK: {what}, by {who} {seen}; {why}; {by}",
        what=what(row, units),
        who=show.safe(row["seen_by"]),
        seen=show.clock(row["seen_local"]),
        why=reason(row["why"]),
        by=show.safe(row["withdrawn_by"]),
    )
    if row["added_to"]:
        return _("{text} (something was recorded about it afterwards)", text=text)
    return text


def page(act: Act, units: str) -> Iterator[str]:
    """An act about to be taken back or put back."""
    n = len(act.parts)
    if act.back:
        head = plural(
            "PUT BACK, so that it counts again:",
            "PUT BACK {n} entries, so that they count again:",
            n,
        )
    else:
        head = plural(
            "TAKE BACK, so that it counts for nothing (it stays readable):",
            "TAKE BACK {n} entries, so that they count for nothing (they stay readable):",
            n,
        )
    yield head
    for part in act.parts:
        row = part.row
        yield _(
            "- {what}; {by}, {clock}",
            what=what(row, units),
            by=show.safe(row["seen_by"]),
            clock=show.clock(row["seen_local"]),
        )
        if part.hangs_on and part.kind == "strip":
            yield plural(
                "! Welded on it: {runs}. It stays, and will say that its go-ahead was taken back.",
                "! Welded on it: {runs}. They stay, and will say that their go-ahead was taken back.",
                len(part.hangs_on),
                runs=show.listed(list(part.hangs_on)),
            )
        elif part.hangs_on:
            yield plural(
                "! Mended by {mends}, which stays.",
                "! Mended by {mends}, which stay.",
                len(part.hangs_on),
                mends=show.listed(list(part.hangs_on)),
            )
