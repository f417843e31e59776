"""The record looked through and written out: everything examined, tables exported.

Invariant: nothing here changes an entry.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from weldcal.book import device
from weldcal.book.core import Service
from weldcal.log import chain, pack, photos, store, verifying
from weldcal.long_work import Progress, no_progress, with_progress
from weldcal.tables.schema import TABLES
from weldcal.views.seal import Sealed
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.sealing import Sealing


class Examined(Struct, frozen=True):
    """What the record looks like.

    Attributes:
        entries, faults: how many were read, and all that is wrong.
        clocks: where clocks went back or disagree: no faults.
        settled: forks that somebody settled by an entry.
        cut: (device, last entry here, last entry noted) where the note beside the book
            says that its device wrote further than the book goes.
        sealed: the seal asked about.
    """

    entries: int
    faults: list[chain.Fault]
    clocks: list[chain.Fault]
    settled: list[verifying.Settled]
    cut: tuple[str, int, int] | None
    sealed: Sealed | None


class Keeping(Service):
    """What a whole check of the book and its photos finds; exports."""

    _reader: JobReader
    _sealing: Sealing

    def examine(
        self,
        code: str | None = None,
        on_progress: Progress = no_progress,
        *,
        key: str | None = None,
    ) -> Examined:
        """Everything recomputed, of one moment: chain, tables, photos, clocks, and a seal by its code.

        Args:
            code: a seal's, as it stands on paper.
            on_progress: called with how far it is.
            key: the public key on the same paper, hex.

        Raises:
            Mistyped: `code` is no code.
        """
        with self._reader.snapshot():
            count, faults = self._sealing.verify(on_progress)
            faults += self.photo_faults(on_progress)
            sealed = None
            if code is not None:
                sealed, broken = self._sealing.verify_seal(code, key)
                faults += [fault for fault in broken if fault not in faults]
            settled = verifying.settled_forks(self._reader.reading())
            cut = device.written_further(self._reader.reading(), self._reader.path)
            return Examined(count, faults, self.clock_warnings(), settled, cut, sealed)

    def clock_warnings(self) -> list[chain.Fault]:
        """Where clocks went back or disagree; no faults of the record."""
        with store.trouble(self._reader.path):
            return verifying.clock_warnings(self._reader.reading())

    def photo_faults(self, on_progress: Progress = no_progress) -> list[chain.Fault]:
        """Photos the record names that are not beside the book as they were.

        Args:
            on_progress: called with how far it is.
        """
        # Only those that name one are read; by the index on ticks, each would cost a random page.
        naming = self._reader.reading().execute(
            "SELECT body, hash FROM entries WHERE instr(body, '\"sha256\"') > 0 "
            "ORDER BY +tick, device, seq"
        )
        return [
            chain.Fault(entry.id, "photo", name, wrong)
            for entry in with_progress(chain.readable(naming), _("photos"), 0, on_progress)
            for name in pack.named_photos(entry.payload)
            if (wrong := photos.fault(self._reader.path, name)) is not None
        ]

    def export(
        self, folder: Path, *, people: bool = True, on_progress: Progress = no_progress
    ) -> Iterator[tuple[str, int]]:
        """Write every table as CSV and JSON Lines; yields each table's name and rows.

        Args:
            folder: where to.
            people: False leaves people's names out.
            on_progress: called with how far it is.

        Raises:
            OSError: a file cannot be written.
        """
        from weldcal.tables import exports

        return exports.write_all(
            self._reader.reading(), folder, people=people, on_progress=on_progress
        )

    def schema(self) -> dict[str, list[str]]:
        """Tables and their columns."""
        self._reader.reading()
        return {name: list(columns) for name, columns in TABLES.items()}
