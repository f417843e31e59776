"""Do the tables still follow from the entries? Derived anew, and compared row by row.

Invariant: nothing is mended here; every difference is named.
"""

from __future__ import annotations

import json
import sqlite3
from typing import Any

from weldcal.log import chain
from weldcal.long_work import Beat, silent
from weldcal.tables import projector
from weldcal.tables.schema import TABLES
from weldcal.words import _


def table_faults(connection: sqlite3.Connection, beat: Beat = silent) -> list[chain.Fault]:
    """Where the rows kept are not the rows the entries make, and entries that make none.

    Args:
        connection: its rows can be read by name.
    """
    faults: list[chain.Fault] = []
    derived, unread = projector.derive(connection, beat)
    faults += [chain.Fault(subject, "payload", "a record", why) for subject, why in unread]
    for n, (table, columns) in enumerate(TABLES.items()):
        beat(_("comparing"), n, len(TABLES))
        try:
            kept = [dict(row) for row in connection.execute(f"SELECT * FROM {table}")]
            faults += _compared(table, columns, derived.get(table, []), kept)
        except sqlite3.DatabaseError as error:
            faults.append(chain.Fault("-", f"table {table}", "a table", str(error)))
    return faults


def _compared(
    table: str, columns: dict[str, type], made: list[dict[str, Any]], kept: list[dict[str, Any]]
) -> list[chain.Fault]:
    """Where the rows kept differ from the rows the entries make."""
    if kept and set(kept[0]) != set(columns):
        found = ", ".join(sorted(set(kept[0]) ^ set(columns)))
        return [chain.Fault("-", f"table {table}", "its columns", found)]
    rows = {repr(row["id"]): row for row in kept}
    wanted = {repr(row["id"]): dict.fromkeys(columns) | row for row in made}
    faults = []
    for key in sorted(rows.keys() | wanted.keys()):
        if rows.get(key) != wanted.get(key):
            expected, found = _difference(wanted.get(key), rows.get(key))
            faults.append(chain.Fault(key.strip("'"), f"table {table}", expected, found))
    if len(kept) != len(rows):
        faults.append(chain.Fault("-", f"table {table}", f"{len(rows)} rows", f"{len(kept)} rows"))
    return faults


def _difference(made: dict[str, Any] | None, kept: dict[str, Any] | None) -> tuple[str, str]:
    if made is None:
        return "no row", "a row"
    if kept is None:
        return "a row", "no row"
    names = [name for name in made if made[name] != kept.get(name)]
    return _shown(made, names), _shown(kept, names)


def _shown(row: dict[str, Any], names: list[str]) -> str:
    return json.dumps({name: row.get(name) for name in names}, ensure_ascii=False, default=repr)
