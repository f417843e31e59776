"""The operator while welding: runs, go-aheads and their warnings, bleed checks."""

from __future__ import annotations

from typing import Any

import pytest

START = "seam start A1 --nozzle 932 --speed 5.5"


def test_a_run_stands_on_the_mornings_go_ahead(go_ahead: Any) -> None:
    """Its entry names the strip; nothing is warned of."""
    said = go_ahead.ok(START).out
    assert "Run R1 recorded." in said
    assert "stands on go-ahead S1" in said
    assert "WARNING" not in said
    strip = go_ahead.query("SELECT id FROM strips")[0]["id"]
    payload = go_ahead.entries()[-1]["payload"]
    assert (payload["go_ahead"], payload["warnings"]) == (strip, [])


@pytest.mark.parametrize(
    ("before", "start", "code"),
    [
        ("", f"{START} --machine red", "other_machine"),
        ("", f"{START} --sheet cap", "other_sheet"),
        ("", f"{START} --lap granules", "other_lap"),
        ("", f"{START} --speed 7", "moved_travel_speed"),
        ("", f"{START} --nozzle 1000F", "moved_nozzle_temperature"),
        ("+", START, "new_day"),
        ('07:10 limit set strip_hours_passed 2 --source "site"\n', START, "moved_hours_passed"),
    ],
    ids=lambda x: x if "_" in x else "",
)
def test_welding_without_a_valid_go_ahead_is_warned_of_and_recorded(
    go_ahead: Any, before: str, start: str, code: str
) -> None:
    """Never refused; the warning is on the record until somebody answers it."""
    go_ahead.day(f"{before}\n11:00 verify")
    said = go_ahead.ok(start).out
    assert "Run R1 recorded." in said
    assert "WARNING, no valid go-ahead" in said
    assert go_ahead.entries()[-1]["payload"]["warnings"] == [code]
    assert "go_ahead" not in go_ahead.entries()[-1]["payload"]
    assert [w["code"] for w in go_ahead.ok("roof --json").json["warnings"]] == [code]


def test_welding_with_no_strip_at_all_is_warned_of(job: Any) -> None:
    """Nobody made a strip."""
    assert "no strip has met the limits yet" in " ".join(job.ok(START).out.split())
    assert job.entries()[-1]["payload"]["warnings"] == ["no_go_ahead"]


def test_one_step_of_the_dial_is_no_other_speed(go_ahead: Any) -> None:
    """5.5 on the strip, 6 on the lap: the dial's own step."""
    assert "WARNING" not in go_ahead.ok("seam start A1 --nozzle 932 --speed 6").out


def test_a_run_from_before_the_pull_does_not_stand_on_it(job: Any) -> None:
    """Entered late: at 07:20 nobody had pulled the strip yet."""
    job.ok("strip record --nozzle 932 --speed 5.5 --bleed 1/4,1/4,1/4 --bubbling none")
    job.clock.set("07:40")
    job.ok("strip pull S1 good")
    job.clock.set("08:00")
    assert "WARNING" in job.ok(f"{START} --at 07:20").out
    assert "WARNING" not in job.ok("seam start A2 --nozzle 932 --speed 5.5 --at 07:50").out


def test_a_strip_corrected_to_bad_gives_no_go_ahead_any_more(go_ahead: Any) -> None:
    """What stands is judged as it stands."""
    go_ahead.ok('amend S1 bubbling heavy --why "photo shows it"')
    assert "WARNING" in go_ahead.ok(START).out


def test_welding_by_hand_needs_no_dial(go_ahead: Any) -> None:
    """A detail welded with a hand tool: no setting, no warning about the machine's go-ahead."""
    go_ahead.ok("seam start A1 --by-hand")
    go_ahead.ok("seam finish A1 --to 3")
    (row,) = go_ahead.query("SELECT by_hand, machine, end_m FROM runs")
    assert tuple(row) == (1, None, pytest.approx(0.9144))
    assert "by hand" in go_ahead.ok("trace A1").out
    go_ahead.ok("verify")


def test_a_run_is_finished_where_it_stopped_and_why(go_ahead: Any) -> None:
    """Finishing fills the run in; it is no correction."""
    go_ahead.ok(START)
    assert go_ahead.seam("A1")["state"] == "in work"
    go_ahead.ok('seam finish A1 --to 20ft --why "roll ended"')
    (row,) = go_ahead.query("SELECT end_m, why_finished, flags FROM runs")
    assert tuple(row) == (pytest.approx(6.096), "roll ended", "[]")


def test_a_seam_is_found_however_its_name_is_spelt(go_ahead: Any) -> None:
    """Case and spacing, in any script."""
    go_ahead.ok("seam add 'Ñandú 1' --length 33ft")
    said = go_ahead.ok("seam start 'ñandú  1' --nozzle 932 --speed 5.5").out
    assert "not on this job's list" not in said
    go_ahead.ok("seam finish 'ÑANDÚ 1' --to 33")
    assert go_ahead.seam("Ñandú 1")["state"] == "unprobed"


def test_a_bleed_check_outside_the_limits_says_stop(go_ahead: Any) -> None:
    """Inside them it says nothing."""
    go_ahead.ok(START)
    assert "OUTSIDE" not in go_ahead.ok("bleed A1 14 3/16,1/4").out
    said = " ".join(go_ahead.ok("bleed A1 20 1/16").out.split())
    assert "OUTSIDE THE LIMITS: too little bleed-out: 1/16 in, limit 1/8 in" in said
    rows = go_ahead.query("SELECT at_m, width_min_mm FROM bleeds ORDER BY tick")
    assert [tuple(row) for row in rows] == [
        (pytest.approx(4.2672), 4.7625),
        (pytest.approx(6.096), 1.5875),
    ]


def test_a_bleed_check_where_nothing_was_welded_is_kept(go_ahead: Any) -> None:
    """And told."""
    assert "No run is recorded" in go_ahead.ok("bleed A1 14 1/4").out
    assert len(go_ahead.query("SELECT * FROM bleeds")) == 1


def test_bleed_checks_teach_the_advice(go_ahead: Any) -> None:
    """They are counted among what it rests on."""
    go_ahead.ok(START)
    go_ahead.ok("bleed A1 14 1/4")
    assert go_ahead.ok("dial --json").json["rests_on"]["bleed_checks"] == 1
