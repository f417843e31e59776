"""Welding by hand: a strip of that person and tool first. The rule is this program's, no source.

A hand strip is judged by its pull; no hand is another's.
"""

from __future__ import annotations

from typing import Any

import pytest

STRIP = 'strip record --by-hand --tool "iron 2" --nozzle 932 --bubbling none --by AR'
PULLED = f"06:45 {STRIP}\n07:00 strip pull S1 good --parted compound"
START = 'seam start A1 --by-hand --tool "iron 2" --nozzle 932 --by AR'


def warned(book: Any, line: str) -> set[str]:
    """The codes of what a run was warned of."""
    book.ok(line)
    return {row["code"] for row in book.query("SELECT code FROM warnings")}


def test_a_hand_strip_makes_a_go_ahead_without_a_speed_or_readings(job: Any) -> None:
    """Tool, nozzle, bubbling and pull are all it takes."""
    job.day(PULLED)
    done = job.ok("go-ahead --hand AR")
    assert "GOOD: go-ahead S1" in done.out
    assert "iron 2" in done.out
    assert warned(job, START) == set()
    (run,) = job.query("SELECT * FROM runs")
    assert (run["by_hand"], run["machine"], run["speed_m_per_min"]) == (1, "iron 2", None)
    assert run["nozzle_c"] == pytest.approx(500)
    assert run["go_ahead"]


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("seam start A1 --by-hand --by AR", "hand_not_said"),
        (START.replace("AR", "BO"), "other_hand"),
        (START.replace("iron 2", "iron 3"), "other_machine"),
        (f"{START} --lap granules", "other_lap"),
        (START.replace("932", "800"), "moved_nozzle_temperature"),
    ],
)
def test_what_the_hand_strip_was_not_made_for_is_warned_of(job: Any, line: str, code: str) -> None:
    """Nobody's tool, another hand, another tool, another surface, another heat."""
    job.day(PULLED)
    assert code in warned(job, line)


def test_yesterdays_hand_is_not_todays(job: Any) -> None:
    """A new day wants a new strip, by hand as by machine."""
    job.day(f"{PULLED}\n+")
    assert "new_day" in warned(job, START)


def test_a_hand_strip_permits_no_machine_and_a_machine_strip_no_hand(go_ahead: Any) -> None:
    """The fixture's go-ahead is blue's."""
    assert "no_go_ahead" in warned(go_ahead, START)
    go_ahead.day(f"07:10 {STRIP}\n07:25 strip pull S2 good --parted compound")
    assert go_ahead.ok("go-ahead --json").json["strip"] == "S1"
    assert go_ahead.ok("go-ahead --hand AR --json").json["strip"] == "S2"


def test_a_hand_strip_that_fails_takes_its_go_ahead_away(job: Any) -> None:
    """The newest decides, of that person and tool only."""
    job.day(f"{PULLED}\n07:05 {STRIP}\n07:20 strip pull S2 cold")
    assert job("go-ahead --hand AR").code == 1
    assert "moved_strip_failed" in warned(job, START)


def test_another_hands_failure_says_nothing_of_mine(job: Any) -> None:
    """Ben's cold strip leaves Ana's standing."""
    job.day(f"{PULLED}\n07:05 {STRIP.replace('AR', 'BO')}\n07:20 strip pull S2 cold")
    assert job("go-ahead --hand AR").code == 0
    assert "No go-ahead. S2 fell short: the cold pull came apart" in job("go-ahead --hand BO").out


def test_advice_never_learns_from_a_hand(job: Any) -> None:
    """A hand has no travel speed."""
    job.day(PULLED)
    assert "- no strip" in job.ok("dial --ambient 61F --why").out


def test_a_hand_strip_is_told_on_every_page(job: Any, tmp_path: Any) -> None:
    """List, trace, evening and dossier say by hand, and with which tool."""
    job.day(f"{PULLED}\n07:05 {START}\n07:20 seam finish A1 --to 3")
    job.clock.set("17:00")
    assert "by hand" in job.ok("strip list").out
    assert "iron 2, 932 °F, by hand" in " ".join(job.ok("trace A1").out.split())
    assert "by hand" in job.ok("evening").out
    job.ok("dossier", str(tmp_path / "d"), "--only", "html")
    assert "iron 2" in (tmp_path / "d.html").read_text(encoding="utf-8")


def test_a_mend_without_a_hand_strip_is_told(job: Any) -> None:
    """Patches leak first: the mend says on which hand strip it stands, or that there is none."""
    job.day("07:00 finding A1 void 3-4 --how probed --by BO")
    told = job.ok('mend F1 --method patch --tool "iron 2" --nozzle 932 --by AR').out
    assert "no hand strip of Ana Ruiz with iron 2 stands" in " ".join(told.split())
    job.day(
        f"07:05 {STRIP}\n07:20 strip pull S1 good --parted compound\n"
        "07:25 finding A1 void 8-9 --how probed --by BO"
    )
    told = job.ok('mend F2 --method patch --tool "iron 2" --nozzle 932 --by AR').out
    assert "It stands on hand strip S1." in told


def test_it_lists_who_may_weld_what_by_hand_since_when(job: Any) -> None:
    """One line a person, tool, sheet and surface; each with how it stands now."""
    assert "No hand strip has met the limits" in job.ok("strip hands").out
    job.day(f"{PULLED}\n07:05 {STRIP.replace('AR', 'BO')}\n07:20 strip pull S2 good")
    job.day(f"07:25 {STRIP}\n07:40 strip pull S3 cold")
    shown = job.ok("strip hands --json").json
    assert [(h["person"], h["strip"], h["level"]) for h in shown] == [
        ("Ana Ruiz", "S1", "strip_again"),
        ("Ben Okoro", "S2", "good"),
    ]
    assert "GOOD: Ben Okoro with iron 2 on base, selvage" in job.ok("strip hands").out


def test_a_mend_asks_the_same_verdict_as_the_go_ahead(job: Any) -> None:
    """Six hours after the hand strip neither lets it stand."""
    job.day(f"{PULLED}\n13:30 finding A1 void 3-4 --how probed --by BO")
    assert job("go-ahead --hand AR").code == 1
    told = job.ok('mend F1 --method patch --tool "iron 2" --nozzle 932 --by AR').out
    assert "no hand strip of Ana Ruiz with iron 2 stands" in " ".join(told.split())
