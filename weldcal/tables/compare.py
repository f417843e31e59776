"""Do the tables still follow from the entries? Derived anew, and compared row by row.

Invariant: nothing is mended here; every difference is named. Rows are held as
digests, so that a whole check of a large book costs little memory; only rows
that differ are made a second time, to say how.
"""

from __future__ import annotations

import json
import sqlite3
from hashlib import blake2b

from msgspec import msgpack

from weldcal.log import chain
from weldcal.long_work import Progress, no_progress
from weldcal.tables import projector
from weldcal.tables.schema import TABLES
from weldcal.words import _

Row = dict[str, object]
RowAt = tuple[str, str]  # table, and a row's id as `repr` writes it
_encode = msgpack.Encoder().encode


def table_faults(
    connection: sqlite3.Connection, on_progress: Progress = no_progress
) -> list[chain.Fault]:
    """Where the rows kept are not the rows the entries make, and entries that make none.

    Args:
        connection: its rows can be read by name.
        on_progress: called with how far it is.
    """
    faults: list[chain.Fault] = []
    wanted = _digests(connection, faults, on_progress)
    kept: dict[RowAt, Row] = {}
    for n, (table, columns) in enumerate(TABLES.items()):
        on_progress(_("comparing"), n, len(TABLES))
        try:
            faults += _odd_columns(connection, table, columns) or _left_over(
                connection, table, wanted[table], kept
            )
        except sqlite3.DatabaseError as error:
            faults.append(chain.Fault("-", f"table {table}", "a table", str(error)))
    if kept or any(wanted.values()):
        faults += _differences(_made_again(connection, wanted), kept)
    return faults


def _digests(
    connection: sqlite3.Connection, faults: list[chain.Fault], on_progress: Progress
) -> dict[str, set[bytes]]:
    """The digest of every row that the entries make, by table; what cannot be read is a fault."""
    wanted: dict[str, set[bytes]] = {table: set() for table in TABLES}
    unread: list[tuple[str, str]] = []
    columns = {table: tuple(names) for table, names in TABLES.items()}
    for table, row in projector.derived(connection, unread, on_progress):
        wanted[table].add(_digest(tuple(map(row.get, columns[table]))))
    faults += [chain.Fault(subject, "payload", "a record", why) for subject, why in sorted(unread)]
    return wanted


def _digest(values: tuple[object, ...]) -> bytes:
    return blake2b(_encode(values), digest_size=16).digest()


def _odd_columns(
    connection: sqlite3.Connection, table: str, columns: dict[str, type]
) -> list[chain.Fault]:
    """That a table has other columns than its own, if it has rows."""
    cursor = connection.execute(f'SELECT * FROM "{table}" LIMIT 1')
    names = {one[0] for one in cursor.description}
    if names == set(columns) or cursor.fetchone() is None:
        return []
    found = ", ".join(sorted(names ^ set(columns)))
    return [chain.Fault("-", f"table {table}", "its columns", found)]


def _left_over(
    connection: sqlite3.Connection, table: str, wanted: set[bytes], kept: dict[RowAt, Row]
) -> list[chain.Fault]:
    """Strike what is kept off what is wanted; rows nobody wanted go into `kept`."""
    names = list(TABLES[table])
    listed = ", ".join(f'"{name}"' for name in names)
    cursor = connection.cursor()
    cursor.row_factory = None
    due, total = len(wanted), 0
    doubled = False  # `kept` holds one of those under one id
    for values in cursor.execute(f'SELECT {listed} FROM "{table}"'):
        total += 1
        digest = _digest(values)
        if digest in wanted:
            wanted.remove(digest)
        else:
            row = dict(zip(names, values, strict=True))
            place = (table, repr(row["id"]))
            doubled |= place in kept
            kept[place] = row
    if not doubled:
        return []
    return [chain.Fault("-", f"table {table}", f"{due} rows", f"{total} rows")]


def _made_again(connection: sqlite3.Connection, wanted: dict[str, set[bytes]]) -> dict[RowAt, Row]:
    """The rows whose digests nothing kept matched."""
    found: dict[RowAt, Row] = {}
    for table, row in projector.derived(connection, []):
        whole = {**dict.fromkeys(TABLES[table]), **row}
        if _digest(tuple(whole.values())) in wanted[table]:
            found[table, repr(row["id"])] = whole
    return found


def _differences(made: dict[RowAt, Row], kept: dict[RowAt, Row]) -> list[chain.Fault]:
    """What differs, table by table; 1 and 1.0 are one value to SQLite, and here."""
    order = {table: n for n, table in enumerate(TABLES)}
    faults = []
    for table, key in sorted(made.keys() | kept.keys(), key=lambda p: (order[p[0]], p[1])):
        wanted, found = made.get((table, key)), kept.get((table, key))
        if wanted != found:
            expected, shown = _difference(wanted, found)
            faults.append(chain.Fault(key.strip("'"), f"table {table}", expected, shown))
    return faults


def _difference(made: Row | None, kept: Row | None) -> tuple[str, str]:
    if made is None:
        return "no row", "a row"
    if kept is None:
        return "a row", "no row"
    names = [name for name in made if made[name] != kept.get(name)]
    return _shown(made, names), _shown(kept, names)


def _shown(row: Row, names: list[str]) -> str:
    return json.dumps({name: row.get(name) for name in names}, ensure_ascii=False, default=repr)
