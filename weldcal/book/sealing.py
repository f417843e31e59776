"""Seals: made, handed over, and the record held against one.

Invariant: what a seal seals is reached again from its heads, hash by hash.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from weldcal.book.core import Recorded
from weldcal.book.foreman import Foreman
from weldcal.errors import Misplaced
from weldcal.log import chain, seal, signing
from weldcal.log.entry import Entry
from weldcal.records.codec import decode
from weldcal.records.fields import plain_name
from weldcal.records.seal import Handed, Head, Seal
from weldcal.words import _


class Sealing(Foreman):
    """The verbs `seal` and `hand`."""

    def seal(
        self, label: str | None = None, *, by: str | None = None, key: Path | None = None
    ) -> dict[str, Any]:
        """Seal all that is recorded so far; the seal's row.

        Raises:
            FileTrouble: `key` cannot be read.
        """
        seen = self.seen(by, None)
        label = plain_name(_("label"), label or self._day(seen.at))
        job = self.job
        with self.writing(self.typist(seen.by)) as writer:
            heads = chain.leaves(writer.connection)
            count = writer.connection.execute("SELECT count(*) FROM entries").fetchone()[0]
            record = Seal(
                name=writer.next_name("L", job.id),
                label=label,
                seen=seen,
                entries=count,
                heads=tuple(Head(device=d, seq=seq, hash=kept) for d, seq, kept in heads),
                counts=self._counts(writer.connection, job.id),
            )
            said = seal.statement(job.id, record)
            public, signature = signing.sign(key, said) if key else (None, None)
            record = replace(record, code=seal.code(said), key=public, signature=signature)
            writer.add("seal", record, job=job.id)
        return self.find(record.name)

    def hand(
        self, name: str, to: str, how: str, *, by: str | None = None, at: str | None = None
    ) -> Recorded:
        """Record to whom a seal was handed, and how.

        Raises:
            Misplaced: the name is not of a seal.
        """
        row = self.find(name)
        if row["table"] != "seals":
            raise Misplaced(text=name, why=_("only a seal is handed over; type its name, like L1"))
        record = Handed(
            to=plain_name(_("to whom"), to), how=plain_name(_("how"), how), seen=self.seen(by, at)
        )
        with self.writing(self.typist(record.seen.by)) as writer:
            writer.add("handed", record, job=self.job.id, about=row["id"])
        return Recorded(row["id"], row["name"])

    def seals(self) -> list[dict[str, Any]]:
        """The job's seals, with to whom each was handed."""
        rows = self.rows("SELECT * FROM seals WHERE job = ? ORDER BY tick", (self.job.id,))
        for row in rows:
            row["handed"] = self.rows(
                'SELECT * FROM handed WHERE "of" = ? ORDER BY tick', (row["id"],)
            )
        return rows

    def verify_seal(self, code: str) -> tuple[dict[str, Any] | None, list[chain.Fault]]:
        """Whether the record still is what a seal says: the seal's row, and all faults.

        Raises:
            Mistyped: it is no code.
        """
        wanted = seal.read_code(code)
        connection = self.reading()
        found = [
            e for e in self._entries_of_kind(connection, "seal") if e.payload.get("code") == wanted
        ]
        if not found:
            return None, [
                chain.Fault("-", "seal", f"a seal with code {wanted}", "none in this book")
            ]
        entry = found[0]
        return {"entry": entry.id, "at": entry.at, **entry.payload}, self._seal_faults(
            connection, entry
        )

    def _seal_faults(self, connection: sqlite3.Connection, entry: Entry) -> list[chain.Fault]:
        try:
            kept: Seal = decode("seal", entry.payload)
        except ValueError as error:
            return [chain.Fault(entry.id, "seal", "a seal", str(error))]
        said = seal.statement(entry.job or "", kept)
        faults = []
        if seal.code(said) != kept.code:
            faults.append(chain.Fault(entry.id, "seal", kept.code, seal.code(said)))
        before = {e.hash: e.prev for e in chain.entries(connection)}
        sealed: set[str] = set()
        for head in kept.heads:
            if head.hash not in before:
                what = f"sealed entry {head.seq} of device {head.device}"
                faults.append(chain.Fault(entry.id, what, head.hash, "not in this book"))
            at = head.hash
            while at in before and at not in sealed:
                sealed.add(at)
                at = before[at]
        if len(sealed) != kept.entries:
            faults.append(chain.Fault(entry.id, "seal count", str(kept.entries), str(len(sealed))))
        if kept.signature and not signing.holds(kept.key or "", kept.signature, said):
            faults.append(chain.Fault(entry.id, "signature", "of this seal", "of something else"))
        return faults

    def _counts(self, connection: sqlite3.Connection, job: str) -> dict[str, int]:
        rows = connection.execute(
            "SELECT kind, count(*) FROM entries WHERE job = ? GROUP BY kind ORDER BY kind", (job,)
        )
        return dict(rows.fetchall())

    def _entries_of_kind(self, connection: sqlite3.Connection, kind: str) -> Iterator[Entry]:
        return chain.readable(
            connection.execute(
                f"SELECT body, hash FROM entries WHERE kind = ? {chain.ORDER}", (kind,)
            )
        )
