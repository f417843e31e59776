"""Probing along a seam: worksheets of walks, and laws that order and direction change nothing."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldcal.quality.coverage import minus, total
from weldcal.quality.layout import Area, Rolls, lay
from weldcal.quality.probing import (
    across_t_joints,
    coverage,
    disagreements,
    mend_short,
    pace,
    to_probe_again,
)
from weldcal.quality.seam import Found, Mend, Run, SeamRecord, Walk, state_of


def run(start: float, end: float | None, at: int = 0) -> Run:
    """A run welded at a time."""
    return Run(f"R{at}", start, end, (f"{at:04}", 0), "RA")


def walk(start: float, end: float, at: int = 10, by: str = "BO") -> Walk:
    """A walk made at a time."""
    return Walk(start, end, (f"{at:04}", 0), by)


def found(start: float, end: float, at: int = 10) -> Found:
    """A finding seen at a time."""
    return Found("f1", "F1", start, end, (f"{at:04}", 0))


def mend(start: float, end: float, at: int = 20) -> Mend:
    """Its mend."""
    return Mend("f1", start, end, (f"{at:04}", 0))


# (what happens, runs, walks, probed, twice, by two people, left, beyond)
WALKS = [
    ("nothing", [], [], [], [], [], [], []),
    ("welded", [run(0, 10)], [], [], [], [], [(0, 10)], []),
    ("backwards", [run(0, 10)], [walk(10, 0)], [(0, 10)], [], [], [], []),
    ("two that overlap", [run(0, 10)], [walk(0, 6), walk(4, 10)],
     [(0, 10)], [(4, 6)], [], [], []),
    ("out of order, a gap", [run(0, 10)], [walk(7, 10, 12), walk(0, 5, 14)],
     [(0, 5), (7, 10)], [], [], [(5, 7)], []),
    ("again by somebody else", [run(0, 10)], [walk(0, 10), walk(2, 3, 11, "CD")],
     [(0, 10)], [(2, 3)], [(2, 3)], [], []),
    ("past the weld", [run(0, 10)], [walk(8, 12)], [(8, 10)], [], [], [(0, 8)], [(10, 12)]),
    ("before it was welded", [run(0, 10, 20)], [walk(0, 10, 10)], [], [], [], [(0, 10)], []),
    ("welded again in part", [run(0, 10), run(4, 6, 20)], [walk(0, 10), walk(0, 5, 30)],
     [(0, 5), (6, 10)], [(0, 4)], [], [(5, 6)], []),
    ("a run under way", [run(0, None)], [walk(0, 3)], [], [], [], [], [(0, 3)]),
    ("no length", [run(3, 3)], [walk(3, 3)], [], [], [], [(3, 3)], []),
]  # fmt: skip


@pytest.mark.parametrize(("case"), WALKS, ids=[case[0] for case in WALKS])
def test_walks_cover_what_they_passed_over(case: tuple) -> None:
    """What is probed, probed twice, left and beyond the weld."""
    _what, runs, walks, probed, twice, by_two, left, beyond = case
    seen = coverage(runs, walks)
    assert list(seen.probed) == probed
    assert list(seen.twice) == twice
    assert list(seen.by_two) == by_two
    assert list(seen.left) == left
    assert list(seen.beyond) == beyond


DISTANCE = st.integers(0, 40).map(lambda n: n / 4)
RUNS = st.lists(st.builds(run, DISTANCE, DISTANCE, st.integers(0, 30)), max_size=5)
WALKED = st.lists(
    st.builds(walk, DISTANCE, DISTANCE, st.integers(0, 30), st.sampled_from(["BO", "CD"])),
    max_size=6,
)


@given(RUNS, WALKED, st.randoms(use_true_random=False))
def test_order_and_direction_change_nothing(
    runs: list[Run], walks: list[Walk], rng: object
) -> None:
    """Walks entered in any order, walked either way, cover the same."""
    turned = [Walk(w.end, w.start, w.when, w.by) for w in walks]
    rng.shuffle(turned)  # type: ignore[attr-defined]
    assert coverage(runs, turned) == coverage(runs, walks)


@given(RUNS, WALKED)
def test_what_is_welded_is_probed_or_left_and_never_both(
    runs: list[Run], walks: list[Walk]
) -> None:
    """And the seam's state, derived by another route, says the same length is left."""
    seen = coverage(runs, walks)
    assert seen.probed_m + seen.left_m == pytest.approx(total(seen.welded))
    state = state_of(SeamRecord(runs=tuple(runs), walks=tuple(walks)))
    assert seen.left_m == pytest.approx(total(state.unprobed))
    assert not minus(seen.by_two, seen.twice) and not minus(seen.twice, seen.probed)


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
    ("walked before it was welded again", [walk(0, 30, 3), walk(0, 30, 10)], [],
     [run(0, 30, 0), run(10, 20, 5)], 0),
]  # fmt: skip


@pytest.mark.parametrize("case", SECOND_LOOKS, ids=[case[0] for case in SECOND_LOOKS])
def test_two_walks_that_disagree_are_shown(case: tuple) -> None:
    """A finding from 12 to 13 m at time 10; whoever passed over it and told nothing."""
    _what, walks, mends, runs, count = case
    told = disagreements([found(12, 13)], walks, mends, runs)
    assert len(told) == count
    assert all(d.finding == "F1" and d.stretch == (12, 13) for d in told)


@pytest.mark.parametrize(
    ("mended", "seam", "short"),
    [
        ((11.85, 13.15), None, None),
        ((13.15, 11.85), None, None),
        ((12, 13), None, (0.15, 0.15)),
        ((11.85, 13.05), None, (0, 0.1)),
        ((11.85, 13.05), 13.05, None),
        ((20, 21), None, (1.3, 0)),
    ],
)
def test_a_mend_reaches_past_its_finding(
    mended: tuple[float, float], seam: float | None, short: tuple[float, float] | None
) -> None:
    """By 0.15 m on either side, or to the seam's end."""
    told = mend_short(found(12, 13), mend(*mended), 0.15, seam)
    if short is None:
        assert told is None
    else:
        assert told is not None
        assert (told.short_low_m, told.short_high_m) == pytest.approx(short)


def test_a_mend_is_probed_again_along_all_of_it() -> None:
    """What no later walk covers is still to probe; a walk before the mend does not count."""
    walks = [walk(0, 30, 15), walk(11, 12.5, 25)]
    (left,) = to_probe_again([found(12, 13)], [mend(11, 14)], walks)
    assert left.stretches == ((12.5, 14),)
    assert to_probe_again([found(12, 13)], [mend(11, 14)], [walk(0, 30, 25)]) == ()
    assert to_probe_again([found(12, 13)], [], walks) == ()


def test_a_finding_across_a_t_joint_concerns_both_laps() -> None:
    """Row 2's first end lap meets A1 and A2 at 8.85 m."""
    joints = lay([Area("A", 0, 0, 22, 4)], Rolls(1.0, 10.0)).t_joints
    touched = across_t_joints("a2", 9.0, 8.5, joints)
    assert [(j.name, j.end_lap) for j in touched] == [("A2.1t", "A2.1")]
    assert across_t_joints("A2", 9.0, 9.5, joints) == ()
    assert [j.name for j in across_t_joints("A2", 9.0, 9.5, joints, 0.2)] == ["A2.1t"]
    assert [j.side_lap for j in across_t_joints("A2.1", 0, 0.01, joints)] == ["A1"]
