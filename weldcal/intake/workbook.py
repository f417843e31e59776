"""A workbook to rows of text cells, each as its type and format say it.

Invariant: a cell's text is what somebody would have typed: a date as ISO 8601, a
number with at most 15 digits, a share shown as percent with its sign. Nothing is
computed: a formula gives the result kept with it, or the file is refused.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta

from weldcal.errors import FileTrouble
from weldcal.words import _

# A workbook is compressed: what it unfolds to bounds the memory.
MOST_UNFOLDED = 150_000_000
_MIDNIGHT = time(0, 0)

Grid = list[tuple[int, tuple[str, ...]]]


def sheets(file: str, data: bytes) -> Iterator[tuple[str, Grid]]:
    """The visible sheets of a workbook: name, and (row number, cells) of each row.

    Raises:
        FileTrouble: it is damaged, locked, too large, or holds a formula without its result.
    """
    from openpyxl import load_workbook

    uncomputed = _unfolded(file, data)
    try:
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        grids: dict[str, Grid] = {}
        for sheet in book.worksheets:
            if sheet.sheet_state == "visible":
                sheet.reset_dimensions()  # what a file says of its size need not be so
                grids[sheet.title] = _grid(sheet.iter_rows())
        if uncomputed:
            _refuse_uncomputed(file, data, grids)
    except FileTrouble:
        raise
    except Exception:  # a damaged workbook can raise anything at all from inside the reader
        why = _("this workbook is damaged; open it in the spreadsheet program and save it anew")
        raise FileTrouble(file=file, why=why) from None
    yield from grids.items()


def _unfolded(file: str, data: bytes) -> bool:
    """Whether a workbook holds formulas, once its size is known to be bearable.

    Raises:
        FileTrouble: it is no workbook that can be read, or would be too large.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            size = sum(part.file_size for part in packed.infolist())
            if size > MOST_UNFOLDED:
                why = _("it is over 150 MB when unfolded; split it into smaller files")
                raise FileTrouble(file=file, why=why)
            parts = [n for n in packed.namelist() if n.startswith("xl/worksheets/sheet")]
            return any(re.search(rb"<f[\s>/]", packed.read(name)) for name in parts)
    except (zipfile.BadZipFile, zipfile.LargeZipFile, RuntimeError, EOFError, OSError):
        why = _("this workbook is damaged or locked; save it anew without a password")
        raise FileTrouble(file=file, why=why) from None


def _grid(rows: Iterator[tuple[object, ...]]) -> Grid:
    found: Grid = []
    for number, row in enumerate(rows, start=1):
        cells = tuple(
            _text(getattr(cell, "value", None), str(getattr(cell, "number_format", "")))
            for cell in row
        )
        if any(cells):
            found.append((number, cells))
    return found


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


def _refuse_uncomputed(file: str, data: bytes, grids: dict[str, Grid]) -> None:
    """Refuse a formula that no spreadsheet program has computed yet, by its cell.

    Raises:
        FileTrouble: names the first such cell.
    """
    from openpyxl import load_workbook

    for sheet in load_workbook(io.BytesIO(data), read_only=True).worksheets:
        sheet.reset_dimensions()
        computed = dict(grids.get(sheet.title, []))
        for number, row in enumerate(sheet.iter_rows(), start=1):
            for place, cell in enumerate(row):
                if getattr(cell, "data_type", "") != "f" or sheet.title not in grids:
                    continue
                cells = computed.get(number, ())
                if place >= len(cells) or not cells[place]:
                    why = _(
                        "cell {cell} holds a formula without its result; open the file in the "
                        "spreadsheet program and save it, or type the value",
                        cell=cell.coordinate,
                    )
                    raise FileTrouble(file=file, why=why)
