"""The one writer of CSV files.

Invariant: no cell of a CSV is taken for a formula.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from typing import BinaryIO

# A cell that begins so is read as a formula (CWE-1236); a quote before it makes it text.
_FORMULA = frozenset("=+-@\t\r\n")


def write_csv(file: BinaryIO, columns: Sequence[str], rows: Iterable[Mapping[str, object]]) -> int:
    """Write rows under their columns.

    Args:
        file: open for bytes; it stays open.
        columns: keys of the rows, in the order written.
        rows: a key that is not there is an empty cell.

    Returns:
        How many rows there were.
    """
    text = io.TextIOWrapper(file, encoding="utf-8", newline="", write_through=True)
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(columns)
    count = 0
    for row in rows:
        # A million cells of a large roof: no call for each.
        writer.writerow(
            f"'{cell}" if isinstance(cell, str) and cell[:1] in _FORMULA else cell
            for cell in map(row.get, columns)
        )
        count += 1
    text.detach()
    return count
