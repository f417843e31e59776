"""Fault rates: other hands' intervals, dispersions and adjustments, and how often we are fooled."""

from __future__ import annotations

import random

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest, poisson
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.rates import confint_poisson

from weldcal.quality.faults import (
    CHANCE,
    PER_M,
    STANDS_OUT,
    TOO_FEW,
    Work,
    benjamini_hochberg,
    dispersion_of,
    fault_rates,
    interval,
    nameless,
    overlaps,
)


@given(st.integers(0, 200), st.floats(1, 5000), st.sampled_from([0.8, 0.9, 0.95, 0.99]))
def test_intervals_are_exact_poisson_where_faults_do_not_clump(
    faults: int, length: float, confidence: float
) -> None:
    """Garwood's limits by statsmodels, and by scipy's tails at the limits."""
    low, high = interval(faults, length, 1.0, confidence)
    expected = confint_poisson(faults, length / PER_M, method="exact-c", alpha=1 - confidence)
    assert (low, high) == pytest.approx(tuple(float(x) for x in expected), rel=1e-7, abs=1e-12)
    tail = (1 - confidence) / 2
    assert poisson.cdf(faults, high * length / PER_M) == pytest.approx(tail, rel=1e-6)


def test_no_fault_in_100_ft_is_up_to_3_69() -> None:
    """Two-sided 95 % for a count of 0: ln 40 = 3.689 (Garwood 1936)."""
    assert interval(0, PER_M) == (0.0, pytest.approx(3.6889, abs=1e-4))


WORKS = st.lists(
    st.tuples(st.integers(0, 12), st.floats(5, 60), st.sampled_from("XYZ")), min_size=6, max_size=30
)


@given(WORKS)
def test_dispersion_is_that_of_a_poisson_regression(rows: list[tuple[int, float, str]]) -> None:
    """statsmodels' GLM with one rate a group and Pearson's scale."""
    work = [Work(faults, length, {"who": who}) for faults, length, who in rows]
    sums = {who: sum(f for f, _l, w in rows if w == who) for _f, _l, who in rows}
    levels = sorted(sums)
    if min(sums.values()) == 0 or len(levels) == len(rows):
        return
    if any(len({(f, length) for f, length, w in rows if w == level}) == 1 for level in levels):
        return  # an exact fit, at which the regression's own search stumbles
    design = np.array([[float(who == level) for level in levels] for _f, _l, who in rows])
    model = sm.GLM(
        [f for f, _l, _w in rows],
        design,
        family=sm.families.Poisson(),
        exposure=np.array([length for _f, length, _w in rows]),
    ).fit(scale="X2")
    assert dispersion_of(work, "who") == pytest.approx(max(1.0, float(model.scale)), rel=1e-6)


@given(st.lists(st.floats(0, 1), min_size=1, max_size=20))
def test_adjusted_chances_are_those_of_statsmodels(chances: list[float]) -> None:
    """Benjamini and Hochberg 1995 by another hand."""
    expected = multipletests(chances, method="fdr_bh")[1]
    assert benjamini_hochberg(chances) == pytest.approx(list(expected), abs=1e-12)


@given(st.integers(0, 30), st.integers(0, 30), st.floats(10, 900), st.floats(10, 900))
def test_two_groups_without_clumps_are_compared_exactly(
    a: int, b: int, long_a: float, long_b: float
) -> None:
    """Given all faults, one group's are binomial with its share of length: scipy's exact tails."""
    if a + b == 0:
        return
    work = [Work(a, long_a, {"m": "blue"}), Work(b, long_b, {"m": "red"})]
    first = fault_rates(work).rates[0]
    share = long_a / (long_a + long_b)
    tails = [binomtest(a, a + b, share, side).pvalue for side in ("less", "greater")]
    assert first.p == pytest.approx(min(1.0, 2 * min(tails)), rel=1e-6, abs=1e-12)


def clumped(rng: random.Random, mean: float, dispersion: float) -> int:
    """A negative binomial count: variance is `dispersion` times the mean."""
    if dispersion == 1.0:
        rate = mean
    else:
        rate = rng.gammavariate(mean / (dispersion - 1.0), dispersion - 1.0)
    return int(poisson.ppf(rng.random(), rate)) if rate > 0 else 0


@pytest.mark.parametrize("dispersion", [1.0, 3.0])
def test_intervals_hold_as_often_as_they_say_though_faults_clump(dispersion: float) -> None:
    """300 simulated crews, 25 runs of 30 m at 2 faults per 100 ft: 95 % intervals."""
    rng = random.Random(21)
    held = narrow = 0
    for _ in range(300):
        work = [
            Work(clumped(rng, 2 * 30 / PER_M, dispersion), 30.0, {"who": "X"}) for _ in range(25)
        ]
        (rate,) = fault_rates(work).rates
        held += rate.low <= 2.0 <= rate.high
        low, high = interval(rate.faults, rate.length_m)
        narrow += low <= 2.0 <= high
    assert 0.92 <= held / 300 <= 0.99
    if dispersion > 1:
        assert narrow / 300 < 0.85  # what it would be if clumps were not allowed for


def test_crews_that_do_not_differ_seldom_stand_out() -> None:
    """400 roofs, six operators, four machines, clumps of three: about one false alarm in twenty.

    Allowing for all looked at; before that, a third of the roofs show a difference somewhere.
    """
    rng = random.Random(8)
    alarmed = tempted = 0
    for _ in range(400):
        work = [
            Work(
                clumped(rng, 2.0, 3.0),
                30.0,
                {"operator": f"O{n % 6}", "machine": f"M{rng.randrange(4)}"},
            )
            for n in range(60)
        ]
        flags = [rate.flag for rate in fault_rates(work).rates]
        alarmed += STANDS_OUT in flags
        tempted += any(flag != CHANCE for flag in flags)
    assert alarmed / 400 <= 0.08
    assert tempted / 400 > 0.2


@pytest.mark.parametrize(
    ("runs", "faults", "rough"),
    [(16, 50, ()), (15, 50, ("m",)), (16, 49, ("m",)), (40, 50, ()), (16, 90, ())],
)
def test_what_says_too_little_of_how_faults_clump(
    runs: int, faults: int, rough: tuple[str, ...]
) -> None:
    """Fewer than 50 faults, or than 30 runs beyond one for each rate: two machines, 16 runs each."""
    work = [
        Work(faults if n == 0 else 0, 30.0, {"m": ("blue", "red")[n % 2]}) for n in range(2 * runs)
    ]
    assert fault_rates(work).rough == rough


def test_where_nothing_was_found_no_group_is_unlike_another() -> None:
    """The chance of no fault among none is 1."""
    rates = fault_rates([Work(0, 30, {"m": "blue"}), Work(0, 60, {"m": "red"})]).rates
    assert [(r.p, r.p_among, r.flag) for r in rates] == [(1.0, 1.0, CHANCE)] * 2


def test_too_little_work_never_makes_a_group_stand_out() -> None:
    """Twelve runs of clumped faults: a large difference is told as too few to say."""
    rng = random.Random(9)
    flags = set()
    for _ in range(200):
        work = [Work(clumped(rng, 2.0, 5.0), 30.0, {"operator": f"O{n % 3}"}) for n in range(12)]
        found = fault_rates(work)
        flags |= {rate.flag for rate in found.rates}
        assert found.rough == ("operator",)
    assert TOO_FEW in flags and STANDS_OUT not in flags


def crew() -> list[Work]:
    """RA has all the cold mornings and nothing else; invented."""
    rng = random.Random(2)
    work = []
    for n in range(60):
        who = ("RA", "BO", "CD")[n % 3]
        hour = "07" if who == "RA" else rng.choice(["10", "13"])
        faults = clumped(rng, 6.0 if who == "RA" else 1.0, 1.5)
        work.append(Work(faults, 30.0, {"operator": who, "hour": hour}))
    return work


def test_one_operator_who_always_had_the_cold_mornings_is_confounded() -> None:
    """RA stands out, and so does seven o'clock; nobody can tell which it is."""
    rates = {(r.factor, r.level): r for r in fault_rates(crew()).rates}
    ra = rates[("operator", "RA")]
    assert ra.flag == STANDS_OUT
    assert [(o.factor, o.level, o.share) for o in ra.confounded] == [("hour", "07", 1.0)]
    assert [o.level for o in rates[("hour", "07")].confounded] == ["RA"]
    assert rates[("operator", "BO")].confounded == ()


def test_overlap_is_length_of_both_over_length_of_either() -> None:
    """20 m of both, 10 m of one only, 10 m of the other only: a half."""
    work = [
        Work(0, 20, {"a": "x", "b": "y"}),
        Work(0, 10, {"a": "x", "b": "z"}),
        Work(0, 10, {"a": "w", "b": "y"}),
    ]
    found = overlaps(work)
    assert found[(("a", "x"), ("b", "y"))] == pytest.approx(0.5)
    assert found[(("b", "y"), ("a", "x"))] == pytest.approx(0.5)
    assert (("a", "w"), ("b", "z")) not in found


def test_names_can_be_left_out() -> None:
    """Numbers for people; the rates are the same."""
    named, plain = fault_rates(crew()), fault_rates(nameless(crew()))
    assert "RA" not in str(plain)
    assert [r.per_100ft for r in plain.rates] == [r.per_100ft for r in named.rates]
    assert plain.rates[0].level == "operator 1"


def test_a_factor_of_one_level_is_compared_with_nothing() -> None:
    """Its rate is told, without a chance or a flag."""
    found = fault_rates([Work(0, 30, {"sheet": "sbs"}), Work(1, 30, {"sheet": "sbs"})])
    (rate,) = found.rates
    assert (rate.p, rate.flag, found.looked_at) == (None, None, 0)


def test_work_that_nobody_noted_a_factor_for_is_left_out_of_it() -> None:
    """Unknown hours are not a group."""
    found = fault_rates([Work(1, 30, {"m": "blue", "hour": "07"}), Work(2, 30, {"m": "red"})])
    assert [(r.factor, r.level) for r in found.rates] == [
        ("m", "blue"),
        ("m", "red"),
        ("hour", "07"),
    ]
    assert fault_rates([]).rates == ()


@given(WORKS)
def test_rates_add_up_to_all_faults(rows: list[tuple[int, float, str]]) -> None:
    """And each lies within its interval; allowing for many never lowers a chance."""
    work = [Work(faults, length, {"who": who}) for faults, length, who in rows]
    found = fault_rates(work)
    assert sum(r.faults for r in found.rates) == sum(faults for faults, _l, _w in rows)
    for rate in found.rates:
        assert rate.low <= rate.per_100ft <= rate.high
        assert rate.p is None or (rate.p_among or 0.0) >= rate.p - 1e-12


@pytest.mark.parametrize("bad", [Work(-1, 30, {}), Work(0, 0, {})])
def test_what_cannot_be_is_refused(bad: Work) -> None:
    """Fewer faults than none, work of no length."""
    with pytest.raises(ValueError, match="not below 0"):
        fault_rates([bad])
