"""How many records bear a mark, the first of them by name, and how late the latest was."""

from __future__ import annotations

from typing import Any

from weldcal.book.dossier_facts import count_marks
from weldcal.views.dossier import Counted


def row(name: str, *marks: str, late: float = 0.0, **more: Any) -> Any:
    """A marked row."""
    return {"name": name, "marks": list(marks), "late_h": late, **more}


def test_marks_are_counted_row_by_row() -> None:
    """Named by the record, else by its lap, else by its table; eight names at most."""
    marks: dict[str, Counted] = {}
    rows = [
        row("R1", "late", "amended", late=2.5),
        row("R2", "late", late=1.5),
        row("", "amended", late=9.0, seam="A1"),
        row("", "amended", late=9.0),
        row("R3", late=9.0, carried='{"wind": "2026-06-01T07:00:00-06:00"}'),
        row("R4", carried="{}"),
        row("R5", carried=None),
        row("R6", "ahead of the clock", late=-0.5),
    ]
    count_marks(marks, "runs", rows)
    found = {mark: (one.n, one.names, one.worst_h) for mark, one in marks.items()}
    assert found == {
        "late": (2, ["R1", "R2"], 2.5),
        "amended": (3, ["R1", "A1", "runs"], 0.0),
        "conditions carried over": (1, ["R3"], 0.0),
        "ahead of the clock": (1, ["R6"], 0.5),
    }
    count_marks(marks, "bleeds", [row(f"B{n}", "amended") for n in range(7)])
    assert marks["amended"].n == 10
    assert marks["amended"].names == ["R1", "A1", "runs", "B0", "B1", "B2", "B3", "B4"]
