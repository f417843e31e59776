"""The likelihood row by row and Laplace's evidence, against formulas and matrices written anew.

Rows of two sheets and two machines on two days, of every kind: widths, no bleed-out, bubbling of
each degree, bonds. What the model page says of one row is worked out here without the engine.
"""

from __future__ import annotations

from collections.abc import Callable
from math import exp, log, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import norm

from weldcal.calibration import Observation
from weldcal.calibration.features import Array
from weldcal.calibration.laplace import Outer, Spreads, find_mode
from weldcal.calibration.layout import ParameterLayout
from weldcal.calibration.outer import _quadratic, _star
from weldcal.calibration.posterior import _laplace, _prior, propose
from weldcal.calibration.response import Point, Response
from weldcal.calibration.strips import BOND, HEAVY, NO_BLEED, TRACE, WIDTH, levels_of, strips

Make = Callable[..., Observation]
STRIP, DAY = 0.12, 0.07


@pytest.fixture(scope="module")
def response() -> Response:
    """Nine strips."""
    plain = {
        "lap": "selvage",
        "nozzle_c": 500.0,
        "ambient_c": 18.0,
        "wind_m_per_s": 2.0,
        "hour": 9.0,
    }
    rows = [
        Observation(
            day=f"2026-06-0{day}",
            machine=machine,
            sheet=sheet,
            speed_m_per_min=speed,
            sheet_c=sheet_c,
            readings_mm=read,
            bubbling=bubbling,
            bond=bond,
            **plain,  # type: ignore[arg-type]
        )
        for day, machine, sheet, speed, sheet_c, read, bubbling, bond in (
            (1, "M1", "cap", 1.6, 20.0, (6.35,), "none", "good"),
            (1, "M1", "base", 1.7, 26.0, (7.9,), "trace", None),
            (1, "M2", "cap", 1.9, 21.0, (4.8,), "none", "cold"),
            (1, "M2", "base", 1.3, None, (9.5,), "heavy", "good"),
            (2, "M1", "cap", 2.6, 24.0, (0.0,), None, "cold"),
            (2, "M1", "cap", 1.5, 30.0, (6.4,), "trace", "good"),
            (2, "M1", "base", 1.4, 15.0, (25.0,), "none", "good"),
            (2, "M2", "base", 2.0, 22.0, (), "none", "good"),
            (2, "M2", "cap", 2.9, 22.0, (0.0,), None, None),
        )
    ]
    levels = levels_of(rows)
    return Response(strips(rows, levels, True), ParameterLayout(levels, True))


def _random_point(response: Response, seed: int, wide: float = 0.5) -> Point:
    """Coefficients about their priors, and offsets of days and machines."""
    rng = np.random.default_rng(seed)
    table = response.layout.priors
    u = np.array([[p.mean + wide * p.sd * rng.standard_normal() for p in table]])
    cells, days = response.data.cell_count, len(response.data.days)
    return Point(
        u,
        rng.normal(0, DAY, (1, cells)),
        rng.normal(0, 1, (1, cells)),
        rng.normal(0, DAY, (1, days)),
    )


def _log_logistic(x: float) -> float:
    return -log1p_exp(-x)


def log1p_exp(x: float) -> float:
    """ln(1 + e^x)."""
    return x + log(1 + exp(-x)) if x > 0 else log(1 + exp(x))


def _row(response: Response, at: Point, n: int, jump: float) -> float:
    """Log likelihood of one row, by MODEL.md."""
    data, layout = response.data, response.layout
    i = int(data.row_strip[n])
    cell = int(data.cell[i])
    u = dict(zip(layout.names, at.u[0].tolist(), strict=True))
    sheet = (*layout.levels.sheets, "")[int(data.features.sheet[i])]
    linear = float(data.features.x[i] @ at.u[0, : layout.linear])
    day = float(at.t[0, cell] + data.loading[i] * at.s[0, cell])
    z = linear + day - float(data.log_speed[i]) + jump
    unread = float(data.features.strip_var[i])
    kind, value = int(data.kind[n]), float(data.value[n])
    if kind in (WIDTH, NO_BLEED):
        steep, c = exp(u[f"elasticity:{sheet}"]), u["curvature"]
        mu = log(6.35) + steep * (1 - exp(-c * z)) / c
        sd = sqrt(float(data.var[n]) + STRIP**2 * (1 + (steep / 3) ** 2) + steep**2 * unread)
        miss = (value - mu) / sd
        if kind == NO_BLEED:
            return float(np.log(0.96 * norm.cdf(miss) + 0.04 * norm.cdf(miss / 6)))
        usual, wild = 0.96 * norm.pdf(miss), 0.04 * norm.pdf(miss / 6) / 6
        return float(np.log((usual + wild) / sd * sqrt(2 * np.pi)))  # up to a constant
    if kind == BOND:
        threshold, blur = -exp(u["cold_at"]), exp(u["cold_blur"])
    else:
        z -= 0.5 * day  # bubbling feels half of the day
        threshold = exp(u["trace_at"]) + u[f"bubbling:{sheet}"]
        threshold += exp(u["heavy_gap"]) if kind == HEAVY else 0.0
        blur = exp(u["bubbling_blur"])
    odds = (z - threshold) / sqrt(blur**2 + 3 / np.pi**2 * unread)
    sightings = sum(
        1
        for m, other in enumerate(data.kind)
        if other == TRACE and data.cell[data.row_strip[m]] == cell
    )
    counts = 1.0 if kind == BOND else 1 / (1 + 0.4 * (sightings - 1))
    return counts * _log_logistic(odds if value else -odds)


@settings(max_examples=25)
@given(seed=st.integers(0, 10_000), jump=st.sampled_from([0.0, -0.6, 0.4]))
def test_every_row_says_what_the_model_page_says(
    response: Response, seed: int, jump: float
) -> None:
    """Both ways the engine works it out."""
    at = _random_point(response, seed)
    spread = np.array([STRIP])
    expected = [_row(response, at, n, jump) for n in range(len(response.data.kind))]
    found = response.row_log_like(at, spread, np.array([jump]))[0]
    np.testing.assert_allclose(found, expected, rtol=1e-7, atol=1e-9)
    if not jump:
        np.testing.assert_allclose(response.evidence(at, spread).log_like[0], found, rtol=1e-9)
        assert response.log_like(at, spread)[0] == pytest.approx(sum(expected))


@settings(max_examples=15)
@given(seed=st.integers(0, 10_000))
def test_a_rows_slopes_are_those_of_its_likelihood(response: Response, seed: int) -> None:
    """In every coefficient but the elasticities, and in the offset of its machine's day."""
    at, spread = _random_point(response, seed), np.array([STRIP])
    seen = response.evidence(at, spread)

    def slope(high: Point, low: Point, h: float) -> Array:
        rows = [response.row_log_like(p, spread)[0] for p in (high, low)]
        return np.asarray((rows[0] - rows[1]) / (2 * h))

    for j, name in enumerate(response.layout.names):
        if name.startswith("elasticity"):  # its effect on the scatter is left out
            continue
        step = np.zeros_like(at.u)
        step[0, j] = h = 1e-5
        got = slope(*(Point(at.u + k * step, at.t, at.s, at.d) for k in (1, -1)), h)
        expected = (seen.gradient * seen.jacobian[:, :, j])[0]
        np.testing.assert_allclose(got, expected, rtol=2e-3, atol=1e-4, err_msg=name)
    got = slope(*(Point(at.u, at.t + k * 1e-5, at.s, at.d) for k in (1, -1)), 1e-5)
    np.testing.assert_allclose(got, (seen.gradient * seen.slope)[0], rtol=2e-3, atol=1e-4)


def test_a_classes_weight_is_its_curvature(response: Response) -> None:
    """p(1 - p) for what is yes or no, seen in the gradient."""
    at, spread = _random_point(response, 5, wide=0.2), np.array([STRIP])
    seen = response.evidence(at, spread)
    data = response.data
    for n, kind in enumerate(data.kind):
        cell = data.cell[data.row_strip[n]]

        def gradient(h: float, cell: int = int(cell), n: int = n) -> float:
            t = at.t.copy()
            t[0, cell] += h
            there = response.evidence(Point(at.u, t, at.s, at.d), spread)
            return float(there.gradient[0, n])

        bends = -(gradient(1e-4) - gradient(-1e-4)) / 2e-4
        expected = seen.weight[0, n] * seen.slope[0, n]
        if kind >= TRACE:
            assert bends == pytest.approx(expected, rel=1e-2, abs=1e-5)


def _spreads(response: Response, day: list[float], strip: list[float]) -> Spreads:
    table = response.layout.priors
    mean = np.tile([p.mean for p in table], (len(day), 1))
    precision = np.tile([p.sd**-2.0 for p in table], (len(day), 1))
    return Spreads(np.array(day), np.array(strip), mean, precision)


def _log_joint(response: Response, spreads: Spreads, k: int, at: Point) -> float:
    """Log density of all that was seen and of every unknown, normal densities whole."""
    data = response.data
    total = float(response.log_like(at, spreads.strip[k : k + 1])[0])
    sd = spreads.precision[k] ** -0.5
    total += norm.logpdf(at.u[0], spreads.mean[k], sd).sum()
    half = sqrt(0.5) * spreads.day[k]
    total += norm.logpdf(at.d[0], 0, half).sum()
    total += norm.logpdf(at.t[0], at.d[0, data.cell_day], half).sum()
    return float(total + norm.logpdf(at.s[0]).sum())


def _curvature(response: Response, spreads: Spreads, k: int, at: Point) -> Array:
    """The whole matrix of curvatures (Gauss-Newton), order u, t, s, d."""
    data = response.data
    seen = response.evidence(at, spreads.strip[k : k + 1])
    p, cells, days = at.u.shape[1], data.cell_count, len(data.days)
    full = np.zeros((len(data.kind), p + 2 * cells + days))
    own = data.cell[data.row_strip]
    rows = np.arange(len(own))
    full[:, :p] = seen.jacobian[0]
    full[rows, p + own] = seen.slope[0]
    full[rows, p + cells + own] = seen.slope[0] * data.loading[data.row_strip]
    out = full.T @ (seen.weight[0][:, None] * full)
    share = 1 / (0.5 * spreads.day[k] ** 2)
    prior = [*spreads.precision[k], *[share] * cells, *[1.0] * cells, *[share] * days]
    out += np.diag(prior)
    for c, j in enumerate(data.cell_day):
        a, b = p + c, p + 2 * cells + j
        out[b, b] += share
        out[a, b] -= share
        out[b, a] -= share
    return np.asarray(out)


def test_at_the_mode_nothing_pulls(response: Response) -> None:
    """The gradient in coefficients, machines' days, drifts and days is 0, for both spreads."""
    spreads = _spreads(response, [0.05, 0.12], [0.10, 0.16])
    found = find_mode(response, spreads, steps=80).point
    for k in range(2):
        at = Point(*(getattr(found, name)[k : k + 1] for name in Point.__slots__))
        sds = np.sqrt(np.diagonal(np.linalg.inv(_curvature(response, spreads, k, at))))
        flat = np.concatenate([getattr(at, n)[0] for n in Point.__slots__])
        cuts = np.cumsum([getattr(at, n).shape[1] for n in Point.__slots__])[:-1]

        def joint(values: Array, k: int = k, cuts: Array = cuts) -> float:
            return _log_joint(
                response, spreads, k, Point(*(part[None] for part in np.split(values, cuts)))
            )

        for n, sd in enumerate(sds):
            if n < len(response.layout.names) and "elasticity" in response.layout.names[n]:
                continue
            step = np.zeros_like(flat)
            step[n] = 1e-4 * sd
            pull = (joint(flat + step) - joint(flat - step)) / (2 * step[n])
            assert pull * sd == pytest.approx(0.0, abs=0.02), n


def test_laplaces_evidence_tells_spreads_apart_as_the_whole_matrix_does(
    response: Response,
) -> None:
    """ln of the joint density at the mode, less half the log determinant of all curvatures."""
    spreads = _spreads(response, [0.05, 0.12, 0.07], [0.10, 0.16, 0.12])
    first = find_mode(response, spreads, steps=80).point
    mode = find_mode(response, spreads, first, steps=1)
    expected = []
    for k in range(3):
        at = Point(*(getattr(first, name)[k : k + 1] for name in Point.__slots__))
        whole = np.linalg.slogdet(_curvature(response, spreads, k, at))[1]
        expected.append(_log_joint(response, spreads, k, at) - 0.5 * whole)
    found = mode.log_evidence
    np.testing.assert_allclose(found - found[0], np.array(expected) - expected[0], atol=1e-6)


@pytest.mark.parametrize("size", [2, 3])
def test_differences_on_a_star_give_a_parabolas_own_slope_and_bend(size: int) -> None:
    """Exactly, whatever the step."""
    rng = np.random.default_rng(size)
    bend = rng.normal(size=(size, size))
    bend, slope = bend + bend.T, rng.normal(size=size)
    for h in (0.5, 0.3):
        points = h * _star(size)
        value = 2.0 + points @ slope + 0.5 * np.einsum("ki,ij,kj->k", points, bend, points)
        got_slope, got_bend = _quadratic(value, _star(size), h)
        assert got_slope == pytest.approx(slope)
        assert got_bend == pytest.approx(bend)


def test_a_days_offsets_given_the_coefficients_are_those_of_the_whole_matrix(
    response: Response,
) -> None:
    """Laplace's chain of day, machine's day and drift: the conditional normal, by inversion."""
    data = response.data
    p, cells = len(response.layout.names), data.cell_count
    spreads = _spreads(response, [0.05, 0.12], [0.10, 0.16])
    first = find_mode(response, spreads, steps=80).point
    mode = find_mode(response, spreads, first, steps=1)
    outer = Outer(np.array([0.5, 0.5]), spreads, mode)
    which = np.array([0, 1])
    away = 0.3 * np.random.default_rng(4).normal(size=(2, p)) * spreads.precision**-0.5
    for day, machine in data.cells:
        k, j = data.cells.index((day, machine)), data.days.index(day)
        chain = _laplace(data, outer, which, (day, machine), away, _prior(outer, which))
        for m in which:
            at = Point(*(getattr(mode.point, n)[m : m + 1] for n in Point.__slots__))
            whole = _curvature(response, spreads, m, at)
            cov = np.linalg.inv(whole[p:, p:])
            shift = -cov @ whole[p:, :p] @ away[m]
            mine = [2 * cells + j, k, cells + k]  # d, t, s
            found = cov[np.ix_(mine, mine)]
            by_d, by_t = chain.t_by_d[m], chain.s_by_t[m]
            root = np.array([[1, 0, 0], [by_d, 1, 0], [by_d * by_t, by_t, 1]])
            own = np.diag([chain.d_var[m], chain.t_var[m], chain.s_var[m]])
            np.testing.assert_allclose(root @ own @ root.T, found, rtol=1e-3, atol=1e-6)
            modes = np.array([at.d[0, j], at.t[0, k], at.s[0, k]])
            means = np.array([chain.d[m], chain.t[m], chain.s[m]])
            np.testing.assert_allclose(means, modes + shift[mine], atol=2e-4)
    # Another machine that day: it shares the day, and half of the variance is its own.
    other = _laplace(data, outer, which, (data.days[0], "M9"), away, _prior(outer, which))
    assert other.t_var == pytest.approx(0.5 * spreads.day**2)
    assert (other.t_by_d.tolist(), other.s_var.tolist()) == ([1.0, 1.0], [1.0, 1.0])
    assert other.t == pytest.approx(other.d)
    alone = _prior(outer, which)
    assert alone.d_var == pytest.approx(0.5 * spreads.day**2)
    assert alone.t_var == pytest.approx(0.5 * spreads.day**2)
    assert alone.s_var.tolist() == [1.0, 1.0]
    assert not alone.d.any() and not alone.t.any() and not alone.s.any()


@pytest.mark.parametrize("machine", ["M1", "M9"])
@pytest.mark.parametrize("day", ["2026-06-01", "2026-07-01"])
def test_draws_for_a_day_are_of_what_it_shares(response: Response, day: str, machine: str) -> None:
    """A day not seen: its prior, spread 0.12; a quarter of a seen day's offsets as if it were not."""
    spreads = _spreads(response, [0.12], [0.12])
    mode = find_mode(response, spreads, steps=80)
    outer = Outer(np.ones(1), spreads, mode)
    count = 40_000
    found = propose(
        response.data, outer, np.zeros(count, int), (day, machine), np.random.default_rng(1)
    )
    assert found.u.mean(axis=0) == pytest.approx(mode.point.u[0], abs=1e-9)
    if day not in response.data.days:
        assert (found.t.std(), found.s.std()) == pytest.approx((0.12, 1.0), rel=0.02)
    if (day, machine) not in response.data.cells:
        assert not found.log_weight.any()
        return
    # The weights turn the mixture into Laplace's normal: their mean is 1.
    weight = np.exp(found.log_weight)
    assert weight.mean() == pytest.approx(1.0, abs=0.02)
    k = response.data.cells.index((day, machine))
    assert (weight @ found.t) / count == pytest.approx(mode.point.t[0, k], abs=0.005)
