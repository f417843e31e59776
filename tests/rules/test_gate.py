"""May this lap be welded now? The verdict on a day's log, through the command line.

The rules are this program's or borrowed from other trades; their sources are shown beside
each verdict (weldcal go-ahead). Where none is named: common practice, no source.
"""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.conftest import STRIP, Weldcal
from weldcal.quality.go_ahead_rules import LEVELS
from weldcal.quality.goahead import Acceptance, Judged, Tried, shortfalls, speaks_against
from weldcal.quality.stop_rules import Air, stops

SET = "--nozzle 932 --speed 5.5"
READ = "06:40 conditions --ambient 61F --sheet-temp 74F --wind 5mph --humidity 40"
GOOD_STRIP = f"06:45 {STRIP}\n07:00 strip pull S1 good --parted compound"


def verdict(book: Weldcal, line: str = "go-ahead --json") -> str:
    """What it says, or that there is no go-ahead at all."""
    done = book(line)
    level: str = done.json["level"]
    assert done.code == int(level in ("none", "strip_again", "wait"))
    return level


# What happened, and what the go-ahead says after it.
DAYS = [
    ("gusts above the limit", f"{GOOD_STRIP}\n07:01 conditions --gust 40mph", "wait"),
    ("gusts below it", f"{GOOD_STRIP}\n07:01 conditions --gust 25mph", "good"),
    ("a cold roll", f"{GOOD_STRIP}\n07:01 conditions --roll-temp 45F", "wait"),
    ("a roll kept warm", f"{GOOD_STRIP}\n07:01 conditions --roll-temp 60F", "good"),
    ("a frozen sheet", f"{GOOD_STRIP}\n07:01 conditions --ambient 45F --sheet-temp 30F", "wait"),
    ("a good strip, pulled cold", f"{GOOD_STRIP}", "good"),
    ("parted clean at the lap", f"06:45 {STRIP}\n07:00 strip pull S1 good --parted lap", "none"),
    (
        "bonded over half an inch",
        f"06:45 {STRIP}\n07:00 strip pull S1 good --parted compound --bonded-width 0.5in",
        "none",
    ),
    (
        "bonded over two inches",
        f"06:45 {STRIP}\n07:00 strip pull S1 good --parted compound --bonded-width 2in",
        "good",
    ),
    ("pulled while warm", f"06:59 {STRIP}\n07:00 strip pull S1 good --parted compound", "none"),
    ("made on a damp sheet", f"06:45 {STRIP} --damp yes\n07:00 strip pull S1 good", "none"),
    (
        "a later strip of the same setting fails",
        f"{GOOD_STRIP}\n07:05 strip record {SET} --bleed 0,0,0 --bubbling none",
        "strip_again",
    ),
    (
        "a slower strip comes out too thin",
        f"{GOOD_STRIP}\n07:05 strip record --nozzle 932 --speed 4 --bleed 0,0,0 --bubbling none",
        "strip_again",
    ),
    (
        "a much faster strip comes out too thin: that says nothing of this setting",
        f"{GOOD_STRIP}\n07:05 strip record --nozzle 932 --speed 9 --bleed 0,0,0 --bubbling none",
        "good",
    ),
    (
        "it fails, and the next one passes",
        f"{GOOD_STRIP}\n07:05 strip record {SET} --bleed 0,0,0 --bubbling none\n"
        f"07:10 {STRIP}\n07:25 strip pull S3 good --parted compound",
        "good",
    ),
    (
        "no bleed-out at two places on the lap",
        f"{GOOD_STRIP}\n07:05 seam start A1 {SET}\n07:10 bleed A1 9 0,0",
        "strip_again",
    ),
    (
        "none at one place, then none at the next",
        f"{GOOD_STRIP}\n07:05 seam start A1 {SET}\n07:10 bleed A1 9 0\n07:11 bleed A1 12 0",
        "strip_again",
    ),
    (
        "heavy bubbling on the lap",
        f"{GOOD_STRIP}\n07:05 seam start A1 {SET}\n07:10 bleed A1 9 1/4 --bubbling heavy",
        "strip_again",
    ),
    (
        "a little too wide on the lap",
        f"{GOOD_STRIP}\n07:05 seam start A1 {SET}\n07:10 bleed A1 9 7/16",
        "look",
    ),
    ("the sheet noted damp", f"{GOOD_STRIP}\n07:05 conditions --damp yes", "wait"),
    ("frost", f"{GOOD_STRIP}\n07:05 conditions --ambient 15F", "wait"),
    ("a gale", f"{GOOD_STRIP}\n07:05 conditions --wind 45mph", "wait"),
    (
        "dew is near",
        f"{GOOD_STRIP}\n07:05 conditions --ambient 61F --humidity 97 --sheet-temp 62F",
        "wait",
    ),
    ("two hours and a minute on one reading", f"{GOOD_STRIP}\n08:41 verify", "look"),
    ("the sheet read again", f"{GOOD_STRIP}\n08:41 conditions --sheet-temp 75F", "good"),
]


@pytest.mark.parametrize(("what", "log", "expected"), DAYS, ids=[d[0] for d in DAYS])
def test_a_morning_and_its_verdict(job: Weldcal, what: str, log: str, expected: str) -> None:
    """One row a combination."""
    assert what
    job.day(f"{READ}\n{log}")
    assert verdict(job) == expected


def notes(done: Any, code: str) -> list[str]:
    """Shortfalls that a run was warned of, or told to look at."""
    return [n["shortfall"] for n in done.json["notes"] if n["code"] == code]


def test_a_lap_over_granules_does_not_start_on_a_selvage_strip(go_ahead: Weldcal) -> None:
    """The lap kind is the seam's, though nobody types it, and so it is stored."""
    go_ahead.ok("seam add E1 --kind 'end lap' --lap granules --length 3ft")
    done = go_ahead.ok(f"seam start E1 {SET} --json")
    assert notes(done, "warning") == ["other_lap"]
    (run,) = go_ahead.query("SELECT lap, go_ahead FROM runs")
    assert tuple(run) == ("granules", None)


def test_a_run_typed_as_another_lap_kind_than_listed_is_warned_of(go_ahead: Weldcal) -> None:
    """What was typed is kept, and told."""
    go_ahead.ok("seam add E1 --kind 'end lap' --lap granules --length 3ft")
    done = go_ahead.ok(f"seam start E1 {SET} --lap selvage --json")
    assert "other_lap_than_listed" in notes(done, "warning")


@pytest.mark.parametrize(
    ("setting", "look"),
    [("--nozzle 960F --speed 5.5", "moved_nozzle_temperature"), (f"{SET}", None)],
)
def test_seam_start_and_go_ahead_give_one_verdict(
    go_ahead: Weldcal, setting: str, look: str | None
) -> None:
    """28 °F hotter is a look to both."""
    done = go_ahead.ok(f"seam start A1 {setting} --json")
    assert notes(done, "warning") == []
    assert notes(done, "look") == ([look] if look else [])
    assert verdict(go_ahead) == ("look" if look else "good")


def test_a_limit_the_job_adopts_changes_both_verdicts(go_ahead: Weldcal) -> None:
    """The number stands in one place."""
    go_ahead.ok("limit set strip_nozzle_temperature 10degC --source 'sheet maker' --by 'Ana Ruiz'")
    done = go_ahead.ok("seam start A1 --nozzle 960F --speed 5.5 --json")
    assert notes(done, "warning") == ["moved_nozzle_temperature"]
    assert verdict(go_ahead) == "strip_again"


def test_air_and_roller_are_part_of_the_setting(job: Weldcal) -> None:
    """Half the air and a third of the load."""
    job.day(f"""
        {READ}
        06:45 {STRIP} --air-flow 100 --roller-load 60lbf
        07:00 strip pull S1 good --parted compound
    """)
    done = job.ok(f"seam start A1 {SET} --air-flow 50 --roller-load 20lbf --json")
    assert set(notes(done, "warning")) == {"moved_air_flow", "moved_roller_load"}


def test_asking_writes_nothing(go_ahead: Weldcal) -> None:
    """A go-ahead that is over is told with a speed to start at, and leaves no entry."""
    go_ahead.clock.set("07:10", days=1)
    before = go_ahead.entries()
    assert "start at" in go_ahead("go-ahead").out
    assert go_ahead.entries() == before


@pytest.mark.parametrize("line", ["dial", "check", "go-ahead"])
def test_every_page_says_wait_first(go_ahead: Weldcal, line: str) -> None:
    """Frost at 15 °F."""
    go_ahead.ok("conditions --ambient 15F")
    assert go_ahead(line).out.startswith("WAIT")


CLEAN = Judged(
    (6.0, 6.4, 6.4), "none", "good", parted="in the compound", bonded_mm=50, cooled_min=20
)
LIMITS = Acceptance(3.175, 6.35, 9.525, 0.0, 4.8, 3, False, True, 38.1, 10.0, 0.0, 0.0, 0.0, 0.0)
WORSE = {
    "damp": {"damp": True},
    "mat": {"exposed_mat": True},
    "heavy": {"bubbling": "heavy"},
    "cold": {"bond": "cold"},
    "clean": {"parted": "at the lap"},
    "narrow": {"bonded_mm": 12.0},
    "warm": {"cooled_min": 1.0},
    "thin": {"widths_mm": (0.0, 0.0, 0.0)},
}


@given(st.sets(st.sampled_from(sorted(WORSE))), st.sampled_from(sorted(WORSE)))
def test_what_makes_a_strip_worse_never_makes_it_pass(before: set[str], more: str) -> None:
    """Every fault added keeps the shortfalls that were there, or adds to them."""

    def short(faults: set[str]) -> set[str]:
        changed = {k: v for name in sorted(faults) for k, v in WORSE[name].items()}
        fields = {name: getattr(CLEAN, name) for name in CLEAN.__struct_fields__}
        return {s.code for s in shortfalls(Judged(**{**fields, **changed}), LIMITS)}

    assert short(before | {more})
    assert len(short(before | {more})) >= len(short(before)) or "clean" in before | {more}
    assert bool(short(before)) == bool(before)


@given(
    st.floats(430, 560), st.floats(0.5, 5), st.floats(430, 560), st.floats(0.5, 5), st.floats(0, 1)
)
def test_a_thin_strip_made_slower_still_speaks_against(
    nozzle: float, speed: float, passed_nozzle: float, passed_speed: float, slower: float
) -> None:
    """More heat and still too thin is worse news, never better."""
    passed = Tried(passed_nozzle, passed_speed, frozenset())
    thin = Tried(nozzle, speed, frozenset({"too_little"}))
    hotter = Tried(nozzle, speed * (1 - slower / 2), frozenset({"too_little"}))
    assert speaks_against(hotter, passed) >= speaks_against(thin, passed)


AIRS = st.builds(
    Air,
    read_s=st.just(0.0),
    ambient_c=st.one_of(st.none(), st.floats(-20, 45)),
    sheet_c=st.one_of(st.none(), st.floats(-20, 70)),
    humidity_pct=st.one_of(st.none(), st.floats(1, 100)),
    wind_m_per_s=st.one_of(st.none(), st.floats(0, 30)),
    damp=st.booleans(),
)


@given(AIRS, st.floats(0, 20), st.floats(0, 20))
def test_colder_windier_or_damp_never_ends_a_wait(air: Air, colder: float, windier: float) -> None:
    """Of the rules that watch one reading."""

    def codes(of: Air) -> set[str]:
        return {t.code for t in stops(of)} - {"dew"}

    worse = Air(
        0.0,
        None if air.ambient_c is None else air.ambient_c - colder,
        air.sheet_c,
        air.humidity_pct,
        None if air.wind_m_per_s is None else air.wind_m_per_s + windier,
        True,
    )
    assert codes(air) <= codes(worse)


def test_levels_run_from_good_to_wait() -> None:
    """The worst that holds decides."""
    assert LEVELS == ("good", "look", "strip_again", "wait")


def test_the_warning_names_the_machines_own_failed_strip(go_ahead: Weldcal) -> None:
    """Blue's strip is good; red's failed: that is the reason, not that blue's was for blue."""
    go_ahead.ok('machine add "red: ft/min 1-20 step 0.5"')
    go_ahead.ok(f"strip record {SET} --machine red --bleed 0,0,0 --bubbling none")
    done = go_ahead.ok(f"seam start A1 {SET} --machine red --json")
    assert notes(done, "warning") == ["own_strip_short"]
    assert "S2" in go_ahead.ok(f"seam start A2 {SET} --machine red").out


def test_an_old_reading_is_told_at_the_start_too(job: Weldcal) -> None:
    """What a run carries over was not read with it: both doors say to read the sheet."""
    job.day(f"{READ}\n{GOOD_STRIP}\n08:41 verify")
    assert verdict(job) == "look"
    assert "moved_reading_age" in notes(job.ok(f"seam start A1 {SET} --json"), "look")


def test_the_sheet_read_with_the_run_is_fresh(job: Weldcal) -> None:
    """Typed with the start, it ends the look."""
    job.day(f"{READ}\n{GOOD_STRIP}\n08:41 verify")
    assert notes(job.ok(f"seam start A1 {SET} --sheet-temp 75F --json"), "look") == []


def test_a_line_far_below_the_rated_voltage_stops_the_machine(job: Any) -> None:
    """10 % of what the machine is built for, from memory; without a rated voltage it says nothing."""
    job.day(f"{GOOD_STRIP}\n07:01 conditions --line-voltage 200")
    assert verdict(job) != "wait"
    job.ok('machine add "red: ft/min 1-20 step 0.5" --rated-voltage 230')
    job.day(f"07:05 {STRIP} --machine red\n07:20 strip pull S2 good --parted compound")
    assert verdict(job, "go-ahead --machine red --json") == "wait"
    job.day("07:25 conditions --line-voltage 225")
    assert verdict(job, "go-ahead --machine red --json") != "wait"


@pytest.mark.parametrize("check", ["9 0,0", "9 1/4 --bubbling heavy"])
def test_a_check_that_fails_outright_ends_the_run_there(job: Any, check: str) -> None:
    """It says so at once, with what to type; what is welded past it is in doubt."""
    job.day(f"{GOOD_STRIP}\n07:05 seam start A1 {SET}")
    job.clock.set("07:10")
    told = " ".join(job.ok(f"bleed A1 {check}").out.split())
    assert "STOP THE MACHINE: this run ends at 9 ft." in told
    assert "weldcal seam finish A1 --to PLACE" in told
    job.day("07:12 seam finish A1 --to 20")
    (doubt,) = job.ok("doubt --json").json["doubts"]
    assert max(place["end_m"] for place in doubt["places"]) == pytest.approx(20 * 0.3048)


def test_an_end_lap_of_a_laid_roof_starts_on_no_selvage_strip(job: Any) -> None:
    """The lap kind comes from the seam, as the roof was laid; the run is stored as that."""
    job.ok('roof lay "C 40ft x 10ft" --roll-width 39.4in --roll-length 33ft')
    (end, *_more) = job.query("SELECT name, lap FROM seams WHERE kind = 'end lap' ORDER BY tick")
    assert end["lap"] != "selvage"
    job.day(GOOD_STRIP)
    told = " ".join(job.ok(f"seam start {end['name']} {SET}").out.split())
    assert "WARNING, no valid go-ahead" in told
    (run,) = job.query("SELECT lap, go_ahead FROM runs")
    assert (run["lap"], run["go_ahead"]) == (end["lap"], None)


def test_limits_set_up_with_a_job_need_a_person(weldcal: Any) -> None:
    """A number that decides was adopted by somebody."""
    job = 'job new "Roof" --units us --zone America/Denver --limit "cool_least 5min: plan, rev 1"'
    refused = weldcal.refused(job)
    assert "--by" in refused
