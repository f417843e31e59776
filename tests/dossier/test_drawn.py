"""What the drawings of the dossier show, read back from their elements."""

from __future__ import annotations

import itertools
import math
import re
from types import SimpleNamespace
from typing import Any

import pytest

from weldcal.quality.charts import ewma, individuals
from weldcal.quality.seam import PROBED
from weldcal.reports.dossier import charts, plan
from weldcal.reports.dossier.svg import WIDTH

Point = tuple[float, float]
_CROSS = re.compile(r'<path d="M([\d.]+) ([\d.]+)L([\d.]+) ([\d.]+)M[^"]*" [^>]*stroke-width="2.0"')
_DOT = re.compile(r'<circle cx="([\d.]+)" cy="([\d.]+)"')
_PATH = re.compile(r'<path d="M([\d. L-]+)" stroke="(\S+)" stroke-width="([\d.]+)"')


def crosses(svg: str) -> list[Point]:
    """The middles of the crosses, in the order drawn."""
    ends = [tuple(map(float, found)) for found in _CROSS.findall(svg)]
    return [((x0 + x1) / 2, (y0 + y1) / 2) for x0, y0, x1, y1 in ends]


def dots(svg: str) -> list[Point]:
    """The middles of the dots."""
    return [(float(x), float(y)) for x, y in _DOT.findall(svg)]


def check(name: str, median: float, least: float, most: float) -> dict[str, Any]:
    """A bleed check as the chart takes it."""
    return {
        "name": name,
        "seam": "A1",
        "seen_local": "2026-06-01T07:25:00-06:00",
        "width_median_mm": median,
        "width_min_mm": least,
        "width_max_mm": most,
        "readings_n": 3,
    }


def test_a_check_with_a_reading_outside_the_limits_is_crossed() -> None:
    """At the limits is inside; below the least or above the most is an X at its median."""
    rows = [
        check("B1", 6.0, 3.0, 9.0),
        check("B2", 6.0, 2.9, 6.0),
        check("B3", 7.0, 6.0, 9.1),
        check("B4", 6.0, 5.0, 7.0),
    ]
    figure = charts.bleed_order(rows, 3.0, 9.0, "si")
    crossed, dotted = crosses(figure.svg), dots(figure.svg)
    assert (len(crossed), len(dotted)) == (2, 2)
    xs = sorted(x for x, _y in crossed + dotted)
    assert [x for x, _y in crossed] == xs[1:3]
    assert crossed[1][1] < crossed[0][1] == pytest.approx(dotted[0][1], abs=0.02)  # 7 above 6
    assert "2 with a reading outside the limits 3 to 9 mm" in figure.alt


def test_a_point_out_of_control_is_crossed() -> None:
    """The one that the numbers beside it call out."""
    values = [6.0, 6.1, 5.9, 9.9, 6.0]
    found = SimpleNamespace(
        values_mm=values,
        single=individuals(values, centre=6.0, sigma=0.5),
        average=ewma(values, 6.0, 0.5),
        strip={"name": "S1", "day": "2026-06-01"},
        rows=[check(f"B{n}", v, v, v) for n, v in enumerate(values, 1)],
    )
    figure = charts.control(found, "si")
    (crossed,) = crosses(figure.svg)
    xs = sorted(x for x, _y in [crossed, *dots(figure.svg)])
    assert (len(xs), crossed[0]) == (5, xs[3])
    assert crossed[1] < min(y for _x, y in dots(figure.svg))


def test_readings_of_a_strip_that_failed_are_crossed_and_equal_ones_stand_beside_each_other() -> (
    None
):
    """A dot for each reading of a strip that met the limits, an X for the others."""
    found = SimpleNamespace(
        curve=[(v, 12 / v, 10 / v, 14 / v) for v in (1.0, 1.5, 2.0, 2.5, 3.0)],
        points=[("S1", 2.0, 6.0, True)] * 3 + [("S2", 2.5, 3.0, False), ("S2", 2.5, 4.0, False)],
        low_mm=3.175,
        aim_mm=6.35,
        high_mm=9.525,
        used=[],
        strips=2,
        day="2026-06-01",
        machine="blue",
        sheet="base",
        lap="selvage",
        nozzle_c=500.0,
        at={"sheet_c": 20.0, "ambient_c": None},
    )
    figure = charts.fit(found, "fit", "si")
    crossed, dotted = crosses(figure.svg), dots(figure.svg)
    assert (len(crossed), len(dotted)) == (2, 3)
    assert crossed[0][0] == crossed[1][0] and crossed[0][1] > crossed[1][1]
    assert len({y for _x, y in dotted}) == 1
    assert dotted[0][0] == pytest.approx((58 + 644) / 2, abs=0.02)  # 2 m/min, from 1 to 3
    steps = [b[0] - a[0] for a, b in itertools.pairwise(dotted)]
    assert steps == pytest.approx([9.0, 9.0], abs=0.02)


def seam(marks: list[tuple[str, float, float]], place: Any = None) -> Any:
    """A seam of 10 m, welded and probed whole."""
    state = SimpleNamespace(
        state=PROBED,
        welded=((0.0, 10.0),),
        unprobed=(),
        open=(),
        mended=(),
        welded_m=10.0,
        probed_m=10.0,
    )
    return SimpleNamespace(
        name="A1", kind="side lap", length_m=10.0, marks=marks, place=place, state=state
    )


def drawn(marks: list[tuple[str, float, float]]) -> tuple[str, float, float]:
    """A seam as the only bar: the drawing, its zero end and its scale."""
    (figure,) = plan.roof([seam(marks)], "si")
    return figure.svg, 112.0, (WIDTH - 160) / 10.0


def paths(svg: str) -> list[tuple[list[Point], str, float]]:
    """Plain lines: their points, colour and width."""
    found = []
    for d, colour, wide in _PATH.findall(svg):
        points = [tuple(map(float, part.split())) for part in d.split("L")]
        found.append((points, colour, float(wide)))
    return found  # type: ignore[return-value]


def test_a_mark_stands_at_the_middle_of_its_stretch() -> None:
    """2 to 4 m of 10: at 3 m along the bar."""
    svg, zero, scale = drawn([("open", 2.0, 4.0)])
    (x, y), *_more = crosses(svg)
    assert (x, y) == pytest.approx((zero + 3.0 * scale, 18.0), abs=0.02)


def test_a_mend_is_a_bracket_clear_of_the_bar_on_its_right_and_an_open_stretch_a_line_on_its_left() -> (
    None
):
    """Both over their own length; the bar is 7 wide, so 3.5 to either side."""
    svg, zero, scale = drawn([("mend", 2.0, 4.0), ("open", 6.0, 9.0)])
    (bracket,) = [points for points, _colour, wide in paths(svg) if wide == 1.4]
    xs, ys = [x for x, _y in bracket], [y - 18.0 for _x, y in bracket]
    assert xs == pytest.approx([zero + m * scale for m in (2, 2, 4, 4)], abs=0.02)
    assert ys == pytest.approx([3.5, 6.5, 6.5, 3.5], abs=0.02)
    (line,) = [points for points, _colour, wide in paths(svg) if wide == 1.6]
    assert [x for x, _y in line] == pytest.approx([zero + m * scale for m in (6, 9)], abs=0.02)
    assert {round(y - 18.0, 2) for _x, y in line} == {-5.0}  # half the bar and 1.5 clear


@pytest.mark.parametrize("turn", [0.0, 30.0, 90.0, 200.0])
def test_beside_is_to_the_right_of_the_way_and_as_far_as_said(turn: float) -> None:
    """Whatever the way's direction; y grows downwards on a page."""
    a = (50.0, 50.0)
    b = (50.0 + 20 * math.cos(math.radians(turn)), 50.0 + 20 * math.sin(math.radians(turn)))
    dx, dy = plan._beside(a, b, 6.5)
    way = (b[0] - a[0], b[1] - a[1])
    assert math.hypot(dx, dy) == pytest.approx(6.5)
    assert way[0] * dx + way[1] * dy == pytest.approx(0.0, abs=1e-9)
    assert way[0] * dy - way[1] * dx > 0


def test_a_placed_seam_lies_where_its_coordinates_put_it() -> None:
    """Two seams a metre apart, 5 m long: one scale both ways, y upwards, the first end dotted."""
    seams = [seam([], ("A", 0.0, 0.0, 5.0, 0.0)), seam([], ("A", 5.0, 1.0, 0.0, 1.0))]
    (figure,) = plan.roof(seams, "si")
    (x0, y0), (x1, y1) = dots(figure.svg)
    scale = (WIDTH - 80) / 5.0
    assert (x0, x1) == pytest.approx((40.0, 40.0 + 5 * scale), abs=0.02)
    assert (y0 - y1, y1) == pytest.approx((scale, 26.0), abs=0.02)


def test_a_mend_on_an_upright_seam_is_as_clear_of_it() -> None:
    """Drawn upwards, its right hand is to the right on the page."""
    (figure,) = plan.roof([seam([("mend", 2.0, 4.0)], ("A", 0.0, 0.0, 0.0, 10.0))], "si")
    (bracket,) = [points for points, _colour, wide in paths(figure.svg) if wide == 1.4]
    assert [x - 40.0 for x, _y in bracket] == pytest.approx([3.5, 6.5, 6.5, 3.5], abs=0.02)
    ys = [26.0 + 76.0 * (10 - m) for m in (2, 2, 4, 4)]
    assert [y for _x, y in bracket] == pytest.approx(ys, abs=0.02)
