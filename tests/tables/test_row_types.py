"""The declared rows are what the tables and the program's own rows hold."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import get_type_hints

import pytest

from tests.row_check import check
from weldcal.tables.row_types import TABLES

BOOKS = sorted((Path(__file__).parents[2] / "fixtures" / "books").glob("schema-5.sqlite"))


@pytest.mark.parametrize("table", TABLES)
def test_a_kept_book_holds_rows_as_declared(table: str) -> None:
    """The book that version 5 wrote, row by row."""
    assert BOOKS
    for path in BOOKS:
        book = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
        book.row_factory = sqlite3.Row
        found = [dict(row) for row in book.execute(f'SELECT * FROM "{table}"')]
        book.close()
        check(TABLES[table], found, table)


def test_every_row_has_an_id() -> None:
    for table, row in TABLES.items():
        assert get_type_hints(row)["id"] is str, table
