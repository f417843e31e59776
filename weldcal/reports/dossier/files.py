"""Files whole or not at all, readable by their owner only; and tables as CSV.

Invariant: a file under its own name is always a finished one, whatever
interrupts the making; no cell of a CSV is taken for a formula.
"""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, BinaryIO

# A cell that begins so is read as a formula (CWE-1236); a quote before it makes it text.
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")


@contextmanager
def whole(path: Path) -> Iterator[BinaryIO]:
    """A file that takes its name only when all of it is on disk.

    Raises:
        OSError: it cannot be written.
    """
    part = path.with_name(f"{path.name}.{os.getpid()}.part")
    made = os.open(part, os.O_CREAT | os.O_TRUNC | os.O_WRONLY, 0o600)
    try:
        with os.fdopen(made, "wb") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise


def write_csv(file: BinaryIO, columns: Sequence[str], rows: Iterable[dict[str, Any]]) -> int:
    """Write rows under their columns; how many there were."""
    text = io.TextIOWrapper(file, encoding="utf-8", newline="", write_through=True)
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(columns)
    count = 0
    for row in rows:
        writer.writerow([_cell(row.get(column)) for column in columns])
        count += 1
    text.detach()
    return count


def _cell(value: Any) -> Any:
    return f"'{value}" if isinstance(value, str) and value.startswith(_FORMULA) else value
