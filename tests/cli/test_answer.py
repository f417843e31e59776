"""The answer in three lines: what stands in them, and that they fit a small screen."""

from __future__ import annotations

from typing import Any

import pytest

from tests.conftest import JOB, STRIP

FIRST = "conditions --ambient 61F --sheet-temp 74F"
STRIP_COLD = STRIP + " --bond 'not tried'"


def answered(job: Any, line: str = "dial") -> list[str]:
    """Its three lines, each unfolded at the screen of the tests."""
    out: list[str] = job.ok(line).out.splitlines()
    return out


def test_the_answer_is_speed_how_sure_and_what_to_do(job: Any) -> None:
    """Before any strip: a speed to try, not sure, no go-ahead."""
    job.ok(FIRST)
    speed, sure, to_do = answered(job)
    assert speed == "Set 5.5 ft/min, nozzle 932 °F."
    assert sure.startswith("NOT SURE: ")
    assert "Until the sheet is " in sure
    assert to_do == "Not a go-ahead: run a strip at 5.5 ft/min, let it cool, pull it."


def test_before_the_pull_it_says_to_pull(job: Any) -> None:
    """Not the same strip again."""
    job.ok(FIRST)
    job.ok(STRIP_COLD)
    assert answered(job)[-1] == "Pull S1 first, when it is cold. Advice is not a go-ahead."
    assert "NEXT STRIP" not in job.ok("dial --why").out


def test_with_a_go_ahead_it_says_weld_and_until_when(go_ahead: Any) -> None:
    """One that may be luck asks for another; by sun and hour the sheet read at 07:15 may soon be a step off."""
    go_ahead.ok(FIRST)
    chance = int(100 * go_ahead.ok("dial --json").json["second_strip"]["chance"])
    assert answered(go_ahead)[-1] == (
        f"S1 may be luck, {chance} % of such are right: first a strip at 5.5 ft/min."
    )
    even = STRIP.replace("1/4,3/16,5/16", "1/4,1/4,1/4,1/4")
    go_ahead.day(f"07:05 {even}\n07:15 conditions --sheet-temp 74F\n07:20 strip pull S2 good")
    assert answered(go_ahead)[-1].startswith("Weld: go-ahead S2 stands until 07:4")
    go_ahead.clock.set("09:10")
    assert answered(go_ahead)[-1].startswith("Read the sheet now: it was read at 07:15.")


def test_a_pass_at_the_limit_far_from_the_advice_is_told_as_luck_too(job: Any) -> None:
    """First strip of a new sheet, just inside the limits at 8: nobody welds at it unasked."""
    job.ok(FIRST)
    job.ok("strip record --nozzle 932 --speed 8 --bleed 1/8,1/8,3/16 --bubbling none --bond good")
    found = job.ok("dial --json").json
    assert found["dial_mark"] != 8
    assert found["do"] == "other_lucky"
    assert answered(job)[-1] == (
        f"S1 may be luck, {int(100 * found['second_strip']['chance'])} % "
        f"of such are right: first a strip at {found['dial_mark']:g} ft/min."
    )


def test_another_speed_than_the_go_aheads_needs_a_strip(go_ahead: Any) -> None:
    """The sheet has warmed: a new speed, and the go-ahead is for the old one."""
    go_ahead.ok(FIRST)
    even = STRIP.replace("1/4,3/16,5/16", "1/4,1/4,1/4,1/4")
    go_ahead.day(f"07:05 {even}\n07:20 strip pull S2 good")
    go_ahead.clock.set("07:30")
    speed, _sure, to_do = answered(go_ahead, "now 84F")
    assert speed != "Set 5.5 ft/min, nozzle 932 °F."
    assert to_do == "Go-ahead S2 is for 5.5 ft/min: another speed needs a strip."


def test_now_says_what_it_was_and_keeps_the_reading(go_ahead: Any) -> None:
    """The sheet's temperature only; the speed before it stands beside."""
    go_ahead.ok(FIRST)
    before = go_ahead.ok("dial --json").json["dial_mark"]
    go_ahead.clock.set("10:00")
    first, *_rest = answered(go_ahead, "now 110F")
    assert first.endswith(f"ft/min, was {before:g}. Nozzle 932 °F.")
    after = go_ahead.ok("dial --json").json
    assert first.startswith(f"{after['dial_mark']:g} ft/min")
    assert after["question"]["sheet_c"] == pytest.approx((110 - 32) * 5 / 9)
    assert answered(go_ahead, "now 110")[0].startswith(f"{after['dial_mark']:g} ft/min as before")
    assert "degrees" not in go_ahead.refused("now warm")


def test_of_two_machines_the_one_used_last_is_meant(weldcal: Any) -> None:
    """Named in the answer; before either was used, it is asked for."""
    weldcal.ok(JOB.replace("--person", '--machine "red: ft/min 1-20 step 0.5" --person', 1))
    weldcal.ok('me "Ana Ruiz"')
    weldcal.ok(FIRST)
    assert "--machine" in weldcal.refused("dial")
    weldcal.ok(STRIP.replace("strip record", "strip record --machine red"))
    assert answered(weldcal)[0].endswith("nozzle 932 °F (red).")
    weldcal.clock.set("07:30")
    weldcal.ok(STRIP.replace("strip record", "strip record --machine blue"))
    assert weldcal.ok("dial --json").json["question"]["machine"] == "blue"
    assert weldcal.ok("dial --json --machine red").json["question"]["machine"] == "red"


MORNINGS = {
    "nothing yet": "",
    "a strip to pull": f"07:00 {FIRST}\n07:10 {STRIP_COLD}",
    "a go-ahead": f"07:00 {FIRST}\n07:10 {STRIP}\n07:30 strip pull S1 good",
    "an old reading": f"06:00 {FIRST}\n06:10 {STRIP}\n06:30 strip pull S1 good\n09:00 person add 'Cleo Vann: CV, foreman'",
    "warmed": f"07:00 {FIRST}\n07:10 {STRIP}\n07:30 strip pull S1 good\n"
    "08:30 conditions --ambient 75F --sheet-temp 96F",
    "frost": "07:00 conditions --ambient 15F --wind 40mph",
    "dead checks": f"07:00 {FIRST}\n07:10 {STRIP}\n07:30 strip pull S1 good\n"
    "07:35 seam start A1 --nozzle 932 --speed 5.5\n07:40 bleed A1 8 0,0\n"
    "07:45 bleed A1 16 0,0\n07:50 bleed A1 24 0,0",
}


@pytest.mark.parametrize("screen", ["plain", "high-contrast", "linear"])
@pytest.mark.parametrize("morning", MORNINGS)
@pytest.mark.parametrize("line", ["dial", "now 80F"])
def test_the_answer_fits_40_columns_by_10_rows(
    job: Any, monkeypatch: pytest.MonkeyPatch, line: str, morning: str, screen: str
) -> None:
    """With room for the prompt; the number in the first rows, and nothing after the answer."""
    job.day(MORNINGS[morning])
    monkeypatch.setenv("COLUMNS", "40")
    monkeypatch.setenv("WELDCAL_SCREEN", screen)
    rows = job.ok(line).out.splitlines()
    assert len(rows) <= 9
    assert all(len(row) <= 40 for row in rows)
    said = " ".join(rows)
    assert ("ft/min" in " ".join(rows[:4])) or said.startswith(("STOP", "WAIT"))
    why = job.ok("dial --why").out.splitlines()
    assert why[-1] == job.ok("dial").out.splitlines()[-1]


def test_a_strip_at_another_speed_than_the_one_advised_says_why(weldcal: Any) -> None:
    """Two speeds in one answer: the first strip is where it tells more than at the one advised."""
    weldcal.ok(
        JOB.replace("--units us", "--units si").replace(
            "ft/min 1-20 step 0.5", "m/min 0.3-7.5 step 0.1"
        )
    )
    weldcal.ok('me "Ana Ruiz"')
    weldcal.ok("conditions --ambient 16C --sheet-temp 24C")
    told = weldcal.ok("dial --json").json
    advised, first = told["speed_m_per_min"], told["next_strip"]["speed_m_per_min"]
    assert round(advised, 1) != round(first, 1)
    told = " ".join(answered(weldcal))
    assert f"Set {advised:.1f} m/min, " in told
    assert told.endswith(
        f"Not a go-ahead: first a strip at {first:.1f} m/min, which tells more than one at "
        f"{advised:.1f} m/min. Let it cool, pull it."
    )
