"""Probing along a seam: worksheets of walks, and laws that order and direction change nothing.

What is covered is asked of the seam's state, as the program does.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from weldcal.quality.coverage import total
from weldcal.quality.layout import lay
from weldcal.quality.probing import (
    across_t_joints,
    disagreements,
    mend_reach,
    pace,
)
from weldcal.quality.seam import Run, SeamFinding, SeamMend, SeamRecord, SeamWalk, state_of
from weldcal.quality.sheets import Rectangle, Rolls


def run(start: float, end: float | None, at: int = 0) -> Run:
    """A run welded at a time."""
    return Run(f"R{at}", start, end, (f"{at:04}", 0), "RA")


def walk(start: float, end: float, at: int = 10, by: str = "BO") -> SeamWalk:
    """A walk made at a time."""
    return SeamWalk(start, end, (f"{at:04}", 0), by)


def found(start: float, end: float, at: int = 10) -> SeamFinding:
    """A finding seen at a time."""
    return SeamFinding("f1", "F1", start, end, (f"{at:04}", 0))


def mend(start: float, end: float, at: int = 20) -> SeamMend:
    """Its mend."""
    return SeamMend("f1", start, end, (f"{at:04}", 0))


# (what happens, runs, walks, left to probe)
WALKS = [
    ("nothing", [], [], []),
    ("welded", [run(0, 10)], [], [(0, 10)]),
    ("backwards", [run(0, 10)], [walk(10, 0)], []),
    ("two that overlap", [run(0, 10)], [walk(0, 6), walk(4, 10)], []),
    ("out of order, a gap", [run(0, 10)], [walk(7, 10, 12), walk(0, 5, 14)], [(5, 7)]),
    ("past the weld", [run(0, 10)], [walk(8, 12)], [(0, 8)]),
    ("before it was welded", [run(0, 10, 20)], [walk(0, 10, 10)], [(0, 10)]),
    ("welded again in part", [run(0, 10), run(4, 6, 20)], [walk(0, 10), walk(0, 5, 30)], [(5, 6)]),
    ("a run under way", [run(0, None)], [walk(0, 3)], []),
    ("walked half", [run(0, 10)], [walk(0, 5)], [(5, 10)]),
]


@pytest.mark.parametrize("case", WALKS, ids=[case[0] for case in WALKS])
def test_walks_cover_what_they_passed_over_after_it_was_welded(case: tuple) -> None:
    """What is left is what no later walk passed over; the rest of the weld is probed."""
    _what, runs, walks, left = case
    state = state_of(SeamRecord(runs=tuple(runs), walks=tuple(walks)))
    assert list(state.unprobed) == left
    assert state.probed_m == pytest.approx(state.welded_m - total(left))


DISTANCE = st.integers(0, 40).map(lambda n: n / 4)
RUNS = st.lists(st.builds(run, DISTANCE, DISTANCE, st.integers(0, 30)), max_size=5)
WALKED = st.lists(
    st.builds(walk, DISTANCE, DISTANCE, st.integers(0, 30), st.sampled_from(["BO", "CD"])),
    max_size=6,
)


@given(RUNS, WALKED, st.randoms(use_true_random=False))
def test_order_and_direction_change_nothing(
    runs: list[Run], walks: list[SeamWalk], rng: object
) -> None:
    """Walks entered in any order, walked either way, cover the same."""
    turned = [SeamWalk(w.end, w.start, w.when, w.by) for w in walks]
    rng.shuffle(turned)  # type: ignore[attr-defined]
    one, other = (state_of(SeamRecord(runs=tuple(runs), walks=tuple(w))) for w in (walks, turned))
    assert (one.unprobed, one.probed_m) == (other.unprobed, other.probed_m)


@given(RUNS, WALKED, st.integers(0, 39).map(lambda n: n / 4 + 0.125))
def test_a_place_is_left_where_no_walk_passed_since_it_was_last_welded(
    runs: list[Run], walks: list[SeamWalk], at: float
) -> None:
    """Point by point, without any arithmetic of stretches."""
    state = state_of(SeamRecord(runs=tuple(runs), walks=tuple(walks)))

    def over(one: Run | SeamWalk) -> bool:
        return one.end is not None and min(one.start, one.end) < at < max(one.start, one.end)

    welded = [run.when for run in runs if over(run)]
    left = bool(welded) and not any(over(w) and w.when >= max(welded) for w in walks)
    assert any(low < at < high for low, high in state.unprobed) == left


@pytest.mark.parametrize(
    ("length", "seconds", "code"),
    [
        (10, 120, None),
        (10, 5, "too_fast"),
        (10, 0, "too_fast"),
        (10, 7200, "too_slow"),
        (10, -60, "clock_back"),
        (0, 0, None),
    ],
)
def test_an_impossible_pace_is_flagged(length: float, seconds: float, code: str | None) -> None:
    """Nobody probes 10 m in five seconds; the limits are site settings."""
    flag = pace(length, seconds)
    assert (flag.code if flag else None) == code


RUN = [run(0, 30)]

# (what happens, walks, mends, runs, how many disagree)
SECOND_LOOKS = [
    ("one walk, its own finding", [walk(0, 30, 10)], [], RUN, 0),
    ("a clean walk before", [walk(0, 30, 5), walk(0, 30, 10)], [], RUN, 1),
    ("a clean walk after, unmended", [walk(0, 30, 10), walk(0, 30, 15)], [], RUN, 1),
    ("a clean walk after its mend", [walk(0, 30, 10), walk(0, 30, 25)], [mend(11, 14)], RUN, 0),
    ("a walk elsewhere", [walk(0, 30, 10), walk(0, 8, 15)], [], RUN, 0),
    ("a walk over half of it", [walk(0, 30, 10), walk(0, 12.5, 15)], [], RUN, 0),
    (
        "walked before it was welded again",
        [walk(0, 30, 3), walk(0, 30, 10)],
        [],
        [run(0, 30, 0), run(10, 20, 5)],
        0,
    ),
]


@pytest.mark.parametrize("case", SECOND_LOOKS, ids=[case[0] for case in SECOND_LOOKS])
def test_two_walks_that_disagree_are_shown(case: tuple) -> None:
    """A finding from 12 to 13 m at time 10; whoever passed over it and told nothing."""
    _what, walks, mends, runs, count = case
    told = disagreements([found(12, 13)], walks, mends, runs)
    assert len(told) == count
    assert all(d.finding == "F1" and d.stretch == (12, 13) for d in told)


@pytest.mark.parametrize(
    ("told", "disagree"),
    [
        ((13, 14), 0),
        ((13.01, 14), 1),
        ((11, 12), 0),
        ((11, 11.99), 1),
        ((14, 12.5), 0),
        ((20, 21), 1),
    ],
)
def test_a_walk_that_told_of_the_place_is_not_silent_of_it(
    told: tuple[float, float], disagree: int
) -> None:
    """A finding of its own that meets the other's place, ends included, whichever way told."""
    first, second = SeamWalk(0, 30, ("0010", 0), "", "w1"), SeamWalk(0, 30, ("0015", 0), "", "w2")
    mine = SeamFinding("f1", "F1", 12, 13, ("0010", 0), "w1")
    other = SeamFinding("f2", "F2", *told, ("0015", 0), "w2")
    shown = disagreements([mine, other], [first, second], [], RUN)
    assert len([d for d in shown if d.finding == "F1"]) == disagree


@pytest.mark.parametrize(
    ("found_at", "seam", "reach"),
    [
        ((12, 13), None, (11.85, 13.15)),
        ((12, 13), 30, (11.85, 13.15)),
        ((12, 13), 13.05, (11.85, 13.05)),
        ((12, 13), 12.5, (11.85, 13)),
        ((0.1, 0.2), 30, (0, 0.35)),
    ],
)
def test_a_mend_should_reach_past_its_finding(
    found_at: tuple[float, float], seam: float | None, reach: tuple[float, float]
) -> None:
    """By 0.15 m on either side, or to the seam's end; all of a finding past that end."""
    assert mend_reach(found_at, 0.15, seam) == pytest.approx(reach)


def test_a_mend_is_probed_again_along_all_of_it() -> None:
    """What no later walk covers is still to probe; a walk before the mend does not count."""
    walks = (walk(0, 30, 15), walk(11, 12.5, 25))
    record = SeamRecord(
        runs=(run(0, 30),), walks=walks, findings=(found(12, 13),), mends=(mend(11, 14),)
    )
    (left,) = state_of(record).again
    assert (left.finding, left.stretches) == ("F1", ((12.5, 14),))
    whole = replace(record, walks=(walk(0, 30, 25),))
    assert state_of(whole).again == ()
    assert state_of(replace(record, mends=())).again == ()


def test_a_finding_across_a_t_joint_concerns_both_laps() -> None:
    """Row 2's first end lap meets A1 and A2 at 8.85 m."""
    joints = lay([Rectangle("A", 0, 0, 22, 4)], Rolls(1.0, 10.0)).t_joints
    touched = across_t_joints("a2", 9.0, 8.5, joints)
    assert [(j.name, j.end_lap) for j in touched] == [("A2.1t", "A2.1")]
    assert across_t_joints("A2", 9.0, 9.5, joints) == ()
    assert [j.side_lap for j in across_t_joints("A2.1", 0, 0.01, joints)] == ["A1"]
