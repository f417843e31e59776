"""Every row of every derived table of a book, for comparison."""

from __future__ import annotations

import contextlib
import sqlite3
from pathlib import Path
from typing import Any

from weldcal.tables.schema import TABLES


def contents(book: Path) -> dict[str, list[dict[str, Any]]]:
    """Table -> its rows by id."""
    with contextlib.closing(sqlite3.connect(book)) as connection:
        connection.row_factory = sqlite3.Row
        return {
            table: [dict(row) for row in connection.execute(f"SELECT * FROM {table} ORDER BY id")]
            for table in TABLES
        }


def whole(book: Path) -> tuple[list[Any], list[str]]:
    """All that a refused pack must leave as it was: entries, and what lies in the photos' folder."""
    if not book.exists():
        return [], []
    with contextlib.closing(sqlite3.connect(book)) as connection:
        rows = connection.execute("SELECT * FROM entries ORDER BY hash").fetchall()
    place = book.with_name(book.name + ".photos")
    return rows, sorted(file.name for file in place.iterdir()) if place.exists() else []
