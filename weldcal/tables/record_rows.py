"""Rows of what the record keeps of itself: advice, draws, seals."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from weldcal.tables import columns
from weldcal.tables.columns import Maker, Row
from weldcal.tables.fold import Subject

if TYPE_CHECKING:
    from weldcal.records.notes import AdviceGiven
    from weldcal.records.seal import Seal
    from weldcal.records.site import Draw
    from weldcal.row_types.record import SealRow
    from weldcal.row_types.site import DrawRow
    from weldcal.row_types.work import AdviceRow


def _advice(subject: Subject, r: AdviceGiven, begins: int) -> list[Row]:
    row: AdviceRow = {
        **columns.seen(subject, r.seen, begins),
        "question": columns.as_json(r.question),
        "answer": columns.as_json(r.answer),
        "version": r.version,
    }
    return [("advice", row)]


def _draw(subject: Subject, r: Draw, begins: int) -> list[Row]:
    row: DrawRow = {
        **columns.seen(subject, r.seen, begins, r.name),
        "seed": r.seed,
        "places": json.dumps([[p.seam, p.at.si("m")] for p in r.places]),
        "stretches": json.dumps([[name, a.si("m"), b.si("m")] for name, a, b in r.stretches]),
    }
    return [("draws", row)]


def _seal(subject: Subject, r: Seal, begins: int) -> list[Row]:
    row: SealRow = {
        **columns.seen(subject, r.seen, begins, r.name),
        "label": r.label,
        "entries": r.entries,
        "heads": json.dumps([[head.device, head.seq, head.hash] for head in r.heads]),
        "counts": json.dumps(r.counts, sort_keys=True),
        "code": r.code,
        "key": r.key,
        "signature": r.signature,
    }
    handed = [
        (
            "handed",
            {
                **columns.stage(subject, entry, payload),
                "to": payload["to"],
                "how": payload["how"],
            },
        )
        for entry, payload in subject.filled
    ]
    return [("seals", row), *handed]


ROWS: dict[str, Maker] = {
    "advice": _advice,
    "draw": _draw,
    "seal": _seal,
}
