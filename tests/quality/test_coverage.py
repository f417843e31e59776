"""Stretches along a seam, against counting centimetres one by one."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from weldcal.quality.coverage import covers, minus, ordered, total, union

# Whole centimetres, so that a set of centimetres is an independent account.
CENTIMETRES = st.integers(0, 60)
STRETCHES = st.lists(st.tuples(CENTIMETRES, CENTIMETRES).map(lambda ab: ordered(*ab)), max_size=8)


def metres(stretches: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Centimetres to metres."""
    return [(a / 100, b / 100) for a, b in stretches]


def cells(stretches: list[tuple[float, float]]) -> set[int]:
    """Which centimetres lie in some stretch."""
    return {cell for a, b in stretches for cell in range(round(a), round(b))}


def counted(stretches: list[tuple[float, float]]) -> set[int]:
    """The same of stretches in metres."""
    return cells([(a * 100, b * 100) for a, b in stretches])


@given(STRETCHES)
def test_a_union_is_sorted_apart_and_holds_the_same_places(
    stretches: list[tuple[float, float]],
) -> None:
    """Nothing gained, nothing lost."""
    merged = union(metres(stretches))
    assert counted(merged) == cells(stretches)
    assert all(a[1] < b[0] for a, b in pairwise(merged))


@given(STRETCHES, STRETCHES)
def test_what_is_left_is_what_was_not_taken(
    stretches: list[tuple[float, float]], taken: list[tuple[float, float]]
) -> None:
    """Set difference, centimetre by centimetre."""
    assert counted(minus(metres(stretches), metres(taken))) == cells(stretches) - cells(taken)


@given(STRETCHES, STRETCHES)
def test_total_adds_up(
    stretches: list[tuple[float, float]], taken: list[tuple[float, float]]
) -> None:
    """What is left and what is shared make the whole."""
    whole = len(cells(stretches))
    left = len(cells(stretches) - cells(taken))
    assert abs(total(metres(stretches)) - whole / 100) < 1e-9
    assert abs(total(minus(metres(stretches), metres(taken))) - left / 100) < 1e-9


@given(STRETCHES, st.tuples(CENTIMETRES, CENTIMETRES).map(lambda ab: ordered(*ab)))
def test_a_stretch_is_covered_when_none_of_it_is_left(
    taken: list[tuple[float, float]], stretch: tuple[float, float]
) -> None:
    """A point counts too: it is covered where it is touched."""
    covered = covers(metres(taken), metres([stretch])[0])
    if stretch[0] < stretch[1]:
        assert covered is (cells([stretch]) <= cells(taken))
    else:
        assert covered is any(a <= stretch[0] <= b for a, b in taken)


def test_feet_that_meet_leave_no_sliver() -> None:
    """0 to 16.5 ft and 16.5 to 33 ft are 0 to 33 ft, whatever floats make of it."""
    foot = 0.3048
    assert union([(0, 16.5 * foot), (16.5 * foot, 33 * foot)]) == [(0, 33 * foot)]
    assert covers([(0, 5.03), (5.03, 33 * foot)], (0, 10.0584))
