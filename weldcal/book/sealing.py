"""Seals: made, handed over, and the record held against one.

Invariant: what is on a seal's paper is what the record was when it was made.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from weldcal.book import checked, proof
from weldcal.book.core import Recorded
from weldcal.book.foreman import Foreman
from weldcal.book.writing import LETTERS
from weldcal.errors import Misplaced
from weldcal.log import chain, seal, signing, store
from weldcal.long_work import Beat, silent
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

    def verify(self, beat: Beat = silent) -> tuple[int, list[chain.Fault]]:
        """Recompute the chain, derive the tables anew, and check every seal recorded.

        One moment of the record is looked at, whatever others write meanwhile. The dossier,
        `seal` and `verify` rest on this check.

        Args:
            beat: told how far it is.

        Returns:
            How many entries were read, and all faults.
        """
        with self.snapshot() as connection, store.trouble(self.path):
            return proof.check(connection, beat)

    def faults_at_a_glance(self, beat: Beat = silent) -> list[chain.Fault]:
        """All faults, as `verify` finds them; none where the short check can say that all holds.

        For pages that are looked at all day. See `book.checked` for what that proves.
        """
        with self.snapshot() as connection, store.trouble(self.path):
            if checked.short(connection, self.path):
                return []
            found = proof.check(connection, beat)[1]
            if not found:
                checked.hold(connection, self.path)
            return found

    def verify_seal(
        self, code: str, key: str | None = None
    ) -> tuple[dict[str, Any] | None, list[chain.Fault]]:
        """Whether the record still is what a seal says: what was sealed and since, all faults.

        Args:
            code: as it stands on paper.
            key: the public key that stands on paper, hex, where one does.

        Raises:
            Mistyped: it is no code.
        """
        wanted = seal.read_code(code)
        connection = self.reading()
        seals = proof.entries_of_kind(connection, "seal")
        found = [e for e in seals if e.payload.get("code") == wanted]
        if not found:
            return None, [
                chain.Fault("-", "seal", f"a seal with code {wanted}", "none in this book")
            ]
        entry = found[0]
        faults = proof.seal_faults(entry, proof.links(connection), signed=True, key=key)
        came = proof.since(connection, entry)
        called = self.names_of([about for about, *_rest in came.corrected])
        corrected = [
            {"of": called.get(about, about), "path": path, "by": by, "at": at}
            for about, path, by, at in came.corrected
        ]
        return {
            "entry": entry.id,
            "at": entry.at,
            **entry.payload,
            "entries_since": came.entries_since,
            "corrected_since": len(corrected),
            "corrected": corrected,
            "ends": [list(end) for end in came.ends],
            "clocks_back": came.clocks_back,
        }, faults

    def names_of(self, ids: Sequence[str]) -> dict[str, str]:
        """The short names, or the seam's names, of records by their ids, taken back or not."""
        found: dict[str, str] = {}
        wanted = set(ids)
        for table in [*(t for t, _what in LETTERS.values()), "seams", "withdrawn"] if ids else []:
            for row in self.rows(f"SELECT id, name FROM {table}"):
                if row["id"] in wanted and row["name"]:
                    found[row["id"]] = row["name"]
        return found

    def _counts(self, connection: sqlite3.Connection, job: str) -> dict[str, int]:
        rows = connection.execute(
            "SELECT kind, count(*) FROM entries WHERE job = ? GROUP BY kind ORDER BY kind", (job,)
        )
        return dict(rows.fetchall())
