"""A crew's spreadsheet of test strips to `Strip` records.

Invariant: every row that holds anything is a strip or has at least one refusal.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from weldcal.errors import FileTrouble
from weldcal.intake.headers import help_, how_many_known
from weldcal.intake.layout import Defaults, FileLayout, layout_of
from weldcal.intake.row import Refusal, RowRead
from weldcal.intake.spool import Spool
from weldcal.intake.table import read_table, shown
from weldcal.long_work import Progress, no_progress, with_progress
from weldcal.records.strip import Strip
from weldcal.words import _

__all__ = ["Defaults", "ReadStrip", "Refusal", "StripFile", "read_strips"]


@dataclass(frozen=True, slots=True)
class ReadStrip:
    """A strip without a name, and its row."""

    row: int
    strip: Strip


@dataclass(frozen=True, slots=True)
class StripFile:
    """A file that can be read as a table of strips.

    Attributes:
        layout: how its rows are to be read.
        rows: those that hold anything.
    """

    layout: FileLayout
    rows: Spool

    @property
    def ignored(self) -> tuple[str, ...]:
        """Headers not known; what their cells hold is in the strips' notes."""
        return tuple(header for _place, header in self.layout.unknown)

    def read(self, on_progress: Progress = no_progress) -> Iterator[ReadStrip | Refusal]:
        """The strips in the file's order, and every bad cell of the other rows."""
        above: tuple[int, date] | None = None
        for number, row in with_progress(self.rows, _("rows"), len(self.rows), on_progress):
            reading = RowRead(self.layout, number, row, above)
            strip = reading.strip()
            above = reading.dated
            yield from reading.refused
            if strip:
                yield ReadStrip(number, strip)


def read_strips(path: Path, defaults: Defaults) -> StripFile:
    """Find how a crew's file of test strips is to be read.

    Raises:
        FileTrouble: the file as a whole cannot be read, holds no row, or lacks a column every row needs.
    """
    file = shown(path)
    table = read_table(path, how_many_known, help_())
    layout = layout_of(file, table, defaults)
    if not len(table.rows):
        raise FileTrouble(file=file, why=_("there is nothing below its column names; add a row"))
    return StripFile(layout, table.rows)
