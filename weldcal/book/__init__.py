"""The crew's book: readers by what they read, recorders by what they record. Also the API for scripts.

from weldcal.book import Book

book = Book("roof.sqlite", by="Ana Ruiz")
for row in book.roof.view():
    print(row["name"], row["state"].state)

Names are imported when first asked for: who only opens the day does not wait for the dossier.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from weldcal.book.core import Note, Recorded
    from weldcal.book.recording.packing import Merged
    from weldcal.book.whole import Book

_FROM = {
    "Book": "whole",
    "Note": "core",
    "Recorded": "core",
    "Merged": "recording.packing",
}

__all__ = ["Book", "Merged", "Note", "Recorded"]


def __getattr__(name: str) -> object:
    if name not in _FROM:
        raise AttributeError(name)
    return getattr(import_module(f"weldcal.book.{_FROM[name]}"), name)
