"""Areas as shapes: worked plans, and laws by arithmetic on rectangles, against shapely's own."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldcal.quality import shapes
from weldcal.quality.sheets import Rectangle

SIDE = st.integers(1, 12).map(float)
PLACE = st.integers(-12, 12).map(float)
AREA = st.builds(Rectangle, st.sampled_from("ABC"), PLACE, PLACE, SIDE, SIDE)

# A U of three wings, a fourth beyond a gap, a fifth at a corner only; metres.
LEFT, BASE, RIGHT = (
    Rectangle("A", 0, 0, 4, 10),
    Rectangle("B", 4, 0, 6, 3),
    Rectangle("C", 10, 0, 4, 10),
)
APART, CORNER = Rectangle("D", 20, 0, 5, 5), Rectangle("E", 14, 10, 3, 3)
PLAN = [LEFT, RIGHT, APART, CORNER, BASE]


def letters(part: list[Rectangle]) -> set[str]:
    return {area.letter for area in part}


def test_wings_that_share_edges_are_one_roof_and_a_corner_or_a_gap_is_none() -> None:
    """The two wings of the U do not touch each other; the base between them makes them one."""
    assert [letters(part) for part in shapes.roofs(PLAN)] == [{"D"}, {"E"}, {"A", "B", "C"}]
    assert letters(shapes.roof_of(PLAN, (1, 9))) == {"A", "B", "C"}
    assert letters(shapes.roof_of(PLAN, (22, 2))) == {"D"}
    assert letters(shapes.roof_of(PLAN, (18, 2))) == {"D"}  # off the roof: the nearest


def test_a_lap_across_two_areas_lies_on_both_and_one_to_another_roof_on_none() -> None:
    """From wing to base; over the court between the wings it is none."""
    part = shapes.roof_of(PLAN, (1, 1))
    assert shapes.lies_on(part, (1, 1), (13, 1))
    assert not shapes.lies_on(part, (1, 8), (13, 8))
    assert shapes.lies_on(part, (2, 2), (2, 2))
    assert not shapes.lies_on(part, (21, 1), (23, 1))


def test_a_place_belongs_to_the_area_it_lies_in() -> None:
    assert shapes.area_at(PLAN, (12, 5)).letter == "C"
    assert shapes.area_at(PLAN, (21, 1)).letter == "D"
    assert shapes.away_m(APART, (18, 2)) == pytest.approx(2.0)


@pytest.mark.parametrize(
    ("sides", "lies"),
    [
        ((9, 9, 9, 9), True),
        ((11, 0, 0, 0), False),
        ((0, 11, 0, 0), False),
        ((0, 0, 11, 0), False),
        ((0, 0, 0, 11), False),
    ],
)
def test_an_area_lies_within_others_to_a_millimetre(
    sides: tuple[int, int, int, int], lies: bool
) -> None:
    """It may stand out by 0.9 mm on every side, not by 1.1 mm on one; sides in tenths of that."""
    west, south, east, north = (side / 10_000 for side in sides)
    area = Rectangle("K", 5 - west, 5 - south, 4 + west + east, 2 + south + north)
    others = [Rectangle("A", 5, 5, 2, 2), Rectangle("B", 7, 5, 2, 2)]
    assert shapes.within(area, others) is lies


@given(AREA, AREA)
def test_overlap_is_the_product_of_overlaps_on_both_axes(a: Rectangle, b: Rectangle) -> None:
    """By arithmetic: what two rectangles share is a rectangle."""
    x = min(a.x_m + a.length_x_m, b.x_m + b.length_x_m) - max(a.x_m, b.x_m)
    y = min(a.y_m + a.length_y_m, b.y_m + b.length_y_m) - max(a.y_m, b.y_m)
    assert shapes.overlap_m2(a, b) == pytest.approx(max(x, 0) * max(y, 0))
    one = any({a.letter, b.letter} <= letters(part) for part in shapes.roofs([a, b]))
    joined = min(x, y) > -1e-9 and max(x, y) > 1e-9
    if a.letter != b.letter:
        assert one == joined


@given(st.lists(AREA, min_size=1, max_size=6))
def test_roofs_part_the_areas_whatever_their_order(areas: list[Rectangle]) -> None:
    """Each in one roof; the same roofs read backwards."""
    parts = shapes.roofs(areas)
    assert sorted(map(str, areas)) == sorted(str(a) for part in parts for a in part)
    backwards = shapes.roofs(areas[::-1])
    assert {frozenset(map(str, p)) for p in parts} == {frozenset(map(str, p)) for p in backwards}
