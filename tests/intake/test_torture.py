"""Files as crews and programs leave them: each read right, or refused with its cell and a remedy.

The files are invented; what spreadsheet programs do to fractions, dates and commas is
common practice, no source.
"""

from __future__ import annotations

import io
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook

from weldcal.errors import WeldcalError

HEAD = "date,time,machine,sheet,nozzle (F),speed (ft/min),bleed-out (in),bubbling,bond"
ROW = "2026-06-01,09:00,blue,base,932,5.5,1/4; 3/16,none,good"
FINE = f"{HEAD}\n{ROW}\n"
SPANISH = (
    "fecha;hora;maquina;lamina;boquilla (C);velocidad (m/min);sangrado (mm);burbujas;adherencia"
)
SPANISH_ROW = "01/06/2026;09:00;blue;base;500;1,68;6,4;ninguna;buena"


def text(head: str = HEAD, *rows: str) -> bytes:
    return "\n".join([head, *(rows or (ROW,)), ""]).encode()


def sheet(
    *rows: list[Any], merged: str | None = None, formats: dict[str, str] | None = None
) -> bytes:
    """A workbook of these rows, as bytes."""
    book = Workbook()
    page = book.active
    for row in rows:
        page.append(row)
    if merged:
        page.merge_cells(merged)
    for cell, form in (formats or {}).items():
        page[cell].number_format = form
    return _bytes(book)


def _bytes(book: Workbook) -> bytes:
    held = io.BytesIO()
    book.save(held)
    return held.getvalue()


COLUMNS = HEAD.split(",")
CELLS: list[Any] = ["2026-06-01", "09:00", "blue", "base", 932, 5.5, "1/4; 3/16", "none", "good"]


def cells(**changed: Any) -> list[Any]:
    """`CELLS` with some changed, by the first word of their column."""
    names = [name.split(" ")[0].replace("-", "_") for name in COLUMNS]
    return [changed.get(name, cell) for name, cell in zip(names, CELLS, strict=True)]


def two_sheets() -> bytes:
    book = Workbook()
    for page in (book.active, book.create_sheet("July")):
        page.append(COLUMNS)
        page.append(CELLS)
    return _bytes(book)


def beside_notes(hidden: bool) -> bytes:
    """A workbook whose other sheet holds no column names, or is hidden."""
    book = Workbook()
    page = book.active
    page.append(COLUMNS)
    page.append(CELLS)
    other = book.create_sheet("notes")
    other.append(COLUMNS if hidden else ["call the office"])
    if hidden:
        other.append(CELLS)
        other.sheet_state = "hidden"
    return _bytes(book)


def formula() -> bytes:
    """A formula that no spreadsheet program has computed."""
    return sheet(COLUMNS, cells(speed="=5+0.5"))


# (what it is, file name, content, widths in mm of each strip read)
READ: list[tuple[str, str, bytes, list[list[float]]]] = [
    ("plain", "a.csv", FINE.encode(), [[6.35, 4.7625]]),
    ("BOM", "a.csv", b"\xef\xbb\xbf" + FINE.encode(), [[6.35, 4.7625]]),
    ("UTF-16 little", "a.csv", b"\xff\xfe" + FINE.encode("utf-16-le"), [[6.35, 4.7625]]),
    ("UTF-16 big", "a.csv", b"\xfe\xff" + FINE.encode("utf-16-be"), [[6.35, 4.7625]]),
    ("Windows line ends", "a.csv", FINE.replace("\n", "\r\n").encode(), [[6.35, 4.7625]]),
    ("Mac line ends", "a.csv", FINE.replace("\n", "\r").encode(), [[6.35, 4.7625]]),
    ("no last line end", "a.csv", FINE.rstrip().encode(), [[6.35, 4.7625]]),
    ("degree sign, cp1252", "a.csv", FINE.replace("(F)", "(°F)").encode("cp1252"), [[6.35, 4.7625]]),
    ("degree sign, UTF-8", "a.csv", FINE.replace("(F)", "(°F)").encode(), [[6.35, 4.7625]]),
    ("tabs", "a.tsv", FINE.replace(",", "\t").encode(), [[6.35, 4.7625]]),
    ("bars", "a.txt", FINE.replace(",", "|").encode(), [[6.35, 4.7625]]),
    ("sep= line", "a.csv", b"sep=,\n" + FINE.encode(), [[6.35, 4.7625]]),
    ("title lines", "a.csv", b"School roof,,\nJune,,\n" + FINE.encode(), [[6.35, 4.7625]]),
    ("blank rows", "a.csv", text(HEAD, "", ",,,,,,,,", ROW, ""), [[6.35, 4.7625]]),
    ("Spanish, semicolons, decimal commas", "a.csv", f"{SPANISH}\n{SPANISH_ROW}\n".encode(), [[6.4]]),
    ("Spanish, accents", "a.csv", f"{SPANISH.replace('lamina', 'lámina')}\n{SPANISH_ROW}\n".encode(), [[6.4]]),
    ("Spanish, cp1252", "a.csv", f"{SPANISH.replace('lamina', 'lámina')}\n{SPANISH_ROW}\n".encode("cp1252"), [[6.4]]),
    ("capitals", "a.csv", text(HEAD.upper()), [[6.35, 4.7625]]),
    ("no bleed-out", "a.csv", text(HEAD, ROW.replace("1/4; 3/16", "none")), [[0.0]]),
    ("vulgar fraction", "a.csv", text(HEAD, ROW.replace("1/4; 3/16", "¼")), [[6.35]]),
    ("quoted list", "a.csv", text(HEAD, ROW.replace("1/4; 3/16", '"1/4, 3/16"')), [[6.35, 4.7625]]),
    ("unit in the cell", "a.csv", text(HEAD, ROW.replace("1/4; 3/16", "6.35 mm")), [[6.35]]),
    ("US date", "a.csv", text(HEAD, ROW.replace("2026-06-01", "6/1/2026")), [[6.35, 4.7625]]),
    ("date in words", "a.csv", text(HEAD, ROW.replace("2026-06-01", "1 Jun 2026")), [[6.35, 4.7625]]),
    ("half past with pm", "a.csv", text(HEAD, ROW.replace("09:00", "1:30 pm")), [[6.35, 4.7625]]),
    ("date once", "a.csv", text(HEAD, ROW, ROW.replace("2026-06-01", "").replace("09:00", "10:00")), [[6.35, 4.7625]] * 2),
    ("two alike", "a.csv", text(HEAD, ROW, ROW), [[6.35, 4.7625]] * 2),
    ("workbook", "a.xlsx", sheet(COLUMNS, CELLS), [[6.35, 4.7625]]),
    ("workbook under another name", "a.csv", sheet(COLUMNS, CELLS), [[6.35, 4.7625]]),
    ("workbook, real date and time", "a.xlsx", sheet(COLUMNS, cells(date=date(2026, 6, 1), time=time(9, 0))), [[6.35, 4.7625]]),
    ("workbook, both in one", "a.xlsx", sheet(COLUMNS, cells(date=datetime(2026, 6, 1, 9, 0), time=None)), [[6.35, 4.7625]]),
    ("workbook, number as bleed-out", "a.xlsx", sheet(COLUMNS, cells(bleed_out=0.25)), [[6.35]]),
    ("workbook, fraction format", "a.xlsx", sheet(COLUMNS, cells(bleed_out=0.1875), formats={"G2": "# ?/?"}), [[4.7625]]),
    ("workbook, a sum of tenths", "a.xlsx", sheet(COLUMNS, cells(speed=0.1 + 0.2 + 5.2)), [[6.35, 4.7625]]),
    ("workbook, blank rows", "a.xlsx", sheet(COLUMNS, [], CELLS), [[6.35, 4.7625]]),
    ("workbook, title above", "a.xlsx", sheet(["School roof"], COLUMNS, CELLS), [[6.35, 4.7625]]),
    ("workbook, merged date", "a.xlsx", sheet(COLUMNS, CELLS, cells(date=None, time="10:00"), merged="A2:A3"), [[6.35, 4.7625]] * 2),
    ("workbook, another sheet of words", "a.xlsx", beside_notes(hidden=False), [[6.35, 4.7625]]),
    ("workbook, hidden sheet", "a.xlsx", beside_notes(hidden=True), [[6.35, 4.7625]]),
    ("workbook, text numbers", "a.xlsx", sheet(COLUMNS, cells(nozzle="932", speed="5.5")), [[6.35, 4.7625]]),
]  # fmt: skip

# (what it is, file name, content, words of the refusal: the cell and the remedy)
REFUSED: list[tuple[str, str, bytes, tuple[str, ...]]] = [
    ("fraction as date, US", "a.csv", text(HEAD, ROW.replace("1/4; 3/16", "16-Mar")), ("row 2", "bleed-out", "probably 3/16", "as text")),
    ("fraction as date, short", "a.csv", text(HEAD, ROW.replace("1/4; 3/16", "4-Jan")), ("row 2", "probably 1/4")),
    ("fraction as date, Spanish", "a.csv", text(HEAD, ROW.replace("1/4; 3/16", "1-abr")), ("row 2", "probably 1/4")),
    ("thirty-second as month", "a.csv", text(HEAD, ROW.replace("1/4; 3/16", "Jan-32")), ("row 2", "probably 1/32")),
    ("serial of a date", "a.csv", text(HEAD, ROW.replace("1/4; 3/16", "46097")), ("row 2", "is a date")),
    ("workbook, fraction as date", "a.xlsx", sheet(COLUMNS, cells(bleed_out=datetime(2026, 3, 16))), ("row 2", "bleed-out", "probably 3/16")),
    ("workbook, thirty-second as month", "a.xlsx", sheet(COLUMNS, cells(bleed_out=datetime(2032, 3, 1))), ("row 2", "probably 3/32")),
    ("misspelt bubbling", "a.csv", text(HEAD.replace("bubbling", "Bubling")), ("Bubling", "bubbling", "Rename it")),
    ("misspelt bond", "a.csv", text(HEAD.replace("bond", "Bnd")), ("Bnd", "bond", "Rename it")),
    ("misspelt Spanish", "a.csv", f"{SPANISH.replace('burbujas', 'burbjas')}\n{SPANISH_ROW}\n".encode(), ("burbjas", "burbujas")),
    ("workbook, misspelt", "a.xlsx", sheet([c.replace("bond", "bondd") for c in COLUMNS], CELLS), ("bondd", "bond")),
    ("totals row", "a.csv", text(HEAD, ROW, "Total,,,,,,2,,"), ("row 3", "date", "Total")),
    ("averages row", "a.xlsx", sheet(COLUMNS, CELLS, ["Average", None, None, None, 932, 5.5]), ("row 3", "Average")),
    ("formula without a result", "a.xlsx", formula(), ("F2", "formula", "type the value")),
    ("error in a cell", "a.xlsx", sheet(COLUMNS, cells(nozzle="#REF!")), ("row 2", "nozzle", "#REF!")),
    ("ditto marks", "a.csv", text(HEAD, ROW, ROW.replace("blue", '""""')), ("row 3", "Fill in the value")),
    ("two sheets", "a.xlsx", two_sheets(), ("Sheet", "July", "keep one")),
    ("damaged workbook", "a.xlsx", sheet(COLUMNS, CELLS)[:-200], ("damaged", "save it anew")),
    ("workbook with no sheet of ours", "a.xlsx", sheet(["hello"]), ("no row of column names",)),
    ("workbook of column names only", "a.xlsx", sheet(COLUMNS), ("add a row",)),
    ("old workbook", "a.xls", b"\xd0\xcf\x11\xe0" + bytes(600), ("save it as XLSX or CSV",)),
    ("empty", "a.csv", b"", ("it is empty",)),
    ("only blanks", "a.csv", b" \n\n \n", ("it is empty",)),
    ("NUL bytes", "a.csv", FINE.encode().replace(b"932", b"9\x0032"), ("NUL",)),
    ("open quotation mark", "a.csv", text(HEAD, '"' + ROW), ("row 2", "quotation mark")),
    ("cells slipped", "a.csv", text(HEAD, ROW + ",x"), ("row 2", "beyond the last column")),
    ("31 June", "a.csv", text(HEAD, ROW.replace("06-01", "06-31")), ("row 2", "date")),
    ("either date", "a.csv", text(HEAD, ROW.replace("2026-06-01", "3/4/2026"), ROW.replace("2026-06-01", "13/4/2026")), ("row 2", "--day-first")),
    ("25 o'clock", "a.csv", text(HEAD, ROW.replace("09:00", "25:00")), ("row 2", "time")),
    ("speed twice", "a.csv", text(HEAD + ",speed (m/min)", ROW + ",1.7"), ("speed (m/min)", "remove one")),
    ("unit that cannot be", "a.csv", text(HEAD.replace("(F)", "(ft)")), ("nozzle (ft)", "not a unit")),
    ("no speed", "a.csv", text(HEAD, ROW.replace("5.5", "")), ("row 2", "speed", "missing")),
    ("no speed column", "a.csv", text(HEAD.replace("speed (ft/min)", "gear")), ("speed",)),
    ("nozzle of 9320", "a.csv", text(HEAD, ROW.replace("932", "9320")), ("row 2", "nozzle", "9320")),
    ("word for a number", "a.csv", text(HEAD, ROW.replace("5.5", "fast")), ("row 2", "speed", "fast")),
    ("bubbling unknown", "a.csv", text(HEAD, ROW.replace("none", "maybe")), ("row 2", "bubbling", "heavy")),
    ("nothing seen", "a.csv", text(HEAD, "2026-06-01,09:00,blue,base,932,5.5,,,"), ("row 2", "nothing was seen")),
    ("pdf", "a.csv", b"%PDF-1.4\n%\xe2\xe3\xcf\xd3\n1 0 obj", ("no row of column names",)),
]  # fmt: skip


@pytest.fixture
def site(job: Any) -> Any:
    """The job of `job` with machine blue and sheet base known by the file alone."""
    job.clock.set("18:00")
    return job


def test_there_are_many() -> None:
    """Each of these is a file somebody has."""
    assert len(READ) + len(REFUSED) >= 60


@pytest.mark.parametrize(("name", "content", "widths"), [r[1:] for r in READ], ids=[r[0] for r in READ])  # fmt: skip
def test_read_right(
    site: Any, tmp_path: Path, name: str, content: bytes, widths: list[list[float]]
) -> None:
    """Every strip of the file, with the readings that somebody sees in it."""
    path = tmp_path / name
    path.write_bytes(content)
    site.ok("strip", "load", str(path), "--yes", "--by", "Ana")
    strips = site.query("SELECT id, nozzle_c, speed_m_per_min FROM strips ORDER BY tick")
    found = [
        [r["width_mm"] for r in site.query('SELECT * FROM readings WHERE "of" = ? ORDER BY n', s["id"])]
        for s in strips
    ]  # fmt: skip
    assert found == [pytest.approx(one) for one in widths]
    for strip in strips:
        assert strip["nozzle_c"] == pytest.approx(500)
        assert strip["speed_m_per_min"] == pytest.approx(1.68, abs=0.004)


@pytest.mark.parametrize(("name", "content", "said"), [r[1:] for r in REFUSED], ids=[r[0] for r in REFUSED])  # fmt: skip
def test_refused_with_cell_and_remedy(
    site: Any, tmp_path: Path, name: str, content: bytes, said: tuple[str, ...]
) -> None:
    """One refusal that names the cell and what to do; nothing of the file is kept."""
    path = tmp_path / name
    path.write_bytes(content)
    before = site.entries()
    done = site("strip", "load", str(path), "--yes", "--by", "Ana")
    assert done.code == 2
    assert site.entries() == before
    assert "Traceback" not in done.err
    for words in said:
        assert words in done.err


def test_a_workbook_that_unfolds_to_too_much_is_refused(tmp_path: Path) -> None:
    """A file of a few kilobytes that would fill the memory is refused by its declared size."""
    import zipfile

    from weldcal.intake import workbook

    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/worksheets/sheet1.xml", bytes(workbook.MOST_UNFOLDED + 1))
    path = tmp_path / "a.xlsx"
    path.write_bytes(held.getvalue())
    with pytest.raises(WeldcalError, match="split it"), workbook.opened("a.xlsx", path):
        pass
