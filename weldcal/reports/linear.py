"""Tables and drawings as sentences, for a screen reader: a row is a sentence, a roof a list.

Invariant: nothing depends on where it stands. What a thing is and how it stands
come first; signs, colours and columns are left out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from weldcal.quality.coverage import minus
from weldcal.reports import show
from weldcal.rules import on_plan
from weldcal.views.seam import SeamSeen
from weldcal.words import _, plural


def row(headings: Sequence[str], cells: Sequence[str]) -> str:
    """A table's row: each cell with its heading, empty ones left out."""
    parts = [
        _("{heading}: {cell}", heading=heading, cell=cell) if heading else cell
        for heading, cell in zip(headings, cells, strict=True)
        if cell not in ("", "–")
    ]
    return "; ".join(parts)


def strip(cells: Mapping[str, str]) -> str:
    """A strip of the list: what it came to, then how it was made."""
    text = _(
        "Strip {name}: {verdict}; seen {seen}; machine {machine}, sheet {sheet}, nozzle {nozzle}, speed {speed}, sheet at {at}; bleed-out {bleed}, bubbling {bubbling}, pull {bond}",
        **cells,
    )
    return _("{text}; marks: {marks}", text=text, **cells) if cells["marks"] else text


def roof(seams: Sequence[SeamSeen], units: str) -> list[str]:
    """The roof as a list: area by area, each seam with its state, what to do and where it lies."""
    areas: dict[str, list[SeamSeen]] = {}
    for seam in seams:
        area = seam["seam"]["area"] if seam["seam"] else None
        areas.setdefault(area or "", []).append(seam)
    lines = []
    for name, mine in areas.items():
        if name:
            lines.append(_area(name, mine, units))
        lines += [_seam(seam, units) for seam in mine]
    return lines


def _area(name: str, mine: list[SeamSeen], units: str) -> str:
    lap = sum(seam["seam"]["length_m"] or 0.0 for seam in mine if seam["seam"])
    return _(
        "Area {name}: {seams}, {lap} of lap.",
        name=show.safe(name),
        seams=plural("{n} seam", "{n} seams", len(mine)),
        lap=show.distance(lap, units),
    )


def _seam(seam_seen: SeamSeen, units: str) -> str:
    state, seam = seam_seen["state"], seam_seen["seam"]
    length = seam["length_m"] if seam else None
    values = {
        "name": show.safe(seam_seen["name"]),
        "state": _(state.state),
        "welded": show.tape(state.welded_m, units),
        "length": show.tape(length, units),
    }
    parts = [
        _("Seam {name}: {state}, {welded} welded", **values)
        if length is None or values["welded"] == values["length"]
        else _("Seam {name}: {state}, {welded} of {length} welded", **values)
    ]
    if todo := _to_do(seam_seen, units):
        parts.append(_("to do: {what}", what=", ".join(todo)))
    if seam_seen["flags"]:
        parts.append(_("marked {flags}", flags=", ".join(_(flag) for flag in seam_seen["flags"])))
    if ends := on_plan.ends(seam):
        parts.append(_place(ends, units))
    return "; ".join(parts)


def _to_do(seam: SeamSeen, units: str) -> list[str]:
    state = seam["state"]
    todo = [_("mend {finding}", finding=name) for name in state.open]
    todo += [
        _(
            "probe again {where} for {finding}",
            where=show.stretches(one.stretches, units),
            finding=one.finding,
        )
        for one in state.again
    ]
    reach = minus(state.unprobed, seam["hidden"])
    if hidden := minus(state.unprobed, reach):
        todo.append(
            _("open up, hidden unprobed {where}", where=show.stretches(tuple(hidden), units))
        )
    if reach:
        todo.append(_("probe {where}", where=show.stretches(tuple(reach), units)))
    return todo


def _place(ends: tuple[on_plan.Point, on_plan.Point], units: str) -> str:
    """Where a seam lies on its roof: x along the first size of the area, y along the second."""
    x0, y0, x1, y1 = (show.tape(at, units) for end in ends for at in end)
    if (x0, y0) == (x1, y1):
        return _("lies at x {x}, y {y}", x=x0, y=y0)
    return _("lies from x {x0}, y {y0} to x {x1}, y {y1}", x0=x0, y0=y0, x1=x1, y1=y1)
