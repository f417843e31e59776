"""What is asked of a book where something was taken back."""

from __future__ import annotations

from typing import Any

COUNTED = (
    "roof",
    "evening",
    "go-ahead",
    "doubt",
    "faults",
    "chart",
    "strip list",
    "history",
    "trace A1",
    "verify",
)


def every_page(weldcal: Any) -> None:
    """Whatever was taken back, every page can be made and the tables follow from the entries."""
    for words in COUNTED:
        done = weldcal(words)
        fine = {"verify": (0,), "go-ahead": (0, 1, 2)}.get(words, (0, 2))
        assert done.code in fine, (words, done.err)
        assert "inside" not in done.err, (words, done.err)


def count(weldcal: Any, table: str) -> int:
    return int(weldcal.query(f"SELECT count(*) FROM {table}")[0][0])
