"""Where the pieces of a row are cut: by hand, with laps of 1/8 m so that every bound is exact."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.quality.test_outline import PATTERN, shapes
from weldcal.quality.layout import lay
from weldcal.quality.sheets import Pattern, Rectangle, Rolls, RoofLayout

# 10 m by 1 m, laps of 0.125 m: a second piece shows 9.875 m.
ROLLS = Rolls(1.0, 10.0, 0.125, 0.125)


def pieces(areas: list[Rectangle], stagger: float = 1.0) -> list[tuple[float, ...]]:
    """The pieces of each row."""
    layout = lay(areas, ROLLS, Pattern(stagger_m=stagger))
    return [row.pieces_m for row in layout.rows]


@pytest.mark.parametrize(
    ("stagger", "first", "second"),
    [(0.5, 9.21875, 8.71875), (1.0, 9.21875, 8.21875), (2.0, 9.25, 7.25), (4.0, 9.0, 5.0)],
)
def test_a_row_is_cut_by_eighths_of_the_stagger_or_64ths_of_the_roll(
    stagger: float, first: float, second: float
) -> None:
    """20 m: a first piece of 10 m leaves 20 - 9.875 - 10 + 0.125 + 0.125 = 0.25 m at the end.

    A first piece of c leaves 10.25 - c, which is a metre where c is at most 9.25 m. Steps are
    10/64 = 0.15625 m, or an eighth of the stagger where that is more: 10 - 5 x 0.15625 = 9.21875,
    10 - 3 x 0.25 = 9.25, 10 - 2 x 0.5 = 9. Row 2 lies a stagger off.
    """
    first_row, second_row = pieces([Rectangle("A", 0, 0, 20, 1.75)], stagger)
    assert (first_row[0], second_row[0]) == (first, second)


def test_a_row_is_cut_longer_where_that_is_nearer() -> None:
    """A stem of 5 m below a bar of 18 m: row 3 is the bar's first, and wants 10 - 2 x 1 = 8 m.

    That would leave 18 - 8 - 9.875 + 0.125 = 0.25 m. One step longer, 8.15625 m, needs no third
    piece: 18 - 8.15625 + 0.125 = 9.96875 m. Shorter it would be 7 m: six steps and more.
    """
    stem, bar = Rectangle("A", 5, 0, 5, 1.75), Rectangle("A", 0, 1.75, 18, 1.75)
    assert pieces([stem, bar])[2] == (8.15625, 9.96875)


@pytest.mark.parametrize(
    ("corner", "cut"),
    [
        (8.5, 9.0),
        (8.75, 9.0),
        (8.76, 8.53125),
        (8.875, 8.6875),
        (9.0, 8.84375),
        (9.12, 8.84375),
        (9.125, 9.0),
        (9.5, 9.0),
    ],
)
def test_an_end_lap_keeps_a_laps_width_off_a_corner(corner: float, cut: float) -> None:
    """Row 2 of 18 m is cut around a corner; its lap would lie from 8.875 to 9 m.

    A corner at 8.75 m or at 9.125 m is a lap's width off either end of it, and the cut stays.
    Nearer, the next shorter cut that is as far off is taken; a longer one would come nearer than
    a metre to row 1's lap at 9.875 m. At 8.76 m: a lap from 8.40625 to 8.53125 m, three steps off.
    """
    wide, narrow = Rectangle("A", 0, 0, corner, 1.75), Rectangle("A", corner, 0, 18 - corner, 1.5)
    first, second = pieces([wide, narrow])
    assert (first[0], second[0]) == (10.0, cut)


def test_a_short_piece_is_told_only_where_there_is_another() -> None:
    """Of 0.9 m a row alone is one piece; 10.4 m leave 10.4 - c + 0.125 of at least a metre."""
    assert pieces([Rectangle("A", 0, 0, 0.9, 1.0)]) == [(0.9,)]
    assert lay([Rectangle("A", 0, 0, 0.9, 1.0)], ROLLS).flags == ()
    (row,) = pieces([Rectangle("A", 0, 0, 10.4, 1.0)])
    assert row == (10 - 4 * 0.15625, pytest.approx(10.4 - 9.375 + 0.125))


@given(shapes(), PATTERN)
def test_the_nearest_end_laps_are_told_by_name(areas: list[Rectangle], how: Pattern) -> None:
    """Of rows side by side, those less than the stagger apart: how many, and the nearest two."""
    layout = lay(areas, ROLLS, how)
    axis = 0 if how.along == "x" else 1
    ends = [lap for lap in layout.laps if lap.kind == "end lap"]
    apart = {
        (a.name, b.name): abs(a.start[axis] - b.start[axis])
        for a in ends
        for b in ends
        if b.row == (a.row or 0) + 1
    }
    near = {names: m for names, m in apart.items() if m < 1.0 - 1e-4}
    told = [flag.values for flag in layout.flags if flag.code == "end_laps_near"]
    assert bool(told) == bool(near)
    for values in told:
        assert values["n"] == len(near)
        assert values["apart_m"] == pytest.approx(min(near.values()))
        assert near[str(values["lap"]), str(values["other"])] == pytest.approx(values["apart_m"])


EIGHTHS = st.integers(8, 160).map(lambda n: n / 8)


@st.composite
def plans(draw: st.DrawFn) -> list[Rectangle]:
    """A base with a leg on it at either end, in eighths of a metre."""
    wide, low = draw(EIGHTHS) + 3, draw(EIGHTHS)
    areas = [Rectangle("A", 0, 0, wide, low)]
    for side in draw(st.sampled_from([(), (0,), (1,), (0, 1)])):
        leg = draw(st.integers(8, int(4 * wide)).map(lambda n: n / 8))
        areas.append(Rectangle("A", side * (wide - leg), low, leg, draw(EIGHTHS)))
    return areas


WAYS = st.builds(
    Pattern,
    st.sampled_from(["x", "y"]),
    st.sampled_from(["low", "high"]),
    st.sampled_from([0.5, 1.0, 1.25, 3.0]),
    st.booleans(),
)
Move = Callable[[float, float], tuple[float, float]]


def moved(layout: RoofLayout, move: Move) -> list[tuple[object, ...]]:
    """All laps, T-joints and rows with their numbers, each place moved; to a micrometre."""
    told: list[tuple[object, ...]] = [
        *((p.name, p.kind, p.length_m, *move(*p.start), *move(*p.end)) for p in layout.laps),
        *((j.name, *move(*j.place), j.side_lap, j.at_m, j.end_at_m) for j in layout.t_joints),
        *((r.number, r.from_m, r.to_m, r.start_m, *r.pieces_m) for r in layout.rows),
    ]
    return [tuple(round(v, 6) if isinstance(v, float) else v for v in one) for one in told]


def stay(x: float, y: float) -> tuple[float, float]:
    """A place where it is."""
    return x, y


@given(plans(), WAYS, st.integers(-40, 40), st.integers(-40, 40))
def test_a_roof_elsewhere_on_the_plan_is_laid_the_same(
    areas: list[Rectangle], how: Pattern, dx: int, dy: int
) -> None:
    """Only its places are moved."""
    there = [replace(a, x_m=a.x_m + dx, y_m=a.y_m + dy) for a in areas]
    here = moved(lay(areas, ROLLS, how), lambda x, y: (x + dx, y + dy))
    assert moved(lay(there, ROLLS, how), stay) == here


@given(plans(), WAYS)
def test_a_roof_turned_on_its_side_is_laid_the_same(areas: list[Rectangle], how: Pattern) -> None:
    """With rows along the other axis."""
    turned = [Rectangle("A", a.y_m, a.x_m, a.length_y_m, a.length_x_m) for a in areas]
    other = replace(how, along="y" if how.along == "x" else "x")
    here = moved(lay(areas, ROLLS, how), lambda x, y: (y, x))
    assert moved(lay(turned, ROLLS, other), stay) == here


@given(plans(), WAYS)
def test_a_roof_in_a_mirror_is_laid_the_same_from_the_other_edge(
    areas: list[Rectangle], how: Pattern
) -> None:
    """The edge of greatest x of the one is that of least x of the other."""
    wide = max(a.x_m + a.length_x_m for a in areas)
    mirrored = [replace(a, x_m=wide - a.x_m - a.length_x_m) for a in areas]
    if how.along == "x":
        other = replace(how, from_high=not how.from_high)
    else:
        other = replace(how, start="low" if how.start == "high" else "high")
    here = moved(lay(areas, ROLLS, how), lambda x, y: (wide - x, y))
    assert moved(lay(mirrored, ROLLS, other), stay) == here
