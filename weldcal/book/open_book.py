"""A book that is open: the moment it is read at, and the rows of a query as their structs.

Invariant: nothing is written here.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import AbstractContextManager
from pathlib import Path
from typing import TypeVar, cast

from weldcal.book.file import BookFile, Clock
from weldcal.book.short_names import ShortNames
from weldcal.log import store

R = TypeVar("R")
V = TypeVar("V", str, int, float)


class OpenBook:
    """Reads a book, of whatever job."""

    def __init__(self, file: BookFile) -> None:
        self._file = file
        self._short_names = ShortNames(file)

    @property
    def path(self) -> Path:
        """The book's file."""
        return self._file.path

    @property
    def clock(self) -> Clock:
        """The present, timezone-aware."""
        return self._file.clock

    @property
    def clock_back(self) -> str | None:
        """The latest time recorded on this device, where the clock went back since."""
        return self._file.clock_back

    @property
    def stamp(self) -> tuple[int, ...]:
        """The file's stamp before the moment that is read now; empty where none is."""
        return self._file.stamp if self._file.in_snapshot else ()

    @property
    def in_snapshot(self) -> bool:
        """Whether one moment is being read."""
        return self._file.in_snapshot

    def reading(self) -> sqlite3.Connection:
        """The connection, for reading.

        Raises:
            NoJob, BookTrouble: there is no book yet, or it cannot be opened.
        """
        return self._file.reading()

    def snapshot(self) -> AbstractContextManager[sqlite3.Connection]:
        """Everything read within is of one moment, whatever others write meanwhile."""
        return self._file.snapshot()

    def instead(self, copy: sqlite3.Connection, clock: Clock) -> AbstractContextManager[None]:
        """Everything read within comes from a copy, at another present.

        Args:
            copy: the connection that takes the place of the book's.
            clock: its present.
        """
        return self._file.instead(copy, clock)

    def unchanged(self) -> tuple[int, int, int]:
        """The same as long as nobody has written to the book."""
        return self._file.unchanged()

    def select(self, row: type[R], sql: str, values: Iterable[object] = ()) -> list[R]:
        """Rows of a query, as the struct that names their columns.

        Args:
            row: a TypedDict with the columns of the query, no more and no fewer.
            sql: a SELECT.
            values: what its question marks stand for.
        """
        return list(self.each(row, sql, values))

    def each(self, row: type[R], sql: str, values: Iterable[object] = ()) -> Iterator[R]:
        """Rows of a query one after another, for those that are too many to hold.

        A short name that two devices gave comes as `ShortNames` calls its record.

        Args:
            row: a TypedDict with the columns of the query, no more and no fewer.
            sql: a SELECT.
            values: what its question marks stand for.
        """
        rows = self.reading().cursor()
        # As tuples: dict(sqlite3.Row) seeks each column by its name, among all of them.
        rows.row_factory = None
        with store.trouble(self.path):
            rows.execute(sql, tuple(values))
            names = [column[0] for column in rows.description]
            shared = self._short_names.called() if {"id", "name"} <= set(names) else {}
            dicts = (dict(zip(names, one, strict=True)) for one in rows)
            if shared:
                dicts = ({**one, "name": shared.get(one["id"], one["name"])} for one in dicts)
            yield from cast("Iterator[R]", dicts)

    def column(self, kind: type[V], sql: str, values: Iterable[object] = ()) -> list[V]:
        """The first column of a query.

        Args:
            kind: what it holds: str, int or float; never empty.
            sql: a SELECT of one column.
            values: what its question marks stand for.
        """
        connection = self.reading()
        with store.trouble(self.path):
            return [row[0] for row in connection.execute(sql, tuple(values))]
