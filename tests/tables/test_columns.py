"""What several tables say in the same columns, worked out by hand: times, lateness, days, flags."""

from __future__ import annotations

import contextlib
import sqlite3
from fractions import Fraction
from typing import Any

import pytest

from tests.log.made import A, Made
from weldcal.log.entry import Entry
from weldcal.quantities import Quantity
from weldcal.records.common import Carried, Seen, Setting
from weldcal.records.firm import Same, Thing
from weldcal.records.seam import Peel
from weldcal.records.site import Measure
from weldcal.tables import columns, listed_rows, schema, site_rows, work_rows
from weldcal.tables.fold import Subject


def _subject(*, at: str = "2026-06-01T08:00:00-06:00", who: str = "Ana Ruiz") -> Subject:
    made = Made()
    made.add("one", A, 1, at=at, who=who, kind="conditions")
    return Subject(kind="conditions", base=made.entries["one"])


def _seen(at: str, by: str = "Ana Ruiz", *, begins: int = 0) -> dict[str, Any]:
    return dict(columns.seen(_subject(), Seen(at=at, by=by), begins, "S1"))


@pytest.mark.parametrize(
    ("clock", "flags", "late_h"),
    [
        ("06:59:59", '["late"]', 1.0),
        ("07:00:00", "[]", 1.0),
        ("06:00:00", '["late"]', 2.0),
        ("08:05:00", "[]", -0.083),
        ("08:05:01", '["ahead of the clock"]', -0.084),
        ("08:30:00", '["ahead of the clock"]', -0.5),
    ],
)
def test_late_is_over_an_hour_and_ahead_is_over_five_minutes(
    clock: str, flags: str, late_h: float
) -> None:
    """Entered at 08:00:00; to the second, and said in thousandths of an hour."""
    row = _seen(f"2026-06-01T{clock}-06:00")
    assert (row["flags"], row["late_h"]) == (flags, late_h)


def test_times_of_two_zones_are_one_time() -> None:
    """16:00 in Berlin is 08:00 in Denver: not late, and one text in UTC."""
    row = _seen("2026-06-01T16:00:00+02:00", by="Ben Okoro")
    assert (row["seen_utc"], row["entered_utc"]) == ("2026-06-01T14:00:00+00:00",) * 2
    assert (row["seen_local"], row["late_h"]) == ("2026-06-01T16:00:00+02:00", 0.0)
    assert (row["day"], row["hour"], row["name"]) == ("2026-06-01", 16.0, "S1")
    assert (row["seen_by"], row["entered_by"]) == ("Ben Okoro", "Ana Ruiz")
    assert row["flags"] == '["entered by another"]'


@pytest.mark.parametrize(
    ("at", "begins", "day", "hour"),
    [
        ("05:59", 6, "2026-05-31", 5.9833),
        ("06:00", 6, "2026-06-01", 6.0),
        ("00:00", 0, "2026-06-01", 0.0),
        ("23:01", 0, "2026-06-01", 23.0167),
        ("23:01", 23, "2026-06-01", 23.0167),
    ],
)
def test_a_day_begins_when_the_job_says(at: str, begins: int, day: str, hour: float) -> None:
    """What is seen before belongs to the day before; the clock's hour is the clock's."""
    row = _seen(f"2026-06-01T{at}:00-06:00", begins=begins)
    assert (row["day"], row["hour"]) == (day, hour)


@pytest.mark.parametrize(
    ("kind", "marks"),
    [
        ("pull", ["pull late", "pull entered by another"]),
        ("run-finish", ["finish late", "finish entered by another"]),
        ("hot-work-end", ["end late", "end entered by another"]),
        ("watch", ["watch late", "watch entered by another"]),
        ("handed", []),
    ],
)
def test_a_later_stage_is_marked_by_its_kind(kind: str, marks: list[str]) -> None:
    """Once each, however many came; an hour late and by who typed it, none."""
    made = Made()
    for n in range(1, 3):
        made.add(f"{n}", A, n, at="2026-06-01T08:00:00-06:00", kind=kind)

    def flags(at: str, by: str) -> list[str]:
        subject = _subject()
        filled: list[tuple[Entry, Any]] = [
            (entry, {"seen": {"at": at, "by": by}}) for entry in made.entries.values()
        ]
        subject.filled = filled
        return columns._stage_flags(subject)

    assert flags("2026-06-01T06:59:59-06:00", "Ben Okoro") == marks
    assert flags("2026-06-01T07:00:00-06:00", "Ana Ruiz") == []


@pytest.mark.parametrize(("value", "shown"), [(True, 1), (False, 0), (None, None)])
def test_a_yes_and_a_no_are_numbers(value: bool | None, shown: int | None) -> None:
    """And nothing said is nothing."""
    assert columns.flag(value) == shown
    assert type(columns.flag(value)) is type(shown)


@pytest.mark.parametrize(
    ("widths", "median"),
    [
        ([], None),
        ([3.0], 3.0),
        ([5.0, 1.0], 3.0),
        ([9.0, 1.0, 2.0], 2.0),
        ([8.0, 1.0, 4.0, 2.0], 3.0),
    ],
)
def test_medians(widths: list[float], median: float | None) -> None:
    """The middle one, or half way between the middle two."""
    assert columns._median(widths) == median


@pytest.mark.parametrize(
    ("load", "width", "line", "n_per_mm"),
    [
        (100, 50, None, 2.0),
        (100, None, None, None),
        (None, 50, None, None),
        (None, None, 3, 3.0),
        (100, 50, 3, 3.0),
    ],
)
def test_a_peel_is_its_load_over_its_width_unless_somebody_said(
    load: int | None, width: int | None, line: int | None, n_per_mm: float | None
) -> None:
    """N, mm, and N/mm: both parts are needed for it."""

    def quantity(number: int | None, unit: str) -> Quantity | None:
        return None if number is None else Quantity(str(number), Fraction(number), unit)

    record = Peel(
        name="P1",
        seen=Seen(at="2026-06-01T08:00:00-06:00", by="Ana Ruiz"),
        parted="at the lap",
        seam="N 1",
        load=quantity(load, "N"),
        width=quantity(width, "mm"),
        line_load=quantity(line, "N/mm"),
    )
    ((table, row),) = work_rows.ROWS["peel"](_subject(), record, 0)
    assert (table, row["n_per_mm"], row["seam"]) == ("peels", n_per_mm, "N 1")
    assert (row["load_n"], row["width_mm"], row["at_m"]) == (load, width, None)


@pytest.mark.parametrize(
    ("distance", "times", "time_s", "speed"),
    [
        (6, (60, 62, 58), 60.0, 6.0),
        (6, (), None, None),
        (None, (60,), 60.0, None),
        (None, (), None, None),
        (3, (90,), 90.0, 2.0),
    ],
)
def test_a_speed_is_measured_by_a_way_and_the_mean_of_its_times(
    distance: int | None, times: tuple[int, ...], time_s: float | None, speed: float | None
) -> None:
    """m, s and m/min: without the one or the other there is none."""
    first, *again = (Quantity(str(time), Fraction(time), "s") for time in times or (0,))
    record = Measure(
        machine="blue",
        seen=Seen(at="2026-06-01T08:00:00-06:00", by="Ana Ruiz"),
        distance=None if distance is None else Quantity(str(distance), Fraction(distance), "m"),
        time=first if times else None,
        again=tuple(again),
    )
    ((table, row),) = site_rows.ROWS["measure"](_subject(), record, 0)
    assert (table, row["time_s"], row["speed_m_per_min"]) == ("measures", time_s, speed)
    assert row["times_s"] == str([float(time) for time in times])
    assert (row["mark"], row["mark_unit"], row["distance_m"]) == (None, None, distance)


def test_what_of_a_setting_nobody_typed_is_named_with_its_time() -> None:
    """As JSON, by name; nothing where all of it was typed."""

    def setting(*carried: Carried) -> str | None:
        made = Setting(
            machine="blue",
            sheet="base",
            lap="selvage",
            nozzle=Quantity("500", Fraction(500), "C"),
            speed=Quantity("2", Fraction(2), "m/min"),
            carried=carried,
        )
        row = columns.setting(made)
        assert (row["speed_text"], row["speed_unit"], row["dial_mark"]) == ("2", "m/min", None)
        assert row["speed_m_per_min"] == 2.0
        return row["setting_carried"]

    at = "2026-06-01T07:00:00-06:00"
    assert setting() is None
    said = setting(Carried(name="speed", read_at=at), Carried(name="lap", read_at=at))
    assert said == f'{{"lap": "{at}", "speed": "{at}"}}'


@pytest.mark.parametrize(
    ("kept", "version"), [("5", 5), ("12", 12), ("x", 0), ("5.0", 0), ("-1", 0), ("", 0), (None, 0)]
)
def test_the_version_of_a_books_tables(kept: str | None, version: int) -> None:
    """What is no whole number is as if there were none: the tables are made anew."""
    with contextlib.closing(sqlite3.connect(":memory:")) as book:
        book.execute("CREATE TABLE local (name TEXT PRIMARY KEY, value TEXT)")
        if kept is not None:
            book.execute("INSERT INTO local VALUES ('schema', ?)", (kept,))
        assert schema.schema_version(book) == version


def test_tables_are_made_as_they_are_declared() -> None:
    """Each with its columns, its id as the key and its indexes; made twice, they are empty."""
    with contextlib.closing(sqlite3.connect(":memory:", isolation_level=None)) as book:
        book.execute("CREATE TABLE local (name TEXT PRIMARY KEY, value TEXT)")
        schema.create(book)
        book.execute("INSERT INTO norths (id, degrees) VALUES ('x', 1.0)")
        schema.create(book)
        assert schema.schema_version(book) == schema.SCHEMA_VERSION
        for name, declared in schema.TABLES.items():
            made = book.execute(f'PRAGMA table_info("{name}")').fetchall()
            assert [row[1] for row in made] == list(declared)
            assert [row[1] for row in made if row[5]] == ["id"]
            assert book.execute(f'SELECT count(*) FROM "{name}"').fetchone() == (0,)
            indexed = {
                tuple(row[2] for row in book.execute(f'PRAGMA index_info("{index[1]}")'))
                for index in book.execute(f'PRAGMA index_list("{name}")')
                if index[3] == "c"
            }
            assert indexed == set(schema.INDEXES.get(name, ()))
    assert set(schema.INDEXES) <= set(schema.TABLES)


def test_a_hand_tool_has_no_speed() -> None:
    """None of its four columns."""
    made = Setting(
        machine="hand tool 2",
        sheet="base",
        lap="selvage",
        nozzle=Quantity("500", Fraction(500), "C"),
        by_hand=True,
    )
    row = columns.setting(made)
    assert (row["speed_text"], row["speed_unit"]) == (None, None)
    assert (row["dial_mark"], row["speed_m_per_min"]) == (None, None)


def test_two_names_said_to_be_one_thing() -> None:
    """Whose, of which job, folded; and whether they are one or two."""
    record = Same(
        seen=Seen(at="2026-06-01T08:00:00-06:00", by="Ana Ruiz"),
        what="machine",
        one=Thing(job="j1", name="Blue "),
        other=Thing(job="j2", name="red"),
        same=False,
        note="told on Monday",
    )
    ((table, row),) = listed_rows.ROWS["same"](_subject(), record, 0)
    assert table == "sames"
    found = tuple(row[c] for c in ("what", "one_job", "one", "other_job", "other", "same", "note"))
    assert found == ("machine", "j1", "blue", "j2", "red", 0, "told on Monday")
