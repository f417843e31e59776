"""A crew's file as text, the strips it holds beneath. All files are invented."""

from fractions import Fraction
from typing import Any

import pytest

from tests.intake.conftest import FIXTURES, NOW, Load, Loaded, defaults, read_strips
from weldcal.records.strip import Strip


def line(number: int, strip: Strip) -> str:
    """A strip in one line: row, time, setting, what was seen, conditions, note."""
    setting, weather = strip.setting, strip.conditions
    seen = ",".join(f"{r.number}{r.unit}" for r in strip.readings) or "-"
    read = [q for q in (weather.ambient, weather.sheet_temp, weather.humidity) if q]
    parts = [
        str(number),
        strip.seen.at[:16],
        strip.seen.by,
        setting.machine,
        setting.sheet,
        f"{setting.nozzle.number}{setting.nozzle.unit}",
        f"{setting.speed.number}{setting.speed.unit}",
        seen,
        str(strip.bubbling),
        strip.bond,
        " ".join(f"{q.number}{q.unit}" for q in read),
        strip.note or "",
    ]
    return " | ".join(parts).strip()


def lines(loaded: Loaded) -> list[str]:
    assert [r.sentence() for r in loaded.refused] == []
    return [line(number, strip) for number, strip in loaded.strips]


def expected(text: str) -> list[str]:
    return [one.strip() for one in text.strip().splitlines()]


def test_a_crews_three_mornings() -> None:
    """US customary, a BOM, a title, blank cells, fractions, suffixes, names as typed."""
    loaded = read_strips(FIXTURES / "strips_messy.csv", defaults(dial_units={"machine 2": "mark"}))
    assert lines(loaded) == expected("""
        4 | 2026-06-01T06:50 | Ana Ruiz | Machine 1 | SBS cap | 932F | 11/2ft/min | 1/4in,3/16in,5/16in | none | good | 58F 66F | first of the day; Sky: clear
        5 | 2026-06-01T07:05 | Ana Ruiz | Machine 1 | SBS cap | 932F | 6ft/min | 3/16in,3/16in,1/8in | none | good | 59F 68F | date from row 4
        6 | 2026-06-01T07:20 | Ana Ruiz | Machine 1 | SBS cap | 500C | 15/2ft/min | 0in,1/16in,0in | none | cold | 31/2C 70F | =1+1; date from row 4
        8 | 2026-06-02T07:10 | Sam "Red" Okoro | Machine 1 | SBS cap | 932F | 11/2ft/min | 1/4in,1/4in,5/16in | none | good | 64F 74F | Sky: haze
        9 | 2026-06-02T13:40 | Sam "Red" Okoro | Machine 1 | SBS cap | 932F | 11/2ft/min | 1/2in,7/16in,9/16in | heavy | not tried | 88F 131F | smoke at the nozzle [stop]; Sky: clear
        10 | 2026-06-02T13:55 | Sam "Red" Okoro | Machine 1 | SBS cap | 932F | 7ft/min | 5/16in,1/4in,5/16in | trace | good | 88F 133F | Sky: clear
        12 | 2026-06-03T12:00 | Ana Ruiz | Machine 1 | SBS cap | 932F | 17/10m/min | 6mm,5mm,7mm | none | not tried | 61F | time not given
        13 | 2026-06-03T08:30 | عمر 🙂 | Machine 2 | SBS cap | 950F | 11/2ft/min | 3/16in,1/4in,1/4in | trace | good | 66F 78F |
    """)
    assert loaded.ignored == ("Sky",)
    assert loaded.rows == 8
    assert loaded.strips[1][1].source == "strips_messy.csv row 5"
    assert loaded.strips[1][1].setting.true_speed.to("m/min") == Fraction(18, 10)


def test_a_spanish_crews_file() -> None:
    """Semicolons, decimal commas, Windows-1252, headers and words in Spanish."""
    loaded = read_strips(
        FIXTURES / "strips_semicolon.csv", defaults(units="si", day_first=True, by=None)
    )
    assert lines(loaded) == expected("""
        3 | 2026-06-01T07:15 | Lucía Peña | Machine 1 | SBS mineral | 500C | 17/10m/min | 13/2mm | none | good | 29/2C 19C 62% | primera del día
        4 | 2026-06-01T07:40 | Lucía Peña | Machine 1 | SBS mineral | 500C | 19/10m/min | 9/2mm,5mm,11/2mm | none | good | 15C 41/2C 60% |
        5 | 2026-06-13T07:05 | Lucía Peña | Machine 1 | SBS mineral | 480C | 33/20m/min | 6mm,7mm,13/2mm | trace | not tried | 18C 24C 55% |
        6 | 2026-06-14T12:00 | Iker Sanz | Machine 1 | SBS mineral | 480C | 11/2ft/min | 0mm | none | cold | 25/2C 13C 80% | lámina mojada; time not given
    """)
    assert [strip.conditions.damp for _n, strip in loaded.strips] == [False, False, False, True]


def test_the_text_of_a_cell_is_kept_as_typed(load: Load) -> None:
    """Evidence shows "1,7", though it is read as 17/10."""
    loaded = load("fecha;boquilla (C);velocidad (m/min);sangrado (mm)\n2026-06-01;500;1,7;6,5\n")
    (_number, strip), *_rest = loaded.strips
    assert (strip.setting.speed.text, strip.setting.speed.number) == ("1,7", Fraction(17, 10))
    assert (strip.readings[0].text, strip.readings[0].number) == ("6,5", Fraction(13, 2))


def test_a_bare_speed_is_what_the_rows_machine_shows(load: Load) -> None:
    """Marks, m/min, or the job's own unit where the machine is not listed."""
    loaded = load(
        "date,machine,nozzle,dial,bond\n"
        "2026-06-01,Old One,932,6,good\n2026-06-01,New,932,1.7,good\n"
        "2026-06-01,Other,932,5.5,good\n2026-06-01,Old One,932,5.5ft/min,good\n"
        "2026-06-01,New,932,4 marks,good\n",
        dial_units={"old one": "mark", "new": "m/min"},
    )
    speeds = [strip.setting.speed for _n, strip in loaded.strips]
    assert [(s.number, s.unit) for s in speeds] == [
        (6, "mark"),
        (Fraction(17, 10), "m/min"),
        (Fraction(11, 2), "ft/min"),
        (Fraction(11, 2), "ft/min"),
        (4, "mark"),
    ]


def test_the_headers_unit_stands_before_the_dials(load: Load) -> None:
    """A column in ft/min is in ft/min, whatever the machine shows."""
    loaded = load(
        "date,nozzle,speed (ft/min),bond\n2026-06-01,932,5.5,good\n", dial_units={"m1": "mark"}
    )
    assert loaded.strips[0][1].setting.speed.unit == "ft/min"


@pytest.mark.parametrize(
    ("cell", "readings"),
    [
        ('"1/4, 3/16, 5/16"', ["1/4", "3/16", "5/16"]),
        ("1/4 3/16 5/16", ["1/4", "3/16", "5/16"]),
        ("¼ 3/16", ["1/4", "3/16"]),
        ("1 1/4", ["5/4"]),
        ('"1/4\n3/16"', ["1/4", "3/16"]),
        ("1/4;3/16", ["1/4", "3/16"]),
        ("none", ["0"]),
        ("Nil", ["0"]),
        ("0", ["0"]),
        ('"none, 1/16"', ["0", "1/16"]),
        ("", []),
        ("-", []),
        ("n/a", []),
    ],
)
def test_a_cell_of_readings(load: Load, cell: str, readings: list[str]) -> None:
    """Said to be none is 0; nothing said is no reading."""
    loaded = load(f"date,nozzle,speed,bleed-out,bond\n2026-06-01,932,5.5,{cell},good\n")
    assert not loaded.refused
    assert [str(r.number) for r in loaded.strips[0][1].readings] == readings


@pytest.mark.parametrize(
    ("header", "row", "readings"),
    [
        ("sangrado", "2026-06-01;500;1.7;6,7", [6, 7]),  # decimals have points here
        ("sangrado", "2026-06-01;500;1,7;6,7", [Fraction(67, 10)]),  # and commas here
        ("sangrado", "2026-06-01;500;1,7;6,5, 7,0", [Fraction(13, 2), 7]),
        ("sangrado", "2026-06-01;500;1,7;1/4in,3/16in", [Fraction(1, 4), Fraction(3, 16)]),
        ("sangrado 1;sangrado 2", "2026-06-01;500;2;6,5;7", [Fraction(13, 2), 7]),  # one a column
    ],
)
def test_what_a_comma_is_shows_in_the_files_other_numbers(
    load: Load, header: str, row: str, readings: list[Fraction]
) -> None:
    """A decimal comma, or the sign between two readings."""
    loaded = load(f"fecha;boquilla;velocidad;{header}\n{row}\n", units="si")
    assert not loaded.refused
    assert [r.number for r in loaded.strips[0][1].readings] == readings


def test_a_space_before_a_quotation_mark(load: Load) -> None:
    """As people type CSV by hand."""
    loaded = load('date, nozzle, speed, bleed\n2026-06-01, 932, 5, "1/4, 3/16"\n')
    assert [r.number for r in loaded.strips[0][1].readings] == [Fraction(1, 4), Fraction(3, 16)]


def test_a_unit_on_the_last_reading_is_meant_for_all(load: Load) -> None:
    """As at the prompt."""
    loaded = load('date,nozzle,speed,bleed-out (in)\n2026-06-01,932,5.5,"6, 7, 6 mm"\n')
    assert [(r.number, r.unit) for r in loaded.strips[0][1].readings] == [
        (6, "mm"),
        (7, "mm"),
        (6, "mm"),
    ]


def test_outcomes_without_bleed_out(load: Load) -> None:
    """Good, too cold, too hot as bubbling and bond; an own cell of either stands before it."""
    loaded = load(
        "date,time,nozzle,speed,bond,outcome\n2026-06-01,7:00,932,5,,good\n"
        "2026-06-01,7:00,932,7,,Too Cold\n2026-06-01,7:00,932,3,,too hot\n"
        "2026-06-01,7:00,932,3,not tried,good\n2026-06-01,7:00,932,3,cold,-\n"
    )
    assert not loaded.refused
    assert [(s.bubbling, s.bond, s.note) for _n, s in loaded.strips] == [
        ("none", "good", None),
        ("none", "cold", None),
        ("heavy", "not tried", None),
        ("none", "not tried", "outcome: good"),
        (None, "cold", None),
    ]


def _quantities(strip: Any) -> dict[str, tuple[Fraction, str]]:
    """The less usual values of a strip, wherever they are kept."""
    kept = (
        (strip.setting, "nozzle_measured air_flow nozzle_width roller_load true_speed"),
        (strip.conditions, "ambient sheet_temp under_temp humidity wind line_voltage"),
        (strip, "bonded_width"),
    )
    found = {name: getattr(part, name) for part, names in kept for name in names.split()}
    return {name: (value.number, value.unit) for name, value in found.items()}


def test_all_columns_of_a_strip(load: Load) -> None:
    """Every value a strip can have has a column."""
    loaded = load(
        "date,time,machine,sheet,lap,nozzle (F),nozzle measured (C),air flow,nozzle width,roller load,"
        "speed,true speed,bleed,bubbling,peel,parted,bonded width,ambient,sheet (F),under temp,rh,wind,"
        "volts,wet,by,instrument,lot,smoke,exposed mat,notes\n"
        '6/1/2026,7:15 pm,M2,base,granules,932,498,80,4",60,5.5,1.65 m/min,1/4,none,good,compound,3,'
        "61,74,70,40,8,228,no,Bo,IR gun,L1,y,n,windy\n"
    )
    assert not loaded.refused and not loaded.ignored
    (_n, s), *_rest = loaded.strips
    assert (s.seen.at, s.seen.by, s.seen.instrument) == (
        "2026-06-01T19:15:00-06:00",
        "Bo",
        "IR gun",
    )
    assert _quantities(s) == {
        "nozzle_measured": (498, "C"),
        "air_flow": (80, "%"),
        "nozzle_width": (4, "in"),
        "roller_load": (60, "lbf"),
        "true_speed": (Fraction(33, 20), "m/min"),
        "ambient": (61, "F"),
        "sheet_temp": (74, "F"),
        "under_temp": (70, "F"),
        "humidity": (40, "%"),
        "wind": (8, "mph"),
        "line_voltage": (228, "V"),
        "bonded_width": (3, "in"),
    }
    assert (s.setting.machine, s.setting.sheet, s.setting.lap) == ("M2", "base", "granules")
    assert (s.parted, s.smoke, s.exposed_mat, s.conditions.damp) == (
        "in the compound",
        True,
        False,
        False,
    )
    assert (s.roll_lot, s.note, s.name) == ("L1", "windy", "")


@pytest.mark.parametrize(
    ("cells", "at", "note"),
    [
        ("2026-06-01,7:15", "2026-06-01T07:15:00-06:00", None),
        ("2026-06-01 07:15,", "2026-06-01T07:15:00-06:00", None),
        ("2026-06-01T07:15:30,", "2026-06-01T07:15:30-06:00", None),
        ("2026-06-01 07:15-04:00,", "2026-06-01T05:15:00-06:00", None),
        ("6/1/2026 7:15 PM,", "2026-06-01T19:15:00-06:00", None),
        ("6/1/26,7 am", "2026-06-01T07:00:00-06:00", None),
        ('"Jun 1, 2026",7.15', "2026-06-01T07:15:00-06:00", None),
        ("1 Jun 2026,1899-12-30 07:15:00", "2026-06-01T07:15:00-06:00", None),
        ("Mon 1 June 2026,7h15", "2026-06-01T07:15:00-06:00", None),
        ("mar. 2 de junio de 2026,7:15", "2026-06-02T07:15:00-06:00", None),
        ("mar 3 mar 2026,7:15", "2026-03-03T07:15:00-07:00", None),
        ("2026-06-01 00:00:00,7:15", "2026-06-01T07:15:00-06:00", None),
        ("2026-06-01 00:00:00,", "2026-06-01T12:00:00-06:00", "time not given"),
        ("2026/6/1,-", "2026-06-01T12:00:00-06:00", "time not given"),
        ("1.6.2026,7:15", "2026-01-06T07:15:00-07:00", None),
    ],
)
def test_dates_and_times(load: Load, cells: str, at: str, note: str | None) -> None:
    """Many forms, one moment on the job's clock; US order in a US job."""
    loaded = load(f"date,time,nozzle,speed,bond\n{cells},932,5.5,good\n")
    assert not loaded.refused
    assert (loaded.strips[0][1].seen.at, loaded.strips[0][1].note) == (at, note)


@pytest.mark.parametrize(
    ("header", "day_first", "day"),
    [
        ("date", False, "2026-01-06"),
        ("date", True, "2026-06-01"),
        ("Date (dd/mm/yyyy)", False, "2026-06-01"),
        ("Fecha (DD/MM/AAAA)", False, "2026-06-01"),
        ("Date (m/d/y)", True, "2026-01-06"),
    ],
)
def test_which_of_day_and_month_comes_first(
    load: Load, header: str, day_first: bool, day: str
) -> None:
    """The header's own word stands before what was asked for."""
    loaded = load(f"{header},nozzle,speed,bond\n1/6/2026,932,5.5,good\n", day_first=day_first)
    assert loaded.strips[0][1].seen.at[:10] == day


def test_days_come_first_in_an_si_job(load: Load) -> None:
    """Without being asked for."""
    loaded = load("date,nozzle,speed,bond\n1/6/2026,500,1.7,good\n", units="si")
    assert loaded.strips[0][1].seen.at[:10] == "2026-06-01"


def test_what_a_file_leaves_unsaid_comes_from_the_defaults(load: Load) -> None:
    """Machine, sheet, person and lap kind; the zone's winter offset."""
    loaded = load("date,nozzle,speed,bond\n2026-01-15,932,5.5,good\n", lap="granules")
    (_n, strip), *_rest = loaded.strips
    assert (strip.setting.machine, strip.setting.sheet, strip.setting.lap) == (
        "M1",
        "cap",
        "granules",
    )
    assert strip.seen.by == "Ana"
    assert strip.seen.at == "2026-01-15T12:00:00-07:00"
    assert NOW.utcoffset() is not None


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_files_however_saved(load: Load, encoding: str, delimiter: str, newline: str) -> None:
    """Encoding, delimiter and line ends are found out."""
    rows = [
        ["date", "boquilla (°C)", "speed", "bond", "note"],
        ["2026-06-01", "500", "5", "good", "año"],
    ]
    text = newline.join(delimiter.join(row) for row in rows)
    loaded = load(text.encode(encoding))
    (number, strip), *_rest = loaded.strips
    assert (number, strip.setting.nozzle.number, strip.setting.nozzle.unit) == (2, 500, "C")
    assert strip.note == "año; time not given"


def test_a_separator_hint_is_obeyed_and_not_counted(load: Load) -> None:
    """Spreadsheets do not show the line either."""
    loaded = load("sep=;\ndate;nozzle;speed;bond\n2026-06-01;932;5,5;good\n")
    assert loaded.strips[0][0] == 2
    assert loaded.strips[0][1].setting.speed.number == Fraction(11, 2)


def test_names_pass_as_typed(load: Load) -> None:
    """Brackets, quotes, emoji, right-to-left text, escape codes, formulas."""
    names = ['[/b] "x"', "🙂", "عمر", "a\x1b[31mb", "=1+1", "@SUM(A1)"]
    rows = "".join('2026-06-01,932,5,good,"{}"\n'.format(name.replace('"', '""')) for name in names)
    loaded = load("date,nozzle,speed,bond,by\n" + rows)
    assert [strip.seen.by for _n, strip in loaded.strips] == names


def test_of_two_rows_of_headings_the_first_is_the_header(load: Load) -> None:
    """A printed page repeats its headings: the second time they are a bad row, not the header."""
    head = "date,nozzle,speed,bond"
    loaded = load(f"{head}\n2026-06-01,932,5.5,good\n{head}\n2026-06-02,932,6,good\n")
    assert [strip.seen.at[:10] for _row, strip in loaded.strips] == ["2026-06-01", "2026-06-02"]
    assert {refused.row for refused in loaded.refused} == {3}


def test_the_separator_is_the_one_that_names_most_columns(load: Load) -> None:
    """Not the one whose heading stands lowest: a note may say "speed" after a comma."""
    loaded = load("date;nozzle;speed;bond;note\n2026-06-01;932;5.5;good;mind the wind, speed\n")
    ((_row, strip),) = loaded.strips
    assert strip.note == "mind the wind, speed; time not given"


def test_a_row_that_ends_early_leaves_the_rest_blank(load: Load) -> None:
    """As spreadsheets write a row whose last cells are empty."""
    loaded = load("date,nozzle,speed,bond,by,note\n2026-06-01,932,5.5,good\n")
    assert not loaded.refused
    ((_row, strip),) = loaded.strips
    assert (strip.seen.by, strip.note) == ("Ana", "time not given")


@pytest.mark.parametrize("cell", ["-", "", "–"])
def test_a_dash_in_a_cell_of_words_says_nothing(load: Load, cell: str) -> None:
    """For a lot as for a name, which comes from the defaults then."""
    loaded = load(f"date,nozzle,speed,bond,lot,by\n2026-06-01,932,5.5,good,{cell},{cell}\n")
    assert not loaded.refused
    ((_row, strip),) = loaded.strips
    assert (strip.roll_lot, strip.seen.by) == (None, "Ana")


@pytest.mark.parametrize(("day", "read"), [("12/6", "2025-12-06"), ("13/6", "2025-06-13")])
def test_december_is_a_month(load: Load, day: str, read: str) -> None:
    """12/6 in US order is the sixth of December; 13/6 can only be the thirteenth of June."""
    loaded = load(f"date,nozzle,speed,bond\n{day}/2025,932,5.5,good\n")
    assert [strip.seen.at[:10] for _row, strip in loaded.strips] == [read]
