"""Each sign of the drawings, its measures worked out by hand: a lap runs level from 100 to 200."""

from __future__ import annotations

import itertools
from types import SimpleNamespace
from typing import Any

import pytest

from tests.dossier.drawings import told
from weldcal.reports.dossier import strokes
from weldcal.reports.dossier.placing import PlacedMark, Spot
from weldcal.reports.dossier.svg import Svg

A, B = (100.0, 50.0), (200.0, 50.0)


def drawn(draw: Any, *args: Any, **named: Any) -> list[str]:
    """What one of the functions draws."""
    svg = Svg(100)
    draw(svg, *args, **named)
    return told(svg)


def seam(**said: Any) -> Any:
    """A lap of 10 m, nothing done on it, but for what is said."""
    state = SimpleNamespace(
        welded=said.pop("welded", ()), unprobed=said.pop("unprobed", ()), state="not started"
    )
    known: dict[str, Any] = {"key": "a1", "name": "A1", "kind": "side lap", "at": None}
    known |= {"length_m": 10.0, "flags": (), "marks": (), "state": state}
    return SimpleNamespace(**known | said)


def mark(what: str, start: float, end: float) -> Any:
    return SimpleNamespace(what=what, name="F1", kind="void", start_m=start, end_m=end)


def along(low: float, high: float) -> Any:
    """Ten units a metre, from 100."""
    return (100 + 10 * low, 50.0), (100 + 10 * high, 50.0)


def nowhere(low: float, high: float) -> None:
    """Of a lap that is not on the drawing."""


def test_a_lap_is_dotted_where_listed_hollow_where_not_probed_solid_where_probed() -> None:
    """Welded from 2 to 8 m, unprobed from 5 to 8; hollow is ink with yellow 1.2 inside it."""
    one = seam(welded=((2.0, 8.0),), unprobed=((5.0, 8.0),))
    assert drawn(strokes.lap, one, along, 6.0) == [
        "path 100,50 200,50 MUTED 1.2 2 3",
        "path 120,50 180,50 PROBED 6",
        "path 150,50 180,50 INK 6",
        "path 151.2,50 178.8,50 UNPROBED 3.6",
    ]
    assert drawn(strokes.lap, one, nowhere, 6.0) == []


@pytest.mark.parametrize(
    ("wide", "end", "inner"),
    [
        (4.0, 200.0, "path 101.2,50 198.8,50 UNPROBED 1.6"),
        (3.0, 200.0, "path 101.2,50 198.8,50 UNPROBED 2"),
        (2.0, 200.0, "path 101.2,50 198.8,50 UNPROBED 1"),
        (4.0, 102.0, "path 100.5,50 101.5,50 UNPROBED 1.6"),
        (4.0, 100.0, "path 100,50 100,50 UNPROBED 1.6"),
    ],
)
def test_a_hollow_bar_keeps_its_rim(wide: float, end: float, inner: str) -> None:
    """1.2 a side, half a unit where the bar is thin; at its ends no more than a quarter of it."""
    found = drawn(strokes.stretch, A, (end, 50.0), "unprobed", wide)
    assert found == [f"path 100,50 {end:g},50 INK {wide:g}", inner]


def test_a_hollow_bar_aslant_is_as_wide_as_any() -> None:
    """3, 4, 5: its rim of 1.2 is 0.72 across and 0.96 down."""
    found = drawn(strokes.stretch, (10.0, 20.0), (40.0, 60.0), "unprobed", 6.0)
    assert found[1] == "path 10.72,20.96 39.28,59.04 UNPROBED 3.6"


@pytest.mark.parametrize(
    ("wide", "a", "b", "bracket"),
    [
        (6.0, A, (140.0, 50.0), "100,53 100,56 140,56 140,53 INK 1.4"),
        (4.0, A, (140.0, 50.0), "100,52 100,55 140,55 140,52 INK 0.9"),
        (4.0, (0.0, 10.0), (30.0, 50.0), "-1.6,11.2 -4,13 26,53 28.4,51.2 INK 0.9"),
    ],
)
def test_a_mend_is_a_bracket_beside_the_lap(wide: float, a: Any, b: Any, bracket: str) -> None:
    """From the bar's edge three units out, over the mend's length, to the right of the way."""
    assert drawn(strokes.mend, a, b, wide) == [f"path {bracket}"]


def test_mends_and_closed_findings_are_small_signs() -> None:
    """The bracket over the mend, a white dot at the middle of the finding; of others nothing."""
    marks = (mark("mend", 1, 3), mark("closed", 4, 6), mark("open", 7, 8), mark("sample", 8, 9))
    one = seam(marks=marks)
    assert drawn(strokes.small_signs, one, along, 6.0) == [
        "path 110,53 110,56 130,56 130,53 INK 1.4",
        "disc 150,50 r1.8 PAPER PAPER",
    ]
    assert drawn(strokes.small_signs, one, along, 4.0)[1] == "disc 150,50 r1.2 PAPER PAPER"
    assert drawn(strokes.small_signs, one, nowhere, 6.0) == []


def test_doubt_leans_one_way_and_cover_the_other() -> None:
    """Four strokes on 22 units, 6.4 either side of the lap, by 2.88 along it."""
    doubt = drawn(strokes.hatches, seam(), along, 6.0, [(0.0, 2.2)])
    assert doubt == [
        "path 99.87,56.4 105.63,43.6 105.37,56.4 111.13,43.6"
        " 110.87,56.4 116.63,43.6 116.37,56.4 122.13,43.6 MUTED 0.9"
    ]
    cover = drawn(strokes.hatches, seam(length_m=1.0, flags=("covered",)), along, 6.0, [])
    assert cover == ["path 107.88,56.4 102.12,43.6 MUTED 0.9"]
    hidden = seam(length_m=1.0, flags=("covered",))
    assert drawn(strokes.hatches, hidden, nowhere, 6.0, [(0.0, 2.2)]) == []


def test_hatching_leans_the_same_on_an_upright_lap() -> None:
    """Up to the right for doubt, whichever way the lap runs; one stroke on the shortest lap."""

    def upright(low: float, high: float) -> Any:
        return (50.0, 100 + 10 * low), (50.0, 100 + 10 * high)

    (found,) = drawn(strokes.hatches, seam(), upright, 6.0, [(0.0, 0.4)])
    assert found == "path 43.6,104.88 56.4,99.12 MUTED 0.9"
    (point,) = drawn(strokes.hatches, seam(), upright, 6.0, [(0.0, 0.0)])
    assert point == "path 47.12,106.4 52.88,93.6 MUTED 0.9"


@pytest.mark.parametrize(
    ("said", "fill"),
    [
        ({}, "PAPER"),
        ({"welded": ((0.0, 0.0),), "unprobed": ((0.0, 0.0),)}, "UNPROBED"),
        ({"welded": ((0.0, 0.0),)}, "PROBED"),
    ],
)
def test_a_t_joint_is_a_square_filled_by_what_was_done(said: Any, fill: str) -> None:
    """Six units a side, its middle on the place."""
    one = seam(kind="T-joint", **said)
    assert drawn(strokes.square, one, A) == [f"box 97,47 6x6 {fill} INK"]


@pytest.mark.parametrize(
    ("around", "shape"),
    [
        (
            "drain",
            [
                "disc 100,50 r8.5 PAPER INK",
                "path 91.5,50 108.5,50 INK 0.8",
                "path 100,41.5 100,58.5 INK 0.8",
            ],
        ),
        ("curb", ["box 91.5,41.5 17x17 PAPER INK", "box 94,44 12x12 PAPER INK"]),
        ("pipe", ["path 100,40 109.5,56.5 90.5,56.5 INK 1 PAPER"]),
        (None, ["path 100,40 109.5,56.5 90.5,56.5 INK 1 PAPER"]),
    ],
)
def test_a_detail_has_the_shape_of_what_it_is_around(around: str | None, shape: list[str]) -> None:
    """A ring, a double square, or a triangle, and the square on top."""
    one = seam(kind="detail", at=around)
    assert drawn(strokes.square, one, A) == [*shape, "box 97,47 6x6 PAPER INK"]


@pytest.mark.parametrize(
    ("what", "shape"),
    [
        (
            "open",
            [
                "path 95.8,45.8 104.2,54.2 95.8,54.2 104.2,45.8 PAPER 4.4",
                "path 95.8,45.8 104.2,54.2 95.8,54.2 104.2,45.8 OPEN 2.0",
            ],
        ),
        ("mended", ["disc 100,50 r4.2 PAPER INK"]),
        ("sample", ["path 100,45.4 104.6,50 100,54.6 95.4,50 INK 1.2 PAPER"]),
    ],
)
def test_a_mark_has_its_sign(what: str, shape: list[str]) -> None:
    """X, circle, diamond, their middle on the place."""
    assert drawn(strokes.sign, what, A) == shape


def spot(what: str, end: float, *names: str) -> Spot:
    return Spot(what, names or ("F1",), ("a1",), (102.0, 50.0), (A, (end, 50.0)))


def test_a_mark_that_moved_has_a_line_to_its_place() -> None:
    """The leader and its dot first; then the bar over what was found, the sign, the name."""
    placed = PlacedMark(spot("open", 104.1), (130.0, 70.0), (136.0, 60.0, 150.0, 72.0))
    assert drawn(strokes.marks, [placed], [seam()], {}) == [
        "path 130,70 102,50 INK 0.8",
        "disc 102,50 r1.1 INK INK",
        "path 100,45 104.1,45 INK 1.6",
        "path 125.8,65.8 134.2,74.2 125.8,74.2 134.2,65.8 PAPER 4.4",
        "path 125.8,65.8 134.2,74.2 125.8,74.2 134.2,65.8 OPEN 2.0",
        "word 137,67.02 9 start OPEN bold: F1",
    ]


def test_a_mark_in_its_place_has_no_line_and_a_short_find_no_bar() -> None:
    """No bar for four units and less, and none for a sample; only an open one's name is bold."""
    box = (108.0, 40.0, 120.0, 50.0)
    placed = PlacedMark(spot("mended", 104.0), (102.0, 50.0), box)
    assert drawn(strokes.marks, [placed], [seam()], {}) == [
        "disc 102,50 r4.2 PAPER INK",
        "word 109,47.02 9 start INK: F1",
    ]
    cut = PlacedMark(spot("sample", 190.0), (102.0, 50.0), box)
    assert len(drawn(strokes.marks, [cut], [seam()], {})) == 2


def test_the_most_urgent_mark_is_drawn_last_and_says_for_whom_it_stands() -> None:
    """Given first, it lies on top; a crowd's mark says the first, how many more, and the state."""
    box = (108.0, 40.0, 120.0, 50.0)
    crowd = PlacedMark(spot("open", 101.0, "F1", "F2", "F3"), (102.0, 50.0), box)
    other = PlacedMark(spot("mended", 101.0, "F9"), (102.0, 50.0), box)
    svg = Svg(100)
    strokes.marks(svg, [crowd, other], [seam()], {"a1": "seam-1"})
    assert [line.rpartition(" ")[2] for line in told(svg) if line.startswith("word")] == [
        "F9",
        "+2",
    ]
    inner = svg.inner()
    assert "<title>F1 +2 on A1, open finding</title>" in inner
    assert 'href="#seam-1" data-mark="open" data-n="3" data-names="F1 F2 F3" data-seams="A1"' in (
        inner
    )


def test_a_seam_is_as_long_as_what_was_recorded_on_it() -> None:
    """Listed, welded or marked, whichever reaches farthest."""
    assert strokes.extent(seam()) == 10.0
    assert strokes.extent(seam(welded=((0.0, 11.0),))) == 11.0
    assert strokes.extent(seam(length_m=None, marks=(mark("open", 11.0, 12.0),))) == 12.0
    assert strokes.extent(seam(length_m=None)) == 0.0


def test_the_legend_has_its_words_beside_its_signs() -> None:
    """Two columns of eight rows, 23 units apart; words centred on their row; states below."""
    from tests.dossier.drawings import NS, Drawing

    root = Drawing(strokes.legend().svg).root
    texts = [
        (float(t.get("x", "")), float(t.get("y", "")), t.text or "") for t in root.iter(f"{NS}text")
    ]
    rows: dict[tuple[float, int], list[tuple[float, str]]] = {}
    for x, y, words in texts:
        if x > 8:
            assert len(words) <= 46
            rows.setdefault((x, round((y - 18) / 23)), []).append((y, words))
    assert sorted(rows) == [(64.0, n) for n in range(8)] + [(424.0, n) for n in range(7)]
    for (_x, n), lines in rows.items():
        places = [y for y, _words in lines]
        assert sum(places) / len(places) == pytest.approx(18 + 23 * n)
        assert [b - a for a, b in itertools.pairwise(places)] == [11.0] * (len(lines) - 1)
    said, *below = [(y, words) for x, y, words in texts if x == 8]
    assert said == (23 * 8 + 18, "The sign after a seam's name tells its state:")
    assert [y for y, _words in below] == [23 * 8 + 33 + 15 * n for n in range(len(below))]
    assert all(len(words) <= 105 for _y, words in below)
    assert root.get("height") == f"{23 * 8 + 26 + 15 * len(below)}"


@pytest.mark.parametrize(
    ("meaning", "shape"),
    [
        ("diamond", ["path 122,45.4 126.6,50 122,54.6 117.4,50 INK 1.2 PAPER"]),
        ("circle", ["disc 122,50 r4.2 PAPER INK"]),
        (
            "thin line",
            [
                "path 100,55 144,55 PROBED 5",
                "path 134,46 114,55 INK 0.8",
                "disc 114,55 r1.1 INK INK",
                "path 129.8,41.8 138.2,50.2 129.8,50.2 138.2,41.8 PAPER 4.4",
                "path 129.8,41.8 138.2,50.2 129.8,50.2 138.2,41.8 OPEN 2.0",
            ],
        ),
        (
            "bracket",
            [
                "path 100,50 144,50 PROBED 7",
                "path 108,53.5 108,56.5 136,56.5 136,53.5 INK 1.4",
            ],
        ),
        (
            "small white dot",
            ["path 100,50 144,50 PROBED 7", "disc 122,50 r1.8 PAPER PAPER"],
        ),
        ("thin dotted line", ["path 100,50 144,50 MUTED 1.2 2 3"]),
        (
            "hollow bar",
            ["path 100,50 144,50 INK 7", "path 101.2,50 142.8,50 UNPROBED 4.6"],
        ),
        ("solid bar", ["path 100,50 144,50 PROBED 7"]),
        (
            "small square",
            [
                "box 106,47 6x6 PAPER INK",
                "box 120,47 6x6 UNPROBED INK",
                "box 134,47 6x6 PROBED INK",
            ],
        ),
        (
            "ring",
            [
                "disc 122,50 r8.5 PAPER INK",
                "path 113.5,50 130.5,50 INK 0.8",
                "path 122,41.5 122,58.5 INK 0.8",
            ],
        ),
        ("double square", ["box 113.5,41.5 17x17 PAPER INK", "box 116,44 12x12 PAPER INK"]),
        ("triangle", ["path 122,40 131.5,56.5 112.5,56.5 INK 1 PAPER"]),
    ],
)
def test_the_legend_shows_the_signs_as_drawn(meaning: str, shape: list[str]) -> None:
    """Each in a field of 44 units, here from 100 to 144, its middle at 50."""
    (draw,) = [d for said, d in strokes._meanings() if said.startswith(meaning)]
    assert drawn(draw, 100.0, 50.0) == shape


@pytest.mark.parametrize(("meaning", "lean"), [("hatched /", 1), ("hatched \\", -1)])
def test_the_legends_hatching_leans_as_it_says(meaning: str, lean: int) -> None:
    """Eight strokes on 44 units, 8 either side, behind the bar."""
    (draw,) = [d for said, d in strokes._meanings() if said.startswith(meaning)]
    hatch, bar = drawn(draw, 100.0, 50.0)
    first = f"path {102.75 - 3.6 * lean:g},58 {102.75 + 3.6 * lean:g},42 "
    assert hatch.startswith(first)
    assert hatch.count(",") == 2 * 8
    assert bar == "path 100,50 144,50 PROBED 7"
