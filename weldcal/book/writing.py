"""What a transaction of the book adds: entries, their rows, their short names.

Invariant: short names (S7, F3) are given inside the transaction of their entry,
and one that was ever given is never given again.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from itertools import islice

from msgspec import Struct

from weldcal.log import chain
from weldcal.long_work import Beat, silent
from weldcal.records.codec import encode

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
    # The last number given to each (letter, job): asked of the book once a transaction.
    last: dict[tuple[str, str], int] = {}

    def add(
        self,
        kind: str,
        record: object,
        *,
        job: str | None,
        about: str | None = None,
        id: str | None = None,
    ) -> str:
        """Append one record; return the id of its entry.

        Args:
            kind: of the entry.
            record: what it says.
            job: id of its job.
            about: id of the record it is of; its own, where not given.
            id: of the entry; one is made, where not given.
        """
        return self.add_all([chain.NewEntry(kind, encode(record), job, about, id)])[0]

    def add_all(self, drafts: Iterable[chain.NewEntry], beat: Beat = silent) -> list[str]:
        """Append many records at once, at less cost for each; return the ids of their entries.

        Some thousands at a time, so that no more of them are held than that.

        Args:
            drafts: the records.
            beat: hears how far it is.
        """
        from weldcal.tables import projector  # reading the day does not wait for it

        ids: list[str] = []
        left = iter(drafts)
        while some := list(islice(left, _AT_ONCE)):
            made = chain.append(self.connection, self.device, self.at, self.who, some)
            # What begins a subject is all there is of it: nothing has to be read back.
            begun = all(draft.about is None for draft in some)
            told = {entry.about: [entry] for entry in made} if begun else None
            projector.project(self.connection, [entry.about for entry in made], beat, told)
            ids += [str(entry.id) for entry in made]
        return ids

    def next_name(self, letter: str, job: str) -> str:
        """The next short name of a letter on this job.

        Args:
            letter: S for strips, F for findings ...
            job: its id.
        """
        key = (letter, job)
        if key not in self.last:
            self.last[key] = self.last_given(letter, job)
        self.last[key] += 1
        return f"{letter}{self.last[key]}"

    def last_given(self, letter: str, job: str) -> int:
        """The highest number of a letter that the book holds, taken back or not."""
        table, _what = LETTERS[letter]
        last = self.connection.execute(
            f"SELECT max(CAST(substr(name, 2) AS INTEGER)) FROM (SELECT name FROM {table} WHERE job = ?1 "
            "UNION ALL SELECT name FROM withdrawn WHERE job = ?1 AND was_in = ?2)",
            (job, table),
        ).fetchone()[0]
        return last or 0
