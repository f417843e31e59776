"""The derived tables, made from the rows that `row_types` declares.

Invariant: everything here can be dropped and rebuilt from the entries to the same content.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Mapping
from functools import cache

from weldcal.long_work import Progress, no_progress
from weldcal.row_types import TABLES as ROW_TYPES

SCHEMA_VERSION = 5


@cache
def _columns(table: str) -> dict[str, type]:
    """Each column's type, None aside: any column may be empty in SQLite."""
    columns = ROW_TYPES[table].__annotations__
    return {name: getattr(kind, "__args__", (kind,))[0] for name, kind in columns.items()}


class _Tables(Mapping[str, dict[str, type]]):
    """The columns of each table."""

    def __getitem__(self, table: str) -> dict[str, type]:
        return _columns(table)

    def __iter__(self) -> Iterator[str]:
        return iter(ROW_TYPES)

    def __len__(self) -> int:
        return len(ROW_TYPES)


TABLES: Mapping[str, dict[str, type]] = _Tables()

INDEXES: dict[str, tuple[tuple[str, ...], ...]] = {
    "strips": (("job", "day"), ("job", "name"), ("job", "seen_utc")),
    "conditions": (("job", "seen_utc"),),
    "readings": (("of",), ("job",)),
    "seams": (("job", "seam_key"),),
    **dict.fromkeys(
        ("runs", "bleeds", "widths", "walks", "findings", "mends", "peels"),
        (("job", "seam_key"), ("job", "name")),
    ),
    "warnings": (("of",), ("job",)),
    "amendments": (("of",), ("job",)),
    "withdrawn": (("of",), ("job",)),
    "limits": (("job", "name"),),
    "advice": (("job",),),
    "seals": (("job", "name"),),
    "measures": (("job", "machine"),),
    "causes": (("job", "machine"),),
    "repairs": (("job", "machine"),),
    "handed": (("of",),),
    "leak_steps": (("of",),),
}


def schema_version(connection: sqlite3.Connection) -> int:
    """The version of the derived tables in a book."""
    row = connection.execute("SELECT value FROM local WHERE name = 'schema'").fetchone()
    return int(row[0]) if row and str(row[0]).isdecimal() else 0


def create(connection: sqlite3.Connection) -> None:
    """Make the derived tables, empty, dropping those that are there."""
    import sqlite_utils  # imports numpy where it is installed: not on the recording path

    db = sqlite_utils.Database(connection, execute_plugins=False)
    for name, columns in TABLES.items():
        db.table(name).drop(ignore=True)
        db.table(name).create(columns, pk="id")
        for index in INDEXES.get(name, ()):
            db.table(name).create_index(index)
    connection.execute("INSERT OR REPLACE INTO local VALUES ('schema', ?)", (str(SCHEMA_VERSION),))


def rebuild(connection: sqlite3.Connection, on_progress: Progress = no_progress) -> None:
    """Drop the derived tables and rebuild them from the entries, in one transaction."""
    import sqlite_utils

    from weldcal.tables.projector import fill

    db = sqlite_utils.Database(connection, execute_plugins=False)
    with db.atomic():
        connection.execute("REINDEX")  # an index that hid an entry would hide its rows too
        create(connection)
        fill(connection, on_progress)
