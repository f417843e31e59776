"""What a day needs besides strips and laps: asked when due, at a real terminal, and what is recorded.

When each is due is a rule of ours (site setting, no source).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

Sit = Callable[..., Any]
STRIP = "strip record --nozzle 932 --speed 5.5 --bleed 1/4,3/16,5/16 --bubbling none"
WORK = (
    "hotwork start --permit 4711 --extinguisher 2-A --deck steel --watch 60min"
    ' --watch-source "permit 4711"'
)


def next_step(shown: str) -> str:
    """What comes next, as it is told into a pipe."""
    return next(row for row in shown.splitlines() if row.startswith("Next: "))


@pytest.mark.parametrize("columns", [40, 80])
def test_a_morning_with_a_permit_cold_air_and_the_voltage(
    job: Any, terminal: Sit, columns: int
) -> None:
    """Each beside what it belongs to; recorded as typed."""
    t = terminal(columns)
    t.type("weldcal", "", "41", "44", "20mph", "", "18mph", "55", "")
    t.asked("hot-work permit")
    t.type("4711", "2-A at the machine", "steel", "an hour", "60min", "")
    t.asked("Voltage at the machine")
    assert "Hot work H1 recorded" in " ".join(t.seen.split())
    t.type("228", "generator 2")
    t.asked("Nozzle")
    t.type("q")
    t.asked("ready$")
    assert t.too_wide() == []
    (work,) = job.query("SELECT permit, watch_min, watch_source FROM hot_work")
    assert tuple(work) == ("4711", 60, "permit 4711")
    rows = job.query("SELECT line_v, supply, gust_m_per_s, roll_c FROM conditions ORDER BY tick")
    assert [row["line_v"] for row in rows] == [None, 228]
    assert [row["supply"] for row in rows] == [None, "generator 2"]
    assert rows[0]["gust_m_per_s"] == pytest.approx(8.04672)
    assert rows[0]["roll_c"] == pytest.approx((55 - 32) / 1.8)


def test_hot_work_is_ended_and_watched_when_nothing_else_is_due(
    go_ahead: Any, terminal: Sit
) -> None:
    """Asked at the end of the day; the watch only once its time has come, and never by Enter."""
    go_ahead.ok("startup answer 1-14 yes")
    go_ahead.ok(WORK)
    go_ahead.ok("conditions --ambient 61F --sheet-temp 74F")
    t = terminal()
    t.type("weldcal", "", "l", "")
    t.asked("What do you want to do?")
    assert "Is hot work H1 over" in t.seen
    t.type("hot", "yes", "", "q")
    t.asked("ready$")
    assert go_ahead.query("SELECT ended_utc FROM hot_work")[0]["ended_utc"]
    assert "Watch over H1 until" in go_ahead.ok("day").out
    go_ahead.ok('me "Cleo Vann"')
    go_ahead.clock.set("17:00")
    shown = go_ahead.ok("day --for foreman").out
    assert next_step(shown) == "Next: watch. Type: weldcal hotwork watch H1 --found WATCH_FOUND"
    t = terminal()
    t.type("weldcal day --for foreman", "", "")
    t.asked("Air expected tomorrow")
    t.type("b", "watch", "nothing", "", "q")
    t.asked("ready$")
    (work,) = go_ahead.query("SELECT watched_by, watch_found FROM hot_work")
    assert tuple(work) == ("Cleo Vann", "nothing")
    assert next_step(go_ahead.ok("day --for foreman").out).startswith("Next: evening.")


def test_a_rolls_lot_is_asked_for_with_the_days_first_lap_and_after_a_roll(go_ahead: Any) -> None:
    """Where lots are noted on the job; then once a roll's length is welded; else never."""
    day = [f"weldcal seam start {seam} --nozzle 932F --speed 5.5ft/min" for seam in ("A1", "A2")]
    go_ahead.ok("conditions --ambient 61F --sheet-temp 74F")
    assert next_step(go_ahead.ok("day").out).endswith(day[0])
    go_ahead.ok("roll add L-1")
    lot = f"{day[0].partition(' --')[0]} --roll-lot ROLL_LOT"
    assert lot in next_step(go_ahead.ok("day").out)
    go_ahead.ok("seam start A1 --nozzle 932 --speed 5.5 --roll-lot L-1")
    go_ahead.ok("seam finish A1 --to 33")
    assert next_step(go_ahead.ok("day").out).endswith(day[1])
    go_ahead.ok("sheet add cap --roll-length 33ft")
    go_ahead.ok(f"{STRIP} --bond good --sheet cap")
    go_ahead.ok("seam start A2 --nozzle 932 --speed 5.5 --sheet cap")
    go_ahead.ok("seam finish A2 --to 33")
    assert "--roll-lot ROLL_LOT" in next_step(go_ahead.ok("day").out)


def test_a_strip_by_hand_comes_before_the_first_detail(go_ahead: Any, terminal: Sit) -> None:
    """Made, pulled, and then the detail; who has a hand strip is not asked for another."""
    go_ahead.ok("limit set cool_least 0 --source 'sheet maker' --by 'Ana Ruiz'")
    go_ahead.ok("conditions --ambient 61F --sheet-temp 74F")
    for seam in ("A1", "A2", "A3"):
        go_ahead.ok(f"seam start {seam} --nozzle 932 --speed 5.5")
        go_ahead.ok(f"seam finish {seam} --to 33")
    go_ahead.ok("seam add D1 --kind detail --length 3ft")
    t = terminal()
    t.type("weldcal", "")
    t.asked("Hand tool")
    t.type("iron 2", "932", "n", "")
    t.asked("S2 cooled down? The pull was")
    t.type("g", "", "")
    t.asked("Weld next")
    t.type("q")
    t.asked("ready$")
    (strip,) = go_ahead.query("SELECT by_hand, machine, bond FROM strips WHERE name = 'S2'")
    assert tuple(strip) == (1, "iron 2", "good")


def test_the_inspector_is_asked_for_drawn_samples_and_t_joints(
    go_ahead: Any, terminal: Sit
) -> None:
    """A walk over T-joints asks for them by name; a place drawn is asked for until it is cut."""
    go_ahead.ok("roof lay 'B 66ft x 12ft' --roll-width 39.4in --roll-length 33ft")
    (joint,) = go_ahead.query(
        "SELECT j.name, s.name AS on_lap FROM seams j JOIN seams s ON s.seam_key = j.joins "
        "WHERE j.kind = 'T-joint' ORDER BY j.name LIMIT 1"
    )
    lap = joint["on_lap"]
    go_ahead.day(
        f"07:30 seam start {lap} --nozzle 932 --speed 5.5\n07:42 seam finish {lap} --to 66"
    )
    go_ahead.clock.set("10:00")
    go_ahead.ok("sample draw --count 1 --seed 3")
    t = terminal()
    t.type("weldcal", "ben", "", "")
    t.asked("T-joints on the way")
    assert joint["name"] in " ".join(t.last.split())
    t.type(joint["name"], "void")
    t.asked(f"(F1: void on {joint['name']} at 0)")
    t.type("l")
    t.asked("pulled: it parted")
    t.type("compound", "40lbf", "1in", "")
    t.asked()
    t.type("q")
    t.asked("ready$")
    (found,) = go_ahead.query("SELECT seam, kind, how FROM findings WHERE kind = 'void'")
    assert tuple(found) == (joint["name"], "void", "probed")
    (peel,) = go_ahead.query("SELECT seam, parted FROM peels")
    assert tuple(peel) == (lap, "in the compound")


def test_the_foreman_is_asked_for_covers_where_a_next_ply_hides_laps(
    go_ahead: Any, terminal: Sit
) -> None:
    """Once one was recorded on the job; Enter hides nothing, and neither does Enter after a name."""
    go_ahead.ok("startup answer 1-14 yes")
    go_ahead.ok("cover A3")
    t = terminal()
    t.type("weldcal day --for foreman", "", "l", "A1-A2", "")
    t.asked("Type yes")
    t.type("yes")
    t.asked("Air expected tomorrow")
    t.type("q")
    t.asked("ready$")
    assert [row["area"] for row in go_ahead.query("SELECT area FROM covers ORDER BY tick")] == [
        "A3",
        "A1-A2",
    ]


def test_what_was_seen_at_seven_forty_is_recorded_as_seen_then(job: Any, terminal: Sit) -> None:
    """A time where Enter records it: seen then, entered now."""
    job.day(f"07:00 conditions --ambient 61F\n07:10 {STRIP}")
    job.clock.set("08:30")
    t = terminal()
    t.type("weldcal", "", "good", "")
    t.asked("Enter records it [now]")
    t.type("9:10")
    t.asked("still to come")
    t.type("7:40")
    t.asked()
    t.type("q")
    t.asked("ready$")
    (row,) = job.query("SELECT pulled_utc FROM strips")
    assert row["pulled_utc"][11:16] == "13:40"


def test_the_start_up_list_is_asked_before_the_first_lap_of_a_job(
    go_ahead: Any, terminal: Sit
) -> None:
    """The foreman first; the operator where the job uses the list; nobody once a lap is welded."""
    go_ahead.ok(WORK)
    go_ahead.ok("conditions --ambient 61F --sheet-temp 74F")
    assert next_step(go_ahead.ok("day").out).startswith("Next: start. ")
    assert next_step(go_ahead.ok("day --for foreman").out).startswith("Next: startup. ")
    go_ahead.ok('me "Cleo Vann"')
    t = terminal()
    t.type("weldcal day --for foreman", "", "1-12,14", "yes", "", "q")
    t.asked("ready$")
    assert "Hot-work permit in hand" in " ".join(t.seen.split())
    rows = go_ahead.query("SELECT answer, seen_by FROM start_answers")
    assert [tuple(row) for row in rows] == [("yes", "Cleo Vann")] * 13
    go_ahead.ok('me "Ana Ruiz"')
    shown = next_step(go_ahead.ok("day").out)
    assert shown == "Next: startup. Type: weldcal startup"
    go_ahead.ok("seam start A1 --nozzle 932 --speed 5.5")
    go_ahead.ok("seam finish A1 --to 33")
    assert not next_step(go_ahead.ok("day").out).startswith("Next: startup")
    assert not next_step(go_ahead.ok("day --for foreman").out).startswith("Next: startup")


def test_enter_leaves_the_start_up_list_open(go_ahead: Any, terminal: Sit) -> None:
    """It is shown, nothing is recorded, and it is not asked again in that sitting."""
    go_ahead.ok('startup add "primer dry" --source "contract, 2.1"')
    go_ahead.ok(WORK)
    go_ahead.ok("conditions --ambient 61F --sheet-temp 74F")
    before = go_ahead.entries()
    t = terminal()
    t.type("weldcal", "", "")
    t.asked("Weld next")
    t.type("q")
    t.asked("ready$")
    assert "primer dry" in t.seen
    assert go_ahead.entries() == before
