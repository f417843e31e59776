"""The operator before the first lap: conditions, strips, pulls."""

from __future__ import annotations

from typing import Any

import pytest

STRIP = "strip record --nozzle 932 --speed 5.5 --bleed 1/4,3/16,5/16 --bubbling none"


def test_a_strip_is_recorded_from_one_line(job: Any) -> None:
    """And the answer says what keeps it from being a go-ahead."""
    said = job.ok(STRIP).out
    assert "Strip S1 recorded." in said
    assert "the cold pull was not tried yet" in said
    (strip,) = job.ok("strip list --json").json
    assert strip["widths_mm"] == [6.35, 4.7625, 7.9375]
    assert (strip["nozzle_c"], strip["speed_m_per_min"], strip["bubbling"]) == (
        500.0,
        1.6764,
        "none",
    )
    assert (strip["machine"], strip["sheet"], strip["seen_by"]) == ("blue", "base", "Ana Ruiz")


def test_everything_that_can_be_noted_of_a_strip_is_kept(job: Any) -> None:
    """Each option comes back in the row, in SI."""
    job.ok(
        "strip record --nozzle 500C --speed 1.7m/min --bleed 6mm --bubbling trace --bond good --ambient 16C "
        "--sheet-temp 74F --under-temp 70F --humidity 60 --wind 8mph --line-voltage 228 --damp no "
        "--true-speed 5.4ft/min --nozzle-measured 480C --air-flow 90 --nozzle-width 4in --roller-load 60lbf "
        "--parted compound --bonded-width 3in --smoke no --exposed-mat no --roll-lot L7 --note 'by the hatch' "
        "--instrument 'tape 1' --lap granules"
    )
    (row,) = job.query("SELECT * FROM strips")
    expected = {
        "nozzle_c": 500.0,
        "speed_m_per_min": 1.7,
        "bubbling": "trace",
        "bond": "good",
        "ambient_c": 16.0,
        "sheet_c": pytest.approx(23.3333, abs=1e-4),
        "under_c": pytest.approx(21.1111, abs=1e-4),
        "humidity_pct": 60.0,
        "wind_m_per_s": pytest.approx(3.57632),
        "line_v": 228.0,
        "damp": 0,
        "true_speed_m_per_min": pytest.approx(1.64592),
        "nozzle_measured_c": 480.0,
        "air_flow_pct": 90.0,
        "nozzle_width_mm": 101.6,
        "roller_load_n": pytest.approx(266.893, abs=1e-3),
        "parted": "in the compound",
        "bonded_mm": 76.2,
        "smoke": 0,
        "exposed_mat": 0,
        "roll_lot": "L7",
        "note": "by the hatch",
        "instrument": "tape 1",
        "lap": "granules",
    }
    assert {name: row[name] for name in expected} == expected


def test_a_good_pull_makes_the_strip_a_go_ahead_and_is_no_correction(job: Any) -> None:
    """Filling in what was left open is not amending it."""
    job.ok(STRIP)
    job.clock.set("07:40")
    said = job.ok("strip pull S1 good --parted compound --bonded-width 3in").out
    assert "S1 is a go-ahead for blue on base, selvage" in said
    (strip,) = job.ok("strip list --json").json
    assert (strip["bond"], strip["parted"], strip["shortfalls"]) == ("good", "in the compound", [])
    assert "amended" not in strip["flags"]
    assert job.query("SELECT * FROM amendments") == []


@pytest.mark.parametrize(
    ("typed", "days_later", "now"), [("09:05", 0, False), ("07:06", 1, False), ("07:59", 0, True)]
)
def test_a_strip_typed_in_afterwards_is_not_told_as_good_for_today(
    job: Any, typed: str, days_later: int, now: bool
) -> None:
    """By the time it is typed what it permitted may be over: the page sends to the rule."""
    job.clock.set(typed, days=days_later)
    done = job.ok(f"{STRIP} --bond good --at '2026-06-01 07:05'")
    said = " ".join(done.out.split())
    assert ("S1 is a go-ahead for blue on base, selvage, for today." in said) is now
    then = "S1 was a go-ahead for blue on base, selvage, from 2026-06-01 07:05. Whether it still"
    assert (then in said) is not now


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ("--bleed 1/16,1/4,1/4", "too little bleed-out: 1/16 in, limit 1/8 in"),
        ("--bleed 7/16,3/8,3/8", "too much bleed-out: 7/16 in, limit 3/8 in"),
        ("--bleed 1/8,1/4,3/8", "not steady: readings differ by 1/4 in, limit 3/16 in"),
        ("--bleed 1/4,1/4", "only 2 readings; the limits want 3"),
        ("--bubbling trace", "bubbling: trace"),
        ("--bond cold", "the cold pull came apart"),
        ("--bond 'not tried'", "the cold pull was not tried yet"),
        ("--exposed-mat yes", "the mat is exposed"),
    ],
)
def test_a_strip_that_falls_short_says_why(job: Any, change: str, why: str) -> None:
    """In words, with the number and the limit; and it is no go-ahead."""
    said = " ".join(job.ok(f"{STRIP} --bond good {change}").out.split())
    assert f"Not a go-ahead: {why}" in said
    assert "is a go-ahead" not in said


def test_conditions_are_carried_over_with_their_age_never_as_read_now(job: Any) -> None:
    """A strip ten minutes later holds the reading, marked as carried over."""
    job.ok("conditions --ambient 61F --sheet-temp 74F --wind 5mph")
    job.clock.set("07:10")
    job.ok(f"{STRIP} --sheet-temp 80F")
    conditions = job.entries()[-1]["payload"]["conditions"]
    carried = {part["name"]: part["read_at"] for part in conditions["carried"]}
    assert carried == dict.fromkeys(("ambient", "wind"), "2026-06-01T07:00:00-06:00")
    (row,) = job.query("SELECT ambient_c, sheet_c FROM strips")
    assert tuple(row) == (pytest.approx(16.1111, abs=1e-4), pytest.approx(26.6667, abs=1e-4))


def test_a_carried_value_does_not_live_for_ever(job: Any) -> None:
    """Carried over once from its reading, not from strip to strip into the next day."""
    job.ok("conditions --ambient 61F")
    job.clock.set("16:00")
    job.ok(STRIP)
    job.clock.set("07:00", days=1)
    job.ok(STRIP)
    rows = job.query("SELECT ambient_c FROM strips ORDER BY tick")
    assert [row["ambient_c"] is None for row in rows] == [False, True]


def test_a_second_pull_is_kept_and_the_first_stands(go_ahead: Any) -> None:
    """Neither is lost; the record says it was pulled twice."""
    said = go_ahead.ok("strip pull S1 cold").out
    assert "was pulled before" in said
    (strip,) = go_ahead.ok("strip list --json").json
    assert (strip["bond"], "pulled twice" in strip["flags"]) == ("good", True)
    assert sum(entry["kind"] == "pull" for entry in go_ahead.entries()) == 2


def test_a_second_pull_fills_in_nothing_of_its_own(job: Any) -> None:
    """A good first pull and a bad second are not mixed into one."""
    job.ok(STRIP)
    job.ok("strip pull S1 good")
    job.ok("strip pull S1 cold --parted lap --bonded-width 1in")
    (row,) = job.query("SELECT bond, parted, bonded_mm FROM strips")
    assert tuple(row) == ("good", None, None)


def test_cautions_stand_before_the_first_strip_of_a_day_only(job: Any) -> None:
    """Fire, burns, edges, electricity, fumes, heat, typing; and whose word comes first."""
    first = job.ok(STRIP).out
    words = " ".join(first.split())
    for text in (
        "BEFORE HOT AIR TODAY",
        "extinguisher",
        "fire watch",
        "burn skin",
        "Edges",
        "Power",
        "Fumes",
        "Never type while the machine travels",
        "local codes and licensed practice",
    ):
        assert text in words
    assert first.index("BEFORE HOT AIR") < first.index("Strip S1 recorded.")
    job.clock.set("09:00")
    assert "BEFORE HOT AIR" not in job.ok(STRIP).out
    job.clock.set("07:00", days=1)
    assert "BEFORE HOT AIR" in job.ok(STRIP).out


def test_a_night_shift_is_one_day(weldcal: Any) -> None:
    """With the day beginning at 12, strips at 23:00 and 01:00 are of one day: one caution."""
    weldcal.ok(
        'job new N --zone America/Denver --day-begins 12 --sheet "b: x" --machine "m: ft/min"'
    )
    weldcal.clock.set("23:00")
    weldcal.ok(f"{STRIP} --by X")
    weldcal.clock.set("01:00", days=1)
    assert "BEFORE HOT AIR" not in weldcal.ok(f"{STRIP} --by X").out
    assert len({row["day"] for row in weldcal.query("SELECT day FROM strips")}) == 1


def test_a_bare_number_is_a_mark_where_the_dial_shows_bare_numbers(job: Any) -> None:
    """No speed is made up for it."""
    job.ok('machine add "old: mark 1-9"')
    job.ok(f"{STRIP} --machine old --speed 6")
    (row,) = job.query("SELECT dial_mark, speed_m_per_min, speed_unit FROM strips")
    assert tuple(row) == (6.0, None, "mark")


def test_a_strip_of_another_day_is_told_apart_from_one_of_today(job: Any) -> None:
    """A time of the job's own clock, whatever offset it was typed with."""
    job.ok(f"{STRIP} --at 2026-06-01T03:00+00:00")
    (row,) = job.query("SELECT day, seen_local FROM strips")
    assert tuple(row) == ("2026-05-31", "2026-05-31T21:00:00-06:00")


def test_with_two_machines_the_machine_must_be_said(job: Any) -> None:
    """No guess between two; the refusal names both."""
    job.ok('machine add "red: ft/min"')
    refused = job(STRIP)
    assert refused.code == 2
    assert "blue" in refused.err
    assert "red" in refused.err


HEAD = "date,time,machine,nozzle (F),speed (ft/min),bleed (in),bubbling,bond,operator"
ROWS = (
    "2026-06-01,06:50,blue,932,5.5,1/4 3/16 1/4,none,good,AR",
    "2026-06-01,06:59,blue,932,6,1/4 3/16 1/4,none,good,BO",
)


def test_a_strip_sheet_loaded_again_records_nothing_twice(job: Any, tmp_path: Any) -> None:
    """Nor after a correction; what was taken back may come again, and two alike are two."""
    file = tmp_path / "strips.csv"
    file.write_text("\n".join([HEAD, *ROWS, ROWS[1]]), "utf-8")
    assert "Strips: 3 recorded, 0 here already" in job.ok(f"strip load --yes {file}").out
    job.ok('amend S1 speed 6 --why "misread the dial"')
    before = job.entries()
    assert "Strips: 0 recorded, 3 here already" in job.ok(f"strip load --yes {file}").out
    assert job.entries() == before
    job.ok("undo S2 --yes")
    file.write_text(
        "\n".join([HEAD, "2026-06-01,06:30,blue,932,5,1/4 1/4 1/4,none,good,AR", *ROWS, ROWS[1]]),
        "utf-8",
    )
    assert job.ok(f"strip load --yes {file} --json").json["recorded_before"] == 2
    assert job.query("SELECT count(*) AS n FROM strips")[0]["n"] == 4


def test_initials_in_a_strip_sheet_are_the_person_listed(job: Any, tmp_path: Any) -> None:
    """As in every command and on a probe sheet."""
    file = tmp_path / "strips.csv"
    file.write_text("\n".join([HEAD, *ROWS]), "utf-8")
    job.ok(f"strip load --yes {file}")
    assert [row["seen_by"] for row in job.query("SELECT seen_by FROM strips ORDER BY name")] == [
        "Ana Ruiz",
        "Ben Okoro",
    ]
    assert "person not listed" not in job.ok("strip list").out
