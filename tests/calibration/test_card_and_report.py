"""The pocket card and the report of the model, on strips of our own invention."""

from __future__ import annotations

import pytest

from weldcal.calibration import (
    card,
    fit,
    report,
)


def test_the_card_is_faster_line_by_line_and_marks_what_is_not_known(
    history, strip, question, window, reach
) -> None:
    """Speed rises with the sheet's temperature; lines beyond the strips say so."""
    known = fit([*history(12), strip(speed_m_per_min=1.8)], window)
    lines = card(known, question, window, reach, [10.0, 20.0, 30.0, 80.0])
    speeds = [line.speed_m_per_min for line in lines]
    assert speeds == sorted(speeds)
    assert [line.known for line in lines] == [True, True, True, False]
    by_air = card(known, question, window, reach, [20.0], by_ambient=True)[0]
    assert by_air.by_ambient
    assert by_air.chance <= lines[1].chance


def test_the_report_predicts_each_morning_from_the_days_before_it(history, window) -> None:
    """Its own past: one line a day but the first, most of them inside; the lot adds up."""
    rows = history(12)
    made = report(fit(rows, window), rows, window)
    assert [m.day for m in made.past] == sorted({o.day for o in rows})[1:]
    assert made.covered is not None
    assert made.covered >= 0.7
    assert sum(d.strips for d in made.days) == len(rows)
    names = [c.name for c in made.coefficients]
    assert "weather" in names
    assert not any(name.endswith(":") for name in names)


def test_the_reports_plain_rival_needs_three_strips_at_different_speeds(
    history, strip, window
) -> None:
    """Plain least squares on today's strips, or an honest nothing."""
    rows = history(2)
    assert report(fit(rows, window), rows, window).plain is None
    today = [
        strip(speed_m_per_min=v, readings_mm=(mm,))
        for v, mm in ((1.5, 9.525), (1.8, 6.35), (2.1, 4.7625))
    ]
    plain = report(fit([*rows, *today], window), [*rows, *today], window).plain
    assert plain is not None
    assert plain.elasticity == pytest.approx(2.06, abs=0.05)
