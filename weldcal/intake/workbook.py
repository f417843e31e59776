"""A workbook to rows of text cells, each as its type and format say it.

Invariant: a cell's text is what somebody would have typed: a date as ISO 8601, a
number with at most 15 digits, a share shown as percent with its sign. Nothing is
computed: a formula gives the result kept with it, or the file is refused.
"""

from __future__ import annotations

import re
import zipfile
import zlib
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from datetime import date, datetime, time, timedelta
from functools import partial
from itertools import chain, repeat
from pathlib import Path
from typing import Any

from weldcal.errors import FileTrouble
from weldcal.intake.spool import Cells
from weldcal.words import _

# A workbook is compressed: what it unfolds to bounds the memory.
MOST_UNFOLDED = 150_000_000
_MIDNIGHT = time(0, 0)
_AT_ONCE = 1 << 20  # bytes unfolded at a time
_FORMULA = re.compile(rb"<f[\s>/]")

Numbered = tuple[int, Cells]
# Reads a sheet from its first row.
Reading = Callable[[], Iterator[Numbered]]


@contextmanager
def opened(file: str, path: Path) -> Iterator[dict[str, Reading]]:
    """The visible sheets of a workbook by name, each with what reads its rows, as often as asked.

    Raises:
        FileTrouble: it is damaged, locked, too large, or (while a sheet is read) holds a formula
            without its result.
    """
    from openpyxl import load_workbook

    formulas = _unfolded(file, path)
    # Opened here: openpyxl itself goes by the ending of a name.
    with path.open("rb") as results, path.open("rb") as again:
        with _whole(file):
            book = load_workbook(results, read_only=True, data_only=True)
            typed = load_workbook(again, read_only=True) if formulas else None
            names = [sheet.title for sheet in book.worksheets if sheet.sheet_state == "visible"]
        yield {
            name: partial(_read, file, book[name], typed[name] if typed else None) for name in names
        }


@contextmanager
def _whole(file: str) -> Iterator[None]:
    """Refuses a damaged workbook, which can raise anything at all from inside the reader."""
    try:
        yield
    except FileTrouble:
        raise
    except Exception:
        why = _("this workbook is damaged; open it in the spreadsheet program and save it anew")
        raise FileTrouble(file=file, why=why) from None


def _unfolded(file: str, path: Path) -> bool:
    """Whether a workbook holds formulas, once its size is known to be bearable.

    Raises:
        FileTrouble: it is no workbook that can be read, or would be too large.
    """
    try:
        with zipfile.ZipFile(path) as packed:
            size = sum(part.file_size for part in packed.infolist())
            if size > MOST_UNFOLDED:
                why = _("it is over 150 MB when unfolded; split it into smaller files")
                raise FileTrouble(file=file, why=why)
            parts = [n for n in packed.namelist() if n.startswith("xl/worksheets/sheet")]
            return any(_has_formula(packed, name) for name in parts)
    except (zipfile.BadZipFile, zipfile.LargeZipFile, RuntimeError, EOFError, OSError, zlib.error):
        why = _("this workbook is damaged or locked; save it anew without a password")
        raise FileTrouble(file=file, why=why) from None


def _has_formula(packed: zipfile.ZipFile, name: str) -> bool:
    before = b""
    with packed.open(name) as part:
        while data := part.read(_AT_ONCE):
            if _FORMULA.search(before + data):
                return True
            before = data[-2:]
    return False


def _read(file: str, sheet: Any, typed: Any) -> Iterator[Numbered]:
    """The rows of a sheet that hold anything, with their numbers.

    Args:
        file: its name, for refusals.
        sheet: with the results that formulas had.
        typed: the same with the formulas themselves; None where the workbook holds none.
    """
    with _whole(file):
        sheet.reset_dimensions()  # what a file says of its size need not be so
        formulas: Iterator[Any] = repeat(())
        if typed is not None:
            typed.reset_dimensions()
            formulas = chain(typed.iter_rows(), repeat(()))
        for number, row in enumerate(sheet.iter_rows(), start=1):
            cells = tuple(
                _text(getattr(cell, "value", None), str(getattr(cell, "number_format", "")))
                for cell in row
            )
            _refuse_uncomputed(file, cells, next(formulas))
            if any(cells):
                yield number, cells


def _refuse_uncomputed(file: str, cells: Cells, formulas: Iterable[Any]) -> None:
    """Refuse a formula that no spreadsheet program has computed yet, by its cell.

    Raises:
        FileTrouble: names the first such cell.
    """
    for place, cell in enumerate(formulas):
        if getattr(cell, "data_type", "") != "f" or (place < len(cells) and cells[place]):
            continue
        why = _(
            "cell {cell} holds a formula without its result; open the file in the "
            "spreadsheet program and save it, or type the value",
            cell=cell.coordinate,
        )
        raise FileTrouble(file=file, why=why)


def _text(value: object, form: str) -> str:
    """A cell as somebody would have typed it."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        day = value.date().isoformat()
        clock = value.time().replace(microsecond=0)
        return day if clock == _MIDNIGHT else f"{day} {_clock(clock)}"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, time):
        return _clock(value)
    if isinstance(value, timedelta):
        return _clock((datetime.min + value % timedelta(days=1)).time())
    if isinstance(value, int | float):
        return f"{value * 100:.13g}%" if "%" in form else f"{value:.15g}"
    return str(value).strip()


def _clock(value: time) -> str:
    return value.isoformat("minutes" if not value.second else "seconds")
