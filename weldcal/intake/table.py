"""A text file or a workbook to rows of cells, whoever saved it and however.

Invariant: a row's number is the one its spreadsheet shows, and no row is lost:
what cannot be cut into cells for certain is refused whole.
"""

from __future__ import annotations

import codecs
import csv
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import BinaryIO

from weldcal.errors import FileTrouble, reason
from weldcal.intake.spool import Cells, Spool
from weldcal.words import _

MOST_BYTES = 50_000_000
MOST_ROWS = 200_000
DELIMITERS = (",", ";", "\t", "|")

_LOOK_FOR_HEADER_IN = 60  # rows: title lines above a header are few
_FEWEST_KNOWN = 2  # a title may hold one word that is also a column's
_HINT = re.compile(r"sep=(.)\r?\n?", re.IGNORECASE)
_WORKBOOK, _OLD_WORKBOOK = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"

_AT_ONCE = 1 << 20  # bytes decoded at a time

# How many different columns a row of cells names.
Known = Callable[[Sequence[str]], int]


@dataclass(frozen=True, slots=True)
class TableRead:
    """A file's header and the rows below it that hold anything.

    Attributes:
        header: the header's cells, trailing empty ones dropped.
        rows: (number in the spreadsheet, from 1; cells, outer space dropped).
        filled: places in a row where any row holds something.
    """

    delimiter: str
    header: Cells
    rows: Spool
    filled: frozenset[int]


def shown(path: Path) -> str:
    """A path's text that can be printed and stored: undecodable bytes replaced."""
    return str(path).encode("utf-8", "replace").decode("utf-8")


def read_table(path: Path, known: Known, help_: str) -> TableRead:
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
    try:
        with _opened(file, path) as opened:
            begins = opened.read(8)
            if begins.startswith(_WORKBOOK):
                return _of_workbook(file, path, known, help_)
            if begins.startswith(_OLD_WORKBOOK):
                why = _(
                    "this is a workbook of an old kind, or a locked one; save it as XLSX or CSV"
                )
                raise FileTrouble(file=file, why=why)
            opened.seek(0)
            encoding = _encoding(file, opened)
        return _of_text(file, _Text(path, encoding), known, help_)
    except OSError as error:
        raise _unreadable(file, error) from None


def _opened(file: str, path: Path) -> BinaryIO:
    try:
        if path.is_dir():
            raise FileTrouble(file=file, why=_("this is a folder; give the CSV file in it"))
        if not path.exists():
            raise FileTrouble(file=file, why=_("there is no such file; check its name and folder"))
        if not path.is_file():
            raise FileTrouble(file=file, why=_("this is not a file; give a CSV file"))
        if path.stat().st_size > MOST_BYTES:
            raise FileTrouble(file=file, why=_("it is over 50 MB; split it into smaller files"))
        return path.open("rb")
    except ValueError as error:  # no name that a file can have
        raise _unreadable(file, error) from None


def _unreadable(file: str, error: Exception) -> FileTrouble:
    return FileTrouble(
        file=file, why=_("it cannot be read ({why}); give another copy", why=reason(error))
    )


# -- text --------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Text:
    """A text file to be read from its beginning, as often as needed."""

    path: Path
    encoding: str

    def lines(self) -> Iterator[str]:
        """Its lines, without the one that only names the delimiter."""
        with self.path.open(encoding=self.encoding, newline="") as text:
            first = text.readline()
            hint = _HINT.match(first)
            # Spreadsheets obey that line and do not show it as a row.
            if rest := first[hint.end() :] if hint else first:
                yield rest
            yield from text

    def delimiters(self) -> tuple[str, ...]:
        """The one its first line names, else all that are tried."""
        with self.path.open(encoding=self.encoding, newline="") as text:
            hint = _HINT.match(text.readline())
        return (hint[1],) if hint and hint[1] in DELIMITERS else DELIMITERS


def _of_text(file: str, text: _Text, known: Known, help_: str) -> TableRead:
    count, start, delimiter = max(
        (_best_header(text, delimiter, known) for delimiter in text.delimiters()),
        key=lambda found: found[0],
    )
    if count < _FEWEST_KNOWN:
        raise FileTrouble(file=file, why=_("no row of column names was found. {help}", help=help_))
    return _table(file, delimiter, start, _records(file, text, delimiter))


def _encoding(file: str, opened: BinaryIO) -> str:
    """How a file's letters are written.

    Raises:
        FileTrouble: it is no text, or holds nothing.
    """
    begins = opened.read(2)
    # The last is what spreadsheets save as plain "CSV" on Windows.
    wide = begins in (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
    for encoding in ("utf-16",) if wide else ("utf-8-sig", "cp1252"):
        opened.seek(0)
        try:
            nul, says = _decoded(opened, encoding)
        except UnicodeDecodeError:
            continue
        if nul:
            why = _("it holds NUL bytes, so it is not text; save it as CSV in UTF-8")
            raise FileTrouble(file=file, why=why)
        if not says:
            why = _("it is empty; it needs a row of column names and one row for each strip")
            raise FileTrouble(file=file, why=why)
        return encoding
    why = _("its letters cannot be read; save it as CSV in UTF-8")
    raise FileTrouble(file=file, why=why)


def _decoded(opened: BinaryIO, encoding: str) -> tuple[bool, bool]:
    """Whether a file holds NUL, and whether it holds more than space (UnicodeDecodeError: not so written)."""
    decoder = codecs.getincrementaldecoder(encoding)()
    nul = says = False
    while True:
        data = opened.read(_AT_ONCE)
        text = decoder.decode(data, final=not data)
        nul, says = nul or "\0" in text, says or bool(text.strip())
        if not data:
            return nul, says


def _best_header(text: _Text, delimiter: str, known: Known) -> tuple[int, int, str]:
    """(columns known, row number, delimiter) of the row that names most columns."""
    best = (0, 0, delimiter)
    reader = csv.reader(text.lines(), delimiter=delimiter, skipinitialspace=True)
    try:
        for row, cells in enumerate(islice(reader, _LOOK_FOR_HEADER_IN), start=1):
            count = known(cells)
            if count > best[0]:
                best = (count, row, delimiter)
    except csv.Error:  # the full reading says what is wrong, if this delimiter is the one
        pass
    return best


def _records(file: str, text: _Text, delimiter: str) -> Iterator[tuple[int, Cells]]:
    # Strict: a quotation mark left open would otherwise swallow the rows after it.
    reader = csv.reader(text.lines(), delimiter=delimiter, skipinitialspace=True, strict=True)
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


# -- workbooks ---------------------------------------------------------------------------------


def _of_workbook(file: str, path: Path, known: Known, help_: str) -> TableRead:
    from weldcal.intake.workbook import opened

    with opened(file, path) as sheets:
        sheets_found = {
            name: start for name, rows in sheets.items() if (start := _start(rows(), known))
        }
        if not sheets_found:
            why = _("no row of column names was found. {help}", help=help_)
            raise FileTrouble(file=file, why=why)
        if len(sheets_found) > 1:
            names = ", ".join(f'"{name}"' for name in sheets_found)
            why = _("sheets {names} all have column names; keep one in the file", names=names)
            raise FileTrouble(file=file, why=why)
        ((name, start),) = sheets_found.items()
        # A workbook's numbers have points, whatever its reader is used to.
        return _table(file, ";", start, sheets[name]())


def _start(rows: Iterator[tuple[int, Cells]], known: Known) -> int:
    """The number of the row that names most columns; 0 where none names enough."""
    counted = [(known(cells), -row) for row, cells in islice(rows, _LOOK_FOR_HEADER_IN)]
    count, start = max(counted, default=(0, 0))
    return -start if count >= _FEWEST_KNOWN else 0


def _table(
    file: str, delimiter: str, start: int, records: Iterator[tuple[int, Cells]]
) -> TableRead:
    """The header in row `start`, and what stands below it."""
    header = next(cells for row, cells in records if row == start)
    rows, filled = Spool(), set[int]()
    for row, cells in records:
        places = {place for place, cell in enumerate(cells) if cell}
        if not places:
            continue
        if len(rows) == MOST_ROWS:
            why = _("it has over {most} rows; split it into smaller files", most=MOST_ROWS)
            raise FileTrouble(file=file, why=why)
        rows.add(row, cells)
        filled |= places
    return TableRead(delimiter, _trimmed(header), rows, frozenset(filled))


def _trimmed(cells: Cells) -> Cells:
    last = max(place for place, cell in enumerate(cells) if cell)
    return cells[: last + 1]
