"""Tables as files: CSV and JSON Lines, units in the column names.

Invariant: an export says what the tables say and nothing else; it is there as a
whole or not at all; no cell of it is taken for a formula by a spreadsheet.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from weldcal.csv_file import write_csv
from weldcal.long_work import Progress, atomic_writes, no_progress, with_progress
from weldcal.tables.schema import TABLES

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
    connection: sqlite3.Connection,
    folder: Path,
    *,
    people: bool,
    on_progress: Progress = no_progress,
) -> Iterator[tuple[str, int]]:
    """Write every table to `folder` as NAME.csv and NAME.jsonl; yields name and rows.

    Args:
        folder: made if it is not there.
        people: False leaves names of people out.
        on_progress: called with each table's name.

    Raises:
        OSError: a file cannot be written.
    """
    made = not folder.exists()
    folder.mkdir(parents=True, exist_ok=True)
    try:
        with atomic_writes() as opened:
            for name in TABLES:
                if name == "people" and not people:
                    continue
                columns = [c for c in TABLES[name] if people or c not in _PEOPLE]
                rows = _rows(connection, name, columns, on_progress)
                if not people:
                    _without_names(name, rows)
                write_csv(opened(folder / f"{name}.csv"), columns, rows)
                _jsonl(opened(folder / f"{name}.jsonl"), rows)
                yield name, len(rows)
    except BaseException:
        if made:
            folder.rmdir()
        raise


def _rows(
    connection: sqlite3.Connection, name: str, columns: list[str], on_progress: Progress
) -> list[dict[str, object]]:
    cursor = connection.cursor()
    cursor.row_factory = None
    (total,) = cursor.execute(f'SELECT count(*) FROM "{name}"').fetchone()
    listed = ", ".join(f'"{column}"' for column in columns)
    kept = cursor.execute(f'SELECT {listed} FROM "{name}" ORDER BY rowid')
    rows = with_progress(kept, name, total, on_progress)
    return [dict(zip(columns, values, strict=True)) for values in rows]


def _without_names(name: str, rows: list[dict[str, object]]) -> None:
    """Empty the cells of a table that may hold a name under another heading than a person's."""
    if name == "amendments":  # a corrected name is a name
        for row in rows:
            if str(row["path"]).endswith("by"):
                row["old"] = row["new"] = None
    if name == "sames":
        for row in rows:
            if row["what"] == "person":
                row["one"] = row["other"] = None
    if name == "withdrawn":  # what was said may hold names anywhere
        for row in rows:
            row["said"] = None


def _jsonl(raw: BinaryIO, rows: list[dict[str, object]]) -> None:
    for row in rows:
        raw.write(json.dumps(row, ensure_ascii=False).encode("utf-8") + b"\n")
