"""The declared rows are what the tables and the program's own rows hold."""

from __future__ import annotations

import re
import sqlite3
from pathlib import Path
from typing import get_type_hints

import pytest

from tests.row_check import check
from weldcal.row_types import TABLES
from weldcal.row_types.columns import ConditionsColumns, NamedColumns, SeenColumns

BOOKS = sorted((Path(__file__).parents[2] / "fixtures" / "books").glob("schema-5.sqlite"))


@pytest.mark.parametrize("table", TABLES)
def test_a_kept_book_holds_rows_as_declared(table: str) -> None:
    """The book that version 5 wrote, row by row."""
    assert BOOKS
    for path in BOOKS:
        book = sqlite3.connect(f"file:{path}?mode=ro&immutable=1", uri=True)
        book.row_factory = sqlite3.Row
        found = [dict(row) for row in book.execute(f'SELECT * FROM "{table}"')]
        book.close()
        check(TABLES[table], found, table)


def test_every_row_has_an_id() -> None:
    for table, row in TABLES.items():
        assert get_type_hints(row)["id"] is str, table


@pytest.mark.parametrize("row", [*TABLES.values(), NamedColumns, SeenColumns, ConditionsColumns])
def test_what_a_row_documents_are_its_columns(row: type) -> None:
    """A column that was renamed takes its line with it."""
    _first, _head, listed = (row.__doc__ or "").partition("Attributes:\n")
    told = re.findall(r"^ +((?:\w+, )*\w+):", listed, re.MULTILINE)
    told += re.findall(r"; `(\w+)`(?:, `(\w+)`)?:", listed)
    names = {name for one in told for name in (one.split(", ") if isinstance(one, str) else one)}
    assert names - {""} <= get_type_hints(row).keys()
