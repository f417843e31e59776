"""What a failure puts in doubt: between the last good check before it and the first good one after."""

from __future__ import annotations

from typing import Any

import pytest

from tests.cli.doubts import SET, places, said


@pytest.fixture
def welded(welded_whole: Any) -> Any:
    """A1, A2, A3 welded by blue on S1."""
    return welded_whole


def test_a_job_with_no_strips_doubts_nothing(job: Any) -> None:
    """Exit code 0: that is an answer."""
    assert "Nothing is in doubt" in job.ok("doubt").out
    assert job.ok("doubt --json").json == {"doubts": [], "unplaced": []}


def test_good_checks_leave_nothing_in_doubt(welded: Any) -> None:
    """Walks, bleed checks and pulls."""
    welded.ok("probe A1 0-33 --by BO")
    welded.ok("bleed A2 10 1/4")
    welded.ok("peel A3 10 --parted compound --load 40lbf --width 1in --by BO")
    assert "Nothing is in doubt" in welded.ok("doubt").out


def test_a_failure_with_no_check_around_it_doubts_all_of_its_go_ahead(welded: Any) -> None:
    """From the go-ahead to the end of what is welded."""
    welded.ok("bleed A2 10 1/32")
    assert places(welded, "B1") == [("A1", 0, 33), ("A2", 0, 33), ("A3", 0, 33)]
    assert (
        "99 ft welded by blue on S1 in doubt, from the go-ahead to the end of what is welded"
        in said(welded)
    )


def test_good_checks_before_and_after_narrow_it(welded: Any) -> None:
    """In the order of welding, whenever they were made."""
    welded.ok("bleed A2 10 1/32")
    welded.ok("bleed A3 5 1/4")
    assert places(welded, "B1") == [("A1", 0, 33), ("A2", 0, 33), ("A3", 0, 5)]
    welded.ok("bleed A1 20 1/4")
    assert places(welded, "B1") == [("A1", 20, 33), ("A2", 0, 33), ("A3", 0, 5)]
    assert "from B3 to B2" in said(welded)


def test_a_place_of_a_run_welded_backwards_lies_the_other_way(go_ahead: Any) -> None:
    """From 33 to 0: what was welded before 10 ft is 33 to 10."""
    go_ahead.day(f"""
        07:20 seam start A1 --from 33 {SET}
        07:27 seam finish A1 --to 0
        08:00 bleed A1 10 1/32
        08:05 bleed A1 20 1/4
    """)
    assert places(go_ahead, "B1") == [("A1", 0, 20)]


def test_a_void_is_answered_by_probing_and_not_by_bleed_out(welded: Any) -> None:
    """A clean bleed-out says nothing of an open lap; a walk does."""
    welded.ok('probe A2 8-12 --void "10+6in" --by BO')
    welded.ok("bleed A1 20 1/4")
    assert places(welded, "F1") == [("A2", 10, 10.5)]
    welded.ok("finding A3 void 10-11 --how probed --by BO")
    assert places(welded, "F2") == [("A2", 12, 33), ("A3", 0, 33)]


def test_a_cold_pull_is_answered_by_pulls_alone(welded: Any) -> None:
    """All the probing in the world says nothing of a cold bond."""
    for name in ("A1", "A2", "A3"):
        welded.ok(f"probe {name} 0-33 --by BO")
    welded.ok("peel A2 10 --parted lap --load 4lbf --width 1in --by BO")
    assert places(welded, "P1") == [("A1", 0, 33), ("A2", 0, 33), ("A3", 0, 33)]
    assert "cut a sample at" in said(welded)
    welded.ok("peel A1 30 --parted compound --load 40lbf --width 1in --by BO")
    welded.ok("peel A2 20 --parted compound --load 40lbf --width 1in --by BO")
    assert places(welded, "P1") == [("A1", 30, 33), ("A2", 0, 20)]


def test_what_would_clear_it_clears_it(welded: Any) -> None:
    """Probe again what it says; the doubt shrinks to the failed place itself."""
    welded.ok("finding A2 void 10-11 --how probed --by BO")
    clears = next(iter(welded.ok("doubt --json").json["doubts"]))["clears"]
    assert {clear["code"] for clear in clears} == {"probe_again"}
    assert "to clear: probe again A1 0–33 ft" in said(welded)
    welded.clock.set("11:00")
    for clear in clears:
        welded.ok(f"probe {clear['seam']} {clear['start_m']}m-{clear['end_m']}m --by BO")
    assert places(welded, "F1") == [("A2", 10, 11)]
    (doubt,) = welded.ok("doubt --json").json["doubts"]
    assert doubt["clears"] == []


def test_a_finding_mended_and_probed_no_longer_doubts_its_own_place(welded: Any) -> None:
    """It stays bracketed as it was found: the walk around it was clean."""
    welded.day("""
        10:00 probe A2 0-33 --void 10+6in --by BO
        10:10 mend F1 --method patch --by AR
        10:30 probe A2 8-13 --by BO
    """)
    assert "F1" not in said(welded)


def test_another_machine_and_another_go_ahead_are_other_work(welded: Any) -> None:
    """Blue's failure doubts nothing of red's."""
    welded.ok('machine add "red: ft/min 1-20 step 0.5"')
    welded.ok("seam add Q1 --length 33ft")
    welded.day(f"10:00 seam start Q1 {SET} --machine red\n10:07 seam finish Q1 --to 33")
    welded.ok("bleed A2 10 1/32")
    assert {place[0] for place in places(welded, "B1")} == {"A1", "A2", "A3"}


def test_work_without_a_go_ahead_is_named_so(job: Any) -> None:
    """The machine's work with none."""
    job.day(f"07:20 seam start A1 {SET}\n07:27 seam finish A1 --to 33\n08:00 bleed A1 10 1/32")
    assert "welded by blue on no go-ahead in doubt" in said(job)


def test_a_failure_where_nothing_was_welded_is_told(welded: Any) -> None:
    """Past the end of the seam, and on a seam nobody welded."""
    welded.ok("finding Q9 void 10-11 --how probed --by BO")
    out = said(welded)
    assert "At places no run is known to have welded: F1." in out
    assert welded.ok("doubt --json").json["unplaced"] == ["F1"]


def test_a_run_under_way_is_in_it(go_ahead: Any) -> None:
    """It has no end yet."""
    go_ahead.day(f"07:20 seam start A1 {SET}\n07:25 bleed A1 10 1/32")
    assert places(go_ahead, "B1")[0][0] == "A1"
    assert go_ahead.ok("doubt").code == 0


HARD = [
    (
        "a seam of no length",
        [
            "seam start A1 --nozzle 932 --speed 5.5",
            "seam finish A1 --to 0",
            "probe A1 0-0 --by BO",
            "finding A1 void 0 --how probed --by BO",
        ],
    ),
    (
        "a walk backwards",
        [
            "seam start A1 --nozzle 932 --speed 5.5",
            "seam finish A1 --to 33",
            'probe A1 33-0 --void "10+3in" --by BO',
        ],
    ),
    (
        "two walks that disagree",
        [
            "seam start A1 --nozzle 932 --speed 5.5",
            "seam finish A1 --to 33",
            'probe A1 0-33 --void "10+3in" --by BO',
            "probe A1 0-33 --by AR",
        ],
    ),
    (
        "walks that overlap",
        [
            "seam start A1 --nozzle 932 --speed 5.5",
            "seam finish A1 --to 33",
            "probe A1 0-20 --by BO",
            "probe A1 15-33 --by BO",
            "probe A1 33-10 --by BO",
        ],
    ),
    (
        "a finding on the very end",
        [
            "seam start A1 --nozzle 932 --speed 5.5",
            "seam finish A1 --to 33",
            "finding A1 void 33 --how probed --by BO",
        ],
    ),
    (
        "a walk before the weld",
        [
            "probe A1 0-33 --by BO",
            "seam start A1 --nozzle 932 --speed 5.5",
            "seam finish A1 --to 33",
        ],
    ),
    (
        "a run and its finish at one moment past its end",
        ["seam start A1 --nozzle 932 --speed 5.5", "seam finish A1 --to 40", "bleed A1 39 1/32"],
    ),
    (
        "a finish without a start",
        [
            "seam finish A1 --to 33",
            "bleed A1 3 1/32",
            "peel A1 3 --parted lap --load 3lbf --width 1in --by BO",
        ],
    ),
]
LOOKS = [
    "roof",
    "doubt",
    "trace A1",
    "faults",
    "go-ahead",
    "chart",
    "leak 3 3 --where roof",
    "cover A --look",
    "verify",
]


@pytest.mark.parametrize("case", HARD, ids=[case[0] for case in HARD])
def test_hard_cases_break_no_page(go_ahead: Any, case: Any) -> None:
    """Every page answers or refuses in one plain line, and as JSON in one document."""
    _what, lines = case
    for n, line in enumerate(lines):
        go_ahead.clock.set(f"08:{10 * n:02d}")
        go_ahead.ok(line)
    for line in LOOKS:
        for done in (go_ahead(line), go_ahead(f"{line} --json")):
            assert done.code in (0, 2)
            assert "went wrong" not in done.err
            assert len(done.err.splitlines()) == (1 if done.code else 0)
        if done.code == 0:
            assert "(seam=" not in done.out  # nothing of the program's insides
            assert "Infinity" not in done.out
            assert done.json is not None


def test_a_walk_backwards_covers_what_it_walked(welded: Any) -> None:
    """33 to 0 is 0 to 33."""
    welded.ok("probe A1 33-0 --by BO")
    assert welded.seam("A1")["state"] == "probed with no open finding"


def test_two_walks_that_disagree_are_shown_and_the_finding_stands(welded: Any) -> None:
    """Whatever the second says."""
    welded.day('10:00 probe A1 0-33 --void "10+3in" --by BO\n10:30 probe A1 0-33 --by AR')
    seam = welded.seam("A1")
    assert seam["state"] == "open findings"
    assert "walks disagree" in seam["flags"]
    assert "walks disagree" in welded.ok("roof").out
    assert places(welded, "F1")[0][0] == "A1"


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("finding A2 scorched 10", "scorched"),
        ("finding A2 cold 10", "cold"),
        ("finding A2 void 10", "void"),
        ("finding A2 other 10 --note blob", "other"),
    ],
)
def test_a_finding_is_called_what_was_found(welded: Any, typed: str, found: str) -> None:
    """Not by the check that could have seen it: nobody checked the bleed-out there."""
    welded.ok(f"{typed} --by BO")
    assert f"F1 ({found}) puts " in said(welded)
    assert "failed:" not in said(welded)
    (doubt,) = welded.ok("doubt --json").json["doubts"]
    assert doubt["finding"] == found


def test_a_corrected_reading_takes_its_doubt_away(welded: Any) -> None:
    """1/4 was misread as 1/32."""
    welded.ok("bleed A2 10 1/32")
    assert "B1 (bleed check) failed" in said(welded)
    welded.ok('amend B1 readings 1/4 --why "misread the tape"')
    assert "Nothing is in doubt" in said(welded)


def test_a_finding_bounded_by_its_own_walk_is_to_be_mended_not_cleared(welded: Any) -> None:
    """Nothing beside it is in doubt: the evening asks for its mend, and says none and clears none."""
    welded.ok("probe A1 0-33 --void 10 --by BO")
    assert "F1 (void): only its own place is in doubt, between W1 and W1. - A1 10 ft" in said(
        welded
    )
    found = welded.ok("evening --ambient 55F --json").json["first_tomorrow"]
    assert (found["mend"], found["clear"]) == (["F1"], [])
    assert "lap in doubt after a failed check: none" in said(welded, "evening --ambient 55F")
    welded.ok("peel A2 10 --parted 'at the lap' --by BO")
    found = welded.ok("evening --ambient 55F --json").json["first_tomorrow"]
    assert found["clear"] == ["P1"]


def test_names_are_those_of_people(welded: Any) -> None:
    """A2 and S1, not a key and an id."""
    welded.ok("bleed A2 10 1/32")
    (doubt,) = welded.ok("doubt --json").json["doubts"]
    assert doubt["go_ahead"] == "S1"
    assert [place["seam"] for place in doubt["places"]] == ["A1", "A2", "A3"]


@pytest.mark.parametrize("name", ["[red]A9", "\x1b[31mA9", "Q{name}", "%s", "ÄÖ 9"])
def test_names_of_mischief_are_obeyed_nowhere(go_ahead: Any, name: str) -> None:
    """Shown, never obeyed."""
    go_ahead.clock.set("07:30")
    go_ahead.ok("seam", "start", *SET.split(), "--", name)
    go_ahead.clock.set("07:40")
    go_ahead.ok("seam", "finish", "--to", "33", "--", name)
    go_ahead.ok("bleed", "--", name, "3", "1/32")
    out = go_ahead.ok("doubt").out
    assert "\x1b" not in out
    assert name.replace("\x1b", "␛") in out


def test_of_many_failures_those_that_put_most_in_doubt_are_told(welded: Any) -> None:
    """Twenty in full, how many are left out, and how they are told all the same."""
    for place in range(4, 24):
        welded.ok(f"bleed A2 {place} 1/32")
    assert said(welded).count("failed:") == 20
    assert "weldcal doubt --all" not in said(welded)
    for place, width in ((5, "1/4"), (6, "1/32"), (7, "1/4")):  # the least: 2 ft
        welded.ok(f"bleed A3 {place} {width}")
    told, every = said(welded), " ".join(welded.ok("doubt --all").out.split())
    assert told.count("failed:") == 20
    assert "B22 (bleed check) failed" not in told
    assert "And 1 more: weldcal doubt --all." in told
    assert every.count("failed:") == 21
    assert "B22 (bleed check) failed: 2 ft" in every
    assert "more: weldcal doubt" not in every
    assert len(welded.ok("doubt --json").json["doubts"]) == 21
