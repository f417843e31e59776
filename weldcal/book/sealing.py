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
from weldcal.log import chain, seal, signing, store
from weldcal.log.entry import Entry
from weldcal.long_work import Beat, silent
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

    def verify(self, beat: Beat = silent) -> tuple[int, list[chain.Fault]]:
        """Recompute the chain, derive the tables anew, and check every seal recorded.

        One moment of the record is looked at, whatever others write meanwhile. The dossier,
        `seal` and `verify` rest on this check.

        Args:
            beat: told how far it is.

        Returns:
            How many entries were read, and all faults.
        """
        from weldcal.tables import compare

        with self.snapshot() as connection, store.trouble(self.path):
            faults = chain.verify_chain(connection, beat)
            faults += compare.table_faults(connection, beat)
            links: dict[str, str] | None = None
            for entry in self._entries_of_kind(connection, "seal"):
                links = _links(connection) if links is None else links
                faults += _seal_faults(entry, links, signed=signing.possible())
            return chain.count_entries(connection), faults

    def verify_seal(self, code: str) -> tuple[dict[str, Any] | None, list[chain.Fault]]:
        """Whether the record still is what a seal says: what was sealed and since, all faults.

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
        entry, links = found[0], _links(connection)
        faults = _seal_faults(entry, links, signed=True)
        about = {"entry": entry.id, "at": entry.at, **entry.payload}
        return {**about, **_since(connection, entry, links)}, faults

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


def _links(connection: sqlite3.Connection) -> dict[str, str]:
    """The hash of every entry, with that of the one before it on its device."""
    return {entry.hash: entry.prev for entry in chain.entries(connection)}


def _sealed(kept: Seal, links: dict[str, str]) -> set[str]:
    """Hashes of the entries that a seal covers and this book holds."""
    sealed: set[str] = set()
    for head in kept.heads:
        at = head.hash
        while at in links and at not in sealed:
            sealed.add(at)
            at = links[at]
    return sealed


def _seal_faults(entry: Entry, links: dict[str, str], *, signed: bool) -> list[chain.Fault]:
    """What of a seal does not hold.

    Args:
        entry: the seal's.
        links: of every entry in the book.
        signed: check its signature, where it has one.
    """
    try:
        kept: Seal = decode("seal", entry.payload)
    except ValueError as error:
        return [chain.Fault(entry.id, "seal", "a seal", str(error))]
    said = seal.statement(entry.job or "", kept)
    faults = []
    if seal.code(said) != kept.code:
        faults.append(chain.Fault(entry.id, "seal", kept.code, seal.code(said)))
    for head in kept.heads:
        if head.hash not in links:
            what = f"sealed entry {head.seq} of device {head.device}"
            faults.append(chain.Fault(entry.id, what, head.hash, "not in this book"))
    count = len(_sealed(kept, links))
    if count != kept.entries:
        faults.append(chain.Fault(entry.id, "seal count", str(kept.entries), str(count)))
    if signed and kept.signature and not signing.holds(kept.key or "", kept.signature, said):
        faults.append(chain.Fault(entry.id, "signature", "of this seal", "of something else"))
    return faults


def _since(connection: sqlite3.Connection, entry: Entry, links: dict[str, str]) -> dict[str, int]:
    """What came after a seal: entries, and corrections or takings back of what was sealed."""
    try:
        sealed = _sealed(decode("seal", entry.payload), links)
    except ValueError:
        return {"entries_since": 0, "corrected_since": 0}
    covered, later = set(), []
    for one in chain.entries(connection):
        if one.hash in sealed:
            covered.add(one.id)
        else:
            later.append(one)
    amends = [one for one in later if one.kind == "amend" and one.about in covered]
    return {"entries_since": len(later) - 1, "corrected_since": len(amends)}
