"""A roof laid from rectangles and rolls: counts by hand, names that stay, laws of the geometry."""

from __future__ import annotations

import math
from collections import Counter
from itertools import pairwise
from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString

from weldcal.quality.chalk import ChalkNames
from weldcal.quality.layout import (
    Below,
    Pattern,
    Rectangle,
    Rolls,
    RoofLayout,
    RoofPoint,
    lay,
    rolls_needed,
    weld_hours,
    with_water,
)

ROLLS = Rolls(1.0, 10.0)
SQUARE_M2 = 9.290304  # 100 ft²

LENGTH = st.floats(0.2, 60.0)
AREA = st.builds(Rectangle, st.sampled_from("ACD"), st.just(0.0), st.just(0.0), LENGTH, LENGTH)
ROLL = st.builds(
    Rolls, st.floats(0.5, 3.0), st.floats(4.0, 30.0), st.floats(0.0, 0.2), st.floats(0.0, 0.3)
)
PATTERN = st.builds(
    Pattern, st.sampled_from(["x", "y"]), st.sampled_from(["low", "high"]), st.floats(0.0, 12.0)
)


def names(layout: RoofLayout) -> list[str]:
    """Names of all that can be chalked."""
    return [lap.name for lap in layout.laps] + [joint.name for joint in layout.t_joints]


def test_a_small_roof_is_laid_as_by_hand() -> None:
    """4.5 m across by 22 m along, rolls of 1 m by 10 m: worked on paper.

    Rows show 0.925 m: 1 + ceil(3.5/0.925) = 5 rows, 4 side laps of 22 m. Row 1 has its end laps
    at 9.85 and 19.70 m, row 2 (first piece 9 m) at 8.85 and 18.70 m.
    """
    layout = lay([Rectangle("A", 0, 0, 22, 4.5)], ROLLS)
    side = [lap for lap in layout.laps if lap.kind == "side lap"]
    assert [lap.name for lap in side] == ["A1", "A2", "A3", "A4"]
    assert [lap.start for lap in side] == [(0, pytest.approx(0.925 * n)) for n in range(1, 5)]
    assert all(lap.end[0] == 22 and lap.length_m == 22 for lap in side)
    end = {lap.name: lap for lap in layout.laps if lap.kind == "end lap"}
    assert end["A1.1"].start == (pytest.approx(9.85), 0)
    assert end["A1.2"].start == (pytest.approx(19.70), 0)
    assert end["A2.1"].start == (pytest.approx(8.85), pytest.approx(0.925))
    assert end["A5.1"].length_m == pytest.approx(4.5 - 4 * 0.925)
    assert layout.rows[0].pieces_m == (10, 10, pytest.approx(22 - 19.70))
    joints = {joint.name: joint for joint in layout.t_joints}
    assert (joints["A2.1u"].side_lap, joints["A2.1t"].side_lap) == ("A1", "A2")
    assert joints["A2.1t"].place == (pytest.approx(8.85), pytest.approx(1.85))
    assert "A1.1u" not in joints and "A5.1t" not in joints


def test_a_roll_covers_a_square_once_lapped() -> None:
    """Common practice: a roll about 1 m by 10 m covers about one square (100 ft²)."""
    layout = lay([Rectangle("A", 0, 0, 30.48, 30.48)], ROLLS)
    first, second, third = layout.rows[:3]
    shown = (third.from_m - second.from_m) * (first.pieces_m[1] - ROLLS.end_lap_m)
    assert shown == pytest.approx(SQUARE_M2, rel=0.03)
    squares = layout.covered_m2 / SQUARE_M2
    assert squares == pytest.approx(100, rel=1e-6)
    assert squares < layout.rolls < 1.12 * squares


def test_rows_can_run_along_y_from_the_high_edge() -> None:
    """Row 1 lies at the edge of greatest x, and its side lap beyond it."""
    layout = lay([Rectangle("A", 5, 7, 3.5, 8)], ROLLS, Pattern("y", "high"))
    first = layout.laps[0]
    assert (first.name, first.start, first.end) == (
        "A1",
        (pytest.approx(5 + 3.5 - 0.925), 7),
        (pytest.approx(5 + 3.5 - 0.925), 15),
    )


def test_details_are_named_in_the_area_they_lie_in() -> None:
    """And one outside every rectangle is kept with the nearest, and flagged."""
    areas = [Rectangle("A", 0, 0, 10, 10), Rectangle("C", 20, 0, 10, 10)]
    marks = [
        RoofPoint("drain", 5, 5, 1.2),
        RoofPoint("corner", 20, 0),
        RoofPoint("curb", 5, 2),
        RoofPoint("drain", 18, 1),
    ]
    layout = lay(areas, ROLLS, marks=marks)
    details = [(lap.name, lap.at, lap.length_m) for lap in layout.laps if lap.kind == "detail"]
    assert details == [
        ("A-d1", "drain", 1.2),
        ("C-d1", "corner", None),
        ("A-d2", "curb", None),
        ("C-d2", "drain", None),
    ]
    assert layout.detail_m == pytest.approx(1.2)
    assert [flag.code for flag in layout.flags] == ["mark_outside"]


def test_areas_that_abut_are_joined_by_a_lap() -> None:
    """Two areas, or one laid before: the shared edge is a lap; across the rows, an end lap."""
    below, right = Rectangle("A", 0, 0, 10, 4), Rectangle("C", 0, 4, 6, 3)
    joint = next(lap for lap in lay([below, right], ROLLS).laps if "-j" in lap.name)
    assert (joint.name, joint.kind, joint.length_m) == ("C-j1", "side lap", 6)
    layout = lay([Rectangle("C", 10, 1, 5, 2)], ROLLS, neighbours=[below])
    joint = next(lap for lap in layout.laps if "-j" in lap.name)
    assert (joint.name, joint.kind, joint.start, joint.end) == ("C-j1", "end lap", (10, 1), (10, 3))


def test_a_last_row_of_a_hand_is_shared_with_the_first() -> None:
    """4 m across: the last of 5 rows would be 0.3 m wide. Row 1 and 5 are cut to (1 + 0.3)/2 m."""
    layout = lay([Rectangle("A", 0, 0, 22, 4)], ROLLS)
    widths = [row.to_m - row.from_m for row in layout.rows]
    assert widths == pytest.approx([0.65, 1, 1, 1, 0.65])
    assert [lap.start[1] for lap in layout.laps if lap.kind == "side lap"] == pytest.approx(
        [0.575, 1.5, 2.425, 3.35]
    )
    assert [flag.code for flag in layout.flags] == ["first_row_cut"]


def test_a_row_no_longer_than_a_roll_is_one_piece() -> None:
    """9.5 m of a 10 m roll: the stagger alone would cut row 2 at 9 m, and leave half a metre."""
    layout = lay([Rectangle("A", 0, 0, 9.5, 4.5)], ROLLS)
    assert all(row.pieces_m == (9.5,) for row in layout.rows)


def test_a_last_piece_of_a_hand_is_shared_with_the_first() -> None:
    """20 m along: whole rolls would leave 0.3 m at the end of row 1.

    By hand: two laps of 0.15 m; first piece 9.3 m leaves 20 - 9.3 - 10 + 0.3 = 1.0 m, the least.
    Row 2 wants 9 m, which leaves 1.3 m, but that is only 0.3 m from row 1: the stagger decides.
    """
    layout = lay([Rectangle("A", 0, 0, 20, 4.5)], ROLLS)
    assert all(min(row.pieces_m) >= 1.0 - 1e-3 for row in layout.rows)
    places = [
        [lap.start[0] for lap in layout.laps if lap.row == n and lap.kind == "end lap"]
        for n in range(1, 6)
    ]
    for row, after in pairwise(places):
        assert min(abs(a - b) for a in row for b in after) >= 1.0 - 1e-3
    assert not layout.flags


@pytest.mark.parametrize(
    ("slope", "along", "start", "from_high"),
    [
        ("y-", "x", "low", False),
        ("y+", "x", "high", False),
        ("x-", "y", "low", False),
        ("x+", "y", "high", False),
    ],
)
def test_rows_lie_across_the_slope_from_the_edge_that_water_runs_to(
    slope: str, along: str, start: str, from_high: bool
) -> None:
    """Every later row laps over the one below it, so water runs off the upper sheet."""
    how = with_water(slope, None, None)
    assert (how.along, how.start, how.from_high) == (along, start, from_high)
    layout = lay([Rectangle("A", 0, 0, 22, 21, slope)], ROLLS, how)
    assert "against_water" not in [flag.code for flag in layout.flags]
    axis = "xy".index(slope[0])
    first = [lap.start[axis] for lap in layout.laps if lap.kind == "side lap"]
    assert first == sorted(first, reverse=slope[1] == "+")


@pytest.mark.parametrize("slope", ["x+", "x-"])
def test_rows_up_the_slope_are_lapped_piece_over_piece_with_the_water(slope: str) -> None:
    """Asked to run along x where water runs along x: end laps lie over what is lower."""
    how = with_water(slope, "x", None)
    layout = lay([Rectangle("A", 0, 0, 22, 4.5, slope)], ROLLS, how)
    assert "against_water" not in [flag.code for flag in layout.flags]
    first = next(lap for lap in layout.laps if lap.name == "A1.1")
    # The second piece lies uphill of the exposed end of the lap, over the first.
    assert first.start[0] == pytest.approx(9.85 if slope == "x-" else 22 - 9.85)


def test_rows_from_the_upper_edge_are_told() -> None:
    """Chosen by hand, against the water: kept and told."""
    how = with_water("y-", None, "high")
    layout = lay([Rectangle("A", 0, 0, 22, 4.5, "y-")], ROLLS, how)
    assert [flag.code for flag in layout.flags] == ["against_water"]


@given(AREA, ROLL, PATTERN)
def test_no_sliver_is_laid_that_could_be_helped(
    area: Rectangle, rolls: Rolls, how: Pattern
) -> None:
    """Rows at least half a roll wide where there are two; a short piece is always told."""
    layout = lay([area], rolls, how)
    told = {flag.values["row"] for flag in layout.flags if flag.code == "short_piece"}
    for row in layout.rows:
        if len(layout.rows) > 1:
            assert row.to_m - row.from_m >= rolls.width_m / 2 - 1e-3
        if len(row.pieces_m) > 1 and min(row.pieces_m) < rolls.least_piece_m - 1e-3:
            assert f"{row.area}{row.number}" in told


def test_rectangles_of_one_letter_number_on() -> None:
    """No two rows of area A share a number."""
    layout = lay(
        [Rectangle("A", 0, 0, 10, 4), Rectangle("A", 30, 0, 10, 4), Rectangle("a", 60, 0, 9, 2)],
        ROLLS,
    )
    assert [row.number for row in layout.rows] == list(range(1, 14))


@given(AREA, ROLL, PATTERN)
def test_the_sheets_cover_the_rectangle_and_no_more(
    area: Rectangle, rolls: Rolls, how: Pattern
) -> None:
    """Along and across: first edge to last, each piece lapped on the one before."""
    layout = lay([area], rolls, how)
    along, across = area.length_x_m, area.length_y_m
    if how.along == "y":
        along, across = across, along
    assert layout.rows[0].from_m == 0 and layout.rows[-1].to_m == pytest.approx(across)
    for row, after in pairwise(layout.rows):
        assert row.to_m - after.from_m == pytest.approx(rolls.side_lap_m, abs=1e-9)
    for row in layout.rows:
        laps = (len(row.pieces_m) - 1) * rolls.end_lap_m
        assert sum(row.pieces_m) - laps == pytest.approx(along, abs=1e-3)
        assert all(rolls.end_lap_m < piece <= rolls.length_m + 1e-9 for piece in row.pieces_m[:-1])


@given(AREA, ROLL, PATTERN)
def test_laps_are_counted_and_measured(area: Rectangle, rolls: Rolls, how: Pattern) -> None:
    """One side lap fewer than rows; lap length from counts; T-joints two an end lap inside."""
    layout = lay([area], rolls, how)
    along = area.length_x_m if how.along == "x" else area.length_y_m
    side = [lap for lap in layout.laps if lap.kind == "side lap"]
    assert len(side) == len(layout.rows) - 1
    pieces = [(row, len(row.pieces_m) - 1) for row in layout.rows]
    ends = sum(count * (row.to_m - row.from_m) for row, count in pieces)
    assert layout.lap_m == pytest.approx(len(side) * along + ends)
    edges = [(n > 0) + (n < len(pieces) - 1) for n in range(len(pieces))]
    assert len(layout.t_joints) == sum(e * n for e, (_row, n) in zip(edges, pieces, strict=True))


@given(AREA, ROLL, PATTERN)
def test_end_laps_of_neighbouring_rows_keep_the_stagger(
    area: Rectangle, rolls: Rolls, how: Pattern
) -> None:
    """Or the layout says that the rolls are too short for it."""
    layout = lay([area], rolls, how)
    shown = rolls.length_m - rolls.end_lap_m
    flagged = any(flag.code == "stagger_too_long" for flag in layout.flags)
    assert flagged == (how.stagger_m > 0 and 2 * how.stagger_m > shown + 1e-4)
    if flagged or how.stagger_m == 0:  # told for all of them, or none asked for
        assert "end_laps_near" not in {flag.code for flag in layout.flags}
    axis = 0 if how.along == "x" else 1
    by_row: dict[int | None, list[float]] = {}
    for lap in layout.laps:
        if lap.kind == "end lap":
            by_row.setdefault(lap.row, []).append(lap.start[axis])
    for row, after in pairwise(layout.rows):
        for a in by_row.get(row.number, []):
            for b in by_row.get(after.number, []):
                assert flagged or abs(a - b) >= how.stagger_m - 1e-3


@given(AREA, ROLL, PATTERN)
def test_t_joints_lie_on_both_their_laps(area: Rectangle, rolls: Rolls, how: Pattern) -> None:
    """The place told along either lap is the place told on the roof."""
    layout = lay([area], rolls, how)
    laps = {lap.name: lap for lap in layout.laps}
    for joint in layout.t_joints:
        for name, at in ((joint.side_lap, joint.at_m), (joint.end_lap, joint.end_at_m)):
            lap = laps[name]
            share = at / (lap.length_m or 1.0)
            place = [a + share * (b - a) for a, b in zip(lap.start, lap.end, strict=True)]
            assert place == pytest.approx(list(joint.place), abs=1e-6)


@given(st.lists(AREA, min_size=1, max_size=4), ROLL, PATTERN)
def test_adding_an_area_renames_nothing(areas: list[Rectangle], rolls: Rolls, how: Pattern) -> None:
    """What was laid before is laid the same, and no name is given twice."""
    before, after = lay(areas[:-1] or areas, rolls, how), lay(areas, rolls, how)
    assert after.laps[: len(before.laps)] == before.laps
    assert max(Counter(names(after)).values(), default=0) <= 1


@given(st.lists(AREA, min_size=1, max_size=3), ROLL, PATTERN)
def test_names_that_exist_are_never_given_again(
    areas: list[Rectangle], rolls: Rolls, how: Pattern
) -> None:
    """Laid again over its own names, every name is new."""
    marks = [RoofPoint("drain", 1, 1), RoofPoint("curb", 2, 2)]
    first = names(lay(areas, rolls, how, marks))
    again = names(lay(areas, rolls, how, marks, taken=[name.lower() for name in first]))
    assert not {name.casefold() for name in first} & {name.casefold() for name in again}


def fewest(pieces: list[int], roll: int) -> int:
    """The fewest rolls there can be: by every set of pieces that fits into one (after Karp)."""
    every = range(1 << len(pieces))
    whole = [sum(p for n, p in enumerate(pieces) if chosen >> n & 1) for chosen in every]
    best = [0] * len(every)
    for chosen in every[1:]:
        part, best[chosen] = chosen, len(pieces)
        while part:
            if whole[part] <= roll:
                best[chosen] = min(best[chosen], best[chosen ^ part] + 1)
            part = (part - 1) & chosen
    return best[-1]


@given(st.lists(st.integers(1, 100), max_size=8))
def test_rolls_are_within_the_bound_of_first_fit(pieces: list[int]) -> None:
    """Never under the fewest possible, at most 11/9 of it plus 6/9 (Dósa 2007); pieces in dm."""
    least = fewest(pieces, 100)
    rolls = rolls_needed([piece / 10 for piece in pieces], 10.0)
    assert least <= rolls <= 11 / 9 * least + 6 / 9


@given(st.lists(st.floats(0.1, 10.0), max_size=40))
def test_rolls_are_enough_for_the_length_and_leave_no_two_half_empty(pieces: list[float]) -> None:
    """At least the length over a roll's; first fit leaves at most one roll half empty or more."""
    rolls = rolls_needed(pieces, 10.0)
    assert rolls >= math.ceil(sum(pieces) / 10.0 - 1e-3)
    assert rolls <= math.floor(sum(pieces) / 5.0 + 1e-3) + 1


def test_pieces_that_fill_rolls_waste_none() -> None:
    """6 + 4 and 7 + 3 are two rolls, whatever the order."""
    assert rolls_needed([4, 3, 7, 6], 10.0) == 2
    assert rolls_needed([10.0, 10.0], 10.0) == 2
    assert rolls_needed([], 10.0) == 0


def test_hours_are_length_over_speed() -> None:
    """300 m at 2 m/min is two and a half hours of travel."""
    assert weld_hours(300, 2) == pytest.approx(2.5)


def test_rows_go_on_past_a_last_row_that_has_no_name() -> None:
    """Side laps A1 to A4 leave row 5 without a name of its own: the next row is 6."""
    assert ChalkNames(["A1", "A4", "B9", "A-d7", "A3.2t"]).first_row("A") == 6
    assert ChalkNames(["A-d7"]).next("A", "d") == "A-d8"


@pytest.mark.parametrize(
    ("areas", "rolls", "pattern"),
    [
        ([], ROLLS, Pattern()),
        ([Rectangle("A", 0, 0, 0, 5)], ROLLS, Pattern()),
        ([Rectangle("A", 0, 0, 5, 5)], Rolls(0.05, 10), Pattern()),
        ([Rectangle("A", 0, 0, 5, 5)], Rolls(1, 0.1), Pattern()),
        ([Rectangle("A", 0, 0, 5, 5)], ROLLS, Pattern(stagger_m=-1)),
    ],
)
def test_what_cannot_be_laid_is_refused(
    areas: list[Rectangle], rolls: Rolls, pattern: Pattern
) -> None:
    """No rectangle, one of no length, a lap wider than its roll."""
    with pytest.raises(ValueError, match=r"."):
        lay(areas, rolls, pattern)


OVER = st.builds(
    Rolls, st.floats(0.9, 1.2), st.floats(7.0, 15.0), st.floats(0.07, 0.12), st.floats(0.1, 0.2)
)


@given(OVER, OVER, st.floats(3.0, 30.0), st.floats(3.0, 30.0), st.sampled_from(["low", "high"]))
def test_a_ply_above_keeps_off_the_one_below_or_says_by_how_much_it_does_not(
    lower: Rolls, upper: Rolls, along: float, across: float, start: Literal["low", "high"]
) -> None:
    """Against shapely: the distance of laps that run side by side."""
    base = lay([Rectangle("P", 2, 3, along, across)], lower)
    below = Below(tuple(base.laps), 0.3, 1.0)
    over = lay([Rectangle("K", 2, 3, along, across)], upper, Pattern("x", start), below=below)
    assert math.fsum(r.to_m - r.from_m for r in over.rows) >= across - 1e-6
    worst = math.inf
    for a in over.laps:
        for b in base.laps:
            if a.kind != b.kind:
                continue
            one, other = LineString([a.start, a.end]), LineString([b.start, b.end])
            axis = 0 if a.kind == "side lap" else 1
            spans = sorted((a.start[axis], a.end[axis])), sorted((b.start[axis], b.end[axis]))
            if min(spans[0][1], spans[1][1]) - max(spans[0][0], spans[1][0]) > 1e-3:
                least = 0.3 if a.kind == "side lap" else 1.0
                worst = min(worst, one.distance(other) - least)
    flagged = [flag for flag in over.flags if flag.code == "near_below"]
    assert bool(flagged) == (worst < -1e-4)
    if flagged:
        short = flagged[0].values["apart_m"] - flagged[0].values["least_m"]
        assert short == pytest.approx(worst, abs=1e-6)


def test_a_cap_with_the_same_rolls_is_laid_as_by_hand() -> None:
    """5.5 m across, rolls of 1 m that show 0.925 m: 6 rows below, laps at 0.925 n.

    Laps above lie 0.30 m off from a first row of 0.70 m down (0.70 - 0.075 = 0.625). Row 7 then
    begins at 0.625 + 5 * 0.925 = 5.25 m and is 0.25 m wide; no first row leaves half a roll at
    both edges, so 0.30 m must do: the widest is 0.65 m, whose laps lie at 0.575 + 0.925 n.
    """
    rolls = Rolls(1.0, 10.0)
    base = lay([Rectangle("P", 0, 0, 8, 5.5)], rolls)
    over = lay([Rectangle("K", 0, 0, 8, 5.5)], rolls, below=Below(tuple(base.laps), 0.3, 1.0))
    assert len(base.rows) == 6
    assert over.rows[0].to_m == pytest.approx(0.65)
    assert over.rows[-1].to_m - over.rows[-1].from_m == pytest.approx(0.30)
    lines = [lap.start[1] for lap in over.laps if lap.kind == "side lap"]
    assert lines == [pytest.approx(0.575 + 0.925 * n) for n in range(6)]
    assert [flag.code for flag in over.flags] == ["first_row_offset", "narrow_row"]
