"""The plain regression beside the model, and the scatter along a strip, by other hands."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from weldcal.calibration import Observation, Window
from weldcal.calibration.engine import fit
from weldcal.calibration.model_report import report
from weldcal.calibration.priors import READING_SPREAD
from weldcal.calibration.readings import widths
from weldcal.calibration.tidy import question

Strip = Callable[..., Observation]
SPEEDS, WIDTHS = (1.4, 1.6, 1.8, 2.1, 2.4), (8.7, 7.9, 6.4, 5.6, 4.8)


@pytest.fixture
def morning(strip: Strip) -> list[Observation]:
    """Five strips of one kind; and others that the line must leave out."""
    last = [
        strip(day="2026-06-19", speed_m_per_min=v, readings_mm=(mm,))
        for v, mm in zip(SPEEDS, WIDTHS, strict=True)
    ]
    return [
        strip(day="2026-06-18", speed_m_per_min=1.0, readings_mm=(2.0,)),
        strip(day="2026-06-19", machine="M9", speed_m_per_min=3.0, readings_mm=(9.0,)),
        strip(day="2026-06-19", speed_m_per_min=5.0, readings_mm=(0.0,)),
        *last,
    ]


def test_the_plain_line_is_least_squares_of_log_width_on_log_speed(
    morning: list[Observation], window: Window
) -> None:
    """statsmodels on the latest day's five strips: elasticity, and the width at their mean ln speed."""
    api = pytest.importorskip("statsmodels.api")
    x = np.log(SPEEDS)
    line = api.OLS(np.log(WIDTHS), api.add_constant(x - x.mean())).fit()
    said = line.get_prediction(np.array([[1.0, 0.0]])).summary_frame(alpha=0.10)
    plain = report(fit(morning, window), morning, window).plain
    assert plain is not None
    assert (plain.day, plain.strips) == ("2026-06-19", 5)
    assert plain.elasticity == pytest.approx(-line.params[1], rel=1e-9)
    expected = [math.exp(said[name].iloc[0]) for name in ("mean", "obs_ci_lower", "obs_ci_upper")]
    assert [plain.width_mm, plain.low_mm, plain.high_mm] == pytest.approx(expected, rel=1e-9)


def test_two_strips_or_one_speed_give_no_line(strip: Strip, window: Window) -> None:
    """A line needs three strips, and speeds that differ."""
    two = [strip(day="2026-06-19", speed_m_per_min=v) for v in (1.5, 2.0)]
    same = [strip(day="2026-06-19", speed_m_per_min=2.0) for _ in range(4)]
    for rows in (two, same):
        assert report(fit(rows, window), rows, window).plain is None


def test_scatter_along_a_strip_is_learnt_from_strips_read_more_than_once() -> None:
    """Even widths: less than usual; ragged ones: more; read once each: the prior's own."""
    step = [1.5875] * 8
    once = widths([[6.0]] * 8, step).spread
    even = widths([[6.4, 6.4, 6.4, 6.4]] * 8, step).spread
    ragged = widths([[3.2, 6.4, 9.5, 4.8]] * 8, step).spread
    assert once == pytest.approx(READING_SPREAD)
    assert even < 0.9 * READING_SPREAD
    assert ragged > 1.2 * READING_SPREAD


def test_one_strip_read_often_among_many_read_once_still_teaches() -> None:
    """Seven strips with one reading take nothing away from the eighth with six."""
    ragged = [2.4, 4.8, 7.1, 9.5, 3.2, 11.1]
    step = [1.5875] * 8
    learnt = widths([[6.4]] * 7 + [ragged], step).spread
    assert learnt == pytest.approx(widths([ragged], step[:1]).spread)
    assert learnt > 1.1 * READING_SPREAD


@pytest.fixture
def three_days(strip: Strip) -> list[Observation]:
    """Two strips on each of three days; on the second the first showed nothing."""
    days = ("2026-06-16", "2026-06-17", "2026-06-18")
    return [
        strip(
            id=f"{day}/{n}", day=day, speed_m_per_min=1.6 + 0.4 * n, readings_mm=(mm, mm + 0.5, mm)
        )
        for day, pair in zip(days, ((7.5, 5.5), (0.0, 5.0), (8.0, 6.0)), strict=True)
        for n, mm in enumerate(pair)
    ]


def test_a_residual_is_the_width_read_against_the_width_fitted(
    three_days: list[Observation], window: Window
) -> None:
    """Each strip with a width: what it read, to half a sixteenth; wider than fitted is above zero."""
    said = report(fit(three_days, window), three_days, window).residuals
    by_id = {r.id: r for r in said}
    for n, one in enumerate(three_days):
        median = sorted(one.readings_mm)[1]
        if median == 0.0:
            continue
        found = by_id[one.id]
        assert (found.index, found.day) == (n, one.day)
        assert found.width_mm == pytest.approx(median, abs=0.8)
        assert (found.off > 0) == (found.width_mm > found.fitted_mm)
        assert 2.0 < found.fitted_mm < 15.0


def test_a_past_morning_is_a_days_first_strip_that_showed_a_width(
    three_days: list[Observation], window: Window
) -> None:
    """Not the first day, which has no past; on the second the second strip, for the first showed none."""
    past = report(fit(three_days, window), three_days, window).past
    assert [(m.day, m.index, m.width_mm) for m in past] == [
        ("2026-06-17", 3, 5.0),
        ("2026-06-18", 4, 8.0),
    ]
    for morning in past:
        assert morning.low_mm < morning.forecast_mm < morning.high_mm
        assert morning.inside == (morning.low_mm <= morning.width_mm <= morning.high_mm)


def test_only_the_latest_thirty_mornings_are_forecast(strip: Strip, window: Window) -> None:
    """Of 32 days the first has no past, and the second is too long ago."""
    rows = [strip(day=f"2026-{5 + n // 28:02}-{1 + n % 28:02}") for n in range(32)]
    past = report(fit(rows, window), rows, window).past
    assert len(past) == 30
    assert (past[0].day, past[-1].day) == ("2026-05-03", rows[-1].day)


def test_a_coefficient_says_what_was_believed_and_what_is_believed_now(
    three_days: list[Observation], window: Window
) -> None:
    """Strips only ever make it surer; how far it moved counts in the old deviations."""
    said = report(fit(three_days, window), three_days, window)
    assert {c.name for c in said.coefficients} and not any(
        c.name.endswith(":") for c in said.coefficients
    )
    for one in said.coefficients:
        assert 0 < one.sd <= one.prior_sd * 1.02
        assert one.moved == pytest.approx((one.mean - one.prior_mean) / one.prior_sd)
    assert [(d.day, d.machine, d.strips) for d in said.days] == [
        (day, "M1", 2) for day in ("2026-06-16", "2026-06-17", "2026-06-18")
    ]
    assert said.covered == sum(m.inside for m in said.past) / 2


def test_numbers_of_a_report_are_those_of_its_fit(
    history: Callable[..., list[Observation]], window: Window
) -> None:
    """Means and sds over the outer points, the scatter, the days' offsets, residuals in sds."""
    rows = history(4)
    made = fit(rows, window)
    said = report(made, rows, window)
    outer = made.outer("cap")
    u, weight = outer.mode.point.u, outer.weight
    inner = np.array([np.linalg.inv(h) for h in outer.mode.hessian])
    for one in said.coefficients:
        n = made.layout.names.index(one.name)
        mean = float(weight @ u[:, n])
        second = float(weight @ (u[:, n] ** 2 + inner[:, n, n]))  # E of the square
        assert one.mean == pytest.approx(mean, rel=1e-9, abs=1e-12)
        assert one.sd == pytest.approx(math.sqrt(second - mean**2), rel=1e-6)
        prior = made.layout.priors[n]
        assert (one.prior_mean, one.prior_sd, one.unit, one.reason) == (
            prior.mean,
            prior.sd,
            prior.unit,
            prior.reason,
        )
    assert said.strip_spread == pytest.approx(float(weight @ outer.spreads.strip))
    assert said.day_spread == pytest.approx(float(weight @ outer.spreads.day))
    assert (said.sheet, said.firm_jobs) == ("cap", 0)
    assert [d.strips for d in said.days] == [2] * 4
    offsets = weight @ outer.mode.point.t
    assert [d.offset for d in said.days] == pytest.approx(offsets.tolist())
    mu, miss, scale, at = made.residuals("cap")
    for n, one in enumerate(said.residuals):
        assert (one.index, one.set_aside) == (at[n], False)
        assert one.fitted_mm == pytest.approx(math.exp(mu[n]))
        assert one.width_mm == pytest.approx(math.exp(mu[n] + miss[n]))
        assert one.off == pytest.approx(miss[n] / scale[n])


def test_a_morning_of_the_past_is_forecast_without_itself(
    history: Callable[..., list[Observation]], window: Window
) -> None:
    """By a fit of the days before alone: neither its own strips nor later ones."""
    rows = history(3)
    past = report(fit(rows, window), rows, window).past
    assert [m.index for m in past] == [2, 4]
    for morning in past:
        first = rows[morning.index]
        before = [o for o in rows if o.day < first.day]
        asked = question(first)
        (said,) = fit(before, window).forecast(asked, [first.speed_m_per_min], 500.0, window)
        assert (morning.low_mm, morning.forecast_mm, morning.high_mm) == pytest.approx(
            (said.width_low_mm, said.width_mm, said.width_high_mm)
        )


def test_a_wild_strip_is_set_aside_and_its_kind_is_not_seen_twice(
    history: Callable[..., list[Observation]], strip: Strip, window: Window
) -> None:
    """Thrice as wide as all others; another lap of that day is a kind of its own, a check is none."""
    rows = history(4)
    odd = strip(day="2026-05-03", readings_mm=(25.4,) * 5, bond=None, hour=15.0)
    other = strip(day="2026-05-03", lap="granules", bond=None, hour=16.0)
    check = strip(day="2026-05-04", lap="sand", on_seam=True, bond=None, hour=16.0)
    every = [*rows, odd, other, check]
    said = report(fit(every, window), every, window)
    assert said.set_aside == (8,)
    assert [r.set_aside for r in said.residuals if r.index == 8] == [True]
    assert [(m.day, m.index) for m in said.past] == [
        ("2026-05-02", 2),
        ("2026-05-03", 4),
        ("2026-05-03", 9),
        ("2026-05-04", 6),
    ]


def test_a_sheet_not_judged_by_width_has_no_widths_to_report(strip: Strip) -> None:
    """No residuals, no past, no line, no rivals; the sheet with most strips leads."""
    window = Window(3.175, 6.35, 9.525, by_bleed_out=False)
    rows = [strip(sheet=s, readings_mm=()) for s in ("base", "cap", "cap")]
    said = report(fit(rows, window), rows, window)
    assert said.sheet == "cap"
    assert (said.residuals, said.past, said.plain, said.rivals) == ((), (), None, ())
    assert (said.set_aside, said.covered) == ((), None)
    assert report(fit([], window), [], window).sheet == ""
