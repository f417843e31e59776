"""What lies where on the page, worked out by hand: a drawing is 720 wide, 48 free at its sides."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from weldcal.reports.dossier import site
from weldcal.reports.dossier.site import DrawnSite, Tile, View

# 100 m by 50 m at 6.24 units a metre fill the 624 that are left.
VIEW = View((10.0, 20.0), (110.0, 70.0), 6.24)


def seam(name: str, *place: float, area: str | None = None, **said: Any) -> Any:
    """A lap from place to place, m; as long as it is drawn."""
    long = abs(place[2] - place[0]) + abs(place[3] - place[1])
    state = SimpleNamespace(welded=(), unprobed=said.pop("unprobed", ()))
    known: dict[str, Any] = {"key": name.lower(), "name": name, "place": (area, *place)}
    known |= {"state": state, "marks": (), "flags": (), "length_m": long}
    return SimpleNamespace(**known | said)


def mark(what: str, start: float, end: float) -> Any:
    return SimpleNamespace(what=what, name="F1", start_m=start, end_m=end)


def of(*seams: Any, doubted: Any = (), edge: Any = ()) -> DrawnSite:
    return DrawnSite("", seams, edge, dict(doubted), None, {}, "us")


def test_a_view_puts_its_corners_into_the_room_left() -> None:
    """Its high corner 44 below the top, 50 m of 6.24 below that, 52 for the foot; y grows upwards."""
    assert VIEW.at(10.0, 70.0) == pytest.approx((48.0, 44.0))
    assert VIEW.at(110.0, 20.0) == pytest.approx((672.0, 356.0))
    assert VIEW.at(60.0, 45.0) == pytest.approx((360.0, 200.0))
    assert VIEW.box == pytest.approx((48.0, 44.0, 672.0, 356.0))
    assert VIEW.height == pytest.approx(408.0)
    assert site.full_width((10.0, 0.0), (110.0, 1.0)) == pytest.approx(6.24)


@pytest.mark.parametrize(
    ("x", "y", "inside"),
    [
        (10.0, 20.0, True),
        (110.0, 70.0, True),
        (60.0, 45.0, True),
        (9.99, 45.0, False),
        (110.01, 45.0, False),
        (60.0, 19.99, False),
        (60.0, 70.01, False),
    ],
)
def test_a_view_holds_what_lies_between_its_corners(x: float, y: float, inside: bool) -> None:
    """Its edge with it, along x and along y."""
    assert VIEW.holds((x, y)) is inside


def test_a_site_reaches_from_its_lowest_to_its_highest_corner() -> None:
    """Over laps and edge; never less than a tenth of a metre."""
    edge = SimpleNamespace(a=(-1.0, 4.0), b=(9.0, 4.0))
    one = of(seam("A1", 0, 2, 10, 2), seam("A2", 3, 1, 3, 8), edge=[edge])
    assert one.corners() == ((-1.0, 1.0), (10.0, 8.0))
    level = of(seam("A1", 0, 2, 10, 2)).corners()
    assert level == ((0.0, 2.0), (10.0, pytest.approx(2.1)))
    upright = of(seam("A1", 3, 2, 3, 7)).corners()
    assert upright == ((3.0, 2.0), (pytest.approx(3.1), 7.0))


@pytest.mark.parametrize(
    ("a", "b", "part"),
    [
        ((20.0, 30.0), (100.0, 30.0), (0.0, 1.0)),
        ((-10.0, 45.0), (190.0, 45.0), (0.1, 0.6)),
        ((190.0, 45.0), (-10.0, 45.0), (0.4, 0.9)),
        ((60.0, 0.0), (60.0, 100.0), (0.2, 0.7)),
        ((0.0, 10.0), (100.0, 110.0), (0.1, 0.6)),
        ((10.0, 20.0), (110.0, 20.0), (0.0, 1.0)),
    ],
)
def test_a_line_is_cut_where_the_view_ends(a: Any, b: Any, part: Any) -> None:
    """Which part of it lies in 10 to 110 by 20 to 70; the edge belongs to the view."""
    assert site.cut(a, b, VIEW) == pytest.approx(part, abs=1e-5)


@pytest.mark.parametrize(
    ("a", "b"),
    [
        ((0.0, 10.0), (200.0, 10.0)),
        ((0.0, 80.0), (200.0, 80.0)),
        ((5.0, 0.0), (5.0, 90.0)),
        ((115.0, 0.0), (115.0, 90.0)),
        ((0.0, 60.0), (20.0, 90.0)),
    ],
)
def test_a_line_beside_the_view_is_not_in_it(a: Any, b: Any) -> None:
    """Its part begins after it ends."""
    first, last = site.cut(a, b, VIEW)
    assert first > last


def test_a_stretch_of_a_lap_lies_where_its_metres_say_cut_at_the_edge() -> None:
    """A lap of 200 m from x -10: of 0 to 30 m only 20 to 30 are in the view, from its left edge on."""
    along = site.along_of(seam("A1", -10, 45, 190, 45), VIEW)
    found = along(0.0, 30.0)
    assert found is not None
    assert found[0] == pytest.approx((48.0, 200.0), abs=0.01)
    assert found[1] == pytest.approx((48.0 + 62.4, 200.0), abs=0.01)
    assert along(0.0, 10.0) is None
    assert along(130.0, 200.0) is None
    point = along(50.0, 50.0)
    assert point is not None
    assert point[0] == point[1] == pytest.approx((48.0 + 30 * 6.24, 200.0))


def test_a_point_lies_on_its_place_or_not_in_the_view() -> None:
    """A T-joint has no length."""
    found = site.along_of(seam("J1", 60, 45, 60, 45), VIEW)(0.0, 0.0)
    assert found == (pytest.approx((360.0, 200.0)), pytest.approx((360.0, 200.0)))
    assert site.along_of(seam("J1", 5, 45, 5, 45), VIEW)(0.0, 0.0) is None


def test_where_is_so_far_along_and_never_past_an_end() -> None:
    """On a lap of 10 m, and by its middle for a mark."""
    one = seam("A1", 2, 3, 12, 3)
    assert site.where(one, 4.0) == (6.0, 3.0)
    assert site.where(one, -4.0) == (2.0, 3.0)
    assert site.where(one, 14.0) == (12.0, 3.0)
    assert site.middle_of(one, mark("open", 1.0, 3.0)) == (4.0, 3.0)
    assert site.where(seam("A2", 1, 1, 1, 5), 1.0) == (1.0, 2.0)
    assert site.where(seam("J1", 7, 8, 7, 8), 1.0) == (7.0, 8.0)
    assert site.long_m(seam("A3", 0, 0, 3, 4)) == 5.0


def laps(count: int, apart: float, long: float) -> list[Any]:
    """Level laps, one above another."""
    return [seam(f"A{n}", 0, n * apart, long, n * apart) for n in range(1, count + 1)]


def test_laps_lie_as_far_apart_as_the_roofs_size_over_their_length() -> None:
    """10 laps of 100 m a metre apart: 9 m by 100 m over 1,000 m; without laps the width."""
    assert site.spacing(of(*laps(10, 1.0, 100.0))) == pytest.approx(0.9)
    assert site.spacing(of(seam("J1", 0, 0, 0, 0), seam("J2", 30, 7, 30, 7))) == 30.0


def test_a_roof_whose_laps_are_apart_enough_on_one_page_has_no_tiles() -> None:
    """On 20 m by 20 m, 31.2 units a metre: laps a metre apart, or where 16.8 units are left."""
    assert site.tiles_of(of(*laps(21, 1.0, 20.0))) == []
    # 21 laps on 20 times `apart`: the spacing is 20/21 of it. 0.8 of 21 units are enough.
    enough = 0.8 * 21 / 31.2 * 21 / 20
    wide = 20.0
    assert site.tiles_of(of(*laps(21, enough * 1.01, wide))) == []
    assert site.tiles_of(of(*laps(21, enough * 0.99, wide))) != []


def test_a_large_roof_is_parted_into_tiles_from_its_top_left() -> None:
    """99 m of 1 m laps and 100 m wide want 21.2 units a metre: 29.4 m a tile across, 33.2 m up."""
    roof = of(*laps(100, 1.0, 100.0))
    tiles = site.tiles_of(roof)
    # 100 * 21 / 0.99 / 624 = 3.4 columns, 99 * 21 / 0.99 / 704 = 2.98 rows
    assert len(tiles) == 4 * 3
    assert [tile.number for tile in tiles] == list(range(1, 13))
    first, last = tiles[0].view, tiles[-1].view
    assert (first.low, first.high) == (pytest.approx((0.0, 67.0)), pytest.approx((25.0, 100.0)))
    assert (last.low, last.high) == (pytest.approx((75.0, 1.0)), pytest.approx((100.0, 34.0)))
    assert tiles[1].view.low == pytest.approx((25.0, 67.0))
    assert first.scale == pytest.approx(min(624 / 25, 704 / 33))


def test_a_tile_has_the_laps_that_cross_it_and_the_marks_in_it() -> None:
    """A lap along the whole roof is in its row's four tiles, each mark in the one it lies in."""
    many = laps(100, 1.0, 100.0)
    many[49].marks = (mark("open", 10, 12), mark("mended", 30, 31), mark("mend", 30, 31))
    tiles = site.tiles_of(of(*many, doubted={"a50": [(0.0, 1.0)]}))
    assert [t.number for t in tiles if many[49] in t.seams] == [5, 6, 7, 8]
    assert [t.number for t in tiles if t.doubt] == [5, 6, 7, 8]
    assert [(t.number, [m.what for _s, m in t.marks]) for t in tiles if t.marks] == [
        (5, ["open"]),
        (6, ["mended"]),
    ]
    # A lap on the line between two rows is in the lower: 68 to 100, 35 to 67, 1 to 34.
    assert [len(tile.seams) for tile in tiles[::4]] == [33, 33, 34]


def test_a_tile_is_drawn_where_something_waits() -> None:
    """Open, mended, in doubt, not probed or hidden; a sample alone waits for nobody."""

    def tile(*held: str, seams: Any = (), doubt: bool = False) -> Tile:
        one = seam("A1", 0, 0, 1, 0)
        return Tile(1, VIEW, list(seams), [(one, mark(what, 0, 1)) for what in held], doubt)

    assert not tile().urgent
    assert not tile("sample", seams=[seam("A1", 0, 0, 1, 0)]).urgent
    assert tile("open").urgent
    assert tile("mended").urgent
    assert tile(doubt=True).urgent
    assert tile(seams=[seam("A1", 0, 0, 1, 0, unprobed=((0.0, 1.0),))]).urgent
    assert tile(seams=[seam("A1", 0, 0, 1, 0, flags=("covered",))]).urgent
    assert tile("open", "mended", "open", "sample").urgency == (2, 1)


def area(name: str, *rect: float) -> Any:
    """A rectangle as listed: its low corner and its sides."""
    x, y, wide, high = rect
    return {"name": name, "x_m": x, "y_m": y, "length_m": wide, "width_m": high}


def roof(seams: list[Any], *areas: Any) -> Any:
    return SimpleNamespace(seams=seams, areas=areas, doubts=None, north_deg=30.0)


def test_areas_beside_one_another_are_one_plan_and_areas_over_one_another_two() -> None:
    """Sides that touch are no overlap, nor is a centimetre; a seam with no place is on no plan."""
    laps_ = [seam("A1", 0, 1, 10, 1, area="A"), seam("B1", 10, 1, 20, 1, area="B")]
    lost = seam("C1", 0, 0, 0, 0)
    lost.place = None
    beside = roof([*laps_, lost], area("A", 0, 0, 10, 5), area("B", 9.99, 0, 10, 5))
    (one,) = site.sites(beside, "us", {"a1": "seam-1"})
    assert (one.letter, list(one.seams), one.north_deg) == ("", laps_, 30.0)
    assert len(one.edge) >= 4
    above = roof(laps_, area("A", 0, 0, 10, 5), area("B", 0, 4.99, 10, 5))
    assert [found.letter for found in site.sites(above, "us", {})] == [""]
    higher = roof(laps_, area("A", 0, 0, 10, 5), area("B", 0, 4.9, 10, 5))
    assert [found.letter for found in site.sites(higher, "us", {})] == ["A", "B"]
    over = roof(laps_, area("A", 0, 0, 10, 5), area("B", 9, 0, 10, 5))
    a, b = site.sites(over, "us", {})
    assert (a.letter, a.seams, len(a.edge)) == ("A", laps_[:1], 4)
    assert (b.letter, b.seams, len(b.edge)) == ("B", laps_[1:], 4)
    (only,) = site.sites(roof(laps_[:1], area("A", 0, 0, 10, 5), area("B", 9, 0, 10, 5)), "us", {})
    assert (only.letter, len(only.edge)) == ("A", 4)
    assert site.sites(roof([lost]), "us", {}) == []
