"""A file as it would be kept: every row with what is odd about it, before anybody says yes.

Invariant: what is told of a row here is what would be told had it been typed by hand.
"""

from __future__ import annotations

from collections.abc import Iterator

from weldcal.intake.kept import LoadDone, RowKept
from weldcal.intake.strip_line import said, said_many
from weldcal.records.seam import Finding, Walk
from weldcal.records.strip import Strip
from weldcal.reports import lines, show
from weldcal.words import _, plural


def preview(done: LoadDone, units: str) -> Iterator[str]:
    """The rows as they would be kept, a line each, and their notes below."""
    yield _("AS IT WOULD BE KEPT, nothing is yet:")
    for one in done.kept:
        yield f"- {_row(one)}"
        yield from (f"! {line}" for line in lines.notes(one.notes, units))
    yield from left_out(done)


def left_out(done: LoadDone) -> Iterator[str]:
    """What is refused, and the columns that go into the notes."""
    for refusal in done.refused:
        yield refusal.sentence()
    for name in done.ignored:
        yield _(
            "Column {name} is not one this program knows; it was kept as a note.",
            name=show.safe(name),
        )


def told(done: LoadDone, units: str, most: int = 8) -> Iterator[str]:
    """What is odd about the rows of a load, each sentence once with its rows."""
    rows: dict[str, list[int]] = {}
    for one in done.kept:
        odd = tuple(note for note in one.notes if note.code not in ("go_ahead", "short", "late"))
        for line in lines.notes(odd, units):
            rows.setdefault(line, []).append(one.row)
    for line, found in rows.items():
        shown = ", ".join(map(str, found[:most])) + (" …" if len(found) > most else "")
        yield plural("Row {rows}: {note}", "Rows {rows}: {note}", len(found), rows=shown, note=line)


def _row(one: RowKept) -> str:
    record = one.record
    told = _strip(record) if isinstance(record, Strip) else _walk(record, one.found)
    clock = show.clock(record.seen.at)
    return _(
        "row {row}: {what}, {clock}, {by}",
        row=one.row,
        what=told,
        clock=clock,
        by=show.safe(record.seen.by),
    )


def _strip(record: Strip) -> str:
    s = record.setting
    parts = [
        show.safe(f"{record.name} {s.machine}, {s.sheet}, {_(s.lap)}"),
        show.safe(said(s.nozzle, show.unit)),
        show.safe(said(s.speed, show.unit)) if s.speed else _("by hand"),
    ]
    if record.readings:
        widths = said_many(record.readings, show.unit)
        parts.append(_("bleed-out {widths}", widths=show.safe(widths)))
    if record.bubbling:
        parts.append(_("bubbling {word}", word=_(record.bubbling)))
    parts.append(_("pull {word}", word=_(record.bond)))
    if record.note:
        parts.append(_("note: {note}", note=show.safe(record.note)))
    return ", ".join(parts)


def _walk(record: Walk, found: tuple[Finding, ...]) -> str:
    start, end = (said(value, show.unit) for value in (record.start, record.end))
    parts = [show.safe(f"{record.name} {record.seam}, {start}–{end}".strip())]
    for one in found:
        reach = said(one.start, show.unit)
        if one.end != one.start:
            reach = f"{reach}–{said(one.end, show.unit)}"
        parts.append(show.safe(f"{one.name} {_(one.kind)} {reach}"))
    if not found:
        parts.append(_("nothing found"))
    if record.note:
        parts.append(_("note: {note}", note=show.safe(record.note)))
    return ", ".join(parts)
