"""Which run welded a place at a time, and whether a bleed check there was inside the limits."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.conftest import Weldcal
from weldcal.book import Book
from weldcal.rules.welded import by_seam, moment, run_that_welded

TWICE = """
    07:20 seam start A1 --nozzle 932 --speed 5.5
    07:28 seam finish A1 --to 33
    07:25 bleed A1 14 1/4,1/4
    09:00 seam start A1 --nozzle 932 --speed 9
    09:05 seam finish A1 --to 33
"""


def speeds_taught(weldcal: Weldcal) -> list[float]:
    """Speeds, ft/min, of the bleed checks that the computation learns from."""
    book = Book(weldcal.book, clock=weldcal.clock)
    try:
        return [
            round(o.speed_m_per_min / 0.3048, 2) for o in book.observing.observations() if o.on_seam
        ]
    finally:
        book.close()


def test_a_check_stays_with_the_run_that_it_was_read_on(go_ahead: Weldcal) -> None:
    """The same lap welded again later at another speed teaches nothing false of the first."""
    go_ahead.day(TWICE)
    assert speeds_taught(go_ahead) == [5.5]


def test_welding_a_place_again_does_not_move_the_advice(go_ahead: Weldcal) -> None:
    """Advice with the second run is that of a book without it, asked at the same time."""
    go_ahead.day(TWICE)
    go_ahead.clock.set("09:10")
    with_it = go_ahead.ok("dial --json").json
    go_ahead.ok("undo R2 --yes --why slip")
    without = go_ahead.ok("dial --json").json
    assert with_it["forecast"]["speed_m_per_min"] == without["forecast"]["speed_m_per_min"]


def test_a_check_before_any_run_is_laid_to_none(go_ahead: Weldcal) -> None:
    """It says so, and teaches nothing."""
    go_ahead.clock.set("07:15")
    assert "no_run" in [n["code"] for n in go_ahead.ok("bleed A1 14 1/4,1/4 --json").json["notes"]]
    go_ahead.day("07:20 seam start A1 --nozzle 932 --speed 5.5")
    assert speeds_taught(go_ahead) == []


def test_doubt_accepts_what_bleed_accepted(job: Weldcal) -> None:
    """Trace bubbling on a job whose limits let it pass: no doubt, no sample to cut."""
    job.ok("limit set trace_passes 1 --source 'sheet maker' --by 'Ana Ruiz'")
    job.ok("strip record --nozzle 932 --speed 5.5 --bleed 1/4,3/16,5/16 --bubbling none")
    job.ok("strip pull S1 good --parted compound")
    job.day("07:20 seam start A1 --nozzle 932 --speed 5.5")
    said = job.ok("bleed A1 14 1/4,1/4 --bubbling trace --json").json
    assert "off_limits" not in [n["code"] for n in said["notes"]]
    assert job.ok("doubt --json").json["doubts"] == []


def test_doubt_sees_what_bleed_called_outside(go_ahead: Weldcal) -> None:
    """Readings that are each inside but too far apart."""
    go_ahead.ok("limit set readings_spread 1/16in --source 'sheet maker' --by 'Ana Ruiz'")
    go_ahead.day("""
        07:20 seam start A1 --nozzle 932 --speed 5.5
        07:28 seam finish A1 --to 33
    """)
    said = go_ahead.ok("bleed A1 14 3/16,5/16 --json").json
    assert [n["shortfall"] for n in said["notes"] if n["code"] == "off_limits"] == ["spread"]
    assert [d["failure"] for d in go_ahead.ok("doubt --json").json["doubts"]] == ["B1"]


def test_the_chart_finds_its_checks_though_an_older_run_was_typed_last(go_ahead: Weldcal) -> None:
    """Order is when it was seen, as in the dossier, not when it was typed."""
    go_ahead.day("""
        07:20 seam start A1 --nozzle 932 --speed 5.5
        07:25 bleed A1 14 1/4,1/4
        07:26 bleed A1 20 1/4,3/16
        07:28 seam finish A1 --to 33
        09:00 seam start A1 --nozzle 932 --speed 9 --at 06:30
        09:01 seam finish A1 --to 33 --at 06:40
    """)
    assert len(go_ahead.ok("chart --json").json["checks"]) == 2


RUNS = st.lists(
    st.builds(
        lambda a, b, at, tick: {
            "seam_key": "a1",
            "start_m": a,
            "end_m": b,
            "seen_utc": f"2026-06-01T{at:02d}",
            "tick": tick,
        },
        st.floats(0, 30),
        st.one_of(st.none(), st.floats(0, 30)),
        st.integers(0, 23),
        st.integers(0, 99),
    ),
    max_size=8,
)


@given(RUNS, st.floats(0, 30), st.integers(0, 23), st.integers(0, 99))
def test_no_check_is_laid_to_a_later_run(
    runs: list[dict[str, Any]], at_m: float, hour: int, tick: int
) -> None:
    """The run found began by then and reaches the place, and no later one of those does."""
    when = (f"2026-06-01T{hour:02d}", tick)
    found = run_that_welded(by_seam(runs).get("a1", []), at_m, when, 0.0)
    could = [
        run
        for run in runs
        if moment(run) <= when
        and (
            run["end_m"] is None
            or min(run["start_m"], run["end_m"]) <= at_m <= max(run["start_m"], run["end_m"])
        )
    ]
    assert (found is None) == (could == [])
    assert found is None or moment(found) == max(map(moment, could))


def test_a_check_on_no_run_is_judged_too(go_ahead: Weldcal) -> None:
    """Too little bleed-out says so before the run is typed, as doubt and the trace do later."""
    go_ahead.clock.set("07:25")
    codes = [n["code"] for n in go_ahead.ok("bleed A1 14 1/16,1/16 --json").json["notes"]]
    assert {"no_run", "off_limits"} <= set(codes)
    (check,) = go_ahead.ok("trace A1 --json").json["events"]
    assert check["shortfalls"] == ["too_little"]


@pytest.mark.parametrize(
    ("at", "slack", "found"),
    [
        (4.0, 0.0, "one"),
        (10.0, 0.0, "one"),
        (10.02, 0.0, None),
        (10.02, 0.03, "one"),
        (10.04, 0.03, None),
        (-0.02, 0.03, "one"),
        (-0.04, 0.03, None),
        (19.98, 0.03, "two"),
        (30.02, 0.03, "two"),
        (30.04, 0.03, None),
    ],
)
def test_a_place_beside_a_run_is_on_it_as_far_as_a_tape_is_off(
    at: float, slack: float, found: str | None
) -> None:
    """Runs from 0 to 10 m and, backwards, from 30 to 20 m; the slack is 3 cm, either side."""
    runs: Any = [
        {"id": "one", "start_m": 0.0, "end_m": 10.0, "seen_utc": "07:00", "tick": 1},
        {"id": "two", "start_m": 30.0, "end_m": 20.0, "seen_utc": "07:10", "tick": 2},
    ]
    run = run_that_welded(runs, at, ("08:00", 9), slack)
    assert (run["id"] if run else None) == found
