"""What bleed checks, peel samples and corrections say of a go-ahead: a look, a strip again, nothing."""

from __future__ import annotations

from typing import Any

import pytest

from tests.cli.go_aheads import SET, STRIP, asked, level, rules, said


@pytest.mark.parametrize("check", ["9/16", "1/4,1/16"])
def test_a_check_outside_the_limits_calls_for_a_look(go_ahead: Any, check: str) -> None:
    """What was said to be outside is not good, until the next check is inside."""
    go_ahead.day(f"07:20 seam start A1 {SET}")
    go_ahead.clock.set("07:22")
    assert "OUTSIDE THE LIMITS" in go_ahead.ok(f"bleed A1 5 {check}").out
    assert level(go_ahead, "07:23") == "look"
    assert rules(go_ahead) == {("check_outside", "look")}
    assert "a bleed check was outside the limits" in asked(go_ahead, "go-ahead").out
    go_ahead.day("07:24 bleed A1 12 1/4")
    assert level(go_ahead, "07:25") == "good"


def test_a_sample_that_parted_at_the_lap_voids_its_go_ahead(go_ahead: Any) -> None:
    """Every page says so, whatever is looked at afterwards; taken back, it stands again."""
    go_ahead.day(f"07:20 seam start A1 {SET}\n07:25 seam finish A1 --to 33")
    assert level(go_ahead, "07:26") == "good"
    told = go_ahead.ok('peel A1 5 --parted "at the lap" --by BO').out
    assert "PARTED AT THE LAP" in told
    assert "Findings: F1." in told
    assert level(go_ahead, "07:27") == "strip_again"
    assert rules(go_ahead) == {("pull_failed", "strip_again")}
    assert "sample P1 parted at the lap" in said(go_ahead)
    go_ahead.day(f"07:28 bleed A1 12 1/4\n07:29 seam start A2 {SET}")
    assert level(go_ahead, "07:29") == "strip_again"
    (warned,) = go_ahead.query("SELECT code FROM warnings")
    assert warned["code"] == "moved_pull_failed"
    page = " ".join(go_ahead.ok("evening --ambient 55F").out.split())
    assert "S1 (blue, base, selvage): void, sample P1 parted at the lap" in page
    assert "sample P1 parted at the lap" in " ".join(go_ahead.ok("board --once").out.split())
    go_ahead.ok("undo P1 --yes --by BO")
    assert level(go_ahead, "07:30") == "good"


@pytest.mark.parametrize(
    ("parted", "verdict"),
    [("at the lap", "strip_again"), ("compound", "good"), ("not parted", "good")],
)
def test_a_sample_of_the_strip_itself_speaks_for_or_against_it(
    go_ahead: Any, parted: str, verdict: str
) -> None:
    """A strip that was pulled good by hand and parted at the lap in the tester."""
    told = go_ahead.ok("peel", "S1", "--parted", parted, "--by", "BO").out
    assert ("PARTED AT THE LAP" in told) == (parted == "at the lap")
    assert level(go_ahead, "07:27") == verdict


@pytest.mark.parametrize(
    ("since", "why"),
    [
        ("amend S1 bond cold --why misread", "correction of S1, bond: good became cold"),
        ("amend S1 bubbling heavy --why misread", "correction of S1, bubbling: none became heavy"),
        (
            "peel S1 --parted 'at the lap' --by BO",
            "P1 peel sample of the go-ahead strip: parted at the lap",
        ),
    ],
)
def test_a_lap_says_that_its_go_ahead_fell_short_since(
    go_ahead: Any, since: str, why: str, tmp_path: Any
) -> None:
    """As one taken back does: the roof, the trace with its reason, page 1; undone, none does."""
    go_ahead.day(f"07:20 seam start A1 {SET}\n07:25 seam finish A1 --to 33\n07:30 {since}")
    mark = "go-ahead fell short since"
    assert mark in go_ahead.seam("A1")["flags"]
    assert mark not in go_ahead.seam("A2")["flags"]
    trace = said(go_ahead, "trace A1")
    assert mark in trace
    assert why in trace
    go_ahead.ok("dossier", str(tmp_path / "roof"), "--only", "html")
    page = (tmp_path / "roof.html").read_text()
    assert "Welded on a go-ahead that fell short since" in page
    go_ahead.ok("undo --yes" + (" --by BO" if "BO" in since else ""))
    assert mark not in go_ahead.seam("A1")["flags"]


def test_a_correction_that_leaves_it_good_marks_no_lap(go_ahead: Any) -> None:
    """A speed put right."""
    go_ahead.day(f"07:20 seam start A1 {SET}\n07:25 amend S1 speed 6 --why misread")
    assert go_ahead.seam("A1")["flags"] == []


def test_a_sample_of_another_go_aheads_lap_says_nothing_of_this_one(go_ahead: Any) -> None:
    """A1 stands on S1; S2, made since, is another strip."""
    go_ahead.day(f"""
        07:20 seam start A1 {SET}
        07:25 seam finish A1 --to 33
        07:30 {STRIP}
        07:41 strip pull S2 good --parted compound
        07:42 seam start A2 {SET}
        07:45 peel A1 5 --parted "at the lap" --by BO
    """)
    assert level(go_ahead, "07:46") == "good"


ZEROS = "07:22 bleed A1 5 0\n07:26 bleed A1 12 0"


@pytest.mark.parametrize(
    ("between", "expected"),
    [
        ("", "strip_again"),
        ("07:24 bleed A1 8 9/16", "strip_again"),
        ("07:24 bleed A1 8 1/4", "look"),
    ],
)
def test_only_a_check_inside_stands_between_two_places_without_bleed_out(
    passed: Any, between: str, expected: str
) -> None:
    """One more check outside the limits makes nothing better (this program's rule)."""
    first, second = ZEROS.split("\n")
    passed.day("\n".join(filter(None, (first, between, second))))
    assert level(passed, "07:27") == expected


def test_a_sheet_judged_by_bond_needs_no_bleed_out(job: Any) -> None:
    """Two places without it are inside its limits."""
    job.ok('sheet add "tpo: reinforced thermoplastic" --judged-by bond')
    on = SET.replace("--sheet base", "") + " --sheet tpo"
    job.day(f"""
        07:00 strip record {on} --bubbling none
        07:15 strip pull S1 good --parted compound
        07:20 seam start A1 {on}
        {ZEROS}
    """)
    assert level(job, "07:27") == "good"


@pytest.mark.parametrize(("speed", "stands"), [("6.11", "strip_again"), ("6.12", "good")])
def test_an_uneven_strip_speaks_against_a_setting_within_a_tenth_of_its_own(
    go_ahead: Any, speed: str, stands: str
) -> None:
    """5.5 is within a tenth of 6.11, though 6.11 is not within a tenth of 5.5."""
    uneven = f"strip record --nozzle 932 --speed {speed} --bleed 1/8,3/8,1/4 --bubbling none"
    go_ahead.day(f"07:20 {uneven}")
    assert level(go_ahead, "07:21") == stands
