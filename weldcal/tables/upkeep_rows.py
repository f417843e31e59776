"""Rows of what stands around the laps: start-up list, looks, leaks, granules embedded."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from weldcal.tables import columns
from weldcal.tables.columns import Row
from weldcal.tables.fold import Subject


def _leak(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {"x_m": r.x.si("m"), "y_m": r.y.si("m"), "where": r.where, "note": r.note}
    steps: list[Row] = [
        (
            "leak_steps",
            {
                **columns.stage(subject, entry, payload),
                "step": payload["step"],
                "said": payload["said"],
                "place": payload.get("place"),
                "dry": columns.flag(payload.get("dry")),
            },
        )
        for entry, payload in subject.filled
    ]
    return [("leaks", {**columns.seen(subject, r.seen, begins, r.name), **row}), *steps]


def _start_line(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {"line": r.line, "source": r.source}
    return [("start_lines", {**columns.seen(subject, r.seen, begins), **row})]


def _start_answer(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {"line": r.line, "answer": r.answer, "note": r.note}
    return [("start_answers", {**columns.seen(subject, r.seen, begins), **row})]


def _look(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {"area": r.area, "note": r.note}
    return [("looks", {**columns.seen(subject, r.seen, begins, r.name), **row})]


def _embed(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {**columns.on(r.seam), "how": r.how}
    return [("embeddings", {**columns.seen(subject, r.seen, begins), **row})]


ROWS: dict[str, Callable[[Subject, Any, int], list[Row]]] = {
    "leak": _leak,
    "start-line": _start_line,
    "start-answer": _start_answer,
    "look": _look,
    "embed": _embed,
}
