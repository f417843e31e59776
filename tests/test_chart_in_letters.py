"""The fit in letters, sign for sign: 48 columns from 1.0 to 5.7 m/min are a tenth each, a row is a millimetre."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from weldcal.reports import chart


def forecast(speed: float, middle: float, low: float, high: float) -> Any:
    return SimpleNamespace(
        speed_m_per_min=speed, width_mm=middle, width_low_mm=low, width_high_mm=high
    )


def strip(day: str, speed: float, *readings: float, on_seam: bool = False) -> Any:
    return SimpleNamespace(day=day, speed_m_per_min=speed, readings_mm=readings, on_seam=on_seam)


def curve(*strips: Any, forecasts: Any = None, **said: Any) -> Any:
    """Limits 4 and 10 mm, aim 6; widths level from speed to speed unless said."""
    window = {"low_mm": 4.0, "aim_mm": 6.0, "high_mm": 10.0, "by_bleed_out": True}
    asked = SimpleNamespace(
        window=SimpleNamespace(**window | said),
        units="si",
        question=SimpleNamespace(day="2026-06-02"),
    )
    level = [forecast(1.0, 6.0, 5.0, 8.0), forecast(5.7, 6.0, 5.0, 8.0)]
    return SimpleNamespace(asked=asked, forecasts=forecasts or level, strips=strips)


def rows(found: Any) -> list[str]:
    """The seventeen rows without their margin, top first; a reading of 16 mm makes a row a millimetre."""
    return [line.partition("|")[2] for line in chart.page(found)[:17]]


TALL = strip("2026-06-01", 1.0, 16.0)


def test_limits_spread_and_middle_are_rows() -> None:
    """Of 16 mm: 10 is the seventh row from the top, 4 the thirteenth; 8 to 5 the spread, 6 the middle."""
    found = rows(curve(TALL))
    assert found[0] == "o"
    assert found[6] == found[12] == "-" * 48
    assert found[8] == found[9] == found[11] == ":" * 48
    assert found[10] == "*" * 48
    assert [found[n] for n in (1, 5, 7, 13, 16)] == [""] * 5


def test_strips_stand_at_their_speeds_and_widths() -> None:
    """2.0 m/min is the eleventh column; today's are @; a speed that is not drawn is left out."""
    found = rows(
        curve(
            TALL,
            strip("2026-06-02", 2.0, 12.0),
            strip("2026-06-01", 5.7, 2.0),
            strip("2026-06-01", 5.8, 2.0),
            strip("2026-06-01", 0.9, 2.0),
        )
    )
    assert found[4] == " " * 10 + "@"
    assert found[14] == " " * 47 + "o"


def test_the_curve_follows_its_widths_and_is_cut_at_the_top() -> None:
    """From 14 down to 4.6 over 47 steps of 0.2: 9 steps in, 12.2 is told in the row of 12."""
    slope = [forecast(1.0, 14.0, 13.0, 30.0), forecast(5.7, 4.6, 3.6, 20.6)]
    found = rows(curve(TALL, forecasts=slope, aim_mm=10.0))
    assert found[16 - 12][9] == "*"
    assert found[0][1:] == ":" * 47
    assert found[16 - 12][20] == ":"
    steep = [forecast(1.0, 20.0, 19.0, 21.0), forecast(5.7, 10.6, 9.6, 11.6)]
    above = rows(curve(TALL, forecasts=steep, aim_mm=10.0))
    assert above[0].count("*") == len([n for n in range(48) if 15.5 <= 20 - 0.2 * n <= 16.0001])


def test_the_axes_say_every_fourth_width_and_three_speeds() -> None:
    """A margin of eight signs; the speeds at both ends and in the middle under a line."""
    page = chart.page(curve(TALL))
    labels = [line.partition(" |")[0] for line in page[:17]]
    assert labels[0::4] == [" 16.0 mm", " 12.0 mm", "  8.0 mm", "  4.0 mm", "  0.0 mm"]
    assert all(label == " " * 8 for n, label in enumerate(labels) if n % 4)
    assert page[17] == " " * 9 + "+" + "-" * 48
    assert page[18] == " " * 10 + "1.00 m/min" + " " * 9 + "3.35 m/min" + " " * 9 + "5.70 m/min"


@pytest.mark.parametrize(("columns", "speeds"), [(34, 3), (33, 3), (32, 3), (31, 2)])
def test_a_narrow_axis_leaves_the_middle_speed_out(columns: int, speeds: int) -> None:
    """Three of ten signs and two between fit into 32."""
    line = chart._axis(1.0, 5.7, columns, "si", 8)[1]
    assert line.count("m/min") == speeds
    assert len(line) == 10 + columns


@pytest.mark.parametrize(
    ("readings", "top"), [((), "15.0 mm"), ((14.0,), "15.0 mm"), ((18.0,), "18.0 mm")]
)
def test_the_drawing_reaches_over_the_limit_by_half(readings: Any, top: str) -> None:
    """And to the widest reading."""
    assert chart.page(curve(strip("2026-06-01", 2.0, *readings)))[0].strip().startswith(top)


@pytest.mark.parametrize(
    ("widths", "drawn"),
    [
        ((30.1, 29.9, 6.0, 2.1, 1.9), (29.9, 6.0, 2.1)),
        ((40.0, 6.0, 1.0), (40.0, 6.0, 1.0)),
        ((30.0, 2.0), (30.0, 2.0)),
    ],
)
def test_speeds_worth_drawing_lie_within_a_fifth_and_three_times_the_aim(
    widths: Any, drawn: Any
) -> None:
    """Aim 10: 2 to 30, both with; all of them where fewer than two would be left."""
    many = [forecast(1.0 + n, w, w, w) for n, w in enumerate(widths)]
    window: Any = SimpleNamespace(aim_mm=10.0)
    assert tuple(f.width_mm for f in chart._near(many, window)) == drawn


def test_the_legend_names_each_sign_and_counts_strips() -> None:
    """Bleed checks on seams are no strips."""
    page = chart.page(
        curve(TALL, strip("2026-06-02", 2.0, 5.0), strip("2026-06-02", 2.0, 5.0, on_seam=True))
    )
    legend = " ".join(" ".join(page[19:]).split())
    assert legend.startswith("- limits 4.0 mm and 10.0 mm * likeliest median : 90 % of next strips")
    assert "@ today's readings" in legend
    assert legend.endswith("2 strips in all")


def test_without_a_drawing_its_numbers_are_told(monkeypatch: Any) -> None:
    """Limits, each speed, each strip; where nothing was read that is said."""
    monkeypatch.setattr(chart.settings, "linear", lambda: True)
    found = curve(strip("2026-06-01", 2.0, 5.0, 7.0), strip("2026-06-02", 3.0))
    assert [" ".join(line.split()) for line in chart.page(found)] == [
        "Limits of bleed-out: 4.0 mm and 10.0 mm.",
        "At 1.00 m/min: likeliest 6.0 mm; 90 % of next strips lie from 5.0 mm to 8.0 mm.",
        "At 5.70 m/min: likeliest 6.0 mm; 90 % of next strips lie from 5.0 mm to 8.0 mm.",
        "Strip of 2026-06-01 at 2.00 m/min: read 5.0 mm, 7.0 mm.",
        "Strip of 2026-06-02 at 3.00 m/min: read nothing.",
    ]


@pytest.mark.parametrize(("wide", "drawn"), [(34, True), (33, False)])
def test_a_screen_too_narrow_has_no_drawing(monkeypatch: Any, wide: int, drawn: bool) -> None:
    """Ten signs of margin and 24 of drawing."""
    monkeypatch.setattr(chart.settings, "screen_columns", lambda: wide)
    assert any("*" in line for line in chart.page(curve(TALL))) is drawn


def test_a_sheet_judged_without_bleed_out_has_no_chart() -> None:
    """And it is said why."""
    (line,) = chart.page(curve(TALL, by_bleed_out=False))
    assert line.startswith("This sheet is judged by bond and bubbling")
