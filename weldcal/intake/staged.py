"""A sheet on its way into the book: its rows on disk, compared with what is here already.

Invariant: what a row says, but for its name and its place in a file, is one text: two rows that
say the same have the same. However many rows there are, only some of them are held at once, and
the file is read once, whatever is done with it then.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Iterable, Iterator
from hashlib import blake2b
from types import TracebackType

import msgspec
from msgspec import Struct

from weldcal.intake.row import Refusal
from weldcal.json_values import Payload
from weldcal.records.plausible import SpeedSeen

_AT_ONCE = 1000  # rows handed on at a time
_SHOWN = 20  # refusals shown where nothing is recorded: as many as a screen holds

_SCHEMA = """
CREATE TABLE rows (n INTEGER PRIMARY KEY, row INTEGER, said BLOB, payload BLOB, found BLOB,
    key TEXT, seen_utc TEXT, speed_text TEXT, speed_unit TEXT);
CREATE INDEX rows_key ON rows (key, seen_utc) WHERE key IS NOT NULL;
CREATE TABLE refused (row INTEGER, "column" TEXT, value TEXT, why TEXT);
CREATE TABLE here (kind TEXT, said BLOB, tick INTEGER, device TEXT, id TEXT);
CREATE INDEX here_said ON here (said, tick, device);
CREATE TABLE planned (n INTEGER PRIMARY KEY, here TEXT, alike INTEGER, id TEXT, name TEXT, found BLOB);
"""

# Rows alike are matched one for one with records alike, the first with the first. `alike` is the
# first row that says the same and is not here.
_PLAN = """
INSERT INTO planned (n, here, alike)
WITH mine AS (SELECT n, row, said, row_number() OVER (PARTITION BY said ORDER BY n) AS k FROM rows),
there AS (SELECT said, id, row_number() OVER (PARTITION BY said ORDER BY tick, device) AS k
    FROM here WHERE kind = ?)
SELECT n, id, min(CASE WHEN id IS NULL THEN row END) OVER (PARTITION BY said)
FROM mine LEFT JOIN there USING (said, k)
"""


class StagedRow(Struct, frozen=True):
    """A row of a sheet before it is recorded.

    Attributes:
        n: counts the rows that can be kept.
        row: its number in the file.
        payload: its record, without a name.
        found: payloads of what a walk found.
        here: id of the record that says the same and is here already.
    """

    n: int
    row: int
    payload: Payload
    found: list[Payload]
    here: str | None


class KeptRow(Struct, frozen=True):
    """A row of a sheet as it was recorded.

    Attributes:
        row: its number in the file.
        id: of its record.
        alike: the first row of the file that says the same.
        new: recorded now; else only what was found is.
        found: payloads of what a walk found, recorded now.
    """

    row: int
    id: str
    payload: Payload
    alike: int | None
    new: bool
    found: list[Payload]


class Staged:
    """The rows of one sheet, in a database of their own that is gone when closed.

    Attributes:
        file: the sheet's name.
        by: who brings it.
        rows: how many of its rows hold anything.
        ignored: headers not known.
        compared: the book, as it was when the rows were last compared with it.
    """

    def __init__(self, file: str, by: str, rows: int, ignored: tuple[str, ...]) -> None:
        self.file = file
        self.by = by
        self.rows = rows
        self.ignored = ignored
        self.compared: tuple[sqlite3.Connection, int] | None = None
        # No name: a file of the temporary folder that nobody else sees.
        self._db = sqlite3.connect("", isolation_level=None)
        self._db.executescript(f"PRAGMA synchronous = OFF; BEGIN; {_SCHEMA}")

    def __enter__(self) -> Staged:
        """Closed at the end."""
        return self

    def __exit__(
        self,
        _kind: type[BaseException] | None,
        _error: BaseException | None,
        _at: TracebackType | None,
    ) -> None:
        """Close, and so drop the rows."""
        self._db.close()

    # -- filled from the file --------------------------------------------------------------

    def add(
        self,
        row: int,
        payload: Payload,
        found: list[Payload],
        key: str | None = None,
        speed: SpeedSeen | None = None,
    ) -> None:
        """Put a row in.

        Args:
            row: its number in the file.
            payload: its record, without a name.
            found: what a walk found.
            key: whose speeds are compared: machine and sheet.
            speed: its own.
        """
        self._db.execute(
            "INSERT INTO rows (row, said, payload, found, key, seen_utc, speed_text, speed_unit) "
            "VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            (
                row,
                content_hash(payload),
                msgspec.json.encode(payload),
                msgspec.json.encode(found) if found else None,
                key,
                speed.seen_utc if speed else None,
                speed.text if speed else None,
                speed.unit if speed else None,
            ),
        )

    def refuse(self, refusal: Refusal) -> None:
        """Note a cell that cannot be taken."""
        values = (refusal.row, refusal.column, refusal.value, refusal.why)
        self._db.execute("INSERT INTO refused VALUES (?, ?, ?, ?)", values)

    def leave(self, rows: Collection[int]) -> None:
        """Leave these rows of the file out."""
        self._db.executemany("DELETE FROM rows WHERE row = ?", ((row,) for row in rows))
        self.compared = None

    # -- asked ---------------------------------------------------------------------------------

    def good(self) -> int:
        """How many rows can be kept."""
        return self._count("SELECT count(*) FROM rows")

    def bad(self) -> int:
        """How many rows have a cell that cannot be taken."""
        return self._count("SELECT count(DISTINCT row) FROM refused")

    def refusals(self) -> Iterator[Refusal]:
        """Every cell that cannot be taken."""
        for values in self._db.execute("SELECT * FROM refused ORDER BY rowid"):
            yield Refusal(*values)

    def first_refusals(self) -> tuple[list[Refusal], int]:
        """As many refusals as a screen holds, and how many more there are."""
        first = [
            Refusal(*values)
            for values in self._db.execute(f"SELECT * FROM refused ORDER BY rowid LIMIT {_SHOWN}")
        ]
        return first, self._count("SELECT count(*) FROM refused") - len(first)

    def speed_before(self, key: str, seen_utc: str) -> SpeedSeen | None:
        """The last speed of a machine and sheet in this file before a moment, of rows not here already."""
        found = self._db.execute(
            "SELECT seen_utc, speed_text, speed_unit FROM rows JOIN planned USING (n) "
            "WHERE key = ? AND seen_utc < ? AND here IS NULL ORDER BY seen_utc DESC, n DESC LIMIT 1",
            (key, seen_utc),
        ).fetchone()
        return SpeedSeen(*found) if found else None

    # -- compared with the book ----------------------------------------------------------------

    def compare(self, kind: str, here: Iterable[tuple[str, Payload, int, str, str]]) -> None:
        """Find which rows are here already.

        Args:
            kind: of the rows' records.
            here: (kind, payload, tick, device, id) of the records that the book has.
        """
        self._db.execute("DELETE FROM here")
        self._db.execute("DELETE FROM planned")
        self._db.executemany(
            "INSERT INTO here VALUES (?, ?, ?, ?, ?)",
            (
                (what, content_hash(payload), tick, device, id_)
                for what, payload, tick, device, id_ in here
            ),
        )
        self._db.execute(_PLAN, (kind,))

    def take_here(self, kind: str, payload: Payload) -> bool:
        """Whether a record that says this is here; the next one that says the same finds another."""
        found = self._db.execute(
            "SELECT rowid FROM here WHERE said = ? AND kind = ? LIMIT 1",
            (content_hash(payload), kind),
        ).fetchone()
        if found:
            self._db.execute("DELETE FROM here WHERE rowid = ?", found)
        return found is not None

    def batches(self, *, fresh: bool) -> Iterator[list[StagedRow]]:
        """The rows, some at a time.

        Args:
            fresh: only those that are not here already.
        """
        only = "AND here IS NULL" if fresh else ""
        n = 0
        while some := self._db.execute(
            "SELECT n, row, payload, rows.found, here FROM rows JOIN planned USING (n) "
            f"WHERE n > ? {only} ORDER BY n LIMIT {_AT_ONCE}",
            (n,),
        ).fetchall():
            n = some[-1][0]
            yield [
                StagedRow(
                    n=place,
                    row=row,
                    payload=msgspec.json.decode(payload),
                    found=msgspec.json.decode(found) if found else [],
                    here=here,
                )
                for place, row, payload, found, here in some
            ]

    def keep(self, kept: Iterable[tuple[int, str, str, list[Payload]]]) -> None:
        """Note what was recorded: (n, id, name, what was found) of each row."""
        self._db.executemany(
            "UPDATE planned SET id = ?2, name = ?3, found = ?4 WHERE n = ?1",
            ((n, id_, name, msgspec.json.encode(found)) for n, id_, name, found in kept),
        )

    def counts(self) -> tuple[int, int]:
        """How many rows were recorded, in part at least, and how many of them whole."""
        return (
            self._count("SELECT count(id) FROM planned"),
            self._count("SELECT count(id) FROM planned WHERE here IS NULL"),
        )

    def kept(self) -> Iterator[list[KeptRow]]:
        """The rows recorded, some at a time."""
        n = 0
        while some := self._db.execute(
            "SELECT n, row, id, name, payload, alike, here, planned.found FROM rows "
            f"JOIN planned USING (n) WHERE n > ? AND id IS NOT NULL ORDER BY n LIMIT {_AT_ONCE}",
            (n,),
        ).fetchall():
            n = some[-1][0]
            yield [
                KeptRow(
                    row=row,
                    id=id_,
                    payload={**msgspec.json.decode(payload), "name": name},
                    alike=alike if alike != row and here is None else None,
                    new=here is None,
                    found=msgspec.json.decode(found),
                )
                for _n, row, id_, name, payload, alike, here, found in some
            ]

    def _count(self, sql: str) -> int:
        number: int = self._db.execute(sql).fetchone()[0]
        return number


def content_hash(payload: Payload) -> bytes:
    """All a record says but its name and its place in a file, as 16 bytes."""
    kept = {key: value for key, value in payload.items() if key not in ("name", "source")}
    return blake2b(msgspec.json.encode(kept, order="sorted"), digest_size=16).digest()
