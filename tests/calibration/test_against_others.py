"""The engine's parts against independent derivations and reference libraries."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize
from scipy.stats import norm

from weldcal.calibration import Observation, fit, priors
from weldcal.calibration.engine import Fit
from weldcal.calibration.laplace import Spreads, find_mode
from weldcal.calibration.layout import ParameterLayout
from weldcal.calibration.response import Point, Response, bend
from weldcal.calibration.strips import NO_BLEED, levels_of, strips

SPREAD, DAY = 0.12, 0.07


def _ready(rows: list[Observation]) -> tuple[Response, Spreads]:
    levels = levels_of(rows)
    layout = ParameterLayout(levels, True)
    mean = np.array([[p.mean for p in layout.priors]])
    precision = np.array([[p.sd**-2.0 for p in layout.priors]])
    response = Response(strips(rows, levels, True), layout)
    return response, Spreads(np.array([DAY]), np.array([SPREAD]), mean, precision)


def _pin(spreads: Spreads, layout: ParameterLayout, **values: float) -> None:
    for name, value in values.items():
        at = layout.names.index(name.replace("__", ":"))
        spreads.mean[0, at], spreads.precision[0, at] = value, 1e7


@pytest.fixture
def plain_normal(monkeypatch: pytest.MonkeyPatch) -> None:
    """No wild strips: the contaminated normal becomes a plain one."""
    monkeypatch.setattr(priors, "WILD_STRIP", 1e-12)
    monkeypatch.setattr(priors, "WILD_READING", 1e-12)


def _lost(unknown: np.ndarray, response: Response, spreads: Spreads) -> float:
    """Minus the log of the joint density at coefficients, cell offsets, cell drifts and day offsets."""
    data, layout = response.data, response.layout
    p, cells = len(layout.names), data.cell_count
    u, t, s, d = np.split(unknown, [p, p + cells, p + 2 * cells])
    total = 0.5 * np.sum(spreads.precision[0] * (u - spreads.mean[0]) ** 2)
    share = priors.DAY_SHARE
    total += 0.5 * np.sum(d**2) / (share * DAY**2) + 0.5 * np.sum(s**2)
    total += 0.5 * np.sum((t - d[data.cell_day]) ** 2) / ((1 - share) * DAY**2)
    steep, c = np.exp(u[layout.elasticity]), u[layout.curvature]
    for row, i in enumerate(data.row_strip):
        z = data.features.x[i] @ u[: layout.linear] - data.log_speed[i]
        z += t[data.cell[i]] + data.loading[i] * s[data.cell[i]]
        mu = np.log(6.35) + steep * (1 - np.exp(-c * z)) / c
        sd = np.sqrt(
            data.var[row]
            + SPREAD**2 * (1 + (steep / 3.0) ** 2)
            + steep**2 * data.features.strip_var[i]
        )
        if data.kind[row] == NO_BLEED:
            total -= norm.logcdf((data.value[row] - mu) / sd)
        else:
            total -= norm.logpdf(data.value[row], mu, sd)
    return float(total)


def test_censored_fit_agrees_with_a_likelihood_maximised_by_scipy(
    strip, history, plain_normal
) -> None:
    """Widths and strips without bleed-out; the joint mode by L-BFGS on a likelihood written
    anew, strip by strip, over every coefficient, day and cell offset and drift."""
    none = [strip(speed_m_per_min=v, readings_mm=(0.0, 0.0)) for v in (3.4, 3.0)]
    rows = [
        Observation(**{**_fields(o), "bubbling": None, "bond": None}) for o in (*history(4), *none)
    ]
    response, spreads = _ready(rows)
    data, layout = response.data, response.layout
    _pin(spreads, layout, elasticity__cap=0.5)
    mode = find_mode(response, spreads, steps=40)
    p, cells, days = len(layout.names), data.cell_count, len(data.days)
    start = np.concatenate([spreads.mean[0], np.zeros(2 * cells + days)])
    scale = np.concatenate([spreads.precision[0] ** -0.5, np.full(2 * cells + days, DAY)])
    best = minimize(
        lambda v: _lost(start + v * scale, response, spreads),
        np.zeros_like(start),
        method="L-BFGS-B",
        options={"maxfun": 10**6, "maxiter": 3000, "ftol": 1e-13, "gtol": 1e-7},
    )
    u, t, _, d = np.split(start + best.x * scale, [p, p + cells, p + 2 * cells])
    sds = spreads.precision[0] ** -0.5
    assert np.abs((mode.point.u[0] - u) / sds).max() < 0.02
    assert np.abs(mode.point.t[0] - t).max() < 0.02 * DAY
    assert np.abs(mode.point.d[0] - d).max() < 0.02 * DAY


def _fields(o: Observation) -> dict[str, object]:
    return {name: getattr(o, name) for name in Observation.__slots__}


def test_eliminating_days_gives_what_the_full_matrix_gives(strip, history) -> None:
    """Schur complement against inverting the whole curvature, days and cells included."""
    rows = [*history(3), strip(machine="M2"), strip(speed_m_per_min=1.5)]
    response, spreads = _ready(rows)
    at = find_mode(response, spreads, steps=40).point
    mode = find_mode(response, spreads, at, steps=1)  # its curvatures are those at its start
    data = response.data
    seen = response.evidence(at, spreads.strip)
    p, cells, days = seen.jacobian.shape[2], data.cell_count, len(data.days)
    full = np.zeros((len(data.kind), p + 2 * cells + days))
    full[:, :p] = seen.jacobian[0]
    own = data.cell[data.row_strip]
    rows_at = np.arange(len(own))
    full[rows_at, p + own] = seen.slope[0]
    full[rows_at, p + cells + own] = seen.slope[0] * data.loading[data.row_strip]
    curvature = full.T @ (seen.weight[0][:, None] * full)
    curvature[range(p), range(p)] += spreads.precision[0]
    half = 0.5 * DAY**2
    for k, j in enumerate(data.cell_day):
        a, b = p + k, p + 2 * cells + j
        curvature[a, a] += 1 / half
        curvature[b, b] += 1 / half
        curvature[a, b] -= 1 / half
        curvature[b, a] -= 1 / half
    curvature[range(p + cells, p + 2 * cells), range(p + cells, p + 2 * cells)] += 1.0
    curvature[range(p + 2 * cells, len(curvature)), range(p + 2 * cells, len(curvature))] += (
        1 / half
    )
    whole = np.linalg.inv(curvature)[:p, :p]
    assert np.allclose(np.linalg.inv(mode.hessian[0]), whole, rtol=1e-6, atol=1e-12)


def test_day_offsets_shrink_as_a_mixed_model_says(strip, plain_normal) -> None:
    """Random intercepts against statsmodels' MixedLM on an open panel (Grunfeld's investment
    data, which statsmodels ships), firms as days, log investment scaled to fit a tape."""
    sm = pytest.importorskip("statsmodels.api")
    panel = sm.datasets.grunfeld.load_pandas().data
    y = 0.45 * np.log(panel["invest"].to_numpy()) + 0.3
    firms = panel["firm"].to_numpy()
    mixed = sm.MixedLM(y, np.ones((len(y), 1)), groups=firms).fit(reml=False)
    rows = [
        strip(
            day=str(firm),
            readings_mm=(float(np.exp(v)),),
            reading_step_mm=0.2,
            bond=None,
            bubbling=None,
        )
        for v, firm in zip(y, firms, strict=True)
    ]
    response, spreads = _ready(rows)
    data, layout = response.data, response.layout
    _pin(spreads, layout, elasticity__cap=0.0, curvature=0.0)
    spreads.precision[0, 0] = 1e-4  # the mean is free, as in the mixed model
    spreads.day[0] = float(np.sqrt(np.asarray(mixed.cov_re)[0, 0]))
    own = float(mixed.scale) - float(np.mean(data.var))
    assert own > 0.0
    spreads.strip[0] = float(np.sqrt(own / (1 + 1 / priors.NARROW_ELASTICITY**2)))
    mode = find_mode(response, spreads, steps=60)
    theirs = np.array(
        [float(np.ravel(mixed.random_effects[day])[0]) for day in _as(firms, data.days)]
    )
    assert mode.point.t[0] == pytest.approx(theirs, abs=0.01 * float(spreads.day[0]))


def _as(firms: np.ndarray, days: tuple[str, ...]) -> list[object]:
    by_name = {str(f): f for f in firms}
    return [by_name[d] for d in days]


def test_bond_part_agrees_with_logistic_regression(strip) -> None:
    """Threshold and blur against statsmodels' Logit on an open data set (Spector & Mazzeo's
    grades, which statsmodels ships): grade point average as heat, improvement as bond."""
    sm = pytest.importorskip("statsmodels.api")
    data = sm.datasets.spector.load_pandas()
    gpa, better = data.exog["GPA"].to_numpy(), data.endog.to_numpy() > 0.5
    theirs = sm.Logit(better, sm.add_constant(gpa)).fit(disp=False).params
    rows = [
        strip(
            day=f"{i:03d}",
            speed_m_per_min=float(np.exp(5.0 - g)),
            readings_mm=(),
            bubbling=None,
            bond="good" if b else "cold",
        )
        for i, (g, b) in enumerate(zip(gpa, better, strict=True))
    ]
    response, spreads = _ready(rows)
    layout = response.layout
    linear = {n.replace(":", "__"): 0.0 for n in layout.levels.names}
    _pin(spreads, layout, **linear)
    spreads.day[0] = 1e-4  # no day offsets in a plain logistic regression
    for name in ("cold_at", "cold_blur"):
        spreads.precision[0, layout.names.index(name)] = 1e-6
    spreads.mean[0, layout.names.index("cold_blur")] = 0.0
    mode = find_mode(response, spreads, steps=200)
    cold, blur = np.exp(mode.point.u[0, [layout.names.index(n) for n in ("cold_at", "cold_blur")]])
    assert 1.0 / blur == pytest.approx(float(theirs[1]), rel=0.02)
    assert (cold - 5.0) / blur == pytest.approx(float(theirs[0]), rel=0.02)


@given(st.floats(-1.5, 1.5), st.floats(-1.0, 1.5), st.floats(0.001, 0.3))
def test_width_rises_with_heat_whatever_the_curvature(z: float, c: float, more: float) -> None:
    """Monotone by construction."""
    low, slope, _ = bend(np.array(z), np.array(c))
    high, _, _ = bend(np.array(z + more), np.array(c))
    assert high > low
    assert slope > 0.0


def test_derivatives_agree_with_finite_differences(strip, history) -> None:
    """Of every row's predictor in every coefficient: the likelihood's slope, numerically
    (ln elasticity apart: its effect on the scatter is left to the outer integration)."""
    rows = [
        *history(3),
        strip(bubbling="heavy", bond="cold"),
        strip(bubbling="trace", lap="granules"),
    ]
    response, _ = _ready(rows)
    layout, data = response.layout, response.data
    rng = np.random.default_rng(4)
    u = np.array([p.mean + 0.2 * p.sd * rng.standard_normal() for p in layout.priors])
    zeros = np.zeros((1, data.cell_count))
    spread = np.array([SPREAD])

    def at(v: np.ndarray) -> Point:
        return Point(v[None], zeros, zeros, np.zeros((1, len(data.days))))

    seen = response.evidence(at(u), spread)
    for j, (name, prior) in enumerate(zip(layout.names, layout.priors, strict=True)):
        if name.startswith("elasticity"):
            continue
        step = np.zeros_like(u)
        step[j] = 1e-4 * prior.sd
        higher, lower = (response.evidence(at(v), spread).log_like for v in (u + step, u - step))
        numeric = (higher - lower) / (2 * step[j])
        assert np.allclose(numeric, seen.gradient * seen.jacobian[:, :, j], rtol=1e-3, atol=1e-5)


def _normal(p: priors.Prior, rng: np.random.Generator, n: int) -> np.ndarray:
    return p.mean + p.sd * rng.standard_normal(n)


def _drawn_right(known: Fit, rng: np.random.Generator, n: int) -> np.ndarray:
    """Log of the right speed of the first strip, drawn from the prior."""
    rig = rng.random(n) < priors.OTHER_RIG_SHARE
    right = priors.INTERCEPT.mean + rng.standard_normal(n) * np.where(
        rig, priors.OTHER_RIG_SD, priors.INTERCEPT.sd
    )
    right += _normal(priors.SHEET, rng, n) + _normal(priors.MACHINE, rng, n)
    x = known.data.features.x[0]
    at = {name: i for i, name in enumerate(known.layout.levels.names)}
    for name, prior in (
        ("weather", priors.WEATHER),
        ("weather_curve", priors.WEATHER_CURVE),
        ("two_faces", priors.TWO_FACES),
        ("wind", priors.WIND),
    ):
        right += x[at[name]] * _normal(prior, rng, n)
    day = np.exp(_normal(priors.DAY_SPREAD, rng, n))
    right += day * rng.standard_normal(n)
    return right


def test_draws_agree_with_brute_force_on_one_strip(strip, question, window) -> None:
    """The forecast after one strip against plain importance sampling from the prior with
    two hundred thousand draws: medians within 4 %, interval ends within 10 %."""
    seen = strip(readings_mm=(9.525, 9.525, 11.1125), bubbling=None, bond=None)
    said = fit([seen], window).forecast(question, [1.9], 500.0)[0]
    rng = np.random.default_rng(5)
    n = 200_000
    known = fit([seen], window)
    right = _drawn_right(known, rng, n)
    steep, c = np.exp(_normal(priors.ELASTICITY, rng, n)), _normal(priors.CURVATURE, rng, n)
    own = np.exp(_normal(priors.STRIP_SPREAD, rng, n)) * np.sqrt(
        1 + (steep / priors.NARROW_ELASTICITY) ** 2
    )
    var = known.data.features.strip_var[0]
    scatter = np.sqrt(own**2 + steep**2 * var + known.data.var[0])

    def log_mm(speed: float) -> np.ndarray:
        z = right - np.log(speed)
        return np.log(6.35) + steep * (1 - np.exp(-np.clip(c * z, -3, 3))) / c

    miss = known.data.value[0] - log_mm(1.7)
    k, share = priors.WILD_FACTOR, priors.WILD_STRIP
    weight = (1 - share) * norm.pdf(miss, 0, scatter) + share * norm.pdf(miss, 0, k * scatter)
    median_var = np.pi / 2 * known.data.reading_spread**2 / 5
    again = np.sqrt(own**2 + steep**2 * var + median_var)
    noise = rng.standard_normal(n) * np.where(rng.random(n) < share, k, 1.0)
    drawn = log_mm(1.9) + again * noise
    order = np.argsort(drawn)
    total = np.cumsum(weight[order]) / weight.sum()
    low, middle, high = np.exp(drawn[order][np.searchsorted(total, [0.05, 0.5, 0.95])])
    assert said.width_mm == pytest.approx(middle, rel=0.04)
    assert said.width_low_mm == pytest.approx(low, rel=0.10)
    assert said.width_high_mm == pytest.approx(high, rel=0.10)
