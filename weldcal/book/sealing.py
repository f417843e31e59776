"""Seals: made, handed over, and the record held against one.

Invariant: what is on a seal's paper is what the record was when it was made.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, TypedDict, cast

from weldcal.book import checked, proof
from weldcal.book.core import Service
from weldcal.book.job_reader import AS_LISTED
from weldcal.book.writing import LETTERS
from weldcal.log import chain, seal, store
from weldcal.long_work import Progress, no_progress
from weldcal.row_types.record import HandedRow, SealRow
from weldcal.views.rows import HandedSeal
from weldcal.views.seal import Sealed

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader


class _Named(TypedDict):
    id: str
    name: str | None


class Sealing(Service):
    """Seals, and what checking the record finds."""

    _reader: JobReader

    def seals(self) -> list[HandedSeal]:
        """The job's seals, with to whom each was handed."""
        seals = self._reader.of_job(SealRow, AS_LISTED)
        return [{**seal, "handed": self._handed(seal["id"])} for seal in seals]

    def _handed(self, seal: str) -> list[HandedRow]:
        return self._reader.select(
            HandedRow, 'SELECT * FROM handed WHERE "of" = ? ORDER BY tick, id', (seal,)
        )

    def verify(self, on_progress: Progress = no_progress) -> tuple[int, list[chain.Fault]]:
        """Recompute the chain, derive the tables anew, and check every seal recorded.

        One moment of the record is looked at, whatever others write meanwhile. The dossier,
        `seal` and `verify` rest on this check.

        Args:
            on_progress: called with how far it is.

        Returns:
            How many entries were read, and all faults.
        """
        with self._reader.snapshot() as connection, store.trouble(self._reader.path):
            return proof.check(connection, on_progress)

    def faults_at_a_glance(self, on_progress: Progress = no_progress) -> list[chain.Fault]:
        """All faults, as `verify` finds them; none where the short check can say that all holds.

        For pages that are looked at all day. See `book.checked` for what that proves.

        Args:
            on_progress: called with how far it is.
        """
        path = self._reader.path
        with self._reader.snapshot() as connection, store.trouble(path):
            stamp = self._reader.stamp
            if checked.short(connection, path, stamp):
                return []
            found = proof.check(connection, on_progress)[1]
            if not found:
                checked.hold(connection, path, stamp)
            return found

    def verify_seal(
        self, code: str, key: str | None = None
    ) -> tuple[Sealed | None, list[chain.Fault]]:
        """Whether the record still is what a seal says: what was sealed and since, all faults.

        Args:
            code: as it stands on paper.
            key: the public key that stands on paper, hex, where one does.

        Raises:
            Mistyped: it is no code.
        """
        wanted = seal.read_code(code)
        connection = self._reader.reading()
        seals = chain.entries_of_kind(connection, "seal")
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
        sealed = {
            "entry": entry.id,
            "at": entry.at,
            **entry.payload,
            "entries_since": came.entries_since,
            "corrected_since": len(corrected),
            "corrected": corrected,
            "ends": [list(end) for end in came.ends],
            "clocks_back": came.clocks_back,
        }
        return cast("Sealed", sealed), faults

    def names_of(self, ids: Sequence[str]) -> dict[str, str]:
        """The short names, or the seam's names, of records by their ids, taken back or not.

        Args:
            ids: of the records.
        """
        found: dict[str, str] = {}
        wanted = set(ids)
        for table in [*(t for t, _what in LETTERS.values()), "seams", "withdrawn"] if ids else []:
            for row in self._reader.select(_Named, f"SELECT id, name FROM {table}"):
                if row["id"] in wanted and row["name"]:
                    found[row["id"]] = row["name"]
        return found
