"""Every kind of record in the tables: each number here was worked out by hand from what is typed.

Lengths 1 ft = 0.3048 m, 1 in = 25.4 mm; F to C: (F - 32) / 1.8; 1 lbf = 4.4482216 N; 1 mph =
0.44704 m/s. Denver in June is six hours behind UTC.
"""

from __future__ import annotations

import csv
import json
from typing import Any

import pytest

from tests.conftest import Weldcal

# Table and name -> what its row says; a column that is not named here is not looked at.
ROWS: dict[tuple[str, str], dict[str, Any]] = {
    ("jobs", "School roof"): {"units": "us", "zone": "America/Denver", "day_begins": 0},
    ("areas", "North"): {"length_m": 18.288, "width_m": 6.096, "x_m": None, "over": None},
    ("sheets", "cap"): {
        "description": "mineral cap",
        "judged_by": "bleed-out",
        "thickness_mm": 4.0,
        "roll_width_mm": 1016.0,
        "roll_length_m": 10.0584,
        "peel_n_per_mm": 20 * 4.4482216 / 25.4,
        "peel_source": "spec 7",
    },
    ("machines", "red"): {
        "dial": "mark",
        "dial_low": 0.0,
        "dial_high": 10.0,
        "dial_step": 1.0,
        "nozzle_low_c": 200.0,
        "nozzle_high_c": 600.0,
        "rated_v": 230.0,
        "marks": "[[2.0, 1.0], [8.0, 4.0]]",
    },
    ("instruments", "tape"): {"kind": "tape", "checked": "2026-05-04", "due": "2027-05-04"},
    ("people", "Ben Okoro"): {"initials": "BO", "role": "inspector"},
    ("limits", "bleed_low"): {
        "number": "1/8",
        "unit": "in",
        "text": "1/8",
        "source": "sheet maker",
        "adopted_by": "Ana Ruiz",
        "from_utc": "2026-06-01T12:40:00+00:00",
    },
    ("conditions", ""): {
        "seen_utc": "2026-06-01T12:50:00+00:00",
        "seen_local": "2026-06-01T06:50:00-06:00",
        "day": "2026-06-01",
        "hour": 6.8333,
        "ambient_c": 10.0,
        "sheet_c": 20.0,
        "under_c": 15.0,
        "humidity_pct": 60.0,
        "wind_m_per_s": 4.4704,
        "gust_m_per_s": 8.9408,
        "roll_c": 5.0,
        "line_v": 228.0,
        "damp": 0,
        "sky": "clear",
        "supply": "generator",
        "instrument": "tape",
        "late_h": 0.0,
        "flags": "[]",
        "carried": "{}",
    },
    ("strips", "S1"): {
        "machine": "blue",
        "sheet": "base",
        "lap": "granules",
        "nozzle_c": 500.0,
        "nozzle_measured_c": 490.0,
        "nozzle_text": "932",
        "nozzle_unit": "F",
        "speed_m_per_min": 1.524,
        "speed_text": "5",
        "speed_unit": "ft/min",
        "dial_mark": None,
        "by_hand": 0,
        "readings_n": 3,
        "width_median_mm": 3.175,
        "width_min_mm": 0.0,
        "width_max_mm": 6.35,
        "bubbling": "trace",
        "bond": "good",
        "parted": "at the lap",
        "bonded_mm": 50.8,
        "pulled_utc": "2026-06-01T13:15:00+00:00",
        "pulled_by": "Ben Okoro",
        "smoke": 0,
        "exposed_mat": 1,
        "roll_lot": "L-7",
        "note": "gusts",
        "photos": "[]",
        "damp": None,
        "sky": None,
        "seen_by": "Ben Okoro",
        "entered_by": "Ana Ruiz",
        "flags": '["entered by another", "pull entered by another"]',
    },
    ("seams", "N1"): {"seam_key": "n1", "kind": "side lap", "length_m": 9.144, "place": "row 1"},
    ("runs", "R1"): {
        "seam": "N1",
        "seam_key": "n1",
        "start_m": 0.9144,
        "end_m": 9.144,
        "finished_utc": "2026-06-01T14:10:00+00:00",
        "finished_by": "Ana Ruiz",
        "why_finished": "end of roll",
        "power_lost": 1,
        "by_hand": 0,
        "flags": '["finish late"]',
        "warnings": '["own_strip_short"]',
        "go_ahead": None,
    },
    ("bleeds", "B1"): {
        "at_m": 3.048,
        "readings_n": 2,
        "width_median_mm": 4.7625,
        "width_min_mm": 3.175,
        "width_max_mm": 6.35,
        "bubbling": "none",
        "note": "at the lap's end",
    },
    ("widths", "T1"): {"at_m": 3.048, "overlap_mm": 101.6, "bonded_mm": 76.2},
    ("walks", "W1"): {
        "start_m": 0.9144,
        "end_m": 9.144,
        "started_utc": "2026-06-01T15:35:00+00:00",
        "ended_utc": "2026-06-01T15:40:00+00:00",
        "flags": '["entered by another"]',
    },
    ("findings", "F1"): {
        "kind": "scorched",
        "start_m": 3.6576,
        "end_m": 4.572,
        "how": "cut",
        "depth_mm": 12.7,
        "photos": "[]",
    },
    ("findings", "F2"): {"kind": "sample cut", "start_m": 6.096, "end_m": 6.1468, "how": "cut"},
    ("mends", "M1"): {
        "start_m": 3.5052,
        "end_m": 4.7244,
        "method": "patch",
        "tool": "hand tool 2",
        "patch_mm": 203.2,
        "nozzle_c": 500.0,
        "photos": "[]",
    },
    ("peels", "P1"): {
        "at_m": 6.096,
        "load_n": 40 * 4.4482216,
        "width_mm": 50.8,
        "n_per_mm": 40 * 4.4482216 / 50.8,
        "parted": "in the compound",
        "sample_c": 23.0,
        "pull_mm_per_min": 101.6,
        "strip": None,
    },
    ("peels", "P2"): {
        "at_m": None,
        "load_n": None,
        "n_per_mm": 10 * 4.4482216 / 25.4,
        "parted": "at the lap",
        "seam_key": None,
    },
    ("measures", ""): {
        "machine": "blue",
        "mark": 5.5,
        "mark_unit": "ft/min",
        "distance_m": 6.096,
        "time_s": 220.0,
        "times_s": "[218.0, 220.0, 222.0]",
        "speed_m_per_min": 6.096 / 220 * 60,
    },
    ("causes", ""): {"machine": "blue", "what": "nozzle cleaned", "note": "black"},
    ("repairs", ""): {"machine": "blue", "what": "new element", "note": None},
    ("hot_work", "H1"): {
        "permit": "4711",
        "extinguisher": "2-A at the machine",
        "deck": "steel",
        "primer_wet": 0,
        "facers": None,
        "watch_min": 60.0,
        "watch_source": "permit 4711",
        "ended_utc": "2026-06-01T16:00:00+00:00",
        "watched_until_utc": "2026-06-01T17:00:00+00:00",
        "watched_by": "Ana Ruiz",
        "watch_found": "nothing",
    },
    ("rolls", ""): {
        "lot": "L-7",
        "storage": "upright, covered",
        "conditioning": "24 h at 60F",
        "late_h": 0.167,
        "flags": "[]",
    },
    ("lot_doubts", ""): {"lot": "L-7", "why": "granules come off"},
    ("substrates", ""): {"area": "North", "dry": 1, "primed": 0, "clean": None},
    ("punch", "V1"): {
        "visitor": "owner",
        "place": "N1 20ft",
        "what": "mend the fishmouth",
        "done": "patched",
        "done_by": "Ben Okoro",
        "done_local": "2026-06-01T09:49:00-06:00",
    },
    ("openings", "O1"): {"seam": "A1", "note": "leak"},
    ("norths", ""): {"degrees": 0.0},
    ("draws", "D1"): {"seed": 7},
}


def test_every_row_says_what_was_typed_in_si(one_of_each: Weldcal) -> None:
    """Each kind's row, column by column."""
    for (table, name), expected in ROWS.items():
        (row,) = one_of_each.query(f'SELECT * FROM "{table}" WHERE name = ?', name)
        found = {column: row[column] for column in expected}
        numbers = {c: v for c, v in expected.items() if isinstance(v, float)}
        assert found == expected | {c: pytest.approx(v, rel=1e-6) for c, v in numbers.items()}, (
            table
        )


def test_rows_point_at_what_they_are_about(one_of_each: Weldcal) -> None:
    """A reading at its strip or check, a mend at its finding, a cut at its peel sample."""

    def ids(table: str) -> dict[str, str]:
        return {
            row["name"]: row["id"] for row in one_of_each.query(f"SELECT name, id FROM {table}")
        }

    readings = one_of_each.query('SELECT "of", n, text FROM readings ORDER BY rowid')
    assert [tuple(row) for row in readings] == [
        *[(ids("strips")["S1"], n + 1, text) for n, text in enumerate(("1/4", "1/8", "0"))],
        *[(ids("bleeds")["B1"], n + 1, text) for n, text in enumerate(("1/4", "1/8"))],
    ]
    (mend,) = one_of_each.query("SELECT finding FROM mends")
    assert mend["finding"] == ids("findings")["F1"]
    (cut,) = one_of_each.query("SELECT peel FROM findings WHERE name = 'F2'")
    assert cut["peel"] == ids("peels")["P1"]
    (sample,) = one_of_each.query("SELECT strip FROM peels WHERE name = 'P2'")
    assert sample["strip"] == ids("strips")["S1"]
    (warning,) = one_of_each.query('SELECT "of", code FROM warnings')
    assert tuple(warning) == (ids("runs")["R1"], "own_strip_short")


def test_what_was_read_earlier_is_named_with_its_time(one_of_each: Weldcal) -> None:
    """The strip at 07:00 stands on the reading of 06:50; what was not read then is not named."""
    (row,) = one_of_each.query("SELECT carried, ambient_c, gust_m_per_s FROM strips")
    assert set(json.loads(row["carried"]).values()) == {"2026-06-01T06:50:00-06:00"}
    assert sorted(json.loads(row["carried"])) == [
        "ambient",
        "gust",
        "humidity",
        "line_voltage",
        "roll_temp",
        "sheet_temp",
        "under_temp",
        "wind",
    ]
    assert (row["ambient_c"], row["gust_m_per_s"]) == (10.0, pytest.approx(8.9408))


def test_a_draw_keeps_the_stretches_it_was_drawn_from(one_of_each: Weldcal) -> None:
    """From 3 to 30 ft of N1; its one place lies there."""
    (row,) = one_of_each.query("SELECT stretches, places FROM draws")
    assert json.loads(row["stretches"]) == [["N1", pytest.approx(0.9144), pytest.approx(9.144)]]
    ((seam, at),) = json.loads(row["places"])
    assert seam == "N1"
    assert 0.9144 <= at <= 9.144


def _flags(weldcal: Weldcal, table: str) -> Any:
    (row,) = weldcal.query(f"SELECT flags FROM {table}")
    return json.loads(row["flags"])


@pytest.mark.parametrize(
    ("seen", "flags"),
    [
        ("08:00", []),
        ("07:00", []),
        ("06:59", ["late"]),
        ("08:05", []),
    ],
)
def test_what_was_entered_more_than_an_hour_later_is_late(
    job: Weldcal, seen: str, flags: list[str]
) -> None:
    """Entered at 08:00: an hour is not late, a minute more is."""
    job.clock.set("08:00")
    job.ok(f"conditions --ambient 50F --at {seen}")
    assert _flags(job, "conditions") == flags


@pytest.mark.parametrize(("pulled", "flags"), [("07:30", []), ("07:29", ["pull late"])])
def test_a_pull_entered_more_than_an_hour_later_is_late(
    job: Weldcal, pulled: str, flags: list[str]
) -> None:
    """Entered at 08:30."""
    job.clock.set("07:00")
    job.ok("strip record --nozzle 932 --speed 5.5 --bleed 1/4 --bubbling none")
    job.clock.set("08:30")
    job.ok(f"strip pull S1 good --parted compound --at {pulled}")
    assert _flags(job, "strips") == flags


def test_a_correction_a_second_pull_and_a_second_finish_are_marked(go_ahead: Weldcal) -> None:
    """Each on the row it is about; the first pull holds, and so does the first finish."""
    go_ahead.day("""
        07:10 seam start A1 --nozzle 932 --speed 5.5
        07:20 seam finish A1 --to 33
        07:30 amend S1 lap granules --why "selvage was off"
    """)
    assert _flags(go_ahead, "strips") == ["amended"]
    (row,) = go_ahead.query("SELECT of, path, old, new, why, conflict, withdrawn FROM amendments")
    (strip,) = go_ahead.query("SELECT id, lap FROM strips")
    assert strip["lap"] == "granules"
    assert tuple(row) == (
        strip["id"],
        "setting.lap",
        '"selvage"',
        '"granules"',
        "selvage was off",
        0,
        0,
    )


def test_what_is_taken_back_stands_in_one_table_only(go_ahead: Weldcal) -> None:
    """With what it said, where it stood, who took it back; put back, it stands where it did."""
    (strip,) = go_ahead.query("SELECT id FROM strips")
    go_ahead.clock.set("08:00")
    go_ahead.ok('undo S1 --yes --why "wrong job"')
    assert go_ahead.query("SELECT id FROM strips") == []
    assert go_ahead.query("SELECT n FROM readings") == []
    (row,) = go_ahead.query("SELECT * FROM withdrawn")
    assert row["id"] == row["of"] == strip["id"]
    assert (row["kind"], row["was_in"], row["name"]) == ("strip", "strips", "S1")
    assert (row["why"], row["withdrawn_by"], row["added_to"]) == ("wrong job", "Ana Ruiz", 0)
    assert row["withdrawn_utc"] == "2026-06-01T14:00:00+00:00"
    assert row["seen_utc"] == "2026-06-01T12:45:00+00:00"
    said = json.loads(row["said"])
    assert (said["speed_text"], said["readings"]) == ("5.5", ["1/4", "3/16", "5/16"])
    go_ahead.ok("undo --back --yes")
    assert [r["id"] for r in go_ahead.query("SELECT id FROM strips")] == [strip["id"]]
    assert go_ahead.query("SELECT id FROM withdrawn") == []


def test_a_pull_taken_back_is_no_row_that_was_added_to(go_ahead: Weldcal) -> None:
    """The strip stays, not pulled; what is recorded about the strip later is not about its pull."""
    go_ahead.day("""
        07:05 undo --yes
        07:10 amend S1 lap granules --why "selvage was off"
    """)
    (strip,) = go_ahead.query("SELECT pulled_utc, bond, lap FROM strips")
    assert tuple(strip) == (None, "not tried", "granules")
    (row,) = go_ahead.query("SELECT kind, was_in, name, added_to FROM withdrawn")
    assert tuple(row) == ("pull", None, "S1", 0)
    assert json.loads(go_ahead.query("SELECT said FROM withdrawn")[0]["said"])["bond"] == "good"


def test_a_correction_taken_back_has_no_effect_and_stays_readable(go_ahead: Weldcal) -> None:
    """The lap is what it was; the correction is marked as taken back, and put back it holds."""
    go_ahead.day("""
        07:05 amend S1 lap granules --why "selvage was off"
        07:10 undo --yes
    """)
    seen = "SELECT withdrawn FROM amendments WHERE path = 'setting.lap'"
    assert [tuple(row) for row in go_ahead.query(seen)] == [(1,)]
    assert go_ahead.query("SELECT lap FROM strips")[0]["lap"] == "selvage"
    go_ahead.ok("undo --back --yes")
    assert [tuple(row) for row in go_ahead.query(seen)] == [(0,)]
    assert go_ahead.query("SELECT lap FROM strips")[0]["lap"] == "granules"


def test_files_without_people_hold_no_name(one_of_each: Weldcal, tmp_path: Any) -> None:
    """With people they do; the rows are as many, and numbers stay."""
    one_of_each.ok("export", str(tmp_path / "whole"))
    one_of_each.ok("export", str(tmp_path / "bare"), "--no-people")
    whole = (tmp_path / "whole/strips.csv").read_text(encoding="utf-8")
    bare = (tmp_path / "bare/strips.csv").read_text(encoding="utf-8")
    assert "Ben Okoro" in whole
    assert (tmp_path / "whole/people.csv").exists()
    assert not (tmp_path / "bare/people.csv").exists()
    for file in (tmp_path / "bare").iterdir():
        assert "Okoro" not in file.read_text(encoding="utf-8"), file.name
    assert len(whole.splitlines()) == len(bare.splitlines()) == 2
    (row,) = csv.DictReader(bare.splitlines())
    assert row["speed_m_per_min"] == "1.524"
    lines = (tmp_path / "whole/strips.jsonl").read_text(encoding="utf-8").splitlines()
    assert [json.loads(line)["name"] for line in lines] == ["S1"]
