"""Where marks and their names go, one try after another, worked out by hand: a mark at 100, 100."""

from __future__ import annotations

import math

import pytest

from weldcal.reports.dossier.placing import (
    PlacedMark,
    Point,
    Spot,
    TakenBoxes,
    around,
    name_box,
    overlap,
    place,
    shared,
    words_wide,
)

AT = (100.0, 100.0)
PAGE = (0.0, 0.0, 600.0, 600.0)


def spot(*names: str, at: Point = AT, seam: str = "a1", what: str = "open") -> Spot:
    end = (at[0] + 1, at[1])
    return Spot(what, names or ("F1",), (seam,), at, (at, end))


def placed(
    marks: TakenBoxes, lines: TakenBoxes, within: tuple[float, float, float, float] = PAGE
) -> PlacedMark:
    (found,) = place([spot()], marks, lines, within)
    return found


def test_words_are_six_tenths_of_their_size_a_sign() -> None:
    """Their box from 0.78 of it above the line to 0.24 below."""
    assert words_wide("F12", 10.0) == pytest.approx(18.0)
    assert name_box(5.0, 50.0, "F12", 10.0) == pytest.approx((5.0, 42.2, 23.0, 52.4))
    assert name_box(5.0, 50.0, "F12") == pytest.approx((5.0, 42.98, 21.2, 52.16))
    assert around((3.0, 4.0), 2.0) == (1.0, 2.0, 5.0, 6.0)


def test_boxes_that_touch_share_nothing() -> None:
    """On any side; a hair over it they do."""
    one = (0.0, 0.0, 10.0, 10.0)
    beside = ((10.0, 0.0), (-10.0, 0.0), (0.0, 10.0), (0.0, -10.0))
    for x, y in beside:
        assert not overlap(one, (x, y, x + 10, y + 10))
        x, y = 0.99 * x, 0.99 * y
        assert overlap(one, (x, y, x + 10, y + 10))
        assert overlap((x, y, x + 10, y + 10), one)


def test_a_name_stands_at_the_first_free_of_eight_places() -> None:
    """ "F1" is 10.8 wide, the sign 5.6 half: above and below right, left, middle; then level with it."""
    marks, free = TakenBoxes(), []
    for dx, dy in (
        (5.6, -6.5),
        (5.6, 13.0),
        (-16.4, -6.5),
        (-16.4, 13.0),
        (-5.4, -8.5),
        (-5.4, 15.0),
        (6.6, 3.0),
        (-17.4, 3.0),
    ):
        found = placed(_copy(free), TakenBoxes())
        box = (100 + dx, 100 + dy - 7.02, 100 + dx + 10.8, 100 + dy + 2.16)
        assert found.name == pytest.approx(box)
        assert found.sign == AT
        assert not found.moved
        free.append(box)
    marks = _copy(free)
    assert placed(marks, TakenBoxes()).moved


def _copy(boxes: list[tuple[float, float, float, float]]) -> TakenBoxes:
    taken = TakenBoxes()
    for box in boxes:
        taken.add(box)
    return taken


@pytest.mark.parametrize(
    ("within", "dx", "dy"),
    [
        ((0.0, 86.5, 600.0, 600.0), 5.6, 13.0),
        ((0.0, 0.0, 116.3, 600.0), -16.4, -6.5),
        ((0.0, 86.5, 116.3, 600.0), -16.4, 13.0),
        ((83.7, 0.0, 116.3, 600.0), -5.4, -8.5),
    ],
)
def test_a_name_stays_on_the_drawing(
    within: tuple[float, float, float, float], dx: float, dy: float
) -> None:
    """A place that reaches over its edge is none."""
    assert placed(TakenBoxes(), TakenBoxes(), within).name[:2] == pytest.approx(
        (100 + dx, 92.98 + dy)
    )


def test_a_mark_goes_round_what_is_drawn() -> None:
    """Laps 20 around it: on the ring of 28 the first way clear is up, a little to the right."""
    lines = TakenBoxes()
    lines.add(around(AT, 20.0))
    found = placed(TakenBoxes(), lines)
    turn = 13 * math.pi / 8
    assert found.sign == pytest.approx((100 + 28 * math.cos(turn), 100 + 28 * math.sin(turn)))
    assert found.name[:2] == pytest.approx((found.sign[0] + 5.6, found.sign[1] + 3 - 7.02))
    assert found.moved


def test_a_mark_in_a_thicket_of_laps_stands_on_them() -> None:
    """60 around are laps, no ring of 48 or less is clear: the mark stays."""
    lines = TakenBoxes()
    lines.add(around(AT, 60.0))
    assert placed(TakenBoxes(), lines).sign == AT
    assert placed(TakenBoxes(), lines).name[:2] == pytest.approx((105.6, 86.48))


def test_a_mark_never_stands_on_another() -> None:
    """Where 15 is free, it stands up right by the first way, 45 degrees; where 60 are taken, 80 away."""
    marks = TakenBoxes()
    marks.add(around(AT, 1.0))
    near = placed(marks, TakenBoxes())
    turn = 14 * math.pi / 8
    assert near.sign == pytest.approx((100 + 15 * math.cos(turn), 100 + 15 * math.sin(turn)))
    marks = TakenBoxes()
    marks.add(around((300.0, 300.0), 60.0))
    (far,) = place([spot(at=(300.0, 300.0))], marks, TakenBoxes(), PAGE)
    turn = 13 * math.pi / 8
    assert far.sign == pytest.approx((300 + 80 * math.cos(turn), 300 + 80 * math.sin(turn)))


def test_a_mark_far_from_any_room_takes_the_nearest_of_the_drawing() -> None:
    """180 around are taken: no ring, but the grid of 12.2; 298.9 is next to 300, and 494.1 is clear."""
    marks = TakenBoxes()
    marks.add(around((300.0, 300.0), 180.0))
    (found,) = place([spot(at=(300.0, 300.0))], marks, TakenBoxes(), PAGE)
    assert found.sign == pytest.approx((24.5 * 12.2, 40.5 * 12.2))


def test_a_mark_for_which_there_is_no_room_stands_where_it_belongs() -> None:
    """On a drawing that is taken whole; later ones know of it."""
    marks = TakenBoxes()
    marks.add(PAGE)
    (found,) = place([spot()], marks, TakenBoxes(), PAGE)
    assert found.sign == AT
    assert found.name == pytest.approx((105.6, 92.98, 116.4, 102.16))
    fresh = TakenBoxes()
    place([spot()], fresh, TakenBoxes(), PAGE)
    assert not fresh.free(around(AT, 5.0))
    assert not fresh.free((106.0, 87.0, 107.0, 88.0))


@pytest.mark.parametrize(
    ("a", "b", "same_seam", "joined"),
    [
        (13.0, 1.0, True, True),
        (13.0, 15.0, True, True),
        (39.0, 41.0, True, True),
        (99.0, 101.0, True, True),
        (1999.0, 2001.0, True, True),
        (13.0, 15.0, False, True),
        (59.0, 61.0, False, True),
        (89.0, 91.0, False, True),
        (2519.0, 2521.0, False, False),
    ],
)
def test_neighbours_share_a_mark_where_there_are_too_many(
    a: float, b: float, same_seam: bool, joined: bool
) -> None:
    """Of one seam in ever larger squares; then of places, up to 140 units."""
    two = [spot("F1", at=(a, 5.0)), spot("F2", at=(b, 5.0), seam="a1" if same_seam else "a2")]
    assert shared(two, 2) == two
    assert (len(shared(two, 1)) == 1) is joined


def test_the_smallest_squares_that_do_are_taken() -> None:
    """Of four on one seam, those within 14 units share; those of one place only where seams do not do."""
    four = [spot(f"F{n}", at=(x, 5.0)) for n, x in enumerate((1.0, 12.0, 30.0, 90.0), 1)]
    names = [[one.names for one in shared(four, most)] for most in (3, 2, 1)]
    assert names == [
        [("F1", "F2"), ("F3",), ("F4",)],
        [("F1", "F2", "F3"), ("F4",)],
        [("F1", "F2", "F3", "F4")],
    ]
    apart = [
        spot("F1", at=(1.0, 5.0)),
        spot("F2", at=(30.0, 5.0), seam="a2"),
        spot("F3", at=(130.0, 5.0), seam="a3"),
    ]
    assert [one.names for one in shared(apart, 2)] == [("F1", "F2"), ("F3",)]
    kinds = [spot("F1"), spot("F2", what="mended")]
    assert shared(kinds, 1) == kinds


def test_a_shared_mark_says_how_many_and_reaches_over_all_on_one_seam() -> None:
    """At the first; over several seams it stands for no stretch."""
    (one,) = shared([spot("F1", at=(5.0, 5.0)), spot("F2", at=(1.0, 5.0))], 1)
    assert (one.label, one.at, one.stretch) == ("F1 +1", (5.0, 5.0), ((1.0, 5.0), (6.0, 5.0)))
    assert one.seams == ("a1",)
    (two,) = shared([spot("F1", at=(5.0, 5.0)), spot("F2", at=(1.0, 5.0), seam="a2")], 1)
    assert (two.label, two.stretch) == ("F1 +1", ((5.0, 5.0), (5.0, 5.0)))
    assert two.seams == ("a1", "a2")
    assert spot("F1").label == "F1"
