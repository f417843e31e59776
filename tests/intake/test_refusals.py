"""What is refused: the exact cell, and a sentence that says what would be accepted."""

from pathlib import Path

import pytest

from tests.intake.conftest import FIXTURES, Load, defaults, read_strips
from weldcal.errors import FileTrouble
from weldcal.intake import table


def test_every_bad_cell_of_every_row_is_told() -> None:
    """Nine rows, eight of them bad, in the file's order; one is a strip."""
    loaded = read_strips(FIXTURES / "strips_bad.csv", defaults(by=None, machine=None, sheet=None))
    assert [(r.row, r.column, r.value) for r in loaded.refused] == [
        (2, "nozzle (F)", "9320"),
        (3, "speed (ft/min)", "fast"),
        (3, "humidity (%)", "140"),
        (4, "date", "6/31/2026"),
        (5, "speed (ft/min)", "0"),
        (5, "bleed-out (in)", "4-Jan"),
        (5, "bond", "maybe"),
        (6, "bleed-out (in)", ""),
        (8, "beyond the last column", "40"),
        (9, "nozzle (F)", ""),
        (9, "speed (ft/min)", "5.5in"),
        (9, "bleed-out (in)", "2026-01-04 00:00:00"),
        (9, "ambient (F)", '"'),
        (10, "date", "Total"),
        (10, "machine", ""),
        (10, "sheet", ""),
        (10, "nozzle (F)", ""),
        (10, "speed (ft/min)", ""),
        (10, "bleed-out (in)", "7"),
        (10, "operator", ""),
    ]
    assert [number for number, _strip in loaded.strips] == [7]
    assert loaded.rows == 9


def test_a_refusals_sentence() -> None:
    """Row, column, value, and what lies within."""
    loaded = read_strips(FIXTURES / "strips_bad.csv", defaults())
    assert loaded.refused[0].sentence() == (
        "row 2, \"nozzle (F)\": '9320': nozzle temperature: 9320 °F cannot be; "
        "it lies between 122 °F and 1382 °F. Type it again."
    )


ROW = {"date": "2026-06-01", "nozzle": "932", "speed": "5.5", "bleed-out": "1/4", "bond": "good"}


def refused(load: Load, **cells: str) -> list[tuple[str, str, str]]:
    row = {
        **ROW,
        **{name.replace("_", "-") if name == "bleed_out" else name: c for name, c in cells.items()},
    }
    quoted = ",".join('"{}"'.format(cell.replace('"', '""')) for cell in row.values())
    loaded = load(",".join(row) + "\n" + quoted + "\n")
    assert not loaded.strips
    return [(r.column, r.value, r.why) for r in loaded.refused]


@pytest.mark.parametrize(
    ("column", "cell", "said"),
    [
        ("nozzle", "hot", "is not a number. Type it like"),
        ("nozzle", "5.5ft", "is not one of its units"),
        ("nozzle", "1,000", "is not a number"),
        ("nozzle", "#VALUE!", "is not a number"),
        ("nozzle", "=9*100", "is not a number"),
        ("nozzle", "", "is missing; type it like 932F"),
        ("nozzle", "''", "stands for the row above"),
        ("nozzle", "9" * 600, "over 500 signs"),
        ("speed", "0", "cannot be; it lies between"),
        ("speed", "-5", "cannot be; it lies between"),
        ("humidity", "140", "cannot be; it lies between 0 % and 100 %"),
        ("ambient", "1/0", "is not a number"),
        ("bond", "maybe", "is not one of: good, cold, not tried"),
        ("bubbling", "yes", "is not one of: none, trace, heavy"),
        ("lap", "sideways", "is not one of: selvage, granules"),
        ("outcome", "fail", "is not one of: good, too cold, too hot"),
        ("damp", "perhaps", "is not one of: yes, no"),
        ("time", "25:00", "is not a time"),
        ("time", "early", "is not a time"),
        ("by", "x" * 201, "type a name of 1 to 200 characters"),
        ("date", "31/31/2026", "is not a date that can be. Write it like 2026-06-01"),
        ("date", "2026-02-29", "is not a date that can be"),
        ("date", "June", "is not a date that can be"),
        ("date", "46174", "is not a date that can be"),
        ("date", "1/6/1926", "is not a date that can be"),
        ("date", "", "date is missing"),
        ("bleed_out", "some", "is not a number"),
        ("bleed_out", "5 in", "cannot be; it lies between"),
    ],
)
def test_a_bad_cell(load: Load, column: str, cell: str, said: str) -> None:
    """One fault, one refusal, with its cell."""
    ((where, value, why),) = refused(load, **{column: cell})
    assert (where, value) == (column.replace("_", "-"), cell)
    assert said in why


@pytest.mark.parametrize(
    "cell",
    [
        "4-Jan",
        "16-May",
        "Jan-32",
        "4-ene",
        "16-mar.",
        "2026-01-04",
        "2026-01-04 00:00:00",
        "1/4/2026",
        "04/01/26",
        "1.4.2026",
        "46026",
        "Jan 4",
        "4-Jan-2026",
    ],
)
def test_a_fraction_turned_into_a_date_is_explained(load: Load, cell: str) -> None:
    """What spreadsheets make of 1/4, 5/16 or 1/32 is never taken for a width."""
    ((column, value, why),) = refused(load, bleed_out=cell)
    assert (column, value) == ("bleed-out", cell)
    assert "the spreadsheet turns a fraction such as 1/4 into one" in why
    assert "Format the column as text" in why


def test_a_strip_on_which_nothing_was_seen(load: Load) -> None:
    """Bond "not tried" alone is nothing seen."""
    ((column, value, why),) = refused(load, bleed_out="-", bond="not tried")
    assert (column, value) == ("bleed-out", "")
    assert "nothing was seen" in why


def test_dates_both_ways_round_in_one_file(load: Load) -> None:
    """What can be read in two ways is refused where another row is the other way round."""
    loaded = load(
        "date,nozzle,speed,bond\n1/6/2026,932,5,good\n13/6/2026,932,5,good\n6/6/2026,932,5,good\n"
    )
    ((row, why),) = [(r.row, r.why) for r in loaded.refused]
    assert row == 2
    assert "can be 2026-01-06 or 2026-06-01, and '13/6/2026' in this file is the other way" in why
    assert [strip.seen.at[:10] for _n, strip in loaded.strips] == ["2026-06-13", "2026-06-06"]


def test_a_date_is_not_taken_over_from_a_bad_one(load: Load) -> None:
    """An empty date under a refused one is missing."""
    loaded = load("date,nozzle,speed,bond\n31/31/2026,932,5,good\n,932,5,good\n")
    assert [(r.row, r.column, r.value) for r in loaded.refused] == [
        (2, "date", "31/31/2026"),
        (3, "date", ""),
    ]


def test_two_times_that_differ(load: Load) -> None:
    """The date's cell and the time's cell must agree."""
    ((column, value, why),) = refused(load, date="2026-06-01 07:15", time="8:15")
    assert (column, value) == ("time", "8:15")
    assert "07:15" in why


@pytest.mark.parametrize("cell", ["6,5", "6,7,6"])
def test_a_comma_that_can_be_two_things(load: Load, cell: str) -> None:
    """No other number of this semicolon file says what a comma is."""
    loaded = load(f"date;nozzle;speed;sangrado\n2026-06-01;932;5;{cell}\n")
    assert "can be one reading or several" in loaded.refused[0].why


def test_a_comma_outside_quotation_marks_is_found(load: Load) -> None:
    """Cells that have slipped to the right are not read under the wrong header."""
    loaded = load("date,nozzle,speed,bleed-out,bond\n2026-06-01,932,5.5,1/4,3/16,good\n")
    assert not loaded.strips
    assert "more cells than there are column names" in loaded.refused[0].why


# -- whole files -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "it is empty"),
        (b"\n\n  \n", "it is empty"),
        (b"PK\x03\x04rest of a workbook", "this workbook is damaged"),
        (b"\xd0\xcf\x11\xe0rest", "of an old kind"),
        (b"date,nozzle\0,speed,bond\n", "it holds NUL bytes"),
        (b"\x81\x8d\x8f\x90", "its letters cannot be read"),
        (b"\xff\xfe\x00", "its letters cannot be read"),
        (b"a,b,c\n1,2,3\n", "no row of column names was found. Column names understood are like"),
        (b"date,speed,bond\n2026-06-01,5,good\n", 'add "nozzle (F)"'),
        (
            b"date,nozzle,speed,ambient\n",
            'add one of "bleed-out (in)", "bubbling", "bond", "outcome"',
        ),
        (b"date,nozzle,speed,bond\n\n,,,\n", "there is nothing below its column names"),
        (b"date,nozzle,speed,bleed (16ths)\n", "'16ths' is not a unit of bleed-out"),
        (b"nozzle,speed,bond\n932,5,good\n", 'add "date"'),
        (b"date,nozzle (ft),speed,bond\n", "column \"nozzle (ft)\": 'ft' is not a unit of nozzle"),
        (
            b"date,nozzle (Farenheit),speed,bond\n",
            "'farenheit' is not a unit of nozzle temperature",
        ),
        (b"date,nozzle_temp_mm,speed,bond\n", "'mm' is not a unit of nozzle temperature"),
        (
            b"date,nozzle (F),Nozzle temp (C),speed,bond\n",
            '"nozzle (F)" and "Nozzle temp (C)" both hold',
        ),
        (
            b'date,nozzle,speed,note,bond\n2026-06-01,932,5,"open,good\n',
            "row 2: a quotation mark is open",
        ),
        (b'date,nozzle,speed,note\n2026-06-01,932,5,"' + b"x" * 200_000 + b'"\n', "row 2: "),
    ],
)
def test_a_file_that_cannot_be_read(load: Load, content: bytes, said: str) -> None:
    """One plain line with the file's name; nothing is taken from it."""
    with pytest.raises(FileTrouble) as caught:
        load(content)
    sentence = str(caught.value)
    assert "crew.csv: " in sentence
    assert said in sentence
    assert sentence.endswith(".") and "\n" not in sentence
    assert caught.value.exit_code == 2


def test_columns_missing_without_a_default(load: Load) -> None:
    """One line for the file, not one for each row; it names the options."""
    with pytest.raises(FileTrouble) as caught:
        load("date,nozzle,speed,bond\n2026-06-01,932,5,good\n", machine=None, by=None)
    assert '"machine", "operator" (or give --machine, --by)' in str(caught.value)


def test_no_file_a_folder_and_a_pipe(tmp_path: Path) -> None:
    """What is no file is told apart."""
    import os

    os.mkfifo(tmp_path / "pipe")
    for name, said in (
        ("none.csv", "there is no such file"),
        ("", "this is a folder"),
        ("pipe", "not a file"),
    ):
        with pytest.raises(FileTrouble, match=said):
            read_strips(tmp_path / name, defaults())


def test_over_large_files(load: Load, monkeypatch: pytest.MonkeyPatch) -> None:
    """By bytes and by rows; a file of just so many rows is read."""
    text = "date,nozzle,speed,bond\n" + "2026-06-01,932,5,good\n" * 3
    monkeypatch.setattr(table, "MOST_ROWS", 3)
    assert load(text).rows == 3
    monkeypatch.setattr(table, "MOST_ROWS", 2)
    with pytest.raises(FileTrouble, match="over 2 rows"):
        load(text)
    monkeypatch.setattr(table, "MOST_BYTES", 50)
    with pytest.raises(FileTrouble, match="over 50 MB"):
        load(text)
