"""The ply below, and where a leak is looked for: geometry against shapely, and by hand."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString
from shapely import Point as Spot
from shapely.ops import nearest_points

from weldcal.quality.below import own_place, too_near, under, widths
from weldcal.quality.leak import (
    Candidate,
    LapFacts,
    along_within,
    nearest_point,
    places_of,
    point_on,
    search,
)
from weldcal.quality.sheets import Below, LapToWeld, Pattern, Rectangle

AREA = Rectangle("A", 2.0, 3.0, 20.0, 8.0)
Axis = Literal["x", "y"]
Start = Literal["low", "high"]


@pytest.mark.parametrize(
    ("along", "start", "from_high", "place"),
    [
        ("x", "low", False, (5.0, 1.0)),
        ("x", "high", False, (5.0, 7.0)),
        ("x", "low", True, (15.0, 1.0)),
        ("y", "low", False, (1.0, 5.0)),
        ("y", "high", False, (1.0, 15.0)),
        ("y", "low", True, (7.0, 5.0)),
        ("y", "high", True, (7.0, 15.0)),
    ],
)
def test_a_place_in_a_rectangles_own_measures(
    along: Axis, start: Start, from_high: bool, place: tuple[float, float]
) -> None:
    """5 m and 1 m from the low corner of 20 m by 8 m: along the rows, and across from row 1."""
    assert own_place(AREA, Pattern(along, start, 1.0, from_high), (7.0, 4.0)) == place


def lap(
    kind: str, start: tuple[float, float], end: tuple[float, float], name: str = "K1"
) -> LapToWeld:
    """A lap of so long."""
    return LapToWeld(name, kind, "A", start, end, math.dist(start, end))


WHOLE = st.integers(0, 8).map(float)


@st.composite
def laps(draw: st.DrawFn, name: str) -> LapToWeld:
    """A lap along x or y, on whole metres."""
    x, y, long = draw(WHOLE), draw(WHOLE), draw(st.integers(1, 6))
    end = (x + long, y) if draw(st.booleans()) else (x, y + long)
    ends = [(x, y), end]
    if draw(st.booleans()):
        ends.reverse()
    return lap(draw(st.sampled_from(["side lap", "end lap"])), ends[0], ends[1], name)


@given(laps("K1"), laps("P1"), st.sampled_from([(1.0, 3.0), (2.0, 1.0)]))
def test_laps_side_by_side_keep_the_distance_of_their_kinds(
    mine: LapToWeld, other: LapToWeld, least: tuple[float, float]
) -> None:
    """shapely's distance of two that run the same way with some length beside one another."""
    one, two = (LineString([each.start, each.end]) for each in (mine, other))
    ways = [0 if each.start[1] == each.end[1] else 1 for each in (mine, other)]
    shared = 0.0
    if ways[0] == ways[1]:
        spans = [sorted((each.start[ways[0]], each.end[ways[0]])) for each in (mine, other)]
        shared = min(s[1] for s in spans) - max(s[0] for s in spans)
    wanted = least[1] if mine.kind == other.kind == "end lap" else least[0]
    apart = one.distance(two)
    found = [
        (n.lap, n.below, n.apart_m, n.least_m) for n in too_near([mine], Below((other,), *least))
    ]
    near = shared > 0 and apart < wanted
    assert found == ([("K1", "P1", apart, wanted)] if near else [])


def test_of_several_below_the_nearest_is_told_and_details_keep_no_distance() -> None:
    """Side laps 0.4 m and 0.2 m off; a detail lies where it lies."""
    over = lap("side lap", (0.0, 1.0), (9.0, 1.0))
    below = (
        lap("side lap", (0.0, 0.6), (9.0, 0.6), "P1"),
        lap("side lap", (0.0, 1.2), (9.0, 1.2), "P2"),
    )
    (told,) = too_near([over], Below(below, 0.5, 1.0))
    assert (told.below, told.apart_m) == ("P2", pytest.approx(0.2))
    detail = lap("detail", (0.0, 1.0), (9.0, 1.0))
    assert not list(too_near([detail], Below(below, 0.5, 1.0)))


def test_what_lies_below_a_rectangle_and_how_far_to_keep_off() -> None:
    """A side lap 2 m up and an end lap 6 m along; rows from the low edge along x."""
    side = lap("side lap", (2.0, 5.0), (12.0, 5.0))
    end = lap("end lap", (8.0, 3.0), (8.0, 5.0))
    found = under(
        AREA, Pattern(), Below((side, end, lap("detail", (3.0, 3.0), (4.0, 4.0))), 0.3, 1)
    )
    assert [(one.at, one.over, one.end) for one in found.along] == [(2.0, (0.0, 10.0), False)]
    assert [(one.at, one.over, one.end) for one in found.across] == [(6.0, (0.0, 2.0), True)]
    assert found.short_m([(2.1, (0.0, 20.0))]) == pytest.approx(0.2)
    assert found.short_m([(2.1, (10.0, 20.0))]) == 0.0
    assert found.short_m([(1.9, (5.0, 20.0)), (2.25, (5.0, 20.0))]) == pytest.approx(0.2)
    assert found.short_m([]) == 0.0
    assert found.clear([5.0], (0.0, 1.0)) and found.clear([7.0], (0.0, 1.0))
    assert not found.clear([5.1], (0.0, 1.0)) and not found.clear([1.0, 6.9], (0.0, 1.0))
    assert found.clear([6.0], (2.0, 3.0))
    past = lap("end lap", (8.0, 0.0), (8.0, 5.0))  # it begins before the rectangle does
    (over,) = under(AREA, Pattern(), Below((past,), 0.3, 1.0)).across
    assert (over.at, over.over) == (6.0, (-3.0, 2.0))
    left = lap("side lap", (-9.0, 5.0), (4.0, 5.0))
    (over,) = under(AREA, Pattern(), Below((left,), 0.3, 1.0)).along
    assert (over.at, over.over) == (2.0, (-11.0, 2.0))
    across = under(AREA, Pattern("y"), Below((side, end), 0.3, 1.0))
    # Along y the side lap below runs across the rows, and is kept off by the side laps' distance.
    assert not across.clear([2.2], (0.0, 1.0)) and across.clear([2.3], (0.0, 1.0))


@pytest.mark.parametrize(("widest", "narrowest"), [(1.0, 0.5), (0.914, 0.457), (1.0, 1.0)])
def test_widths_of_row_1_go_down_by_the_centimetre(widest: float, narrowest: float) -> None:
    """From the roll's to the narrowest there may be, and no narrower."""
    found = list(widths(widest, narrowest))
    assert found[0] == widest
    assert narrowest - 1e-6 <= found[-1] < narrowest + 0.01
    steps = [a - b for a, b in pairwise(found)]
    assert steps == pytest.approx([0.01] * len(steps))


COORD = st.floats(-20, 20)
POINT = st.tuples(COORD, COORD)


@given(POINT, POINT, POINT)
def test_the_nearest_point_of_a_lap_is_shapelys(
    spot: tuple[float, float], start: tuple[float, float], end: tuple[float, float]
) -> None:
    """Of a lap without a length, its one place."""
    assert nearest_point(spot, start, start) == start
    expected = nearest_points(LineString([start, end]), Spot(spot))[0]
    found = nearest_point(spot, start, end)
    assert math.dist(spot, found) == pytest.approx(Spot(spot).distance(expected), abs=1e-6)


def test_a_place_along_a_lap_on_the_plan() -> None:
    """By its listed length, else as long as it is drawn; never beyond its ends."""
    assert point_on((0.0, 0.0), (10.0, 20.0), 100.0, 25.0) == (2.5, 5.0)
    assert point_on((0.0, 0.0), (3.0, 4.0), None, 2.5) == (1.5, 2.0)
    assert point_on((0.0, 0.0), (3.0, 4.0), 5.0, 9.0) == (3.0, 4.0)
    assert point_on((0.0, 0.0), (3.0, 4.0), 5.0, -1.0) == (0.0, 0.0)
    assert point_on((2.0, 2.0), (2.0, 2.0), None, 1.0) == (2.0, 2.0)


def test_the_stretch_of_a_lap_within_a_band() -> None:
    """A lap of 100 m whose x goes from 10 to 20: the band 12 to 15 is 20 to 50 m along it."""
    assert along_within(10.0, 20.0, 100.0, (12.0, 15.0)) == (pytest.approx(20), pytest.approx(50))
    assert along_within(20.0, 10.0, 100.0, (12.0, 15.0)) == (pytest.approx(50), pytest.approx(80))
    assert along_within(10.0, 20.0, 100.0, (0.0, 99.0)) == (0.0, 100.0)
    assert along_within(10.0, 20.0, 100.0, (21.0, 25.0)) is None
    assert along_within(10.0, 10.0, 100.0, (9.0, 10.0)) == (0.0, 100.0)
    assert along_within(10.0, 10.0, 100.0, (11.0, 12.0)) is None


@pytest.mark.parametrize(
    ("spot", "at", "ends"),
    [
        (50.0, 150.0, (147.0, 153.0)),
        (1.0, 101.0, (100.0, 104.0)),
        (99.0, 199.0, (196.0, 200.0)),
        (-9.0, 100.0, (100.0, 103.0)),
    ],
)
def test_of_a_long_stretch_the_part_about_the_spot_is_looked_at(
    spot: float, at: float, ends: tuple[float, float]
) -> None:
    """3 m either way, within the stretch from 100 to 200 m of its lap."""
    one = Candidate("A1", (0.0, 5.0), (100.0, 5.0), frozenset(["unprobed"]), None, 100.0, 200.0)
    found = search((spot, 0.0), [one], seen="on_roof")
    assert found.order[0].at_m == pytest.approx(at)
    ((leg,),) = found.rounds
    task = leg.tasks[0]
    assert (task.code, task.of) == ("look", "1")
    assert sorted((task.from_m, task.to_m)) == [pytest.approx(ends[0]), pytest.approx(ends[1])]
    assert {leg.start, leg.end} == {(ends[0] - 100, 5.0), (ends[1] - 100, 5.0)}


def test_a_detail_is_gone_round_whole() -> None:
    """It lies at one point of the plan."""
    one = Candidate("D1", (1.0, 1.0), (1.0, 1.0), frozenset(["detail"]), None, 0.0, 12.0)
    ((leg,),) = search((0.0, 0.0), [one]).rounds
    assert (leg.tasks[0].from_m, leg.tasks[0].to_m) == (0.0, 12.0)


def test_the_places_of_a_lap() -> None:
    """A finding in an unprobed stretch is unprobed too; a stretch of its own size is no other place."""
    plain = LapFacts("A1", (0.0, 0.0), (10.0, 0.0), 10.0, of_all=frozenset(["warned"]))
    (whole,) = places_of(plain)
    assert (whole.from_m, whole.to_m, whole.against) == (0.0, 10.0, {"warned"})
    (unlisted,) = places_of(LapFacts("A1", (0.0, 0.0), (3.0, 4.0)))
    assert unlisted.to_m == 5.0
    facts = LapFacts(
        "A1",
        (0.0, 0.0),
        (10.0, 0.0),
        10.0,
        open=(("F1", 4.0, 5.0),),
        unprobed=((2.0, 8.0),),
        in_doubt=((4.0, 5.0),),
        mended=((9.0, 10.0),),
    )
    found = {(p.what, p.from_m, p.to_m): p.against for p in places_of(facts)}
    assert found == {
        ("F1", 4.0, 5.0): {"open_finding", "unprobed", "in_doubt"},
        (None, 9.0, 10.0): {"mended_unprobed"},
        (None, 2.0, 8.0): {"unprobed"},
    }
    ends = {(p.start, p.end) for p in places_of(facts)}
    assert ends == {((4.0, 0.0), (5.0, 0.0)), ((9.0, 0.0), (10.0, 0.0)), ((2.0, 0.0), (8.0, 0.0))}
