"""A machine taken out by a second failure, brought back by a cause and two strips that pass.

After the City of Nashua, New Hampshire, geomembrane specification, 3.5 Trial seam testing.
"""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldcal.quality.goahead import Tried
from weldcal.quality.taken_out import Trial, taken_out

THIN = "strip record --nozzle 932 --speed 5.5 --bleed 0,0,0 --bubbling none"
GOOD = "strip record --nozzle 932 --speed 5.5 --bleed 1/4,1/4,1/4 --bubbling none"
CAUSE = 'machine cause blue "nozzle half blocked; cleaned" --by AR'
TWICE = f"06:50 {THIN}\n07:00 {THIN}"


def passed(time: str, pulled: str, name: str) -> str:
    """A strip that meets the limits."""
    return f"{time} {GOOD}\n{pulled} strip pull {name} good --parted compound"


def level(job: Any) -> str:
    """What the go-ahead says; none where there is none."""
    done = job("go-ahead --json")
    return "none" if done.code == 2 else str(done.json["level"])


def test_the_second_failure_at_one_setting_takes_the_machine_out(job: Any) -> None:
    """It is told at once, with what to type; a strip that passes does not bring it back."""
    job.day(TWICE)
    told = " ".join(job.ok(f"{THIN} --at 07:01").out.split())
    assert "strips S1, S2 failed in a row; blue is taken out until a cause is named" in told
    job.day(passed("07:05", "07:20", "S4"))
    assert level(job) == "strip_again"
    shown = " ".join(job("go-ahead").out.split())
    assert "3.5 Trial seam testing" in shown
    assert 'weldcal machine cause blue "WHAT"' in shown
    job.ok("seam start A1 --nozzle 932 --speed 5.5")
    codes = {row["code"] for row in job.query("SELECT code FROM warnings")}
    assert "moved_machine_out" in codes


def test_a_cause_and_two_strips_that_pass_bring_it_back(job: Any) -> None:
    """One is not enough; the strips count from the cause on."""
    job.day(f"{TWICE}\n{passed('07:05', '07:20', 'S3')}\n07:25 {CAUSE}")
    job.day(passed("07:30", "07:45", "S4"))
    assert level(job) == "strip_again"
    assert "1 more strip must pass on blue" in " ".join(job("go-ahead").out.split())
    job.day(passed("07:50", "08:05", "S5"))
    assert level(job) == "good"


def test_a_failure_after_the_cause_begins_the_count_anew(job: Any) -> None:
    """And the cause named was not the one."""
    job.day(f"{TWICE}\n07:05 {CAUSE}\n{passed('07:10', '07:25', 'S3')}\n07:30 {THIN}")
    job.day(passed("07:35", "07:50", "S5"))
    assert level(job) == "strip_again"
    assert "until a cause is named" in " ".join(job("go-ahead").out.split())


def test_strips_that_look_for_the_speed_take_nothing_out(job: Any) -> None:
    """Each at a speed of its own: too fast, too slow, then right."""
    job.day(
        "06:40 strip record --nozzle 932 --speed 9 --bleed 0,0,0 --bubbling none\n"
        "06:45 strip record --nozzle 932 --speed 4 --bleed 5/8,5/8,5/8 --bubbling heavy\n"
        + passed("06:50", "07:05", "S3")
    )
    assert level(job) == "good"


@pytest.mark.parametrize(("failures", "out"), [(0, False), (2, True), (3, False)])
def test_a_job_sets_how_many(job: Any, failures: int, out: bool) -> None:
    """Its own number, with its source and who adopted it; 0 is never."""
    job.clock.set("06:30")
    job.ok(f"limit set failures_out {failures} --source 'site plan' --by AR")
    job.day(f"{TWICE}\n{passed('07:05', '07:20', 'S3')}")
    assert (level(job) == "strip_again") is out


_TRIALS = st.lists(
    st.tuples(
        st.sampled_from(["", "too_little", "too_much", "pull_not_tried"]),
        st.sampled_from([1.0, 2.0]),
    ),
    max_size=12,
)


def _row(made: list[tuple[str, float]]) -> list[Trial]:
    return [
        Trial(float(n), f"S{n}", Tried(500.0, speed, frozenset({short} - {""})))
        for n, (short, speed) in enumerate(made)
    ]


@given(_TRIALS, st.lists(st.floats(0, 12), max_size=3))
def test_one_more_failure_never_brings_a_machine_back(
    made: list[tuple[str, float]], causes: list[float]
) -> None:
    """What makes the record worse never improves the verdict."""
    out = taken_out(_row(made), causes)
    worse = taken_out(_row([*made, ("too_little", 1.0)]), causes)
    assert out is None or worse is not None


@given(_TRIALS)
def test_without_a_cause_nothing_brings_it_back(made: list[tuple[str, float]]) -> None:
    """Strips that pass alone do not."""
    out = taken_out(_row(made), [])
    again = taken_out(_row([*made, ("", 1.0), ("", 1.0), ("", 1.0)]), [])
    assert (out is None) or (again is not None and not again.cause_named)
