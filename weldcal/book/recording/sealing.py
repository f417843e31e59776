"""Seals: made, handed over, and the record held against one.

Invariant: what is on a seal's paper is what the record was when it was made.
"""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec.structs import replace

from weldcal.book.core import Recorded, Service
from weldcal.log import chain, seal, signing
from weldcal.records.fields import plain_name
from weldcal.records.seal import Handed, Head, Seal
from weldcal.row_types.record import SealRow
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.recording.transactions import Transactions
    from weldcal.book.strips import Strips


class SealRecorder(Service):
    """Seals a day, and notes to whom a seal was handed."""

    _reader: JobReader
    _transactions: Transactions
    _strips: Strips

    def seal(
        self, label: str | None = None, *, by: str | None = None, key: Path | None = None
    ) -> SealRow:
        """Seal all that is recorded so far; the seal's row.

        Args:
            label: the day, where not given.
            by: who; who is typing, where not given.
            key: to sign it with.

        Raises:
            FileTrouble: `key` cannot be read.
        """
        seen = self._reader.seen(by, None)
        label = plain_name(_("label"), label or self._strips.day_of(seen.at))
        job = self._reader.job
        with self._transactions.by(seen) as writer:
            heads = chain.leaves(writer.connection)
            count = writer.connection.execute("SELECT count(*) FROM entries").fetchone()[0]
            record = Seal(
                name=writer.next_name("seal"),
                label=label,
                seen=seen,
                entries=count,
                heads=tuple(Head(device=d, seq=seq, hash=kept) for d, seq, kept in heads),
                counts=self._counts(writer.connection, job.id),
            )
            statement = seal.statement(job.id, record)
            public, signature = signing.sign(key, statement) if key else (None, None)
            record = replace(record, code=seal.code(statement), key=public, signature=signature)
            seal_id = writer.add("seal", record)
        return self._reader.by_id(SealRow, seal_id)

    def hand(
        self, name: str, to: str, how: str, *, by: str | None = None, at: str | None = None
    ) -> Recorded:
        """Record to whom a seal was handed, and how.

        Args:
            name: of the seal.
            to: to whom.
            how: on paper, by mail ...
            by: who; who is typing, where not given.
            at: when, as typed; now, where not given.

        Raises:
            Misplaced: the name is not of a seal.
        """
        why = _("only a seal is handed over; type its name, like L1")
        row = self._reader.find_in(SealRow, name, why)
        record = Handed(
            to=plain_name(_("to whom"), to),
            how=plain_name(_("how"), how),
            seen=self._reader.seen(by, at),
        )
        self._transactions.record("handed", record, row["id"])
        return Recorded(row["id"], row["name"])

    def _counts(self, connection: sqlite3.Connection, job: str) -> dict[str, int]:
        rows = connection.execute(
            "SELECT kind, count(*) FROM entries WHERE job = ? GROUP BY kind ORDER BY kind", (job,)
        )
        return dict(rows.fetchall())
