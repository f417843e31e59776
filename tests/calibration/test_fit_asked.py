"""What a fit is asked between forecasts: heat, likely speeds, what it was before; a job's word."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import log

import numpy as np
import pytest

from weldcal.calibration import Observation, SpeedQuestion, Window, fit
from weldcal.calibration.engine import Fit
from weldcal.calibration.job_said import DAY, STRIP, JobSaid, _without_prior, job_said, square
from weldcal.calibration.levels import JobEvidence
from weldcal.calibration.readings import widths

Make = Callable[..., Observation]


@pytest.fixture
def known(history: Callable[..., list[Observation]], window: Window) -> Fit:
    """Four mornings of two strips."""
    return fit(history(4), window)


def test_heat_is_the_right_speed_over_the_speed(known: Fit, question: SpeedQuestion) -> None:
    """In logs: e times as fast is 1 less; by the draws' mean offset of the day."""
    at = known.heat_at(question, 500.0, 1.0)
    assert known.heat_at(question, 500.0, 2.0) == pytest.approx(at - log(2.0))
    draws = known.draws(question)
    asked, loading = known.asked(question, [500.0])
    u = known.center("cap").u[0, : known.layout.linear]
    expected = asked.x[0] @ u + draws.t.mean() + loading[0] * draws.s.mean()
    assert at == pytest.approx(float(expected))


def test_likely_speeds_are_the_quantiles_of_the_right_speed(
    known: Fit, question: SpeedQuestion
) -> None:
    """5 and 95 in a hundred over draws, and over the nozzles asked."""
    draws = known.draws(question)

    def right(nozzle: float) -> np.ndarray:
        asked, loading = known.asked(question, [nozzle])
        linear = draws.u[:, : known.layout.linear] @ asked.x[0]
        return np.asarray(linear + draws.t + draws.s * loading[0])

    expected = np.quantile(right(500.0), [0.05, 0.95])
    assert known.likely_log_speeds(question) == pytest.approx(tuple(expected))
    several = replace(question, nozzle_c=None, nozzles_c=(450.0, 550.0))
    both = np.quantile(np.r_[right(500.0), right(450.0), right(550.0)], [0.05, 0.95])
    assert known.likely_log_speeds(several) == pytest.approx(tuple(both))
    one = replace(question, nozzle_c=560.0)
    assert known.likely_log_speeds(one) == pytest.approx(
        tuple(np.quantile(right(560.0), [0.05, 0.95]))
    )


def test_heats_are_of_every_observation_in_its_own_place(
    history: Callable[..., list[Observation]], strip: Make, window: Window
) -> None:
    """NaN where one says nothing; of the same strip elsewhere in the list the same."""
    rows = history(2)
    silent = strip(readings_mm=(), bubbling=None, bond=None)
    one = fit([silent, *rows], window).heats("cap")
    other = fit([*reversed(rows), silent], window).heats("cap")
    assert np.isnan(one[0]) and np.isnan(other[-1])
    assert one[1:] == pytest.approx(other[-2::-1], abs=1e-3)


def test_where_a_sheet_and_lap_were_tried(strip: Make, window: Window) -> None:
    """Coldest and warmest sheet, the air's where nobody read it."""
    made = fit(
        [
            strip(sheet_c=12.0),
            strip(sheet_c=None, ambient_c=5.0),
            strip(sheet_c=30.0),
            strip(sheet_c=50.0, lap="granules"),
        ],
        window,
    )
    assert made.tried_c("cap", "selvage") == (5.0, 30.0)
    assert made.tried_c("cap", "granules") == (50.0, 50.0)
    assert made.tried_c("base", "selvage") is None


@pytest.mark.parametrize(
    ("older", "today", "stands"),
    [(400, 1, False), (401, 1, True), (420, 21, False), (421, 21, True)],
)
def test_hundreds_of_older_strips_stand_for_the_fit_without_today(
    strip: Make, question: SpeedQuestion, window: Window, older: int, today: int, stands: bool
) -> None:
    """More than 400 of the sheet's, and more than 20 times today's; others do not count."""
    rows = [strip(day="2026-06-19", readings_mm=(6.35,))] * older
    rows += [strip(sheet="base", day="2026-06-18", readings_mm=(6.35,))] * 30
    rows += [strip(readings_mm=(6.35,))] * today
    made = fit(rows, window)
    before = made.before(question)
    assert (before is made) is stands
    if not stands:
        assert len(before.observations) == older + 30
        assert all(o.day != question.day for o in before.observations)
        assert made.before(question) is before


def test_without_some_is_another_fit_and_without_none_the_same(known: Fit) -> None:
    """With the same limits and seed."""
    assert known.without(()) is known
    other = known.without({0, 7})
    assert other.observations == known.observations[1:7]
    assert (other.window, other.seed) == (known.window, known.seed)
    assert known.of(known.observations[:2]).observations == known.observations[:2]


def test_a_jobs_word_and_what_was_believed_make_its_posterior() -> None:
    """Information and pull are what the strips added; a direction that got wider says nothing."""
    rng = np.random.default_rng(3)
    sd, before = rng.uniform(0.3, 2.0, 4), rng.normal(size=4)
    root = rng.normal(size=(4, 4))
    precision = np.diag(sd**-2) + root @ root.T
    cov, mean = np.linalg.inv(precision), rng.normal(size=4)
    information, pull = _without_prior(mean, cov, before, sd)
    assert information == pytest.approx(root @ root.T)
    assert pull == pytest.approx(precision @ mean - before / sd**2)
    wider = np.diag(sd**2) * np.array([0.25, 1.0, 4.0, 1.0])
    added, _ = _without_prior(before, wider, before, sd)
    assert added == pytest.approx(np.diag([3.0, 0.0, 0.0, 0.0]) / sd**2, abs=1e-9)


def test_a_jobs_word_is_the_same_again_of_its_plain_values() -> None:
    """Lower triangle row by row."""
    said = JobEvidence(("a", "b"), np.array([[2.0, 0.5], [0.5, 1.0]]), np.array([0.1, 0.2]))
    plain = JobSaid(said, "cap", 7).plain()
    assert plain == {
        "names": ["a", "b"],
        "information": [2.0, 0.5, 1.0],
        "pull": [0.1, 0.2],
        "sheet": "cap",
        "strips": 7,
    }
    again = JobSaid.of(plain)
    assert (again.sheet, again.strips, again.evidence.names) == ("cap", 7, ("a", "b"))
    assert again.evidence.information.tolist() == said.information.tolist()
    assert square([1.0, 2.0, 3.0], 2).tolist() == [[1.0, 2.0], [2.0, 3.0]]
    with pytest.raises(ValueError, match=r"."):
        square([1.0, 2.0], 2)


def test_a_job_speaks_of_its_own_names_and_of_its_spreads(
    history: Callable[..., list[Observation]], strip: Make, window: Window
) -> None:
    """Not of sheets or machines it never met; nothing at all where no strip says anything."""
    rows = [*history(2), strip(sheet="base", day="2026-05-01")]
    found = job_said(rows, window)
    assert found is not None
    assert (found.sheet, found.strips) == ("cap", 5)
    assert found.evidence.names[-2:] == (DAY, STRIP)
    assert {"sheet:cap", "sheet:base", "machine:M1", "elasticity:base"} <= set(found.evidence.names)
    assert not [n for n in found.evidence.names if n.endswith(":")]
    size = len(found.evidence.names)
    assert found.evidence.information.shape == (size, size) and found.evidence.pull.shape == (size,)
    assert np.linalg.eigvalsh(found.evidence.information).min() > -1e-6
    assert job_said([strip(readings_mm=(), bubbling=None, bond=None)], window) is None


def test_a_residual_is_what_was_read_less_what_the_width_s_formula_gives(
    history: Callable[..., list[Observation]], strip: Make, window: Window
) -> None:
    """ln 6.35 + E(1 - exp(-cz))/c of MODEL.md at the most likely values; zeros have none."""
    rows = [*history(3), strip(day="2026-05-02", readings_mm=(0.0,), hour=15.0)]
    made = fit(rows, window)
    mu, miss, scale, at = made.residuals("cap")
    assert sorted(at.tolist()) == list(range(6))  # the seventh showed nothing
    u = dict(zip(made.layout.names, made.center("cap").u[0].tolist(), strict=True))
    steep, c = np.exp(u["elasticity:cap"]), u["curvature"]
    heats = made.heats("cap")
    outer = made.outer("cap")
    own = float(outer.weight @ outer.spreads.strip)
    width = dict(zip(made.data.kept.tolist(), made.data.features.strip_var.tolist(), strict=True))
    tape = widths([o.readings_mm for o in rows[:6]], [o.reading_step_mm for o in rows[:6]])
    for n, i in enumerate(at.tolist()):
        expected = log(6.35) + steep * (1 - np.exp(-c * heats[i])) / c
        assert mu[n] == pytest.approx(expected)
        read = float(made.data.value[made.data.row_strip == made.data.kept.tolist().index(i)][0])
        assert mu[n] + miss[n] == pytest.approx(read)
        assert read == pytest.approx(float(tape.log_mm[i]), abs=0.02)
        var = own**2 * (1 + (steep / 3) ** 2) + steep**2 * width[i]
        assert var < scale[n] ** 2 < var + 0.02
