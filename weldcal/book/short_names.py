"""What a record is called whose short name another device gave too: S7.4c1e.

Invariant: a name that is shown is never refused when it is typed: where S7 alone would be asked
back, every page says which.
"""

from __future__ import annotations

from weldcal.book.file import BookFile
from weldcal.book.writing import LETTERS

_SEVERAL = "SELECT (SELECT min(device) FROM entries) < (SELECT max(device) FROM entries)"


class ShortNames:
    """The short names of a book that more than one device gave."""

    def __init__(self, file: BookFile) -> None:
        self._file = file
        self._kept: tuple[tuple[int, int, int], dict[str, str]] | None = None

    def called(self) -> dict[str, str]:
        """What each record of a shared name is called, by its id."""
        now = self._file.unchanged()
        if self._kept is None or self._kept[0] != now:
            book = self._file.reading()
            rows = (
                book.execute(_shared()).fetchall() if book.execute(_SEVERAL).fetchone()[0] else []
            )
            self._kept = now, {id: f"{name}.{device[:4]}" for id, name, device in rows}
        return self._kept[1]


def _shared() -> str:
    """The query for them, among those that count and among those that were taken back: a name
    that is typed means the one or the other."""
    every = " UNION ALL ".join(
        f"SELECT id, job, name, device, 1 AS counts FROM {table}"
        for table, _what in LETTERS.values()
    )
    return (
        f"WITH every AS ({every} UNION ALL SELECT id, job, name, device, 0 FROM withdrawn "
        "WHERE was_in IS NOT NULL) SELECT id, name, device FROM every WHERE (job, name, counts) "
        "IN (SELECT job, name, counts FROM every GROUP BY job, name, counts HAVING count(*) > 1)"
    )
