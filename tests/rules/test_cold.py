"""A walk over a warm lap probes nothing, on every page that says what is probed.

The 10 min are a site setting, no source; a job sets its own: weldcal limit set cool_before_probe.
"""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldcal.rules.cold import cold_from, probes, warm

WELDED = "07:30 seam start A1 --nozzle 932 --speed 5.5\n07:37 seam finish A1 --to 33"


def test_a_walk_in_the_minute_of_the_weld_does_not_count(go_ahead: Any) -> None:
    """It is kept, told, flagged beside the seam, and what was warm stays unprobed."""
    go_ahead.day(WELDED)
    done = " ".join(go_ahead.ok("probe A1 0-33 --by BO").out.split())
    assert "A1 was still warm: by the limits it is cold 10 min after the walk began" in done
    seam = go_ahead.seam("A1")
    assert seam["state"] == "unprobed"
    assert "probed warm" in seam["flags"]
    assert "probed warm" in go_ahead.ok("trace A1").out
    assert go_ahead("faults").code == 2  # nothing welded is probed yet


@pytest.mark.parametrize(
    ("walked", "state"), [("07:46", "unprobed"), ("07:47", "probed with no open finding")]
)
def test_it_counts_from_the_minute_the_lap_is_cold(go_ahead: Any, walked: str, state: str) -> None:
    """Ten minutes after the run was finished, by when the walk began."""
    go_ahead.day(f"{WELDED}\n07:55 probe A1 0-33 --started {walked} --by BO")
    assert go_ahead.seam("A1")["state"] == state


def test_a_mend_is_probed_again_once_it_is_cold(go_ahead: Any) -> None:
    """What was mended counts as unprobed until a walk begins on it cold."""
    go_ahead.day(
        f"{WELDED}\n08:00 probe A1 0-33 --void 14.5+3in --by BO\n08:10 mend F1 --method patch\n"
        "08:12 probe A1 14-15.25 --by BO"
    )
    assert go_ahead.seam("A1")["mended_unprobed"] == ["F1"]
    go_ahead.day("08:21 probe A1 14-15.25 --by BO")
    assert go_ahead.seam("A1")["mended_unprobed"] == []


def test_a_job_sets_how_long_a_lap_cools(go_ahead: Any) -> None:
    """The limits in force when it was welded decide."""
    go_ahead.ok("limit set cool_before_probe 30 --source 'maker, rev 2' --by AR")
    go_ahead.day(f"{WELDED}\n08:00 probe A1 0-33 --by BO")
    assert go_ahead.seam("A1")["state"] == "unprobed"


def test_a_warm_walk_bounds_no_doubt(go_ahead: Any) -> None:
    """A void later found in the lap is not bracketed by a walk that says nothing."""
    go_ahead.day(
        f"{WELDED}\n07:38 probe A1 0-33 --by BO\n"
        "08:00 seam start A2 --nozzle 932 --speed 5.5\n08:07 seam finish A2 --to 33\n"
        "08:20 finding A2 void 0-1 --how probed --by BO"
    )
    (doubt,) = go_ahead.ok("doubt --json").json["doubts"]
    assert {place["seam"] for place in doubt["places"]} == {"A1", "A2"}


@given(st.integers(0, 3600), st.integers(0, 120), st.integers(0, 120))
def test_a_longer_wait_never_makes_a_walk_count_less(s: int, cool: int, more: int) -> None:
    """Later walks probe what earlier ones did; a longer cooling time probes no more."""
    day = "2026-06-01T12:00:00+00:00"
    at = cold_from(day, s / 60)
    later = cold_from(day, s / 60 + more)
    sooner, longer = cold_from(day, cool), cold_from(day, cool + more)
    welded = (day, 1)
    assert probes((later, 2), later, welded, sooner) >= probes((at, 2), at, welded, sooner)
    assert probes((at, 2), at, welded, longer) <= probes((at, 2), at, welded, sooner)


@pytest.mark.parametrize(
    ("end", "welded_at", "walk", "is_warm"),
    [
        (10.0, "07:20", (9.0, 12.0), True),
        (10.0, "07:20", (12.0, 9.0), True),
        (10.0, "07:20", (10.0, 12.0), False),
        (-10.0, "07:20", (-2.0, -1.0), True),
        (10.0, "07:45", (0.0, 10.0), False),  # welded after the walk
        (None, "07:20", (0.0, 10.0), False),  # under way: nobody knows how far it reaches
    ],
)
def test_a_walk_is_warm_where_it_went_over_some_of_a_run_before_it_was_cold(
    end: float | None, welded_at: str, walk: tuple[float, float], is_warm: bool
) -> None:
    """A run from 0 m, cold at 07:50; a walk at 07:40. At its very end a walk is not over it."""
    run: Any = {"start_m": 0.0, "end_m": end, "seen_utc": welded_at, "tick": 1}
    walked: Any = {"start_m": walk[0], "end_m": walk[1], "seen_utc": "07:40", "tick": 2}
    assert warm(walked | {"started_utc": None}, run | {"cold_utc": "07:50"}, 0.0) is is_warm
    assert not warm(walked | {"started_utc": None}, run | {"cold_utc": "07:40"}, 0.0)
    assert warm(walked | {"started_utc": "07:39"}, run | {"cold_utc": "07:40"}, 0.0) is is_warm


@pytest.mark.parametrize(("tick", "is_warm"), [(0, False), (1, True), (2, True)])
def test_a_walk_of_the_welds_own_moment_went_over_it_warm(tick: int, is_warm: bool) -> None:
    """Two devices may record both in one second under one tick: nobody knows which was first.

    What is worse for the weld counts: it was walked warm. A walk before it says nothing of it.
    """
    run: Any = {"start_m": 0.0, "end_m": 9.0, "seen_utc": "07:40", "tick": 1, "cold_utc": "07:50"}
    walk: Any = {"start_m": 1.0, "end_m": 2.0, "seen_utc": "07:40", "tick": tick}
    assert warm(walk | {"started_utc": None}, run, 0.0) is is_warm


@pytest.mark.parametrize(("slack", "is_warm"), [(0.0, True), (0.4, True), (0.6, False)])
def test_a_walk_over_less_than_a_tape_is_off_is_not_over_it(slack: float, is_warm: bool) -> None:
    """Half a metre of a run from 0 to 10 m, cold at 07:50, walked at 07:40."""
    run: Any = {"start_m": 0.0, "end_m": 10.0, "seen_utc": "07:20", "tick": 1, "cold_utc": "07:50"}
    walk: Any = {"start_m": 9.5, "end_m": 12.0, "seen_utc": "07:40", "tick": 2}
    assert warm(walk | {"started_utc": None}, run, slack) is is_warm
