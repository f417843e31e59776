"""A file as it would be kept: every row with what is odd about it, before anybody says yes.

Invariant: a row's notes are those it would have had if typed by hand.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from weldcal.intake.kept import RowKept, plain
from weldcal.intake.staged import KeptRow, Staged
from weldcal.intake.strip_line import quantities_text, quantity_text
from weldcal.records.seam import Finding, Walk
from weldcal.records.strip import Strip
from weldcal.reports import lines, show
from weldcal.words import _, plural

_ROWS_NAMED = 8  # with one sentence
_SENTENCES = 200  # different ones shown after a load: more than a person reads


def row(one: RowKept, units: str) -> Iterator[str]:
    """A row as it would be kept, and its notes below."""
    yield f"- {_row(one)}"
    yield from (f"! {line}" for line in lines.notes(one.notes, units))


def left_out(staged: Staged) -> Iterator[str]:
    """What is refused, and the columns that go into the notes."""
    for refusal in staged.refusals():
        yield refusal.sentence()
    for name in staged.ignored:
        yield _(
            "Column {name} is not one this program knows; it was kept as a note.",
            name=show.safe(name),
        )


def odd_lines(kept: Iterable[RowKept], units: str) -> Iterator[str]:
    """What is odd about rows, each sentence once with its first rows.

    Args:
        kept: the rows; many of them are not held.
        units: the job's.
    """
    rows: dict[str, list[int]] = {}
    counts: Counter[str] = Counter()
    more = 0
    for one in kept:
        odd = tuple(note for note in one.notes if note.code not in ("go_ahead", "short", "late"))
        for line in lines.notes(odd, units):
            if line not in rows and len(rows) == _SENTENCES:
                more += 1
                continue
            counts[line] += 1
            if counts[line] <= _ROWS_NAMED:
                rows.setdefault(line, []).append(one.row)
    for line, found in rows.items():
        shown = ", ".join(map(str, found)) + (" …" if counts[line] > _ROWS_NAMED else "")
        yield plural("Row {rows}: {note}", "Rows {rows}: {note}", len(found), rows=shown, note=line)
    if more:
        yield plural(
            "{n} more note; a load without --yes shows each at its row.",
            "{n} more notes; a load without --yes shows each at its row.",
            more,
        )


def document(staged: Staged, kept: Iterable[RowKept], known: int) -> Iterator[tuple[str, object]]:
    """What a load came to, for JSON: each part with its name, long ones item after item."""
    yield "recorded", (name for rows in staged.kept() for one in rows for name in _names(one))
    refused = staged.refusals()
    yield (
        "refused",
        ({"row": r.row, "column": r.column, "value": r.value, "why": r.why} for r in refused),
    )
    yield "columns_not_known", list(staged.ignored)
    yield "recorded_before", known
    yield (
        "notes",
        (
            {"row": one.row, "name": one.record.name, **plain(note)}
            for one in kept
            for note in one.notes
        ),
    )


def _names(one: KeptRow) -> Iterator[str]:
    """The short names that a row was given."""
    if one.new:
        yield one.payload["name"]
    for found in one.found:
        yield found["name"]


def _row(one: RowKept) -> str:
    record = one.record
    description = _strip(record) if isinstance(record, Strip) else _walk(record, one.found)
    clock = show.clock(record.seen.at)
    return _(
        "row {row}: {what}, {clock}, {by}",
        row=one.row,
        what=description,
        clock=clock,
        by=show.safe(record.seen.by),
    )


def _strip(record: Strip) -> str:
    s = record.setting
    parts = [
        show.safe(f"{record.name} {s.machine}, {s.sheet}, {_(s.lap)}"),
        show.safe(quantity_text(s.nozzle, show.unit)),
        show.safe(quantity_text(s.speed, show.unit)) if s.speed else _("by hand"),
    ]
    if record.readings:
        widths = quantities_text(record.readings, show.unit)
        parts.append(_("bleed-out {widths}", widths=show.safe(widths)))
    if record.bubbling:
        parts.append(_("bubbling {word}", word=_(record.bubbling)))
    parts.append(_("pull {word}", word=_(record.bond)))
    if record.note:
        parts.append(_("note: {note}", note=show.safe(record.note)))
    return ", ".join(parts)


def _walk(record: Walk, found: tuple[Finding, ...]) -> str:
    start, end = (quantity_text(value, show.unit) for value in (record.start, record.end))
    parts = [show.safe(f"{record.name} {record.seam}, {start}–{end}".strip())]
    for one in found:
        reach = quantity_text(one.start, show.unit)
        if one.end != one.start:
            reach = f"{reach}–{quantity_text(one.end, show.unit)}"
        parts.append(show.safe(f"{one.name} {_(one.kind)} {reach}"))
    if not found:
        parts.append(_("nothing found"))
    if record.note:
        parts.append(_("note: {note}", note=show.safe(record.note)))
    return ", ".join(parts)
