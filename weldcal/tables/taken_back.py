"""The rows of what was taken back: it counts nowhere else, and stays readable here.

Invariant: `said` holds the row as it would stand in its own table (for a later
stage or a correction, its payload), so that a page can tell what it was.
"""

from __future__ import annotations

import json

from weldcal.json_values import Payload
from weldcal.log.entry import Entry
from weldcal.records.notes import WITHDRAWN
from weldcal.row_types.record import SaidColumns, WithdrawnRow
from weldcal.tables.columns import TAKEN_BACK, Row, job_of, utc
from weldcal.tables.fold import Subject


def rows(subject: Subject, own: list[Row]) -> list[Row]:
    """One row for each entry of a subject that was taken back.

    Args:
        subject: as it stands.
        own: the rows it makes, or would make, in its kind's tables.
    """
    return [
        (TAKEN_BACK, _withdrawn(subject, entry, by, own)) for entry, by in subject.gone.values()
    ]


def _withdrawn(subject: Subject, entry: Entry, by: Entry, own: list[Row]) -> WithdrawnRow:
    return {
        **row(subject, entry, own),
        "why": by.payload["why"],
        "by": by.id,
        "withdrawn_by": by.payload["seen"]["by"],
        "withdrawn_utc": utc(by.at),
        "withdrawn_local": by.at,
        "added_to": int(_added_to(subject, entry, by)),
    }


def row(subject: Subject, entry: Entry, own: list[Row]) -> SaidColumns:
    """What an entry says, whether or not it was taken back.

    Args:
        subject: as it stands.
        entry: one of its entries.
        own: the rows it makes, or would make, in its kind's tables.
    """
    table, stands = own[0]
    whole = entry.id == subject.id
    readings = [made["text"] for name, made in own if name == "readings"]
    content = {**stands, "readings": readings} if whole else entry.payload
    seen = entry.payload.get("seen") or {"at": entry.at, "by": entry.who}
    return {
        "id": entry.id,
        "job": job_of(subject),
        "of": subject.id,
        "kind": entry.kind,
        "was_in": table if whole else None,
        "name": _text(stands.get("name")),
        "device": entry.device,
        "tick": entry.tick,
        "seam": _text(stands.get("seam")),
        "seam_key": _text(stands.get("seam_key")),
        "seen_utc": utc(seen["at"]),
        "seen_local": seen["at"],
        "seen_by": seen["by"],
        "entered_by": entry.who,
        "said": json.dumps(content, sort_keys=True, ensure_ascii=False),
    }


def _text(value: object) -> str | None:
    """A column of text that not every table has."""
    return None if value is None else str(value)


def _added_to(subject: Subject, entry: Entry, by: Entry) -> bool:
    """Whether something was recorded about it after, by somebody who may not have known."""
    if entry.id != subject.id:
        return False
    later: list[tuple[Entry, Payload]] = [*subject.filled, *subject.settled]
    later += [(e, p) for e, p in subject.amendments if p["path"] != WITHDRAWN]
    return any((e.tick, e.device, e.seq) > (by.tick, by.device, by.seq) for e, _p in later)
