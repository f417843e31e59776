"""A crew's spreadsheet of test strips to `Strip` records.

Invariant: every row that holds anything is a strip or has at least one refusal.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from weldcal.errors import FileTrouble
from weldcal.intake.headers import help_, how_many_known
from weldcal.intake.layout import Defaults, layout_of
from weldcal.intake.row import Refusal, Row
from weldcal.intake.table import read_table, shown
from weldcal.long_work import Beat, counted, silent
from weldcal.records.strip import Strip
from weldcal.words import _

__all__ = ["Defaults", "Loaded", "Refusal", "read_strips"]


@dataclass(frozen=True, slots=True)
class Loaded:
    """What a file came to.

    Attributes:
        strips: (row, strip without a name), in the file's order.
        refused: every bad cell of the other rows.
        ignored: headers not known; what their cells hold is in the strips' notes.
        rows: how many rows hold anything.
    """

    strips: tuple[tuple[int, Strip], ...]
    refused: tuple[Refusal, ...]
    ignored: tuple[str, ...]
    rows: int


def read_strips(path: Path, defaults: Defaults, beat: Beat = silent) -> Loaded:
    """Read a crew's file of test strips, one a row.

    Raises:
        FileTrouble: the file as a whole cannot be read, holds no row, or lacks a column every row needs.
    """
    file = shown(path)
    table = read_table(path, how_many_known, help_())
    layout = layout_of(file, table, defaults)
    if not table.rows:
        raise FileTrouble(file=file, why=_("there is nothing below its column names; add a row"))
    strips: list[tuple[int, Strip]] = []
    refused: list[Refusal] = []
    above: tuple[int, date] | None = None
    for number, row in counted(table.rows, _("rows"), len(table.rows), beat):
        reading = Row(layout, number, row, above)
        strip = reading.strip()
        above = reading.dated
        refused.extend(reading.refused)
        if strip:
            strips.append((number, strip))
    ignored = tuple(header for _place, header in layout.unknown)
    return Loaded(tuple(strips), tuple(refused), ignored, len(table.rows))
