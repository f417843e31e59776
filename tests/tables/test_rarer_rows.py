"""The rows of what a job records seldom, each worked out by hand; and how late each part came.

1 ft = 0.3048 m, 1 in = 25.4 mm; Denver in June is six hours behind UTC.
"""

from __future__ import annotations

import contextlib
import json
import sqlite3
from fractions import Fraction
from typing import Any

import pytest

from tests.conftest import Weldcal
from weldcal.tables import compare
from weldcal.tables.columns import as_json

DAY = """
    06:50 area add "North 60ft x 20ft"
    06:52 startup add "primer dry" --source "sheet maker"
    06:53 startup answer 1 yes --note "keys" --by "Ben Okoro"
    06:54 roof embed A1 --how "torch and trowel"
    07:00 leak report 12ft 10ft --where inside --slope y- --note "over the stair"
    07:30 leak found K1 "open lap" --place "A1 20"
    10:10 leak mended K1 "patched" --at 08:30
    11:00 leak looked K1 dry --by "Ben Okoro"
    11:30 look record North --item "A1 20: broom off" --note "summer"
"""


@pytest.fixture
def day(go_ahead: Weldcal) -> Weldcal:
    """One of each."""
    go_ahead.day(DAY)
    return go_ahead


@pytest.mark.parametrize(
    ("table", "expected"),
    [
        ("start_lines", {"line": "primer dry", "source": "sheet maker", "seen_by": "Ana Ruiz"}),
        ("start_answers", {"answer": "yes", "note": "keys", "flags": '["entered by another"]'}),
        ("embeddings", {"seam": "A1", "seam_key": "a1", "how": "torch and trowel"}),
        (
            "leaks",
            {
                "name": "K1",
                "x_m": 3.6576,
                "y_m": 3.048,
                "where": "inside",
                "note": "over the stair",
            },
        ),
        ("looks", {"area": "North", "note": "summer", "day": "2026-06-01", "hour": 11.5}),
        ("punch", {"what": "broom off", "done": None, "done_by": None, "done_local": None}),
    ],
)
def test_a_row_says_what_was_typed(day: Weldcal, table: str, expected: dict[str, Any]) -> None:
    """Column by column."""
    (row,) = day.query(f'SELECT * FROM "{table}"')
    assert {column: row[column] for column in expected} == expected


def test_a_leaks_steps_are_rows_of_their_own(day: Weldcal) -> None:
    """In order, with who saw each and how late: the mending of 08:30 was entered at 10:10."""
    (leak,) = day.query("SELECT id FROM leaks")
    (look,) = day.query("SELECT id FROM looks")
    rows = day.query(
        'SELECT "of", step, said, place, dry, seen_by, seen_utc, late_h FROM leak_steps'
        " ORDER BY tick"
    )
    of, utc = leak["id"], "2026-06-01T{}:00+00:00"
    assert [tuple(row) for row in rows] == [
        (of, "found", "open lap", "A1 20", None, "Ana Ruiz", utc.format("13:30"), 0.0),
        (of, "mended", "patched", None, None, "Ana Ruiz", utc.format("14:30"), 1.667),
        (of, "looked", rows[2]["said"], None, 1, "Ben Okoro", utc.format("17:00"), 0.0),
    ]
    assert day.query("SELECT look FROM punch")[0]["look"] == look["id"]


def test_how_late_is_in_hours(go_ahead: Weldcal) -> None:
    """To a thousandth: 100 minutes, and 90 s before the clock of who typed it."""
    go_ahead.clock.set("09:00")
    go_ahead.ok("conditions --ambient 50F --at 07:20")
    go_ahead.ok("conditions --ambient 50F --at 09:03")
    rows = go_ahead.query("SELECT late_h, flags FROM conditions ORDER BY tick DESC LIMIT 2")
    assert [tuple(row) for row in rows] == [(-0.05, "[]"), (1.667, '["late"]')]


@pytest.mark.parametrize(
    ("typed", "flags"),
    [
        ("strip pull S2 good --parted compound --at 07:30", []),
        ("strip pull S2 good --parted compound --at 07:29", ["pull late"]),
        ('strip pull S2 good --parted compound --by "Ben Okoro"', ["pull entered by another"]),
    ],
)
def test_a_late_or_borrowed_stage_is_marked(
    go_ahead: Weldcal, typed: str, flags: list[str]
) -> None:
    """Entered at 08:30: an hour is not late, a minute more is."""
    go_ahead.clock.set("07:00")
    go_ahead.ok("strip record --nozzle 932 --speed 5.5 --bleed 1/4 --bubbling none")
    go_ahead.clock.set("08:30")
    go_ahead.ok(typed)
    (row,) = go_ahead.query("SELECT flags FROM strips WHERE name = 'S2'")
    assert json.loads(row["flags"]) == flags


@pytest.mark.parametrize(
    ("readings", "median"),
    [("1/4", "1/4"), ("1/4,1/8", "3/16"), ("1/2,1/8,1/4", "1/4"), ("1,1/8,1/4,1/2", "3/8")],
)
def test_the_median_of_readings(go_ahead: Weldcal, readings: str, median: str) -> None:
    """The middle one, or between the middle two; the order in which they are typed is nothing."""
    go_ahead.day(f"""
        07:10 seam start A1 --nozzle 932 --speed 5.5
        07:20 seam finish A1 --to 33
        07:30 bleed A1 10 {readings} --bubbling none
    """)
    (row,) = go_ahead.query("SELECT readings_n, width_median_mm FROM bleeds")
    assert row["width_median_mm"] == pytest.approx(float(Fraction(median)) * 25.4, rel=1e-12)
    assert row["readings_n"] == readings.count(",") + 1


@pytest.mark.parametrize("text", ["\x7f", "a\x7fb", "\\", '"', "\n", "é", "\x00", "plain"])
def test_every_sign_that_json_escapes_is_escaped(text: str) -> None:
    """DEL too, which RFC 8259 lets stand and Python's writer escapes."""
    assert as_json({text: [text, 1, None]}) == json.dumps({text: [text, 1, None]}, sort_keys=True)


# --- what was taken back ---


@pytest.mark.parametrize(
    ("later", "added"),
    [
        ("", 0),
        ('amend S1 lap granules --why "selvage was off"', 1),
        ("strip pull S1 poor --parted lap", 1),
    ],
)
def test_what_was_recorded_after_about_what_was_taken_back(
    job: Weldcal, tmp_path: Any, later: str, added: int
) -> None:
    """On a laptop that did not know yet: its entry comes by a pack, and the row says so."""
    job.clock.set("07:00")
    job.ok("strip record --nozzle 932 --speed 5.5 --bleed 1/4 --bubbling none")
    job.ok("pack", str(tmp_path / "one"))
    other = Weldcal(tmp_path / "other.sqlite", job.capsys, job.clock)
    other.ok("merge", str(tmp_path / "one"))
    job.clock.set("07:10")
    job.ok('undo S1 --yes --why "wrong job"')
    job.clock.set("07:20")
    other.clock.set("07:20")
    for _more in range(3):  # its clock of entries is ahead of the taking back
        other.ok('conditions --ambient 50F --by "Ben Okoro"')
    if later:
        other.ok(f'{later} --by "Ben Okoro"')
    other.ok("pack", str(tmp_path / "two"))
    job.ok("merge", str(tmp_path / "two"))
    (row,) = job.query("SELECT added_to FROM withdrawn WHERE kind = 'strip'")
    assert row["added_to"] == added


# --- the tables compared with the entries ---


def _faults(book: Weldcal, *sql: str) -> list[tuple[str, str, str]]:
    with contextlib.closing(sqlite3.connect(book.book)) as connection:
        connection.row_factory = sqlite3.Row
        for one in sql:
            connection.execute(one)
        return [(f.what, f.expected, f.found) for f in compare.table_faults(connection)]


@pytest.mark.parametrize(
    ("sql", "fault"),
    [
        ("UPDATE strips SET lap = 'x'", ('{"lap": "selvage"}', '{"lap": "x"}')),
        ("UPDATE strips SET lap = NULL", ('{"lap": "selvage"}', '{"lap": null}')),
        ("DELETE FROM strips", ("a row", "no row")),
    ],
)
def test_what_differs_is_said(go_ahead: Weldcal, sql: str, fault: tuple[str, str]) -> None:
    """One fault, what was expected and what was found; nothing else is called wrong."""
    assert _faults(go_ahead) == []
    assert _faults(go_ahead, sql) == [("table strips", *fault)]


def test_a_row_too_many_is_said(go_ahead: Weldcal) -> None:
    """A row nobody recorded is one; several under one id that is none are counted."""
    names = [row["name"] for row in go_ahead.query("PRAGMA table_info(strips)")]
    rest = ", ".join(f'"{name}"' for name in names if name != "id")
    assert names[0] == "id"
    copied = f"INSERT INTO strips SELECT {{id}}, {rest} FROM strips WHERE id IS NOT NULL"
    assert _faults(go_ahead, copied.format(id="'x'")) == [("table strips", "no row", "a row")]
    assert _faults(go_ahead, *[copied.format(id="NULL")] * 3) == [
        ("table strips", "1 rows", "4 rows"),
        ("table strips", "no row", "a row"),
    ]


@pytest.mark.parametrize(
    ("sql", "found"),
    [("RENAME COLUMN note TO mote", "mote, note"), ("ADD COLUMN more", "more")],
)
def test_other_columns_are_said_where_there_are_rows(
    go_ahead: Weldcal, sql: str, found: str
) -> None:
    """By name; of a table without rows nothing is said."""
    assert ("table strips", "its columns", found) in _faults(go_ahead, f"ALTER TABLE strips {sql}")
    assert go_ahead.query("SELECT id FROM mends") == []
    assert _faults(go_ahead, "ALTER TABLE mends ADD COLUMN more") == [
        one for one in _faults(go_ahead) if one[0] != "table mends"
    ]


def test_a_table_that_is_gone_is_said(go_ahead: Weldcal) -> None:
    """In SQLite's own words; the others are compared all the same."""
    faults = _faults(go_ahead, "DROP TABLE bleeds", "DELETE FROM strips")
    assert [(what, expected) for what, expected, _found in faults] == [
        ("table bleeds", "a table"),
        ("table strips", "a row"),
    ]
