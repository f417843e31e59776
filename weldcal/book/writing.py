"""What a transaction of the book adds: entries, their rows, their short names.

Invariant: short names (S7, F3) are given inside the transaction of their entry,
and one that was ever given is never given again.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from itertools import islice
from typing import TypeVar

from msgspec import Struct
from msgspec.structs import replace

from weldcal.log import chain
from weldcal.long_work import Progress, no_progress
from weldcal.records.codec import SHORT_NAMED, encode

S = TypeVar("S", bound=Struct)

_AT_ONCE = 2000

# Letter of a short name -> its table and what people call the thing.
LETTERS = {
    "S": ("strips", "strip"),
    "R": ("runs", "run"),
    "B": ("bleeds", "bleed check"),
    "W": ("walks", "probe walk"),
    "T": ("widths", "lap width"),
    "F": ("findings", "finding"),
    "M": ("mends", "mend"),
    "P": ("peels", "peel sample"),
    "L": ("seals", "seal"),
    "H": ("hot_work", "hot work"),
    "C": ("covers", "cover"),
    "K": ("leaks", "leak"),
    "D": ("draws", "drawn places"),
    "O": ("openings", "opening"),
    "V": ("punch", "item of a visit"),
    "Y": ("looks", "yearly look"),
}


class Writer(Struct):
    """Appends entries and their rows inside one transaction."""

    connection: sqlite3.Connection
    device: str
    at: str
    who: str
    job: str | None  # the id of theirs; none as long as there is none
    # The last number given to each kind: asked of the book once a transaction.
    last: dict[str, int] = {}

    def add(self, kind: str, record: object, about: str | None = None) -> str:
        """Append one record; return the id of its entry.

        Args:
            kind: of the entry.
            record: what it says.
            about: id of the record it is of; its own, where not given.
        """
        return self.add_all([chain.NewEntry(kind, encode(record), self.job, about)])[0]

    def named(self, kind: str, record: S) -> S:
        """A record under the next short name of its kind.

        Args:
            kind: one that has short names.
            record: as typed.
        """
        return replace(record, name=self.next_name(kind))

    def add_all(
        self, drafts: Iterable[chain.NewEntry], on_progress: Progress = no_progress
    ) -> list[str]:
        """Append many records at once, at less cost for each; return the ids of their entries.

        Some thousands at a time, so that no more of them are held than that.

        Args:
            drafts: the records.
            on_progress: called with how far it is.
        """
        from weldcal.tables import projector  # reading the day does not wait for it

        ids: list[str] = []
        left = iter(drafts)
        while some := list(islice(left, _AT_ONCE)):
            made = chain.append(self.connection, self.device, self.at, self.who, some)
            # What begins a subject is all there is of it: nothing has to be read back.
            begun = all(draft.about is None for draft in some)
            entries_by_subject = {entry.about: [entry] for entry in made} if begun else None
            projector.project(
                self.connection, [entry.about for entry in made], on_progress, entries_by_subject
            )
            ids += [str(entry.id) for entry in made]
        return ids

    def next_name(self, kind: str) -> str:
        """The next short name of a kind on this job.

        Args:
            kind: one that has short names.
        """
        if kind not in self.last:
            self.last[kind] = self.last_given(kind)
        self.last[kind] += 1
        return f"{SHORT_NAMED[kind]}{self.last[kind]}"

    def last_given(self, kind: str) -> int:
        """The highest number of a kind's names that the book holds, taken back or not.

        Args:
            kind: one that has short names.
        """
        table, _what = LETTERS[SHORT_NAMED[kind]]
        last = self.connection.execute(
            f"SELECT max(CAST(substr(name, 2) AS INTEGER)) FROM (SELECT name FROM {table} WHERE job = ?1 "
            "UNION ALL SELECT name FROM withdrawn WHERE job = ?1 AND was_in = ?2)",
            (self.job, table),
        ).fetchone()[0]
        return last or 0
