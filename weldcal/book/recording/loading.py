"""Other people's sheets into the book: all rows, or none unless told otherwise.

Invariant: every row is either recorded or refused with its row, column, value and what would be
accepted; a load is one transaction. However many rows there are, only some of them are held at
once: the file is read into a database of its own (`intake/staged.py`) and handed on from there.
What was made before the lock (`Ahead`) and is put in under it is what would have been made
under it, as long as nobody has written to the book since the entries' place was read; whoever
puts it in makes sure of that.
"""

from __future__ import annotations

import sqlite3
from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable, Iterator, Sized
from contextlib import ExitStack, closing, contextmanager
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, ClassVar, Protocol, TypeVar

from msgspec.structs import replace

from weldcal.book.core import Note
from weldcal.book.writing import Writer
from weldcal.errors import LoadRefused
from weldcal.intake.kept import LoadDone, RowKept
from weldcal.intake.row import Refusal
from weldcal.intake.staged import KeptRow, Staged, StagedRow
from weldcal.json_values import Payload
from weldcal.log import chain, store
from weldcal.long_work import Progress, no_progress, with_progress
from weldcal.records.fields import same_name
from weldcal.tables.schema import TABLES
from weldcal.words import plural

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.recording.transactions import Transactions
    from weldcal.book.whole import Book
    from weldcal.book.writing import Writer


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
            made = self._side.execute(
                f'SELECT {names} FROM "{table}" WHERE rowid > ? ORDER BY {order}',
                (self._known.get(table, 0),),
            )
            _insert(connection, table, made)
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


Read = TypeVar("Read", covariant=True)


class SheetFile(Protocol[Read]):
    """A file that can be read as a sheet of one kind."""

    @property
    def rows(self) -> Sized:
        """Those that hold anything."""

    @property
    def ignored(self) -> tuple[str, ...]:
        """Headers not known."""

    def read(self, on_progress: Progress = ...) -> Iterator[Read | Refusal]:
        """What its rows say, and every bad cell of the others."""


class Sheets(ABC):
    """Takes in sheets of one kind."""

    # Kinds of the entries that a row may say again; the first is that of the row itself.
    _kinds: ClassVar[tuple[str, ...]]

    def __init__(
        self, reader: JobReader, transactions: Transactions, at: Callable[[Path], Book]
    ) -> None:
        self._reader = reader
        self._transactions = transactions
        self._at = at

    @contextmanager
    def trial(self) -> Iterator[Book]:
        """A copy of the book to try a verb on: what it would do, with nothing kept and no lock held."""
        with TemporaryDirectory(prefix="weldcal-") as folder:
            path = Path(folder) / "trial.sqlite"
            copy = sqlite3.connect(path)
            try:
                with store.trouble(self._reader.path):
                    self._reader.reading().backup(copy)
            finally:
                copy.close()
            tried = self._at(path)
            try:
                yield tried
            finally:
                tried.close()

    def _staged(
        self,
        file: SheetFile[Read],
        name: str,
        by: str,
        stage: Callable[[Staged, Read, Callable[[str], str]], None],
        *,
        keep_good: bool,
        on_progress: Progress,
    ) -> Staged:
        """What a file holds, each row staged or refused; to be closed.

        Args:
            file: as it can be read.
            name: the file's, for a refusal.
            by: who brings it.
            stage: puts in one thing read; it is given the name under which a person is listed.
            keep_good: whether good rows are taken from a sheet with bad ones.
            on_progress: called with how far it is.

        Raises:
            LoadRefused: a row cannot be read, and `keep_good` was not asked.
        """
        listed = cache(self._reader.person)
        with ExitStack() as unless_whole:
            staged = unless_whole.enter_context(Staged(name, by, len(file.rows), file.ignored))
            for one in file.read(on_progress):
                if isinstance(one, Refusal):
                    staged.refuse(one)
                else:
                    stage(staged, one, listed)
            if not keep_good:
                _refuse_bad(staged)
            unless_whole.pop_all()  # from here it is the caller's to close
        return staged

    def keep(self, staged: Staged, on_progress: Progress = no_progress) -> LoadDone:
        """Record the rows of a sheet in one transaction; what is here already is left alone.

        All is made before the lock, so that others wait only while it is put in; where another
        window has recorded something by then, it is made once more, under the lock.
        """
        self._transactions.connection()  # by which the book is compared, and then written
        typist, book = self._reader.typist(staged.by), self._reader.unchanged()
        with self._ahead(typist) as ahead:
            if ahead is not None:
                with store.trouble(self._reader.path):
                    findings = self._record_all(ahead.writer, staged, on_progress)
            else:
                self._compare(staged)  # before the lock, which is then held the shorter
            with self._transactions.writing(typist) as writer:
                if ahead is not None and self._reader.unchanged() == book:
                    ahead.put(writer.connection)
                else:
                    if ahead is not None:
                        staged.compared = None  # what was made ready is not recorded
                    findings = self._record_all(writer, staged, on_progress)
        kept, whole = staged.counts()
        return LoadDone(whole, findings, staged.good() - kept, staged.bad())

    @contextmanager
    def _ahead(self, typist: str) -> Iterator[Ahead | None]:
        """Where to make things ready before the lock; None where that cannot be."""
        place = self._transactions.beforehand(typist)
        if place is None:
            yield None
            return
        with closing(Ahead(place, self._kinds)) as ahead:
            yield ahead

    def _record_all(self, writer: Writer, staged: Staged, on_progress: Progress) -> int:
        """Record what the book as it is now has not; return how many findings that were."""
        self._compare(staged)
        findings = done = 0
        total = staged.good()
        for rows in staged.batches(fresh=self._kinds == self._kinds[:1]):
            on_progress(self._things(), done, total)
            findings += self._record(writer, staged, rows)
            done += len(rows)
        return findings

    def kept(self, staged: Staged, on_progress: Progress = no_progress) -> Iterator[RowKept]:
        """The rows just recorded, each with the notes that it has when recorded by hand."""
        with_notes = (row for rows in staged.kept() for row in self._notes_of(rows))
        return with_progress(with_notes, self._things(), staged.counts()[0], on_progress)

    @abstractmethod
    def slips(self, staged: Staged) -> Iterator[tuple[int, Note]]:
        """Rows not here already with a value that is likely a slip of the hand, and what it is."""

    @abstractmethod
    def _record(self, writer: Writer, staged: Staged, rows: list[StagedRow]) -> int:
        """Record some rows, note what became of each; return how many findings that were."""

    @abstractmethod
    def _notes_of(self, rows: list[KeptRow]) -> list[RowKept]:
        """Some rows just recorded, with their notes."""

    @abstractmethod
    def _things(self) -> str:
        """What the rows are, for a bar."""

    def _compare(self, staged: Staged) -> None:
        """Find which rows are here already, unless that is known of the book as it is now."""
        now = self._reader.reading(), self._reader.unchanged()[2]
        if staged.compared != now:
            staged.compare(self._kinds[0], self._as_recorded())
            staged.compared = now

    def _as_recorded(self) -> Iterator[tuple[str, Payload, int, str, str]]:
        """What records of this job said when recorded, corrected since or not; none taken back."""
        places = ", ".join("?" * len(self._kinds))
        with store.trouble(self._reader.path):
            rows = self._reader.reading().execute(
                f"SELECT body, hash FROM entries WHERE job = ? AND kind IN ({places}) "
                "AND id NOT IN (SELECT id FROM withdrawn)",
                (self._reader.job.id, *self._kinds),
            )
            for one in chain.readable((row["body"], row["hash"]) for row in rows):
                yield one.kind, one.payload, one.tick, one.device, one.id

    def _only(self, table: str, given: str | None) -> str | None:
        """The name given, as listed; else the only one listed; else None: rows must say."""
        names = self._reader.names_in(table)
        if given is not None:
            return next((name for name in names if same_name(name) == same_name(given)), given)
        return names[0] if len(names) == 1 else None


def _refuse_bad(staged: Staged) -> None:
    """Refuse a sheet that has a row which cannot be read.

    Raises:
        LoadRefused: with the first such cells.
    """
    first, more = staged.first_refusals()
    if not first:
        return
    lines = [refusal.sentence() for refusal in first]
    if more > 0:
        lines.append(plural("and {n} more", "and {n} more", more))
    raise LoadRefused(
        file=staged.file,
        bad=staged.bad(),
        rows=staged.rows,
        good=staged.good(),
        first="".join(f"\n- {line}" for line in lines),
    )
