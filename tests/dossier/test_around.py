"""What stands around a roof, and a walk over it, worked out by hand at ten units a metre."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from tests.dossier.drawings import told
from weldcal.reports.dossier import around, plan
from weldcal.reports.dossier.outline import Edge, edges
from weldcal.reports.dossier.placing import TakenBoxes
from weldcal.reports.dossier.site import DrawnSite, View
from weldcal.reports.dossier.svg import Svg
from weldcal.views.walk import Stop, WalkingOrder

# 20 m by 10 m: from 48, 44 to 248, 144 on the page.
VIEW = View((0.0, 0.0), (20.0, 10.0), 10.0)


def site(*rects: Any, north: float | None = 0.0, seams: Any = ()) -> DrawnSite:
    return DrawnSite("", seams, edges(rects), {}, north, {}, "si")


def outlined(one: DrawnSite, view: View = VIEW, *, dimensions: bool = True) -> list[str]:
    svg = Svg(view.height)
    around.outlined(svg, one, view, dimensions=dimensions)
    return told(svg)


def test_a_dimension_stands_outside_its_edge_between_two_strokes() -> None:
    """15 units out; the line parts for its words (0.6 of 9.5 a sign, 3 free either side)."""
    lines = outlined(site((0.0, 0.0, 20.0, 10.0)))
    below = lines[: lines.index("path 48,44 248,44 INK 1.6")]
    # "20 m" is 22.8 wide: from either end (200 - 22.8) / 2 - 3 = 85.6 to the words.
    assert below == [
        "path 48,144 248,144 INK 1.6",
        "path 48,159 133.6,159 MUTED 0.7",
        "path 48,155 48,163 MUTED 0.7",
        "path 248,159 162.4,159 MUTED 0.7",
        "path 248,155 248,163 MUTED 0.7",
        "word 148,162.5 9.5 middle MUTED: 20 m",
    ]
    left = lines[lines.index("path 48,144 48,44 INK 1.6") :]
    # 100 - 22.8 = 77.2, less 3 either side: 35.6.
    assert left[:4] == [
        "path 48,144 48,44 INK 1.6",
        "path 33,144 33,108.4 MUTED 0.7",
        "path 37,144 29,144 MUTED 0.7",
        "path 33,44 33,79.6 MUTED 0.7",
    ]
    assert left[5] == "word 36.5,94 9.5 middle MUTED turned: 10 m"


def test_a_short_edge_has_its_words_and_no_line() -> None:
    """A line only where it is longer than its words ("3 m": 17.1) and 12 more."""
    view = View((0.0, 0.0), (20.0, 3.0), 10.0)
    lines = outlined(site((0.0, 0.0, 20.0, 3.0)), view)
    # the side of 3 m is 30 units long, and 29.1 are passed
    assert sum("0.7" in line for line in lines) == 8 * 2
    less = outlined(site((0.0, 0.0, 20.0, 2.9)), View((0.0, 0.0), (20.0, 2.9), 10.0))
    assert sum("0.7" in line for line in less) == 4 * 2
    assert sum("turned: 2.9 m" in line for line in less) == 2


def test_the_plans_corner_is_an_angle_at_nought_nought() -> None:
    """Its arms along x and y outside the edge, its words below."""
    lines = outlined(site((0.0, 0.0, 20.0, 10.0)))
    assert "path 45,147 45,135 39,135 39,153 57,153 57,147 INK 0.8 INK" in lines
    assert "word 36,164 9.5 start INK: plan's corner 0, 0" in lines


@pytest.mark.parametrize(
    ("x", "y"), [(5.0, 0.0), (0.0, 5.0), (0.5, 0.0), (0.0, 0.5), (-25.0, 0.0), (0.0, -15.0)]
)
def test_a_tile_away_from_the_corner_says_where_its_own_corners_lie(x: float, y: float) -> None:
    """The low corner's below it, the high corner's above it; a thin frame in place of dimensions."""
    view = View((x, y), (x + 20.0, y + 10.0), 10.0)
    lines = outlined(site((-50.0, -50.0, 50.0, 50.0)), view, dimensions=False)
    assert f"word 48,157 9.5 start MUTED: x {x:g} m, y {y:g} m" in lines
    assert f"word 248,39 9.5 end MUTED: x {x + 20:g} m, y {y + 10:g} m" in lines
    assert "path 48,44 248,44 248,144 48,144 48,44 MUTED 0.6" in lines
    assert not any("corner" in line or "MUTED 0.7" in line for line in lines)


def test_an_edge_is_cut_where_a_tile_ends() -> None:
    """Of a roof's lower edge from -5 to 15 m, 0 to 15 lie in the view."""
    lines = outlined(site((-5.0, 0.0, 15.0, 30.0)), dimensions=False)
    assert [line for line in lines if line.endswith("INK 1.6")] == [
        "path 48,144 198,144 INK 1.6",
        "path 198,144 198,44 INK 1.6",
    ]


def test_without_an_edge_the_part_drawn_has_a_frame() -> None:
    """A roof nobody laid out."""
    lines = outlined(site())
    assert lines[0] == "path 48,44 248,44 248,144 48,144 48,44 MUTED 0.6"
    framed = outlined(site((0.0, 0.0, 20.0, 10.0)))
    assert "path 48,44 248,44 248,144 48,144 48,44 MUTED 0.6" not in framed


@pytest.mark.parametrize(
    ("north", "arrow"),
    [
        (0.0, ["path 694,31 694,7 INK 1.4", "path 694,7 698,14 690,14 INK 0.8 INK"]),
        (90.0, ["path 683,20 707,20 INK 1.4", "path 707,20 700,24 700,16 INK 0.8 INK"]),
        (180.0, ["path 694,9 694,33 INK 1.4", "path 694,33 690,26 698,26 INK 0.8 INK"]),
    ],
)
def test_the_arrow_to_north_is_turned_as_recorded(north: float, arrow: list[str]) -> None:
    """Clockwise from the plan's y: 13 units to the tip, 11 to the tail, its head 7 long and 8 wide."""
    lines = outlined(site((0.0, 0.0, 20.0, 10.0), north=north))
    at = lines.index("word 672,24 11 middle INK bold: N")
    assert lines[at - 2 : at] == arrow


def test_that_nobody_recorded_north_is_said() -> None:
    """At the top right, in place of the arrow."""
    lines = outlined(site((0.0, 0.0, 20.0, 10.0), north=None))
    assert "word 716,12 9.5 end MUTED: north not recorded" in lines
    assert not any(line.endswith(": N") for line in lines)


def test_a_dimension_moves_out_where_another_stands() -> None:
    """Once by 12, twice by 24; and then it stays."""
    edge = Edge((0.0, 0.0), (20.0, 0.0), (0.0, -1.0))
    taken, svg = TakenBoxes(), Svg(200)
    for _n in range(4):
        around._dimension(svg, edge, VIEW, "si", taken)
    words = [line for line in told(svg) if line.startswith("word")]
    places = [float(line.split()[1].split(",")[1]) - 3.5 for line in words]
    assert places == [159.0, 171.0, 183.0, 183.0]


# -- a walk ----------------------------------------------------------------------------------------


def walk(*stops: Stop, begin: Any = (0.0, 0.0), spot: Any = None) -> list[str]:
    """What is drawn of a walk over laps A1 to A9."""
    seams = [SimpleNamespace(key=f"a{n}") for n in range(1, 10)]
    svg = Svg(VIEW.height)
    plan.walked(
        svg, site(seams=seams), VIEW, WalkingOrder(tuple(stops), begin, spot, ()), TakenBoxes()
    )
    return told(svg)


def test_a_walk_is_dashes_to_its_stops_and_arrows_along_them() -> None:
    """From the corner to 2, 5; from there 10 m to the right; an arrow 4.8 beside, its head 5 long."""
    lines = walk(Stop(1, "A1", (2.0, 5.0), (12.0, 5.0)), Stop(2, "A2", (12.0, 8.0), (2.0, 8.0)))
    assert lines == [
        "path 48,144 68,94 MUTED 1.1 5 3",
        "path 48,139 53,149 43,149 INK 0.8 INK",
        "path 168,94 168,64 MUTED 1.1 5 3",
        "path 68,98.8 168,98.8 INK 1.1",
        "path 163,95.8 168,98.8 163,101.8 INK 1.1",
        "path 168,59.2 68,59.2 INK 1.1",
        "path 73,62.2 68,59.2 73,56.2 INK 1.1",
        "disc 68,94 r7.5 INK INK",
        "word 68,97.33 9.5 middle PAPER bold: 1",
        "disc 168,64 r7.5 INK INK",
        "word 168,67.33 9.5 middle PAPER bold: 2",
    ]


def test_an_arrow_needs_twice_its_head() -> None:
    """1 m is 10 units: an arrow; less is a place."""
    assert sum("INK 1.1" in line for line in walk(Stop(2, "A1", (2.0, 5.0), (3.0, 5.0)))) == 2
    assert sum("INK 1.1" in line for line in walk(Stop(2, "A1", (2.0, 5.0), (2.9, 5.0)))) == 0


def test_between_stops_that_do_not_follow_one_another_nothing_is_drawn() -> None:
    """2 is on another plan; and a stop on a lap that is not drawn has no number."""
    lines = walk(
        Stop(1, "A1", (2.0, 5.0), (2.0, 5.0)),
        Stop(2, "B7", (5.0, 5.0), (5.0, 5.0)),
        Stop(3, "A2", (8.0, 5.0), (8.0, 5.0)),
    )
    assert [line for line in lines if line.endswith("MUTED 1.1 5 3")] == [
        "path 48,144 68,94 MUTED 1.1 5 3"
    ]
    assert [line.rpartition(" ")[2] for line in lines if line.startswith("word")] == ["1", "3"]


@pytest.mark.parametrize(
    ("stops", "begin"),
    [
        ([Stop(2, "A1", (2.0, 5.0), (2.0, 5.0))], (0.0, 0.0)),
        ([Stop(1, "A1", (2.0, 5.0), (2.0, 5.0))], (-0.1, 0.0)),
        ([Stop(1, "A1", (2.0, 5.0), (2.0, 5.0))], (0.0, 10.1)),
    ],
)
def test_where_a_walk_begins_is_drawn_with_its_first_stop_only(stops: Any, begin: Any) -> None:
    """And only where that place is on the plan."""
    lines = walk(*stops, begin=begin)
    assert not any("MUTED 1.1" in line or "INK 0.8 INK" in line for line in lines)


def test_a_wet_spot_is_a_drop_with_its_tip_on_the_place() -> None:
    """A round of 6, its middle 14 below the tip, open to it; no triangle then."""
    lines = walk(Stop(1, "A1", (10.0, 5.0), (10.0, 5.0)), begin=(5.0, 5.0), spot=(5.0, 5.0))
    assert lines[0] == "path 98,94 148,94 MUTED 1.1 5 3"
    edge, drop = lines[1:3]
    assert edge.endswith(" PAPER 3 PAPER")
    assert drop.endswith(" INK 1.2 BAND")
    places = [tuple(map(float, word.split(","))) for word in drop.split()[1:-3]]
    assert places[0] == (98.0, 94.0)
    for x, y in places[1:]:
        assert (x - 98) ** 2 + (y - 108) ** 2 == pytest.approx(36.0, abs=0.1)
    # eleven points, from 67.5 degrees right of the tip round to 67.5 left of it
    assert len(places) == 12
    assert places[1] == pytest.approx((98 + 5.54, 105.70), abs=0.01)
    assert places[-1] == pytest.approx((98 - 5.54, 105.70), abs=0.01)
    assert not any(line.endswith("INK 0.8 INK") for line in lines)
    off = walk(Stop(1, "A1", (10.0, 5.0), (10.0, 5.0)), begin=(5.0, 5.0), spot=(5.0, 10.1))
    assert not any("BAND" in line for line in off)


@pytest.mark.parametrize(
    ("n", "size", "foot"),
    [(9, "9.5", 97.33), (10, "8.5", 96.97), (99, "8.5", 96.97), (100, "7", 96.45)],
)
def test_a_long_number_is_small_enough_for_its_disc(n: int, size: str, foot: float) -> None:
    """9.5 for one figure, 8.5 for two, 7 for three; its foot 0.35 of that below the middle."""
    (word,) = [line for line in walk(Stop(n, "A1", (2.0, 5.0), (2.0, 5.0))) if "word" in line]
    assert word.startswith(f"word 68,{foot:g} {size} middle PAPER bold")


def test_a_number_that_is_not_free_stands_beside_with_a_line() -> None:
    """Discs of 15 units: the second of one place 18 to the right, for 12 are too few."""
    lines = walk(
        Stop(4, "A1", (2.0, 5.0), (2.0, 5.0)),
        Stop(6, "A2", (2.0, 5.0), (2.0, 5.0)),
    )
    assert lines[2:] == [
        "path 86,94 68,94 INK 0.8",
        "disc 68,94 r1.6 INK INK",
        "disc 86,94 r7.5 INK INK",
        "word 86,97.33 9.5 middle PAPER bold: 6",
    ]


def test_a_number_keeps_off_a_drop() -> None:
    """Its box is 7 either side of the tip and 21 down."""
    taken, svg = TakenBoxes(), Svg(200)
    plan._spot(svg, (100.0, 50.0), taken)
    for box in ((90.0, 40.0, 92.9, 80.0), (107.1, 40.0, 110.0, 80.0), (90.0, 40.0, 110.0, 49.9)):
        assert taken.free(box)
    assert taken.free((90.0, 71.1, 110.0, 80.0))
    for box in ((90.0, 60.0, 93.1, 61.0), (106.9, 60.0, 110.0, 61.0), (99.0, 70.9, 101.0, 80.0)):
        assert not taken.free(box)
    assert not taken.free((99.0, 40.0, 101.0, 50.1))
