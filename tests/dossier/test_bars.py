"""Seams without a place as bars, and seams on a plan with their names, worked out by hand."""

from __future__ import annotations

from typing import Any

import pytest

from tests.dossier.drawings import Drawing, told
from weldcal.quality.seam import SeamState
from weldcal.reports.dossier import bars, inside
from weldcal.reports.dossier.placing import TakenBoxes
from weldcal.reports.dossier.site import DrawnSite, View
from weldcal.reports.dossier.svg import Svg
from weldcal.views.dossier import Mark, SeamFacts


def facts(name: str, long: float | None = 10.0, **said: Any) -> SeamFacts:
    """A lap not begun, but for what is said."""
    known: dict[str, Any] = {
        "key": name.lower(),
        "name": name,
        "listed": True,
        "kind": "side lap",
        "lap": "selvage",
        "length_m": long,
        "place": None,
        "at": None,
        "state": SeamState("not started"),
        "flags": (),
        "disagreements": (),
        "marks": (),
        "urgency": (),
    }
    known |= dict.fromkeys(("runs", "walks", "faults", "fault_m", "mends", "samples"), 0)
    return SeamFacts(**known | said)


def mark(what: str, name: str, start: float, end: float) -> Mark:
    return Mark(what, name, "void", start, end)


def one_figure(seams: list[SeamFacts]) -> list[str]:
    (figure,) = bars.figures(seams, {}, "si", {})
    return told(figure.svg)


def test_bars_stand_below_one_another_to_the_longest_ones_scale() -> None:
    """530 units for the longest, from 112; 22 a row; the name before it, the state's sign behind."""
    lines = one_figure([facts("A1", 10.0), facts("A2", 5.0), facts("J1", None, kind="T-joint")])
    assert lines[:8] == [
        "word 104,24 11 end INK: A1",
        "word 710,24 12 start INK bold: .",
        "path 112,20 642,20 MUTED 1.2 2 3",
        "word 104,46 11 end INK: A2",
        "word 710,46 12 start INK bold: .",
        "path 112,42 377,42 MUTED 1.2 2 3",
        "word 104,68 11 end INK: J1",
        "word 710,68 12 start INK bold: .",
    ]
    assert lines[8] == "box 109,61 6x6 PAPER INK"
    # 120 units are 2.26 m: the bar of 2 m is 106 units, 14 above the foot of 3 x 22 + 54.
    assert lines[9:] == [
        "path 112,106 218,106 INK 2",
        "path 112,102 112,110 INK 1.2",
        "path 218,102 218,110 INK 1.2",
        "word 224,110 11 start INK: 2 m",
    ]


def test_marks_on_bars_lie_where_they_were_found() -> None:
    """From 2 to 4 m of ten the middle is 159 units along; the open one is drawn last."""
    seam = facts("A1", marks=(mark("open", "F1", 2, 4), mark("mended", "F2", 8, 8)))
    lines = one_figure([seam])
    assert "disc 536,20 r4.2 PAPER INK" in lines
    cross = "path 266.8,15.8 275.2,24.2 266.8,24.2 275.2,15.8 OPEN 2.0"
    assert cross in lines
    assert lines.index(cross) > lines.index("disc 536,20 r4.2 PAPER INK")
    assert "path 218,15 324,15 INK 1.6" in lines


def test_a_long_name_is_cut() -> None:
    """To sixteen signs, the last of them dots."""
    assert bars.short("A" * 16) == "A" * 16
    assert bars.short("A" * 17) == "A" * 15 + "…"
    assert bars.short("A" * 10, 9) == "A" * 8 + "…"


@pytest.mark.parametrize(("count", "figures"), [(34, 1), (35, 2), (68, 2), (440, 13), (441, 2)])
def test_so_many_bars_to_a_drawing(count: int, figures: int) -> None:
    """34 with their names; from 441 on small ones, 248 to a drawing."""
    drawn = list(bars.figures([facts(f"A{n}") for n in range(count)], {}, "si", {}))
    assert len(drawn) == figures
    assert [one.name for one in drawn] == [f"bars-{n}" for n in range(1, figures + 1)]
    assert (f" 1/{figures}," in drawn[0].caption) is (figures > 1)


def test_small_bars_stand_in_four_columns_with_counts_behind() -> None:
    """62 rows of 11.5 in columns of 180: the name to 48, the bar from 52, 44 long, marks from 104."""
    seams = [facts(f"A{n}") for n in range(441)]
    open_, mended = mark("open", "F1", 1, 2), mark("mended", "F2", 3, 4)
    seams[63] = facts("B1", marks=(open_, mended, mark("open", "F3", 5, 6)))
    first, second = bars.figures(seams, {}, "si", {})
    lines = told(first.svg)
    assert lines[:3] == [
        "word 48,13 8.5 end INK: A0",
        "path 52,10 96,10 MUTED 1.2 2 3",
        "word 101,13 9 start INK: .",
    ]
    at = lines.index("word 228,24.5 8.5 end INK: B1")
    assert lines[at + 1] == "path 232,21.5 276,21.5 MUTED 1.2 2 3"
    assert "path 280.8,18.3 287.2,24.7 280.8,24.7 287.2,18.3 OPEN 2.0" in lines
    assert "word 290,24.5 8.5 start INK bold: 2" in lines
    assert "disc 318,21.5 r3.2 INK INK" in lines
    assert "word 324,24.5 8.5 start INK: 1" in lines
    assert 'data-mark="open" data-n="2" data-names="F1 F3" data-seams="B1"' in first.svg
    assert Drawing(first.svg).root.get("height") == "747"
    assert "X and a number stand for all that is open" in first.caption
    # The second has 193: 62 rows still, and 7 in its last column.
    assert sum(line.endswith("MUTED 1.2 2 3") for line in told(second.svg)) == 193


def test_very_many_bars_have_every_eighth_name_and_no_counts() -> None:
    """From 1,501 seams on."""
    some = [facts(f"A{n}", marks=(mark("open", "F1", 1, 2),)) for n in range(1501)]
    bare, full = bars.figures(some, {}, "si", {}), bars.figures(some[:1500], {}, "si", {})
    one, other = told(next(bare).svg), told(next(full).svg)
    names = [line.rpartition(" ")[2] for line in one if " end INK: A" in line]
    assert names == [f"A{n}" for n in range(0, 248, 8)]
    assert sum(" end INK: A" in line for line in other) == 248
    assert not any(line.startswith("word") and "bold: 1" in line for line in one)
    assert any("bold: 1" in line for line in other)


@pytest.mark.parametrize(("count", "rows"), [(1, 1), (8, 8), (9, 3), (76, 19), (80, 19)])
def test_at_a_glance(count: int, rows: int) -> None:
    """Up to eight in one column, up to 76 in four; of more those that most want a person."""
    seams = [facts(f"A{n}") for n in range(count)]
    seams[-1] = facts("Z", state=SeamState("open findings", open=("F1",)))
    figure = bars.at_a_glance(seams, {}, "si", {})
    assert Drawing(figure.svg).root.get("height") == f"{11.5 * rows + 34:g}"
    names = [line.rpartition(" ")[2] for line in told(figure.svg) if " 8.5 end INK: " in line]
    assert len(names) == min(count, 76)
    assert names[-1] == "Z"
    assert ("Here the 76 that most want a person." in figure.caption) is (count > 76)
    wide = 720 - 52 - 84 if count <= 8 else 180 - 52 - 84
    assert f"path 52,10 {52 + wide},10 MUTED 1.2 2 3" in told(figure.svg)


# -- on a plan -------------------------------------------------------------------------------------

# 20 m by 10 m at ten units a metre: from 48, 44 to 248, 144.
VIEW = View((0.0, 0.0), (20.0, 10.0), 10.0)


def plan(*seams: SeamFacts, names: bool = True) -> list[str]:
    svg = Svg(VIEW.height)
    site = DrawnSite("", seams, (), {}, None, {}, "si")
    held = [(seam, one) for seam in seams for one in seam.marks]
    left = inside.detailed(svg, site, VIEW, seams, held, TakenBoxes(), names=names)
    return [*told(svg), left]


def lap(name: str, x0: float, y0: float, x1: float, y1: float, **said: Any) -> SeamFacts:
    long = abs(x1 - x0) + abs(y1 - y0)
    return facts(name, long, place=("A", x0, y0, x1, y1), **said)


@pytest.mark.parametrize(
    ("seam", "dot", "name"),
    [
        (lap("A1", 0, 5, 20, 5), "48,94", (48 + 4, 88.0)),
        (lap("A1", 20, 5, 0, 5), "248,94", (248 - 4 - 4 * 5.1, 88.0)),
        (lap("A1", 10, 0, 10, 10), "148,144", (148 + 5.5, 144 - 2 + 3)),
        (lap("A1", 10, 10, 10, 0), "148,44", (148 + 5.5, 44 + 2 + 3)),
    ],
)
def test_a_laps_name_stands_beside_its_zero_end(seam: Any, dot: str, name: Any) -> None:
    """A fiftieth along, six above a level lap, 5.5 right of an upright one; a dot at its zero end."""
    lines = plan(seam)
    assert lines[1] == f"disc {dot} r1.6 INK INK"
    x, y = (f"{value:.2f}".rstrip("0").rstrip(".") for value in name)
    assert lines[2] == f"word {x},{y} 8.5 start INK: A1 ."
    assert lines[3:] == [""]


def test_a_details_name_says_what_it_is_around_and_a_plain_joint_has_none() -> None:
    """11 right of a detail's place and 4 above, 5 right of a joint's that is open."""
    drain = facts("D1", None, kind="detail", at="drain", place=("A", 10.0, 5.0, 10.0, 5.0))
    assert "word 159,90 8.5 start INK: drain D1 ." in plan(drain)
    joint = facts("J1", None, kind="T-joint", place=("A", 10.0, 5.0, 10.0, 5.0))
    assert plan(joint) == ["box 145,91 6x6 PAPER INK", ""]
    wants = facts(
        "J1",
        None,
        kind="T-joint",
        place=("A", 10.0, 5.0, 10.0, 5.0),
        state=SeamState("open findings", open=("F1",)),
    )
    assert "word 153,90 8.5 start INK: J1 X" in plan(wants)


def test_a_small_drawing_has_no_names_and_no_points() -> None:
    """Bars of four; a T-joint is drawn as the square it is."""
    lines = plan(
        lap("A1", 0, 5, 20, 5, state=SeamState("probed", welded=((0.0, 20.0),))), names=False
    )
    assert "path 48,94 248,94 PROBED 4" in lines
    assert not any(line.startswith("word") for line in lines)


def test_thin_laps_are_half_as_wide_as_they_lie_apart_at_most() -> None:
    """2.6 at most; listed at half of that, 0.6 at most; unprobed 0.6 of it inside ink."""
    state = SeamState("probed", welded=((0.0, 10.0),), unprobed=((5.0, 10.0),))
    seams = [lap("A1", 0, 5, 20, 5, state=state)]
    svg = Svg(VIEW.height)
    inside.thin(svg, DrawnSite("", seams, (), {}, None, {}, "si"), VIEW)
    # one lap of 20 m on 20 m by 0.1 m: 0.1 m apart, 1 unit, half of it
    assert told(svg) == [
        "path 48,94 248,94 MUTED 0.25",
        "path 48,94 148,94 PROBED 0.5",
        "path 98,94 148,94 INK 0.5",
        "path 98,94 148,94 UNPROBED 0.3",
    ]
    far = [lap("A1", 0, 0, 20, 0, state=state), lap("A2", 0, 10, 20, 10)]
    svg = Svg(VIEW.height)
    inside.thin(svg, DrawnSite("", far, (), {}, None, {}, "si"), VIEW)
    assert told(svg)[0] == "path 48,144 248,144 48,44 248,44 MUTED 0.6"
    assert told(svg)[1].endswith("PROBED 2.6")
    assert told(svg)[3].endswith("UNPROBED 1.56")


def test_names_that_find_no_room_are_counted() -> None:
    """Forty details in one place; what is left out is told, and none lies over another."""
    place = ("A", 10.0, 5.0, 10.0, 5.0)
    many = [facts(f"D{n}", None, kind="detail", at="curb", place=place) for n in range(40)]
    *lines, left = plan(*many)
    shown = sum(line.startswith("word") for line in lines)
    assert 0 < shown < 40
    assert left == f" {40 - shown} names left out for room."
