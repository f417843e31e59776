"""Rows of a file on their way through: in memory while they are few, on disk where they are many.

Invariant: what was put in comes out, in that order, as often as it is asked for, and however many
rows there are, only some of them are held at once.
"""

from __future__ import annotations

from collections.abc import Iterator
from tempfile import SpooledTemporaryFile

import msgspec

Cells = tuple[str, ...]

_IN_MEMORY = 1_000_000  # bytes: a crew's sheet of a season
_AT_ONCE = 64_000  # bytes read at a time

_encode = msgspec.json.Encoder().encode
_decode = msgspec.json.Decoder(tuple[int, Cells]).decode


class Spool:
    """Rows of cells with their numbers in the spreadsheet."""

    def __init__(self) -> None:
        # Closed, and gone from the disk, with the spool itself.
        self._file = SpooledTemporaryFile(max_size=_IN_MEMORY)  # noqa: SIM115
        self._count = 0

    def add(self, row: int, cells: Cells) -> None:
        """Put a row in, before any is read."""
        self._file.write(_encode((row, cells)) + b"\n")
        self._count += 1

    def __len__(self) -> int:
        """How many rows there are."""
        return self._count

    def __iter__(self) -> Iterator[tuple[int, Cells]]:
        """The rows; several may read at once."""
        at = 0
        while True:
            self._file.seek(at)
            lines = self._file.readlines(_AT_ONCE)
            if not lines:
                return
            at = self._file.tell()
            yield from map(_decode, lines)
