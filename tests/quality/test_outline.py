"""Rows that run through the steps of an L and a U: plans worked by hand, laws against shapely."""

from __future__ import annotations

import math
from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from weldcal.quality.layout import (
    Below,
    LapToWeld,
    Pattern,
    Rectangle,
    Rolls,
    RoofLayout,
    lay,
    outlines,
)
from weldcal.quality.outline import (
    RowBand,
    StraightPart,
    narrowest,
    side_laps,
    spans,
    strips,
)

ROLLS = Rolls(1.0, 10.0)
CM = st.integers(100, 1200)


def sides(layout: RoofLayout) -> dict[str, tuple[float, float, float]]:
    """Side laps by name: where along they begin and end, and where across they lie."""
    return {
        lap.name: (
            pytest.approx(lap.start[0]),
            pytest.approx(lap.end[0]),
            pytest.approx(lap.start[1]),
        )
        for lap in layout.laps
        if lap.kind == "side lap"
    }


def test_an_l_is_laid_as_by_hand() -> None:
    """12 m x 4.7 m with a leg of 4 m x 1.85 m beside it: worked on paper.

    Rows show 0.925 m; 1 + (4.7 - 1)/0.925 = 5 rows. Row 2 covers 0.925 to 1.925 m, so the leg
    (1.85 m high) is rows 1 and 2: lap A1 runs 16 m through the step, A2 to A4 the 12 m of the
    body. 16 + 3 x 12 = 52 m, and no joint.
    """
    layout = lay([Rectangle("A", 0, 0, 12, 4.7), Rectangle("A", 12, 0, 4, 1.85)], ROLLS)
    assert sides(layout) == {
        "A1": (0, 16, 0.925),
        "A2": (0, 12, 1.85),
        "A3": (0, 12, 2.775),
        "A4": (0, 12, 3.7),
    }
    assert not [lap for lap in layout.laps if "-j" in lap.name]
    first, second, third = layout.rows[:3]
    assert first.pieces_m == (10, pytest.approx(16 - 9.85))
    assert sum(second.pieces_m) - 0.15 == pytest.approx(16)
    assert sum(third.pieces_m) - 0.15 == pytest.approx(12)
    assert (second.narrowest_m, second.to_m - second.from_m) == pytest.approx((0.925, 1.0))
    assert layout.covered_m2 == pytest.approx(12 * 4.7 + 4 * 1.85)


def test_a_u_is_laid_as_by_hand() -> None:
    """9 m x 1.85 m with legs of 3 m and 2 m, 2.85 m high: rows go on in each leg.

    Laps lie at 0.925 n; the base is rows 1 and 2. Row 2 (to 1.925 m) runs through under the
    court, cut to 1.85 m there; A2 and A2b join row 3 to it in the legs, A3 and A3b, A4 and A4b
    beyond. 9 + 3 x (3 + 2) = 24 m of side laps; no piece is longer than a roll, so no end laps.
    """
    areas = [
        Rectangle("A", 0, 0, 9, 1.85),
        Rectangle("A", 0, 1.85, 3, 2.85),
        Rectangle("A", 7, 1.85, 2, 2.85),
    ]
    layout = lay(areas, ROLLS)
    assert sides(layout) == {
        "A1": (0, 9, 0.925),
        "A2": (0, 3, 1.85),
        "A2b": (7, 9, 1.85),
        "A3": (0, 3, 2.775),
        "A3b": (7, 9, 2.775),
        "A4": (0, 3, 3.7),
        "A4b": (7, 9, 3.7),
    }
    assert layout.lap_m == pytest.approx(24)
    assert [(row.number, row.start_m, row.pieces_m) for row in layout.rows] == [
        (1, 0, (9,)),
        (2, 0, (9,)),
        *((n, start, (long,)) for n in (3, 4, 5) for start, long in ((0, 3), (7, 2))),
    ]


def test_a_court_narrower_than_a_roll_is_cut_out_of_the_row() -> None:
    """A gap of 0.4 m across the rows, within row 2: one sheet, slit."""
    outline = strips([((0, 5), (0, 4)), ((5, 9), (0, 1.2)), ((5, 9), (1.6, 4))])
    bands = [RowBand(0.925 * n, 0.925 * n + 1) for n in range(4)]
    (whole,) = spans(outline, bands, 1)
    assert whole.over == (0, 9)
    assert side_laps(outline, bands, 0) == [(0, 9)]


def test_rectangles_of_one_area_that_touch_make_one_outline() -> None:
    """Edge to edge, however given; a corner or another letter parts them."""
    a, b, c = Rectangle("A", 0, 0, 5, 5), Rectangle("A", 9, 0, 5, 5), Rectangle("a", 5, 0, 4, 2)
    d, e = Rectangle("A", 14, 5, 3, 3), Rectangle("D", 14, 0, 3, 3)
    assert outlines([a, b, c, d, e]) == [[a, b, c], [d], [e]]


def test_an_edge_row_of_a_step_is_half_a_roll_where_it_can_be() -> None:
    """A step at 2.0 m would leave 0.15 m of row 3; row 1 is cut so that no edge row is narrower.

    Common practice, no source: half a roll at an edge.
    """
    layout = lay([Rectangle("A", 0, 0, 8, 4.7), Rectangle("A", 8, 0, 4, 2.0)], ROLLS)
    assert min(row.narrowest_m for row in layout.rows) >= 0.5 - 1e-3
    assert [flag.code for flag in layout.flags] == ["first_row_step"]


# -- laws --------------------------------------------------------------------------------------


@st.composite
def shapes(draw: st.DrawFn) -> list[Rectangle]:
    """A base of an area with one leg or two on it, or beside it."""
    width, low = draw(st.integers(600, 4000)) / 100, draw(CM) / 100
    left = draw(st.integers(100, 250)) / 100
    right = draw(st.integers(100, 250)) / 100
    areas = [Rectangle("A", 1, 2, width, low), Rectangle("A", 1, 2 + low, left, draw(CM) / 100)]
    if draw(st.booleans()):
        areas.append(Rectangle("A", 1 + width - right, 2 + low, right, draw(CM) / 100))
    if draw(st.booleans()):  # on its side
        areas = [Rectangle("A", a.y_m, a.x_m, a.length_y_m, a.length_x_m) for a in areas]
    return draw(st.permutations(areas))


PATTERN = st.builds(
    Pattern,
    st.sampled_from(["x", "y"]),
    st.sampled_from(["low", "high"]),
    st.just(1.0),
    st.booleans(),
)


def whole(areas: list[Rectangle]) -> BaseGeometry:
    """The outline, by shapely."""
    return unary_union(
        [box(a.x_m, a.y_m, a.x_m + a.length_x_m, a.y_m + a.length_y_m) for a in areas]
    )


def line(lap: LapToWeld) -> LineString:
    """A lap as a line."""
    return LineString([lap.start, lap.end])


@given(shapes(), PATTERN)
def test_laps_lie_in_the_outline_and_no_two_lie_over_one_another(
    areas: list[Rectangle], how: Pattern
) -> None:
    """Against shapely; and side laps are as long as the outline at their lines."""
    layout = lay(areas, ROLLS, how)
    outline = whole(areas)
    machine = [lap for lap in layout.laps if lap.kind != "detail"]
    assert not [lap for lap in machine if "-j" in lap.name]
    for lap in machine:
        assert outline.buffer(1e-3).covers(line(lap))
    for n, lap in enumerate(machine):
        for other in machine[n + 1 :]:
            if lap.kind == other.kind:
                assert line(lap).intersection(line(other)).length < 1e-6
    low_x, low_y, high_x, high_y = outline.bounds
    axis = 1 if how.along == "x" else 0
    for at in {round(lap.start[axis], 6) for lap in machine if lap.kind == "side lap"}:
        ends = ((low_x, at), (high_x, at)) if axis else ((at, low_y), (at, high_y))
        there = [
            lap for lap in machine if lap.kind == "side lap" and abs(lap.start[axis] - at) < 1e-5
        ]
        length = math.fsum(lap.length_m or 0.0 for lap in there)
        # An edge beyond the line by less than a lap is covered by the row before or after.
        within = [
            outline.intersection(LineString([_moved(p, axis, by) for p in ends])).length
            for by in (-0.0751, -1e-3, 1e-3, 0.0751)
        ]
        assert min(within) - 1e-6 <= length <= max(within) + 1e-6


def _moved(place: tuple[float, float], axis: int, by: float) -> tuple[float, float]:
    return (place[0], place[1] + by) if axis else (place[0] + by, place[1])


@given(shapes(), PATTERN)
def test_pieces_and_offsets_of_an_outline_are_kept_or_told(
    areas: list[Rectangle], how: Pattern
) -> None:
    """No piece below the least, none longer than a roll; end laps a stagger apart; rows told."""
    layout = lay(areas, ROLLS, how)
    told = {flag.code for flag in layout.flags}
    pieces = [p for row in layout.rows if len(row.pieces_m) > 1 for p in row.pieces_m]
    assert max(pieces, default=0) <= 10 + 1e-9
    assert ("short_piece" in told) == (min(pieces, default=9) < 1.0 - 1e-4)
    axis = 0 if how.along == "x" else 1
    by_row: dict[int, list[float]] = {}
    for lap in layout.laps:
        if lap.kind == "end lap" and lap.row is not None:
            by_row.setdefault(lap.row, []).append(lap.start[axis])
    near = [abs(a - b) for n, row in by_row.items() for a in row for b in by_row.get(n + 1, [])]
    assert ("end_laps_near" in told) == (min(near, default=9) < 1.0 - 1e-4)
    narrow = min(row.narrowest_m for row in layout.rows) < 0.5 - 1e-4
    assert narrow == ("narrow_at_step" in told)
    names = Counter(lap.name.casefold() for lap in layout.laps)
    names.update(joint.name.casefold() for joint in layout.t_joints)
    assert max(names.values(), default=1) == 1


@given(shapes(), PATTERN)
def test_t_joints_of_an_outline_lie_where_its_laps_meet(
    areas: list[Rectangle], how: Pattern
) -> None:
    """Each on both its laps, at the place told along each."""
    layout = lay(areas, ROLLS, how)
    laps = {lap.name: lap for lap in layout.laps}
    for joint in layout.t_joints:
        for name, at in ((joint.side_lap, joint.at_m), (joint.end_lap, joint.end_at_m)):
            along = line(laps[name]).interpolate(at)
            assert (along.x, along.y) == pytest.approx(joint.place, abs=1e-6)


@given(shapes(), PATTERN)
def test_a_ply_over_an_outline_keeps_off_the_one_below_or_says_so(
    areas: list[Rectangle], how: Pattern
) -> None:
    """Side laps 0.3 m, end laps 1 m off those below (UFGS-07550 §3.3.6), by shapely."""
    base = lay(areas, ROLLS, how)
    upper = [Rectangle("K", a.x_m, a.y_m, a.length_x_m, a.length_y_m, over="A") for a in areas]
    over = lay(upper, ROLLS, how, below=Below(base.laps, 0.3, 1.0))
    short = False
    axis = 0 if how.along == "x" else 1
    for a in over.laps:
        for b in base.laps:
            if a.kind != b.kind:
                continue
            on = axis if a.kind == "side lap" else 1 - axis
            spans = [sorted((lap.start[on], lap.end[on])) for lap in (a, b)]
            if min(spans[0][1], spans[1][1]) - max(spans[0][0], spans[1][0]) > 1e-3:
                least = 0.3 if a.kind == "side lap" else 1.0
                short |= line(a).distance(line(b)) < least - 1e-4
    assert short == ("near_below" in {flag.code for flag in over.flags})


@given(shapes(), st.integers(30, 100))
def test_rows_of_an_outline_cover_it(areas: list[Rectangle], first: int) -> None:
    """All of it, by shapely, whatever the first row's width."""
    rects = [((a.x_m, a.x_m + a.length_x_m), (a.y_m, a.y_m + a.length_y_m)) for a in areas]
    outline = strips(rects)
    low = min(across[0] for _along, across in rects)
    bands = [RowBand(low, low + first / 100)]
    while bands[-1].high < max(across[1] for _along, across in rects):
        bands.append(RowBand(bands[-1].high - 0.075, bands[-1].high + 0.925))
    parts = [
        part for n in range(len(bands)) for span in spans(outline, bands, n) for part in span.parts
    ]
    laid = unary_union([_box(part) for part in parts])
    assert whole(areas).symmetric_difference(laid).area < 1e-3


def _box(part: StraightPart) -> BaseGeometry:
    return box(part.over[0], part.low, part.over[1], part.high)


def test_a_row_is_narrow_at_an_edge_only_where_another_lies_beside_it() -> None:
    """A strip of 0.4 m under one band says nothing; of 1.2 m over two, 0.275 m lies in the second."""
    bands = [RowBand(0.0, 1.0), RowBand(0.925, 1.925)]
    alone, beside = StraightPart((0, 4), 0.0, 0.4), StraightPart((4, 8), 0.0, 1.2)
    assert narrowest([alone], bands) == math.inf
    assert narrowest([alone, beside], bands) == pytest.approx(0.275)
    assert side_laps([alone, beside], bands, 0) == [(4, 8)]
    assert side_laps([alone, beside], bands, 1) == []
