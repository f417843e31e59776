"""How high the drawings of a roof are, and what its key plan counts, worked out by hand."""

from __future__ import annotations

from typing import Any

import pytest

from tests.dossier.drawings import Drawing, told
from tests.dossier.test_bars import facts, mark
from weldcal.reports.dossier import plan
from weldcal.reports.dossier.svg import Svg
from weldcal.views.dossier import Roof, SeamFacts


def lap(name: str, x0: float, y0: float, x1: float, y1: float, **said: Any) -> SeamFacts:
    return facts(name, abs(x1 - x0) + abs(y1 - y0), place=("A", x0, y0, x1, y1), **said)


def high(svg: str) -> float:
    return float(Drawing(svg).root.get("height", ""))


@pytest.mark.parametrize(
    ("wide", "tall", "glance", "whole"),
    [
        # 624 units of width; 44 above and 52 below; 215 high at a glance, 704 on its own page
        (100.0, 10.0, 62.4 + 96, 62.4 + 96),
        (20.0, 20.0, 215.0 + 96, 624.0 + 96),
        (10.0, 20.0, 215.0 + 96, 704.0 + 96),
    ],
)
def test_a_roof_fills_the_width_or_the_height_there_is(
    wide: float, tall: float, glance: float, whole: float
) -> None:
    """Two laps along its lower and upper edge."""
    roof = Roof(seams=[lap("A1", 0, 0, wide, 0), lap("A2", 0, tall, wide, tall)])
    small = plan.at_a_glance(roof, "si")
    assert small is not None
    assert high(small.svg) == pytest.approx(glance, abs=0.01)
    (large,) = plan.roof(roof, "si")
    assert high(large.svg) == pytest.approx(whole, abs=0.01)


def test_a_key_plan_leaves_room_for_its_legend() -> None:
    """A roof in tiles: 500 units at most, and 96 around."""
    seams = [lap(f"A{n}", 0, n, 100, n) for n in range(1, 101)]
    seams[0] = lap("A1", 0, 1, 100, 1, marks=(mark("open", "F1", 5, 6),))
    key, *tiles = plan.roof(Roof(seams=seams), "si")
    assert high(key.svg) == pytest.approx(500 + 96, abs=0.01)
    assert "Drawn large: 1 of 12 tiles" in key.caption
    assert [tile.name for tile in tiles] == ["tile-A-9"]
    assert "1 open, 0 mended" in tiles[0].caption


def test_findings_are_listed_the_open_first_four_hundred_at_most() -> None:
    """And how many there are."""
    marks = tuple(mark("mended" if n < 2 else "open", f"F{n}", 0.0, 1.0) for n in range(400))
    table = plan.findings(Roof(seams=[facts("A1", marks=marks)]), "si")
    assert table is not None
    assert (table.caption, len(table.rows)) == ("Findings on the drawings", 400)
    assert [row[0] for row in (*table.rows[:2], *table.rows[-2:])] == [
        "X F2",
        "X F3",
        "o F0",
        "o F1",
    ]
    more = facts("A1", marks=(*marks, mark("sample", "P1", 0, 0), mark("open", "F400", 0.0, 1.0)))
    longer = plan.findings(Roof(seams=[more]), "si")
    assert longer is not None
    assert len(longer.rows) == 400
    assert longer.caption.endswith("(the first 400 of 401; all stand in the CSV)")
    assert plan.findings(Roof(seams=[facts("A1")]), "si") is None


def test_a_tile_on_the_key_plan_says_its_number_and_what_is_open() -> None:
    """In a plate at its middle; a second line where something is open or mended."""
    from weldcal.reports.dossier.site import Tile, View

    view = View((0.0, 0.0), (100.0, 50.0), 6.24)
    seam = facts("A1")
    held = [(seam, mark("open", "F1", 0, 1)), (seam, mark("mended", "F2", 0, 1))]
    left = Tile(1, View((0.0, 0.0), (50.0, 50.0), 12.48), [], held, False)
    right = Tile(2, View((50.0, 0.0), (100.0, 50.0), 12.48), [], [], False)
    svg = Svg(view.height)
    plan._counts(svg, view, [left, right])
    lines = told(svg)
    # x from 48 to 360 and on to 672, y from 44 to 356; 15 + 2 x 6.2 + 34 wide
    assert lines == [
        "path 48,44 360,44 360,356 48,356 48,44 INK 0.8",
        "path 360,44 672,44 672,356 360,356 360,44 INK 0.8",
        "box 173.3,185.5 61.4x29 PAPER MUTED",
        "word 204,197.5 11 middle INK: 1",
        "word 204,210.5 10 middle INK bold: X 1   o 1",
        "box 485.3,192 61.4x16 PAPER MUTED",
        "word 516,204 11 middle INK: 2",
    ]
