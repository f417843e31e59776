"""Lots with their laps, visits, the start-up list, yearly looks and leaks, in lines.

Invariant: a line, a look and a leak that wait for somebody say so in a word, first.
"""

from __future__ import annotations

from weldcal.quality.upkeep import open_answer
from weldcal.reports import sentences, show
from weldcal.row_types.site import LeakStepRow, LookRow, PunchRow, StartAnswerRow
from weldcal.views.rows import Lot
from weldcal.views.upkeep import LeakNow, ListLine, LookDue
from weldcal.words import _, plural


def lots(listed: list[Lot], units: str) -> list[str]:
    """Every lot with the laps it went into."""
    if not listed:
        return [_("No roll is recorded. Record one: weldcal roll add LOT")]
    lines = []
    for lot in listed:
        lap_texts = [
            _("{what}: {text}", what=what, text=show.safe(text))
            for row in lot.rolls
            for what, text in ((_("kept"), row["storage"]), (_("conditioned"), row["conditioning"]))
            if text
        ]
        lines.append("; ".join([_("Lot {lot}", lot=show.safe(lot.lot)), *lap_texts]))
        lines += [
            _("IN DOUBT: {why}; {by}", why=show.safe(row["why"]), by=show.safe(row["seen_by"]))
            for row in lot.doubts
        ]
        for seam, start, end in lot.laps:
            where = _("not finished") if end is None else show.stretches(((start, end),), units)
            lines.append(f"- {show.safe(seam)}, {where}")
        if not lot.laps:
            lines.append(_("- no run names it"))
    return lines


def punch(items: list[PunchRow]) -> list[str]:
    """Items, the open ones first."""
    return [item(row) for row in sorted(items, key=lambda row: row["done"] is not None)]


def item(row: PunchRow) -> str:
    """One item, and what was done about it."""
    values = {
        "name": row["name"],
        "place": show.safe(row["place"]),
        "what": show.safe(row["what"]),
        "visitor": _(row["visitor"]) if row["look"] else show.safe(row["visitor"]),
    }
    if row["done"] is None:
        return _("{name} OPEN, {place}: {what}; {visitor}", **values)
    return _(
        "{name}, {place}: {what}; {visitor}; settled: {done}, {by}",
        **values,
        done=show.safe(row["done"]),
        by=show.safe(row["done_by"]),
    )


def start_up(lines: list[ListLine]) -> list[str]:
    """The list, each line with its answer, who and when."""
    left = sum(_waits(one) for one in lines)
    head = (
        _("START-UP LIST: {n} of {of} lines open", n=left, of=len(lines))
        if left
        else _("START-UP LIST: every line is answered")
    )
    practice = [one.n for one in lines if not one.added]
    source = _(
        "Lines 1-{n}: {source}. The sheet maker's instructions and local codes come first; add their lines: weldcal startup add",
        n=len(practice),
        source=_(lines[0].source),
    )
    return [head, *(start_line(one) for one in lines), source]


def start_line(line: ListLine) -> str:
    """A line with its answer."""
    asks = show.safe(line.asks) if line.added else _(line.asks)
    if line.added:
        asks = _("{asks} ({source})", asks=asks, source=show.safe(line.source))
    if line.answer is None:
        return _("{n}. OPEN: {asks}", n=line.n, asks=asks)
    values = {"n": line.n, "asks": asks, "answered": answered(line.answer)}
    if _waits(line):
        return _("{n}. OPEN: {asks}; {answered}", **values)
    return _("{n}. {asks}; {answered}", **values)


def _waits(line: ListLine) -> bool:
    return open_answer(line.answer["answer"] if line.answer else None)


def answered(row: StartAnswerRow) -> str:
    """What was answered, by whom and when."""
    text = _(
        "{answer}, {by}, {at}",
        answer=_(row["answer"]),
        by=show.safe(row["seen_by"]),
        at=show.clock(row["seen_local"]),
    )
    return _noted(text, row["note"])


def _noted(said: str, note: str | None) -> str:
    """What is said of a row, with its note."""
    return f"{said}: {show.safe(note)}" if note else said


def looks(due_looks: list[LookDue], made: list[LookRow], items: list[PunchRow]) -> list[str]:
    """When each area is due, and the looks with their items."""
    if not due_looks:
        return [_("Nothing is welded yet, so no yearly look is due.")]
    lines = [due(one) for one in due_looks]
    for row in made:
        lines.append(look(row))
        lines += [f"- {item(one)}" for one in items if one["look"] == row["id"]]
    return lines


def due(look: LookDue) -> str:
    """An area, its last look, and when the next is due."""
    values = {
        "area": show.safe(look.area) or _("The roof"),
        "last": show.day(look.last) if look.last else _("never"),
        "due": show.day(look.due),
    }
    line = (
        _("{area}: YEARLY LOOK DUE since {due}; last {last}", **values)
        if look.over
        else _("{area}: next yearly look {due}; last {last}", **values)
    )
    if look.open:
        line += "; " + plural("{n} item open", "{n} items open", look.open)
    return line


def look(row: LookRow) -> str:
    """A look: of what, by whom and when."""
    line = _(
        "{name}, {area}: {by}, {at}",
        name=row["name"],
        area=show.safe(row["area"]) or _("all of the roof"),
        by=show.safe(row["seen_by"]),
        at=show.clock(row["seen_local"]),
    )
    return _noted(line, row["note"])


def leaks(listed: list[LeakNow], units: str) -> list[str]:
    """Leaks with their steps and where they stand."""
    if not listed:
        return [_("No leak is recorded.")]
    lines = []
    for one in listed:
        lines.append(leak(one, units))
        lines += [f"- {step(row)}" for row in one.steps]
        lines.append(sentences.stage(one.row["name"], one.stage))
    return lines


def leak(leak_now: LeakNow, units: str) -> str:
    """A leak as it was reported."""
    row = leak_now.row
    line = _(
        "Leak {name} at {x}, {y}, seen {where}: {by}, {at}",
        name=row["name"],
        x=show.tape(row["x_m"], units),
        y=show.tape(row["y_m"], units),
        where=_("inside") if row["where"] == "inside" else _("on the roof"),
        by=show.safe(row["seen_by"]),
        at=show.clock(row["seen_local"]),
    )
    return _noted(line, row["note"])


def step(row: LeakStepRow) -> str:
    """What was done about a leak."""
    values = {
        "said": show.safe(row["said"]),
        "by": show.safe(row["seen_by"]),
        "at": show.clock(row["seen_local"]),
    }
    if row["step"] == "looked":
        if row["dry"]:
            return _("after rain DRY: {said}; {by}, {at}", **values)
        return _("after rain WET: {said}; {by}, {at}", **values)
    if row["place"]:
        values["said"] = _("{said} ({place})", said=values["said"], place=show.safe(row["place"]))
    if row["step"] == "mended":
        return _("mended: {said}; {by}, {at}", **values)
    return _("found: {said}; {by}, {at}", **values)


def waiting(asked: list[ListLine], looked: list[LookDue], leaking: list[LeakNow]) -> list[str]:
    """The records that wait for somebody, for the evening page; few lines."""
    lines = []
    if asked:
        shown = ", ".join(str(one.n) for one in asked)
        lines.append(_("start-up list, lines open: {lines}; weldcal startup", lines=shown))
    lines += [sentences.stage(one.row["name"], one.stage) for one in leaking]
    return [*lines, *(due(one) for one in looked if one.over)]
