"""Many entries and their rows, made before the lock and inserted under it.

Invariant: what is put in is what would have been made under the lock, as long as nobody has
written to the book since the entries' place was read; whoever puts it in makes sure of that.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable

from msgspec.structs import replace

from weldcal.book.writing import Writer
from weldcal.log import chain
from weldcal.tables.schema import TABLES

_COLUMNS: dict[str, tuple[str, ...]] = {
    "entries": chain.COLUMNS,
    **{name: tuple(columns) for name, columns in TABLES.items()},
}
_CACHE = 12_000  # KiB: for the indexes of 100,000 entries, whose ids come in the order of hashes


class Ahead:
    """A chain's next entries with their rows, in a database of their own that is gone when closed.

    Attributes:
        writer: makes them; as that of a transaction, but into that database.
    """

    def __init__(self, writer: Writer, kinds: Iterable[str]) -> None:
        """Begin where the book stands.

        Args:
            writer: what a transaction begun now would write with.
            kinds: of the short names that will be given.
        """
        # No name: a file of the temporary folder that nobody else sees.
        self._side = sqlite3.connect("", isolation_level=None)
        self._side.execute("PRAGMA synchronous = OFF")
        self._side.execute("BEGIN")
        for table, columns in _COLUMNS.items():
            self._side.execute(f'CREATE TABLE "{table}" ({_quoted(columns)})')
        # What an entry is made from: the last of its device, the highest tick.
        self._side.execute("CREATE INDEX entries_device ON entries (device, seq)")
        self._side.execute("CREATE INDEX entries_tick ON entries (tick)")
        self._side.execute("CREATE TABLE local (name, value)")
        self._known = {
            "entries": self._copy(writer.connection, "entries", _LAST, (writer.device,)),
            "jobs": self._copy(writer.connection, "jobs", "WHERE id = ?", (writer.job,)),
        }
        last = {kind: writer.last_given(kind) for kind in kinds}
        self.writer = replace(writer, connection=self._side, last=last)

    def close(self) -> None:
        """Drop what was made."""
        self._side.close()

    def put(self, connection: sqlite3.Connection) -> None:
        """Put all that was made into the book, inside the caller's transaction.

        By hash, as the entries lie in the book: in their own order each would cost a page from
        anywhere, read and written again.
        """
        usual = connection.execute("PRAGMA cache_size").fetchone()[0]
        connection.execute(f"PRAGMA cache_size = -{_CACHE}")
        for table, columns in _COLUMNS.items():
            names, order = _quoted(columns), "hash" if table == "entries" else "rowid"
            rows = self._side.execute(
                f'SELECT {names} FROM "{table}" WHERE rowid > ? ORDER BY {order}',
                (self._known.get(table, 0),),
            )
            _insert(connection, table, rows)
        connection.execute(f"PRAGMA cache_size = {usual}")

    def _copy(
        self, book: sqlite3.Connection, table: str, which: str, values: tuple[str | None, ...]
    ) -> int:
        """Copy rows of the book that others are made from; return how many they are."""
        names = _quoted(_COLUMNS[table])
        rows = book.execute(f'SELECT {names} FROM "{table}" {which}', values).fetchall()
        _insert(self._side, table, map(tuple, rows))
        return len(rows)


_LAST = (
    "WHERE hash IN ((SELECT hash FROM entries WHERE device = ? ORDER BY seq DESC LIMIT 1), "
    "(SELECT hash FROM entries ORDER BY tick DESC, device DESC LIMIT 1))"
)


def _insert(connection: sqlite3.Connection, table: str, rows: Iterable[tuple[object, ...]]) -> None:
    columns = _COLUMNS[table]
    marks = ", ".join("?" * len(columns))
    connection.executemany(f'INSERT INTO "{table}" ({_quoted(columns)}) VALUES ({marks})', rows)


def _quoted(columns: Iterable[str]) -> str:
    return ", ".join(f'"{column}"' for column in columns)
