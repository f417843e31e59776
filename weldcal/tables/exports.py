"""Tables as files: CSV and JSON Lines, units in the column names.

Invariant: an export says what the tables say and nothing else; no cell of it is
taken for a formula by a spreadsheet.
"""

from __future__ import annotations

import csv
import json
import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from weldcal.tables.schema import TABLES

# A cell that begins so is read as a formula (CWE-1236); a quote before it makes it text.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_PEOPLE = {
    "seen_by",
    "entered_by",
    "adopted_by",
    "done_by",
    "to",
    "pulled_by",
    "finished_by",
    "watched_by",
    "withdrawn_by",
}


def write_all(
    connection: sqlite3.Connection, folder: Path, *, people: bool = True
) -> Iterator[tuple[str, int]]:
    """Write every table to `folder` as NAME.csv and NAME.jsonl; yields name and rows.

    Args:
        folder: made if it is not there.
        people: False leaves names of people out.

    Raises:
        OSError: a file cannot be written.
    """
    import sqlite_utils

    db = sqlite_utils.Database(connection, execute_plugins=False)
    folder.mkdir(parents=True, exist_ok=True)
    for name in TABLES:
        if name == "people" and not people:
            continue
        columns = [c for c in TABLES[name] if people or c not in _PEOPLE]
        rows = [
            {c: row[c] for c in columns}
            for row in map(dict, db.table(name).rows_where(order_by="rowid"))
        ]
        if not people and name == "amendments":  # a corrected name is a name
            for row in rows:
                if str(row["path"]).endswith("by"):
                    row["old"] = row["new"] = None
        if not people and name == "withdrawn":  # what was said may hold names anywhere
            for row in rows:
                row["said"] = None
        _write(
            folder / f"{name}.csv",
            lambda file, rows=rows, columns=columns: _csv(file, columns, rows),
        )
        _write(folder / f"{name}.jsonl", lambda file, rows=rows: _jsonl(file, rows))
        yield name, len(rows)


def _csv(file: Any, columns: list[str], rows: list[dict[str, Any]]) -> None:
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows([_cell(row[c]) for c in columns] for row in rows)


def _cell(value: Any) -> Any:
    return f"'{value}" if isinstance(value, str) and value.startswith(_FORMULA) else value


def _jsonl(file: Any, rows: list[dict[str, Any]]) -> None:
    for row in rows:
        file.write(json.dumps(row, ensure_ascii=False) + "\n")


def _write(path: Path, fill: Any) -> None:
    """Write a file whole or not at all, readable by its owner only."""
    part = path.with_name(f"{path.name}.{os.getpid()}.part")
    made = os.open(part, os.O_CREAT | os.O_TRUNC | os.O_WRONLY, 0o600)
    try:
        with os.fdopen(made, "w", encoding="utf-8", newline="") as file:
            fill(file)
        part.replace(path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise
