"""Every part of the dossier's charts where its value puts it, worked out by hand; and the numbers beside."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import pytest

from tests.dossier.drawings import check, told
from weldcal.reports.dossier import check_charts, fit_chart, rates, speed_chart
from weldcal.reports.dossier.rates import ShownRate
from weldcal.reports.dossier.svg import Axis, Svg, frame

DASH, DOTS = "INK 1.1 7 3", "INK 1.1 1.5 3"


def s(value: float) -> str:
    """A coordinate as it is written."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def cross(x: float, y: float, r: float) -> list[str]:
    """An X with its pale edge."""
    w, e, n, f = s(x - r), s(x + r), s(y - r), s(y + r)
    at = f"path {w},{n} {e},{f} {w},{f} {e},{n}"
    return [f"{at} PAPER 4.4", f"{at} OPEN 2.0"]


@pytest.mark.parametrize(
    ("low", "high", "about", "ticks"),
    [
        (0.0, 10.0, 6, [0, 2, 4, 6, 8, 10]),
        (0.0, 14.0, 5, [0, 5, 10]),
        (0.0, 1.0, 6, [0, 0.2, 0.4, 0.6, 0.8, 1.0]),
        (1.0, 3.0, 6, [1, 1.5, 2, 2.5, 3]),
        (-3.0, 36.0, 6, [0, 10, 20, 30]),
        (0.0, 6.0, 6, [0, 1, 2, 3, 4, 5, 6]),
        (2.0, 2.0, 6, [2, 2.2, 2.4, 2.6, 2.8, 3.0]),
    ],
)
def test_ticks_are_round(low: float, high: float, about: int, ticks: list[float]) -> None:
    """Steps of 1, 2, 5 or 10 times a power of ten, some six of them; an axis of one value is one long."""
    assert Axis(low, high, 0, 1).ticks(about) == pytest.approx(ticks)


def test_ticks_of_what_is_counted_are_whole() -> None:
    """Two things have three whole places, not halves."""
    assert Axis(0.0, 2.0, 0, 1, counts=True).ticks() == [0, 1, 2]
    assert Axis(0.0, 2.0, 0, 1).ticks() == [0, 0.5, 1, 1.5, 2]


def test_a_frame_has_its_ticks_words_and_titles() -> None:
    """From 50 to 250 across and 100 up to 20; words 15 below and 7 left of the axes."""
    svg = Svg(140)
    frame(svg, Axis(0, 2, 50, 250), Axis(0, 4, 100, 20), "speed", "width")
    lines = told(svg)
    assert lines[:4] == [
        "path 50,100 250,100 MUTED 1",
        "path 50,20 50,100 MUTED 1",
        "path 50,100 50,104 MUTED 1",
        "word 50,115 10 middle INK: 0",
    ]
    assert "word 100,115 10 middle INK: 0.5" in lines
    assert "path 46,80 50,80 MUTED 1" in lines
    assert "word 43,83.5 10 end INK: 1" in lines
    assert lines[-2:] == [
        "word 150,131 11 middle INK: speed",
        "word 14,60 11 middle INK turned: width",
    ]
    named = Svg(140)
    frame(named, Axis(0, 2, 50, 250), Axis(0, 4, 20, 100), "speed", "", [(1.0, "void")])
    assert "word 43,43.5 10 end INK: void" in told(named)
    assert told(named)[-1] == "word 150,131 11 middle INK: speed"


@pytest.mark.parametrize(("most", "top"), [(9.0, 14.0), (20.0, 22.0)])
def test_bleed_checks_in_order(most: float, top: float) -> None:
    """Limits 3 and 10; the axis ends at 1.4 of the upper limit, or 1.1 of the largest reading."""
    rows = [check("B1", 6.0, 5.0, most), check("B2", 5.0, 2.9, 6.0)]
    figure = check_charts.bleed_order(rows, 3.0, 10.0, "si")  # type: ignore[arg-type]
    lines = told(figure.svg)

    def y(mm: float) -> float:
        return 222 - 208 * mm / top

    x1, x2 = 58 + 586 / 3, 58 + 2 * 586 / 3
    first = [f"disc {s(x1)},{s(y(6))} r3.3 PAPER INK"] if most <= 10 else cross(x1, y(6), 3.7)
    assert lines[: 6 + len(first) + 2] == [
        f"path 58,{s(y(3))} 644,{s(y(3))} {DASH}",
        f"word 649,{s(y(3) + 3.5)} 10 start INK: least",
        f"path 58,{s(y(10))} 644,{s(y(10))} {DASH}",
        f"word 649,{s(y(10) + 3.5)} 10 start INK: most",
        f"path {s(x1)},{s(y(5))} {s(x1)},{s(y(most))} PROBED 1.6",
        f"path {s(x2)},{s(y(2.9))} {s(x2)},{s(y(6))} PROBED 1.6",
        *first,
        *cross(x2, y(5), 3.7),
    ]
    assert "path 58,14 58,222 MUTED 1" in lines
    assert lines[-1].startswith("word 58,270 9 start MUTED: dot: median")
    assert figure.table is not None
    assert figure.table.rows[1][:2] == ("B2", "A1")
    assert figure.table.rows[1][3:] == ("5.000", "2.900", "6.000", "3")
    assert figure.table.right == (3, 4, 5, 6)
    us = check_charts.bleed_order(rows, 25.4, 50.8, "us")  # type: ignore[arg-type]
    assert "limits 1 to 2 in" in us.alt
    assert us.table is not None
    assert us.table.rows[1][3:6] == ("0.197", "0.114", "0.236")


def test_a_control_chart() -> None:
    """Centre 6, limits 4.5 and 7.5; the largest value 10 at 1/1.12 of the height; the average's line."""
    values = (6.0, 10.0, 6.5)
    found: Any = SimpleNamespace(
        values_mm=values,
        single=SimpleNamespace(low=4.5, high=7.5, centre=6.0, out=(1,)),
        average=SimpleNamespace(averages=(6.0, 6.8, 6.74)),
        strip={"name": "S1", "day": "2026-06-01"},
        rows=[check(f"B{n}", v, v, v) for n, v in enumerate(values, 1)],
    )
    figure = check_charts.control(found, "si")
    lines = told(figure.svg)

    def y(mm: float) -> float:
        return 202 - 188 * mm / 11.2

    x = [58 + 586 * n / 4 for n in (1, 2, 3)]
    level = [
        line
        for v, name, dash in ((6.0, "centre", DOTS), (4.5, "limit", DASH), (7.5, "limit", DASH))
        for line in (
            f"path 58,{s(y(v))} 644,{s(y(v))} {dash}",
            f"word 649,{s(y(v) + 3.5)} 10 start INK: {name}",
        )
    ]
    smooth = " ".join(f"{s(a)},{s(y(v))}" for a, v in zip(x, (6.0, 6.8, 6.74), strict=True))
    assert lines[:10] == [
        *level,
        f"path {smooth} PROBED 1.8",
        f"disc {s(x[0])},{s(y(6))} r3.3 PAPER INK",
        *cross(x[1], y(10), 3.7),
    ]
    assert figure.table is not None
    assert figure.table.rows == (
        ("B1", "A1", "6.000", "6.000", "within"),
        ("B2", "A1", "10.000", "6.800", "out"),
        ("B3", "A1", "6.500", "6.740", "within"),
    )
    assert figure.table.right == (2, 3)
    assert figure.caption.endswith("centre 6.000 mm, limits 4.500 to 7.500 mm")
    assert "3 bleed checks on go-ahead S1; 1 out of control" in figure.alt


def test_a_control_chart_of_one_check_has_no_limits() -> None:
    """Nor an average; a limit below nought is nought; the centre may be the highest."""
    found: Any = SimpleNamespace(
        values_mm=(5.0,),
        single=SimpleNamespace(low=None, high=None, centre=10.0, out=()),
        average=None,
        strip={"name": "S1", "day": "2026-06-01"},
        rows=[check("B1", 5, 5, 5)],
    )
    figure = check_charts.control(found, "si")
    assert told(figure.svg)[0] == f"path 58,{s(202 - 188 / 1.12)} 644,{s(202 - 188 / 1.12)} {DOTS}"
    assert figure.caption.endswith("no limits: one check tells no spread")
    assert figure.table is not None
    assert figure.table.rows == (("B1", "A1", "5.000", "–", "within"),)
    found.single = SimpleNamespace(low=-2.0, high=12.0, centre=5.0, out=())
    assert check_charts.control(found, "si").caption.endswith("limits 0.000 to 12.000 mm")


def day_fit(**said: Any) -> Any:
    known: dict[str, Any] = {
        "curve": [(1.0, 15.0, 14.8, 17.0), (2.0, 6.0, 5.0, 7.2), (3.0, 4.0, 3.6, 4.8)],
        "points": [("S1", 2.0, 6.0, True), ("S1", 2.0, 6.0, True), ("S2", 2.5, 4.0, False)],
        "used": [("A1", 2.0, 10.0, 0.0), ("A2", 2.0, 5.0, 0.0), ("A3", 2.5, 7.0, 0.0)],
        "low_mm": 3.0,
        "aim_mm": 6.0,
        "high_mm": 9.0,
        "strips": 2,
        "firm_jobs": 0,
        "day": "2026-06-01",
        "machine": "blue",
        "sheet": "base",
        "lap": "selvage",
        "nozzle_c": 500.0,
        "at": {"sheet_c": 20.0, "ambient_c": None},
    }
    return SimpleNamespace(**known | said)


def test_a_fit_is_drawn_at_its_speeds_and_widths() -> None:
    """1 to 3 m/min from 58 to 644; 14.4 mm (1.6 of the most) from 212 up to 14; what is higher is cut."""
    lines = told(fit_chart.figure(day_fit(), "fit", "si").svg)
    assert lines[:8] == [
        "path 58,14 351,113 644,146 644,162.5 351,143.25 58,14 BAND 0.5 BAND",
        f"path 58,170.75 644,170.75 {DASH}",
        "word 649,174.25 10 start INK: least",
        f"path 58,129.5 644,129.5 {DOTS}",
        "word 649,133 10 start INK: aim",
        f"path 58,88.25 644,88.25 {DASH}",
        "word 649,91.75 10 start INK: most",
        "path 351,129.5 644,157 PROBED 2.2",
    ]
    assert lines[8:14] == [
        "disc 351,129.5 r3.6 PAPER INK",
        "disc 360,129.5 r3.6 PAPER INK",
        *cross(497.5, 157.0, 3.6),
        "path 351,203 355,211 347,211 INK 0.8 INK",
        "path 497.5,203 501.5,211 493.5,211 INK 0.8 INK",
    ]
    assert lines[14:16] == ["path 58,212 644,212 MUTED 1", "path 58,14 58,212 MUTED 1"]
    assert lines[-3] == "word 351,243 11 middle INK: Travel speed, m/min (n = 2 strips, 3 runs)"
    assert lines[-1].startswith("word 58,270 9 start MUTED: dot: reading")


def test_a_fits_axis_reaches_over_its_highest_reading() -> None:
    """A reading of 18 mm is at 1/1.1 of the height."""
    found = day_fit(points=[("S1", 2.0, 18.0, True)])
    (dot,) = [line for line in told(fit_chart.figure(found, "fit", "si").svg) if "disc" in line]
    assert dot == f"disc 351,{s(212 - 198 / 1.1)} r3.6 PAPER INK"


def test_the_numbers_of_a_fit() -> None:
    """Strips with their readings, lengths by speed, the fit; lengths of one speed are added."""
    figure = fit_chart.figure(day_fit(), "fit", "si")
    assert figure.table is not None
    assert figure.table.rows == (
        ("strip S1", "2.00", "6 6", "met the limits"),
        ("strip S2", "2.50", "4", "did not meet the limits"),
        ("welded", "2.00", "–", "15 m"),
        ("welded", "2.50", "–", "7 m"),
        ("fit", "1.00", "15.000", "90 %: 14.800 to 17.000"),
        ("fit", "2.00", "6.000", "90 %: 5.000 to 7.200"),
        ("fit", "3.00", "4.000", "90 %: 3.600 to 4.800"),
    )
    assert figure.table.right == (1, 2)
    assert figure.caption == (
        "2026-06-01: blue on base, selvage, nozzle 500 °C; drawn for sheet 20 °C"
    )
    assert figure.alt == (
        "Chart of bleed-out against travel speed. 2 strips. At 2.0 m/min the fit gives 6.00 mm, "
        "90 % between 5.00 and 7.20. Welded at: 2 m/min, 2.5 m/min."
    )
    us = fit_chart.figure(day_fit(), "fit", "us")
    assert us.table is not None
    assert us.table.rows[0] == ("strip S1", "6.56", "0.236 0.236", "met the limits")


@pytest.mark.parametrize(("count", "rows"), [(12, 12), (13, 7), (19, 7)])
def test_a_long_curve_is_told_at_some_seven_speeds(count: int, rows: int) -> None:
    """From the first to the last."""
    curve = [(1.0 + n, 5.0, 4.0, 6.0) for n in range(count)]
    figure = fit_chart.figure(day_fit(curve=curve, points=[], used=[]), "fit", "si")
    assert figure.table is not None
    speeds = [row[1] for row in figure.table.rows]
    assert (len(speeds), speeds[0], speeds[-1]) == (rows, "1.00", f"{count:.2f}")


def test_a_fits_caption_says_the_weather_and_who_taught() -> None:
    """Both temperatures where both were read; nothing read is said; so are the firm's other jobs."""
    both = fit_chart.figure(
        day_fit(at={"sheet_c": 20.0, "ambient_c": 10.0}, firm_jobs=3), "fit", "si"
    )
    assert both.caption.endswith(
        "drawn for sheet 20 °C, ambient 10 °C; begun with what 3 other jobs taught"
    )
    none = fit_chart.figure(day_fit(at={"sheet_c": None, "ambient_c": None}), "fit", "si")
    assert none.caption.endswith("drawn for no conditions read")


@pytest.mark.parametrize(
    ("units", "temps", "low", "high", "per"),
    [
        ("si", (10.0, 30.0), 5.0, 35.0, 1.0),
        ("si", (0.0, 100.0), -10.0, 110.0, 1.0),
        ("us", (10.0, 30.0), 45.0, 91.0, 0.3048),
    ],
)
def test_speeds_against_temperature(
    units: str, temps: tuple[float, float], low: float, high: float, per: float
) -> None:
    """A tenth free at either side, 5 degrees at least; the fastest at 1/1.2 of the height; ln v = 0.01 t + ln 2."""
    rows = [("S1", "2026-06-01", temps[0], 2.0), ("S2", "2026-06-02", temps[1], 3.0)]
    figure = speed_chart.speeds("speeds", "-", rows, (0.01, math.log(2)), units)
    lines = told(figure.svg)

    def at(celsius: float, speed: float) -> str:
        degrees = celsius * 9 / 5 + 32 if units == "us" else celsius
        x = 58 + 646 * (degrees - low) / (high - low)
        return f"{s(x)},{s(222 - 208 * speed / 3.6)}"

    places = lines[0].removesuffix(" PROBED 2").split()[1:]
    assert len(places) == 21
    for n, place in enumerate(places):
        celsius = temps[0] + (temps[1] - temps[0]) * n / 20
        assert place == at(celsius, 2 * math.exp(0.01 * celsius))
    assert lines[1:3] == [
        f"disc {at(temps[0], 2.0)} r3.6 PAPER INK",
        f"disc {at(temps[1], 3.0)} r3.6 PAPER INK",
    ]
    assert "path 58,14 58,222 MUTED 1" in lines
    assert figure.table is not None
    assert figure.table.rows[1][3] == f"{3 / per:.2f}"
    assert figure.table.right == (2, 3)
    bare = speed_chart.speeds("speeds", "-", rows, None, units)
    assert told(bare.svg) == lines[1:]


def test_rates_are_dots_with_their_intervals() -> None:
    """0 to 10.5 (1.05 of the highest) from 190 to 614; rows from 16 to 78 in three steps."""
    found = [
        ShownRate("all faults", 4, "100 ft", 4.0, 2.0, 10.0, 1.5, 6),
        ShownRate("a fault whose name is longer than thirty", 1, "100 ft", 1.0, 0.5, 6.0, 1.0, 6),
    ]
    figure = rates.rates("rates", "-", found, "100 ft")
    lines = told(figure.svg)

    def x(rate: float) -> float:
        return 190 + 424 * rate / 10.5

    for n, one in enumerate(found):
        y = 16 + 62 * (n + 1) / 3
        ends = [
            f"path {s(x(end))},{s(y - 5)} {s(x(end))},{s(y + 5)} PROBED 1.4"
            for end in (one.low, one.high)
        ]
        assert lines[5 * n : 5 * n + 5] == [
            f"path {s(x(one.low))},{s(y)} {s(x(one.high))},{s(y)} PROBED 2",
            *ends,
            f"disc {s(x(one.rate))},{s(y)} r4 PAPER INK",
            f"word 704,{s(y + 4)} 10 end INK: {one.n} in 100 ft",
        ]
    assert "path 190,78 614,78 MUTED 1" in lines
    assert f"word 183,{s(16 + 124 / 3 + 3.5)} 10 end INK: {found[1].label[:30]}" in lines
    assert "(n = 4 faults in the first row)" in lines[-1]
    assert 'viewBox="0 0 720 122"' in figure.svg
    assert figure.table is not None
    assert figure.table.rows[0] == ("all faults", "4", "100 ft", "4.000", "2.000", "10.000", "1.50")
    assert figure.table.right == (1, 2, 3, 4, 5, 6)


def test_no_rates_are_an_empty_chart() -> None:
    """An axis to one, and nought faults; where all is nought too."""
    lines = told(rates.rates("rates", "-", [], "100 ft").svg)
    assert "(n = 0 faults in the first row)" in lines[-1]
    assert f"word {s(190 + 424 / 1.05)},45 10 middle INK: 1" in lines
    nought = [ShownRate("all faults", 0, "100 ft", 0.0, 0.0, 0.0, 1.0, 6)]
    assert "word 614,69 10 middle INK: 1" in told(rates.rates("r", "-", nought, "100 ft").svg)
