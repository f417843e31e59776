"""A text file or a workbook to rows of cells, whoever saved it and however.

Invariant: a row's number is the one its spreadsheet shows, and no row is lost:
what cannot be cut into cells for certain is refused whole.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from weldcal.errors import FileTrouble, reason
from weldcal.words import _

MOST_BYTES = 50_000_000
MOST_ROWS = 200_000
DELIMITERS = (",", ";", "\t", "|")

_LOOK_FOR_HEADER_IN = 60  # rows: title lines above a header are few
_FEWEST_KNOWN = 2  # a title may hold one word that is also a column's
_HINT = re.compile(r"sep=(.)\r?\n?", re.IGNORECASE)
_WORKBOOK, _OLD_WORKBOOK = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"

Cells = tuple[str, ...]
Rows = Sequence[tuple[int, Cells]]


@dataclass(frozen=True, slots=True)
class Table:
    """A file's header and the rows below it that hold anything.

    Attributes:
        header: the header's cells, trailing empty ones dropped.
        rows: (number in the spreadsheet, from 1; cells, outer space dropped).
    """

    delimiter: str
    header: Cells
    rows: tuple[tuple[int, Cells], ...]


def shown(path: Path) -> str:
    """A path's text that can be printed and stored: undecodable bytes replaced."""
    return str(path).encode("utf-8", "replace").decode("utf-8")


def read_table(path: Path, known: Callable[[Sequence[str]], int], help_: str) -> Table:
    """Read a delimited text file, or a workbook of one sheet with column names.

    The delimiter and the header's row are those under which most columns are known.

    Args:
        path: the file.
        known: how many different columns a row of cells names.
        help_: which headers are understood, for the refusal.

    Raises:
        FileTrouble: not a text file that can be cut into rows, no header, or too large.
    """
    file = shown(path)
    data = _bytes(file, path)
    if data.startswith(_WORKBOOK):
        return _of_workbook(file, data, known, help_)
    text = _text(file, data)
    hint = _HINT.match(text)
    if hint:  # spreadsheets obey this line and do not show it as a row
        text = text[hint.end() :]
    tried = (hint[1],) if hint and hint[1] in DELIMITERS else DELIMITERS
    count, start, delimiter = max(
        (_best_header(text, delimiter, known) for delimiter in tried), key=lambda found: found[0]
    )
    if count < _FEWEST_KNOWN:
        raise FileTrouble(file=file, why=_("no row of column names was found. {help}", help=help_))
    records = _records(file, text, delimiter)
    header = next(cells for row, cells in records if row == start)
    return Table(delimiter, _trimmed(header), tuple(_below(file, records)))


def _of_workbook(
    file: str, data: bytes, known: Callable[[Sequence[str]], int], help_: str
) -> Table:
    from weldcal.intake.workbook import sheets

    found: list[tuple[str, int, Rows]] = []
    for name, rows in sheets(file, data):
        counted = [(known(cells), -row) for row, cells in rows[:_LOOK_FOR_HEADER_IN]]
        count, start = max(counted, default=(0, 0))
        if count >= _FEWEST_KNOWN:
            found.append((name, -start, rows))
    if not found:
        raise FileTrouble(file=file, why=_("no row of column names was found. {help}", help=help_))
    if len(found) > 1:
        names = ", ".join(f'"{name}"' for name, _start, _rows in found)
        why = _("sheets {names} all have column names; keep one in the file", names=names)
        raise FileTrouble(file=file, why=why)
    _name, start, grid = found[0]
    header = next(cells for row, cells in grid if row == start)
    below = _below(file, ((row, cells) for row, cells in grid if row > start))
    # A workbook's numbers have points, whatever its reader is used to.
    return Table(";", _trimmed(header), tuple(below))


def _bytes(file: str, path: Path) -> bytes:
    try:
        if path.is_dir():
            raise FileTrouble(file=file, why=_("this is a folder; give the CSV file in it"))
        if not path.exists():
            raise FileTrouble(file=file, why=_("there is no such file; check its name and folder"))
        if not path.is_file():
            raise FileTrouble(file=file, why=_("this is not a file; give a CSV file"))
        with path.open("rb") as opened:
            data = opened.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        why = _("it cannot be read ({why}); give another copy", why=reason(error))
        raise FileTrouble(file=file, why=why) from None
    if len(data) > MOST_BYTES:
        raise FileTrouble(file=file, why=_("it is over 50 MB; split it into smaller files"))
    return data


def _text(file: str, data: bytes) -> str:
    if data.startswith(_OLD_WORKBOOK):
        why = _("this is a workbook of an old kind, or a locked one; save it as XLSX or CSV")
        raise FileTrouble(file=file, why=why)
    try:
        text = _decoded(data)
    except UnicodeDecodeError:
        why = _("its letters cannot be read; save it as CSV in UTF-8")
        raise FileTrouble(file=file, why=why) from None
    if "\0" in text:
        why = _("it holds NUL bytes, so it is not text; save it as CSV in UTF-8")
        raise FileTrouble(file=file, why=why)
    if not text.strip():
        why = _("it is empty; it needs a row of column names and one row for each strip")
        raise FileTrouble(file=file, why=why)
    return text


def _decoded(data: bytes) -> str:
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return data.decode("utf-16")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252")  # what spreadsheets save as plain "CSV" on Windows


def _best_header(
    text: str, delimiter: str, known: Callable[[Sequence[str]], int]
) -> tuple[int, int, str]:
    """(columns known, row number, delimiter) of the row that names most columns."""
    best = (0, 0, delimiter)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, skipinitialspace=True)
    try:
        for row, cells in enumerate(islice(reader, _LOOK_FOR_HEADER_IN), start=1):
            count = known(cells)
            if count > best[0]:
                best = (count, row, delimiter)
    except csv.Error:  # the full reading says what is wrong, if this delimiter is the one
        pass
    return best


def _records(file: str, text: str, delimiter: str) -> Iterator[tuple[int, Cells]]:
    # Strict: a quotation mark left open would otherwise swallow the rows after it.
    reader = csv.reader(
        io.StringIO(text, newline=""), delimiter=delimiter, skipinitialspace=True, strict=True
    )
    row = 0
    try:
        for cells in reader:
            row += 1
            yield row, tuple(cell.strip() for cell in cells)
    except csv.Error:
        why = _(
            "row {row}: a quotation mark is open or out of place, or a cell is over-long; "
            "put the whole cell in quotation marks and double those inside it",
            row=row + 1,
        )
        raise FileTrouble(file=file, why=why) from None


def _below(file: str, records: Iterator[tuple[int, Cells]]) -> Iterator[tuple[int, Cells]]:
    count = 0
    for row, cells in records:
        if any(cells):
            count += 1
            if count > MOST_ROWS:
                why = _("it has over {most} rows; split it into smaller files", most=MOST_ROWS)
                raise FileTrouble(file=file, why=why)
            yield row, cells


def _trimmed(cells: Cells) -> Cells:
    last = max(place for place, cell in enumerate(cells) if cell)
    return cells[: last + 1]
