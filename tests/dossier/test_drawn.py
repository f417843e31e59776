"""What the drawings of the dossier show, read back from their elements."""

from __future__ import annotations

import itertools
import re
from types import SimpleNamespace

import pytest

from tests.dossier.drawings import check
from weldcal.quality.charts import ewma, individuals
from weldcal.reports.dossier import check_charts, fit_chart

Point = tuple[float, float]
_CROSS = re.compile(r'<path d="M([\d.]+) ([\d.]+)L([\d.]+) ([\d.]+)M[^"]*" [^>]*stroke-width="2.0"')
_DOT = re.compile(r'<circle cx="([\d.]+)" cy="([\d.]+)"')


def crosses(svg: str) -> list[Point]:
    """The middles of the crosses, in the order drawn."""
    ends = [tuple(map(float, found)) for found in _CROSS.findall(svg)]
    return [((x0 + x1) / 2, (y0 + y1) / 2) for x0, y0, x1, y1 in ends]


def dots(svg: str) -> list[Point]:
    """The middles of the dots."""
    return [(float(x), float(y)) for x, y in _DOT.findall(svg)]


def test_a_check_with_a_reading_outside_the_limits_is_crossed() -> None:
    """At the limits is inside; below the least or above the most is an X at its median."""
    rows = [
        check("B1", 6.0, 3.0, 9.0),
        check("B2", 6.0, 2.9, 6.0),
        check("B3", 7.0, 6.0, 9.1),
        check("B4", 6.0, 5.0, 7.0),
    ]
    figure = check_charts.bleed_order(rows, 3.0, 9.0, "si")
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
    figure = check_charts.control(found, "si")
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
        firm_jobs=0,
        day="2026-06-01",
        machine="blue",
        sheet="base",
        lap="selvage",
        nozzle_c=500.0,
        at={"sheet_c": 20.0, "ambient_c": None},
    )
    figure = fit_chart.figure(found, "fit", "si")
    crossed, dotted = crosses(figure.svg), dots(figure.svg)
    assert (len(crossed), len(dotted)) == (2, 3)
    assert crossed[0][0] == crossed[1][0] and crossed[0][1] > crossed[1][1]
    assert len({y for _x, y in dotted}) == 1
    assert dotted[0][0] == pytest.approx((58 + 644) / 2, abs=0.02)  # 2 m/min, from 1 to 3
    steps = [b[0] - a[0] for a, b in itertools.pairwise(dotted)]
    assert steps == pytest.approx([9.0, 9.0], abs=0.02)
