"""Likely slips asked back at a real terminal; the ranges are site settings, no source."""

from __future__ import annotations

from typing import Any

from tests.conftest import STRIP


def test_at_a_prompt_it_is_asked_back(job: Any, terminal: Any) -> None:
    """What was meant is typed; or the same again, and it is kept."""
    t = terminal(80)
    t.type(f"weldcal {STRIP.replace('5.5', '55')} --bond 'not tried'")
    t.asked("55 is off blue's dial, 1 to 20. 5.5?")
    t.type("", "5.5")
    t.asked("ready$")
    assert job.query("SELECT speed_text FROM strips")[0]["speed_text"] == "5.5"
    t.type(f"weldcal {STRIP.replace('5.5', '66')} --bond 'not tried'")
    t.asked("66 is off blue's dial")
    t.type("66")
    t.asked("ready$")
    assert "Kept as typed" in " ".join(t.seen.split())
    assert job.query("SELECT speed_text FROM strips ORDER BY tick")[-1]["speed_text"] == "66"


def test_a_detail_is_begun_by_hand_in_the_guided_day(go_ahead: Any, terminal: Any) -> None:
    """The tool and its heat are asked, Enter alone begins nothing, and no machine is recorded."""
    go_ahead.ok("seam add D1 --kind detail --length 3ft")
    t = terminal(80)
    t.type("weldcal", "", "", "", "")
    while "Weld next" not in t.asked():
        t.type("")
    t.type("D1", "iron 2", "932", "")
    t.asked("Start D1 by hand with iron 2 at 932F? Type yes")
    t.type("yes")
    t.asked("")
    (run,) = go_ahead.query("SELECT * FROM runs")
    assert (run["by_hand"], run["machine"], run["speed_text"]) == (1, "iron 2", None)


def test_back_from_a_commands_question_is_back_in_the_day(job: Any, terminal: Any) -> None:
    """Asked back about a likely slip: `b` leads to the day's last question, and on from there."""
    job.day("07:00 conditions --ambient 61F\n07:01 dial")
    t = terminal(80)
    t.type("weldcal", "", "", "932", "55", "1/4,3/16,1/4", "n", "")
    t.asked("55 is off blue's dial")
    t.type("b")
    t.asked("Enter records it [now]")
    t.type("b", "b", "b", "5.5", "1/4,3/16,1/4", "n", "")
    t.asked()
    t.type("q")
    t.asked("ready$")
    assert [row["speed_text"] for row in job.query("SELECT speed_text FROM strips")] == ["5.5"]
