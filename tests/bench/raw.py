"""The rows of a book put into a new file by executemany: what taking in is measured against."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path

from weldcal.log import store
from weldcal.tables import schema


def raw(connection: sqlite3.Connection) -> Callable[[Path], None]:
    """What puts the same rows, entries and derived, into a new file: the same tables and
    durability, one transaction.

    Args:
        connection: of the book; its rows are read now.
    """
    tables = {
        name: [tuple(row) for row in connection.execute(f"SELECT * FROM {name}")]
        for name in ("entries", *schema.TABLES)
    }

    def put(to: Path) -> None:
        new = store.create(to)
        new.execute("BEGIN IMMEDIATE")
        schema.create(new)
        for table, rows in tables.items():
            if rows:
                marks = ", ".join("?" * len(rows[0]))
                new.executemany(f"INSERT INTO {table} VALUES ({marks})", rows)
        new.execute("COMMIT")
        new.close()

    return put
