"""Is the go-ahead still good? Good, look or strip again: which rule, since when, which seams, what to do."""

from __future__ import annotations

from typing import Any

import pytest

from tests.cli.go_aheads import GOOD, READ, SET, STRIP, asked, level, rules, said


def test_a_job_with_no_strip_is_led_on(job: Any) -> None:
    """One line, exit code 1, nothing recorded, and what to do."""
    before = job.entries()
    none = job("go-ahead")
    assert none.code == 1
    assert none.out == "No go-ahead yet. Run a strip: weldcal strip record\n"
    assert none.err == ""
    assert job("go-ahead --json").json["level"] == "none"
    assert job.entries() == before


def test_a_strip_not_yet_pulled_is_no_go_ahead(job: Any) -> None:
    """Readings alone permit nothing: it says which strip to pull."""
    job.ok(STRIP)
    none = job("go-ahead")
    assert none.code == 1
    assert "Pull S1 first" in none.out


def test_a_fresh_go_ahead_is_good(passed: Any) -> None:
    """And says whose it is."""
    passed.clock.set("07:30")
    assert said(passed).startswith(
        "GOOD, 5.5 ft/min: go-ahead S1 of 2026-06-01 07:00, blue, base, selvage"
    )
    assert asked(passed).json["triggers"] == []


MOVED = [  # at the strip: 60 °F, 70 °F, 5 mph, 230 V; differences in K: 5/9 of °F
    ("--ambient 68F", "good", None),  # 4.4 K
    ("--ambient 70F", "look", "ambient_moved"),  # 5.6 K
    ("--ambient 79F", "strip_again", "ambient_moved"),  # 10.6 K
    ("--ambient 41F", "strip_again", "ambient_moved"),
    ("--sheet-temp 86F", "look", "sheet_moved"),  # 8.9 K
    ("--sheet-temp 98F", "strip_again", "sheet_moved"),  # 15.6 K
    ("--wind 13mph", "look", "wind_moved"),  # 3.6 m/s
    ("--wind 19mph", "strip_again", "wind_moved"),  # 6.3 m/s
    ("--line-voltage 222", "look", "voltage_moved"),  # 3.5 %
    ("--line-voltage 215", "strip_again", "voltage_moved"),  # 6.5 %
    ("--line-voltage 224", "good", None),
]


@pytest.mark.parametrize(("read", "expected", "code"), MOVED, ids=[case[0] for case in MOVED])
def test_weather_and_power_that_stay_moved_call_for_what_they_should(
    passed: Any, read: str, expected: str, code: str | None
) -> None:
    """A quarter of an hour on end."""
    passed.day(f"07:30 conditions {read}\n07:45 conditions {read}")
    assert level(passed, "07:46") == expected
    assert code is None or (code, expected) in rules(passed)


def test_a_passing_cloud_calls_nobody_off(passed: Any) -> None:
    """A sheet 20 K colder for five minutes: a look, and over when the sun is back."""
    passed.day("07:30 conditions --sheet-temp 34F")
    assert level(passed, "07:33") == "look"
    passed.day("07:35 conditions --sheet-temp 70F")
    assert level(passed, "07:50") == "good"
    told = asked(passed).json["triggers"]
    assert [(t["code"], t["until_s"] is None) for t in told] == [("sheet_moved", False)]
    assert "(over)" in said(passed)


def test_a_cold_that_stays_calls_for_a_strip_whatever_is_read_later(passed: Any) -> None:
    """Ten minutes; warm again at nine is too late."""
    passed.day(
        "07:30 conditions --sheet-temp 34F\n07:45 conditions --sheet-temp 34F\n08:00 conditions --sheet-temp 70F"
    )
    assert level(passed, "08:10") == "strip_again"


def test_a_look_is_over_when_a_bleed_check_is_inside_the_limits(passed: Any) -> None:
    """One outside ends nothing."""
    passed.day("07:30 conditions --ambient 70F")
    assert level(passed, "07:31") == "look"
    assert "weldcal bleed" in said(passed)
    passed.day("07:32 bleed A1 10 1/2")
    assert level(passed, "07:33") == "look"
    passed.day("07:34 bleed A1 12 1/4,3/16")
    assert level(passed, "07:35") == "good"


@pytest.mark.parametrize(
    ("time", "expected"),
    [("09:58", "good"), ("10:01", "look"), ("11:59", "look"), ("12:01", "strip_again")],
)
def test_hours_passed_since_the_strip(passed: Any, time: str, expected: str) -> None:
    """3 h a look, 5 h a strip, from 07:00; the sheet read again in between."""
    if time > "09:30":
        passed.day(f"09:30 conditions {READ}")
    assert level(passed, time) == expected


@pytest.mark.parametrize(
    ("time", "expected"), [("08:04", "good"), ("08:06", "look"), ("08:36", "strip_again")]
)
def test_a_stop_longer_than_the_limits(passed: Any, time: str, expected: str) -> None:
    """Welding ended at 07:35: 30 min a look, 60 min a strip (trial-seam rule, borrowed)."""
    passed.day("07:35 seam finish A1 --to 33")
    assert level(passed, time) == expected


OTHER = [
    ("--machine red", "other_machine", "strip_again"),
    ("--sheet cap", "other_sheet", "strip_again"),
    ("--lap granules", "other_lap", "strip_again"),
    ("--by 'Ben Okoro'", "other_operator", "strip_again"),
]


def test_another_operator_calls_for_a_strip_and_so_does_coming_back_end_it(passed: Any) -> None:
    """A run made as the strip was is covered again."""
    passed.day(f"07:20 seam finish A1 --to 33\n07:22 seam start A2 {SET} --by BO")
    assert level(passed, "07:23") == "strip_again"
    assert ("other_operator", "strip_again") in rules(passed)
    passed.day(f"07:25 seam finish A2 --to 33\n07:26 seam start A3 {SET} --by AR")
    assert level(passed, "07:27") == "good"


def test_only_a_reading_ends_a_look_at_an_old_reading(go_ahead: Any) -> None:
    """A bleed check ends the look of the stop, not that of the sheet: both are asked for."""
    go_ahead.day(f"""
        07:00 conditions --ambient 60F --sheet-temp 70F
        07:20 seam start A1 {SET}
        08:25 seam finish A1 --to 33
    """)
    go_ahead.clock.set("09:05")
    told = " ".join(go_ahead.ok(f"seam start A2 {SET}").out.split())
    assert "stopped for 40 min, limit 30 min. A bleed check now says" in told
    assert "read the sheet now. A bleed check" not in told
    asks = said(go_ahead)
    assert (
        "Read the sheet now: weldcal conditions --sheet-temp READING. And make a bleed check"
        in asks
    )
    go_ahead.day("09:06 bleed A2 3 1/4")
    assert rules(go_ahead) == {("reading_age", "look")}
    assert said(go_ahead).endswith("Read the sheet now: weldcal conditions --sheet-temp READING")
    go_ahead.refused("conditions --sheet-temp READING")  # pasted as it stands, it reads nothing
    go_ahead.day("09:07 conditions --sheet-temp 70F")
    assert level(go_ahead, "09:08") == "good"


@pytest.mark.parametrize("word", ["metric", "Métrico", "SI"])
def test_an_example_is_in_the_units_of_the_job(weldcal: Any, word: str) -> None:
    """Metric is read as the word it is."""
    weldcal.ok(
        f'job new "Nave" --units {word} --zone America/Denver --by "Ana Ruiz" '
        '--sheet "base: SBS" --machine "azul: m/min 0.5-6 step 0.1"'
    )
    weldcal.ok('me "Ana Ruiz"')
    assert "--ambient 13C" in weldcal.ok("evening").out


def test_another_roll_lot_calls_for_a_look(job: Any) -> None:
    """Over with a bleed check inside the limits; nothing where nobody noted the lots."""
    job.day(f"""
        07:00 {STRIP} --roll-lot 7
        07:10 strip pull S1 good --parted compound
        07:12 seam start A1 {SET}
        07:19 seam finish A1 --to 33
    """)
    assert level(job, "07:20") == "good"
    job.day(f"07:21 seam start A2 {SET} --roll-lot 8")
    assert level(job, "07:22") == "look"
    assert rules(job) == {("other_roll_lot", "look")}
    job.day("07:23 bleed A2 3 1/4")
    assert level(job, "07:24") == "good"


@pytest.mark.parametrize(("option", "code", "expected"), OTHER, ids=[case[1] for case in OTHER])
def test_welding_otherwise_than_the_strip_is_warned_of(
    passed: Any, option: str, code: str, expected: str
) -> None:
    """Never refused; the warning stays open until answered."""
    assert expected == "strip_again"
    done = passed.ok(f"seam start A2 {SET} {option} --json").json
    shorts = [note["shortfall"] for note in done["notes"] if note["code"] == "warning"]
    assert [short.removeprefix("moved_") for short in shorts] == [code]
    (warning,) = passed.ok("roof --json").json["warnings"]
    assert warning["seam"] == "A2"
    passed.ok('settle R2 "strip S2 run at once, good"')
    assert passed.ok("roof --json").json["warnings"] == []


def test_another_crew_with_its_own_go_ahead_voids_nothing(passed: Any) -> None:
    """Two machines weld at once: red's runs say nothing of blue's strip."""
    passed.ok('machine add "red: ft/min 1-20 step 0.5"')
    passed.day(f"""
        07:02 {STRIP} --machine red --by BO
        07:14 strip pull S2 good --parted compound
        07:15 seam start A2 {SET} --machine red --by BO
    """)
    assert level(passed, "07:20", "--machine blue") == "good"
    assert level(passed, "07:20", "--machine red") == "good"
    done = passed.ok(f"seam start A3 {SET} --machine blue --by AR --json").json
    assert [note["code"] for note in done["notes"] if note["code"] == "warning"] == []


def test_strip_again_says_which_rule_since_when_which_seams_and_what_to_do(passed: Any) -> None:
    """All four, for a person."""
    passed.day(f"""
        07:20 seam finish A1 --to 33
        07:30 conditions --ambient 85F
        07:35 seam start A2 {SET}
        07:45 seam finish A2 --to 33
        07:46 conditions --ambient 85F
    """)
    passed.clock.set("07:50")
    told = said(passed)
    assert told.startswith("STRIP AGAIN: go-ahead S1")
    again = told.split("- STRIP AGAIN since ")[1]
    assert "07:30: ambient 60 °F at the strip, 85 °F now. Welded after that: A2." in again
    assert "a marked change of air or wind calls for a test weld" in told
    assert "Run a strip; start at " in told
    assert "ft/min" in told.split("start at ")[1]


def test_every_rule_as_json_names_its_source_and_seams(passed: Any) -> None:
    """One document, seconds of any epoch beside the job's own time."""
    passed.day(
        f"07:20 seam finish A1 --to 33\n07:30 conditions --ambient 85F\n07:35 seam start A2 {SET}"
    )
    passed.clock.set("07:50")
    document = asked(passed).json
    assert document["level"] == "strip_again"
    for told in document["triggers"]:
        assert told["source"]
        assert told["values"]["limit"] is not None
    assert {tuple(told["seams"]) for told in document["triggers"]} == {("A2",)}


def test_welding_after_strip_again_is_recorded_with_its_warning(passed: Any) -> None:
    """Kept with the run, shown on the roof until answered."""
    passed.day("07:30 conditions --ambient 85F\n07:45 conditions --ambient 85F")
    out = passed.ok(f"seam start A2 {SET}").out
    assert "WARNING, no valid go-ahead: ambient 60 °F at the strip, 85 °F now" in " ".join(
        out.split()
    )
    (run,) = passed.query("SELECT * FROM runs WHERE seam = 'A2'")
    assert run["go_ahead"] is None
    assert "Open warning: R2 on seam A2" in passed.ok("roof").out


def test_welding_within_a_look_stands_on_the_go_ahead_and_says_look(passed: Any) -> None:
    """No warning is kept."""
    passed.day("07:30 conditions --ambient 70F")
    out = " ".join(passed.ok(f"seam start A2 {SET}").out.split())
    assert "LOOK: ambient 60 °F at the strip, 70 °F now" in out
    assert "It stands on go-ahead S1" in out
    assert passed.ok("roof --json").json["warnings"] == []


def test_the_strip_that_is_asked_for_ends_it(passed: Any) -> None:
    """A new strip at the new weather is the go-ahead from then on."""
    passed.day("07:30 conditions --ambient 85F\n07:45 conditions --ambient 85F")
    assert level(passed, "07:46") == "strip_again"
    passed.day(
        f"07:50 {STRIP} --ambient 85F --sheet-temp 95F\n08:00 strip pull S2 good --parted compound"
    )
    assert level(passed, "08:01") == "good"
    assert asked(passed).json["strip"] == "S2"


def test_names_of_mischief_are_shown_and_obeyed_nowhere(passed: Any) -> None:
    """In seams, operators and sources."""
    name = "[red]\x1b[31mA9"
    passed.ok("seam", "start", *SET.split(), f"--by={name}", "--", name)
    passed.clock.set("09:00")
    out = asked(passed, "go-ahead").out
    assert "\x1b" not in out
    assert "[red]" in out


@pytest.mark.parametrize(
    ("log", "why"),
    [
        (f"07:00 {STRIP}\n07:05 strip pull S1 good --parted compound", "5 min after welding"),
        (f"07:00 {STRIP}\n07:15 strip pull S1 cold", "cold bond"),
        (f"07:00 {GOOD}\n07:15 amend S1 bond cold --why misread", "cold bond"),
    ],
)
def test_no_go_ahead_says_what_the_newest_strip_fell_short_of(job: Any, log: str, why: str) -> None:
    """As seam start says it; of a strip of yesterday, a new one is asked for and no more."""
    job.day(log)
    done = job("go-ahead")
    told = " ".join(done.out.split())
    assert (done.code, told.startswith("No go-ahead. S1 fell short: ")) == (1, True)
    assert why in told
    assert told.endswith("Run a strip: weldcal strip record")
    assert job("go-ahead --json").json["fell_short"] == "S1"
    job.clock.set("07:00", days=1)
    assert job("go-ahead").out == "No go-ahead yet. Run a strip: weldcal strip record\n"


def test_a_speed_off_the_dial_is_no_go_ahead(job: Any) -> None:
    """55 typed for 5.5 on a dial of 1 to 20 is kept, and permits nothing."""
    off = STRIP.replace("--speed 5.5", "--speed 55 --as-typed")
    job.day(f"07:00 {off}\n07:15 strip pull S1 good --parted compound")
    done = job("go-ahead")
    assert (done.code, "No go-ahead. S1 fell short: " in done.out) == (1, True)
    assert "off blue's dial, 1 to 20" in " ".join(job.ok("strip list").out.split())
    job.ok("amend S1 speed 5.5 --why slip --by AR")
    assert asked(job).json["strip"] == "S1"
    edge = STRIP.replace("--speed 5.5", "--speed 20 --as-typed")
    job.day(f"07:20 {edge}\n07:35 strip pull S2 good --parted compound")
    assert asked(job).json["strip"] == "S2"
