"""Samples: published intervals and factors, and laws of what samples can show."""

from __future__ import annotations

import math
import random
from collections import Counter

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom, nct, norm
from statsmodels.stats.proportion import proportion_confint

from weldcal.quality.sampling import (
    SpacingRules,
    design_effect,
    draw_places,
    feet_needed,
    loads,
    most_bad,
    next_spacing,
    rule_of_three,
    samples_needed,
    share_bad,
    tolerance_factor,
)


def test_four_bad_of_twenty_as_in_the_handbook() -> None:
    """NIST/SEMATECH e-Handbook 7.2.4.2: 4 of 20 at 90 %, 0.07135 to 0.40103."""
    found = share_bad(4, 20, 0.90)
    assert (found.low, found.high) == pytest.approx((0.07135, 0.40103), abs=5e-6)


@given(st.integers(1, 300), st.data(), st.sampled_from([0.8, 0.9, 0.95, 0.99]))
def test_intervals_agree_with_statsmodels(n: int, data: st.DataObject, confidence: float) -> None:
    """Clopper-Pearson by another hand."""
    bad = data.draw(st.integers(0, n))
    found = share_bad(bad, n, confidence)
    expected = proportion_confint(bad, n, alpha=1 - confidence, method="beta")
    assert (found.low, found.high) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(("n", "three", "exact"), [(50, 0.06, 0.0582), (1000, 0.003, 0.002991)])
def test_the_rule_of_three(n: int, three: float, exact: float) -> None:
    """Hanley & Lippman-Hand 1983: none bad in 50 or 1000."""
    assert rule_of_three(n) == pytest.approx(three)
    assert most_bad(0, n) == pytest.approx(exact, abs=5e-5)


def test_the_rule_of_three_is_not_given_for_few_samples() -> None:
    """It is meant for 30 and more."""
    assert rule_of_three(29) is None
    assert rule_of_three(30) == pytest.approx(0.1)
    assert share_bad(0, 30).by_three == pytest.approx(0.1)
    assert share_bad(0, 29).by_three is None
    assert share_bad(1, 30).by_three is share_bad(0, 30, 0.9).by_three is None


@pytest.mark.parametrize(("most", "n"), [(0.10, 29), (0.05, 59), (0.01, 299)])
def test_zero_failure_plans(most: float, n: int) -> None:
    """Success-run theorem, 95 %: 29, 59 and 299 without a failure (n = ln 0.05 / ln(1 - p))."""
    assert samples_needed(most) == n


@given(st.floats(0.005, 0.6), st.floats(0.5, 0.99), st.integers(0, 5))
def test_samples_needed_are_just_enough(most: float, confidence: float, allowed: int) -> None:
    """By scipy's binomial: this many show it, one fewer does not."""
    n = samples_needed(most, confidence, allowed)
    assert binom.cdf(allowed, n, most) <= 1 - confidence + 1e-9
    assert n - 1 == allowed or binom.cdf(allowed, n - 1, most) > 1 - confidence - 1e-9


@given(st.integers(1, 200), st.data())
def test_more_good_samples_never_show_less(n: int, data: st.DataObject) -> None:
    """One more sample found good lowers the upper limit; one more found bad raises it."""
    bad = data.draw(st.integers(0, n))
    assert most_bad(bad, n + 1) <= most_bad(bad, n) + 1e-12
    assert most_bad(bad + 1, n + 1) >= most_bad(bad, n) - 1e-12


def test_the_tolerance_factor_of_the_handbook() -> None:
    """NIST/SEMATECH e-Handbook 7.2.6.3, n 43, 90 % at 99 %: 1.8752 approximate, 1.8740 exact."""
    assert tolerance_factor(43, 0.90, 0.99) == pytest.approx(1.8740, abs=5e-5)
    assert tolerance_factor(43, 0.90, 0.99) == pytest.approx(1.8752, abs=2e-3)


@given(st.integers(2, 200), st.floats(0.5, 0.99), st.floats(0.5, 0.99))
def test_the_tolerance_factor_is_the_noncentral_t(n: int, coverage: float, conf: float) -> None:
    """Against scipy.stats, another implementation."""
    away = norm.ppf(coverage) * n**0.5
    assert tolerance_factor(n, coverage, conf) == pytest.approx(
        nct.ppf(conf, n - 1, away) / n**0.5, rel=1e-5
    )


def test_the_tolerance_bound_holds_as_often_as_it_says() -> None:
    """2000 jobs of 8 peel samples, true loads normal: 95 % of the bounds lie below the 10th centile."""
    rng = random.Random(5)
    factor = tolerance_factor(8)
    centile = norm.ppf(0.10)
    held = 0
    for _ in range(2000):
        drawn = [rng.gauss(0, 1) for _ in range(8)]
        mean = sum(drawn) / 8
        spread = (sum((x - mean) ** 2 for x in drawn) / 7) ** 0.5
        held += mean - factor * spread <= centile
    assert held / 2000 == pytest.approx(0.95, abs=0.015)


def test_peel_loads_against_a_limit() -> None:
    """Five samples: mean, spread, how they parted, and whether the bound clears the limit."""
    found = loads([4.0, 4.2, 3.8, 4.1, 3.9], ["in the sheet"] * 4 + ["at the lap"], least=3.0)
    assert (found.mean, found.spread) == pytest.approx((4.0, 0.158114), abs=1e-6)
    assert found.bound == pytest.approx(4.0 - 3.4066 * 0.158114, abs=1e-4)
    assert (found.below, found.shown) == (0, True)
    assert found.parted == {"in the sheet": 4, "at the lap": 1}
    assert loads([4.0, 4.2, 2.9], least=3.0).shown is False
    assert loads([4.0], least=3.0).shown is None


def test_feet_of_one_lap_count_for_less() -> None:
    """Ten alike feet a lap, correlation 0.3: more than if none were alike, less than 3.7 times."""
    assert design_effect(10, 0.3) == pytest.approx(3.7)
    found = feet_needed(0.05, per_lap=10)
    assert found.independent == 59
    assert 59 < found.pieces < 59 * 3.7
    assert found.length_m == pytest.approx(found.pieces * 0.3048)
    assert feet_needed(0.05, per_lap=10, within_lap=0.0).pieces == 59


def test_whole_laps_of_33_ft_ask_what_their_own_risk_needs() -> None:
    """Nine laps, 297 ft, where the design effect would ask 59 x (1 + 32 x 0.3) = 626.

    By hand: P(no bad foot in 33) = B(a, b + 33)/B(a, b), a = 0.05 x 0.7/0.3, b = 0.95 x 0.7/0.3.
    """
    found = feet_needed(0.05, per_lap=33)
    a, b = 0.05 * 0.7 / 0.3, 0.95 * 0.7 / 0.3
    none = math.prod((b + n) / (a + b + n) for n in range(33))
    laps = math.ceil(math.log(0.05) / math.log(none))
    assert (found.laps, laps) == (9, 9)
    assert found.risk <= 0.05
    assert 8 * 33 < found.pieces <= 297


@pytest.mark.parametrize(
    ("most", "per_lap", "alike", "allowed"),
    [
        (0.05, 10, 0.3, 0),
        (0.05, 33, 0.3, 0),
        (0.1, 8, 0.2, 2),
        (0.02, 20, 0.5, 1),
        (0.2, 5, 0.0, 1),
    ],
)
def test_the_size_by_feet_has_the_risk_asked_by_simulation(
    most: float, per_lap: int, alike: float, allowed: int
) -> None:
    """Laps whose shares are beta, at just the share that may be bad: passed at most 5 % of the time.

    With two laps fewer they pass more often: the size is no larger than it needs to be.
    """
    found = feet_needed(most, per_lap=per_lap, within_lap=alike, allowed=allowed)
    rng = np.random.default_rng(7)

    def passed(pieces: int) -> float:
        rows = [per_lap] * (pieces // per_lap) + [pieces % per_lap]
        n = 40_000
        if alike:
            a, b = (p * (1 - alike) / alike for p in (most, 1 - most))
            shares = rng.beta(a, b, size=(n, len(rows)))
        else:
            shares = np.full((n, len(rows)), most)
        bad = rng.binomial(np.array(rows), shares).sum(axis=1)
        return float((bad <= allowed).mean())

    assert passed(found.pieces) <= 0.05 + 0.005
    assert passed(found.pieces) == pytest.approx(found.risk, abs=0.005)
    assert passed(max(1, found.pieces - 2 * per_lap)) > 0.05


def test_the_design_effect_is_that_of_clustered_feet() -> None:
    """Variance of the share bad on simulated laps whose feet share a cause, against the formula.

    Lap shares from a beta distribution with mean 0.1 and correlation 1/(a + b + 1) = 0.25.
    """
    rng = random.Random(11)
    a, b, m, laps = 0.3, 2.7, 8, 50
    means = []
    for _ in range(1500):
        bad = 0
        for _ in range(laps):
            share = rng.betavariate(a, b)
            bad += sum(rng.random() < share for _ in range(m))
        means.append(bad / (laps * m))
    mean = sum(means) / len(means)
    variance = sum((x - mean) ** 2 for x in means) / (len(means) - 1)
    simple = 0.1 * 0.9 / (laps * m)
    assert variance / simple == pytest.approx(design_effect(m, 0.25), rel=0.12)


STRETCHES = [("A1", 0.0, 30.0), ("A2", 5.0, 5.0), ("A3", 12.0, 2.0)]


def test_places_fall_by_length() -> None:
    """Three of four on the lap of 30 m, none on the one of no length, all within."""
    places = draw_places(STRETCHES, 4000, seed=2)
    count = Counter(place.seam for place in places)
    assert count["A1"] / 4000 == pytest.approx(0.75, abs=0.03)
    assert count["A2"] == 0
    spans = {name: sorted((a, b)) for name, a, b in STRETCHES}
    assert all(spans[p.seam][0] <= p.at_m <= spans[p.seam][1] for p in places)
    for seam, middle in (("A1", 15), ("A3", 7)):
        on_seam = sorted(place.at_m for place in places if place.seam == seam)
        assert on_seam[len(on_seam) // 2] == pytest.approx(middle, abs=1)


@given(st.integers(0, 2**63), st.integers(0, 20))
def test_a_seed_draws_the_same_places_again(seed: int, count: int) -> None:
    """And asking for more begins with the same."""
    first = draw_places(STRETCHES, count, seed)
    assert draw_places(STRETCHES, count + 5, seed)[:count] == first


def test_a_seed_written_down_draws_these_places() -> None:
    """Random(42).random() begins 0.6394268 (as Python documents, on any version)."""
    (place,) = draw_places([("A1", 0.0, 100.0)], 1, seed=42)
    assert place.at_m == pytest.approx(63.94268)


P, F = True, False
# (outcomes, spacing m, why): 150 m first, half after a failure, half as much again after five passes
SPACINGS = [
    ([], 150.0, "first"),
    ([P], 150.0, "held"),
    ([F], 75.0, "tightened"),
    ([P] * 5, 225.0, "relaxed"),
    ([P] * 10, 300.0, "relaxed"),
    ([P] * 4 + [F], 75.0, "tightened"),
    ([F] * 6, 15.0, "tightened"),
    ([F, P, P, P, P, P], 112.5, "relaxed"),
]


@pytest.mark.parametrize(("outcomes", "spacing", "why"), SPACINGS)
def test_spacing_tightens_and_relaxes(outcomes: list[bool], spacing: float, why: str) -> None:
    """Our own numbers; the principle is to reward good welding and penalise poor."""
    found = next_spacing(outcomes)
    assert (found.spacing_m, found.why) == (pytest.approx(spacing), why)


@given(st.lists(st.booleans(), max_size=40))
def test_spacing_keeps_its_bounds_and_never_grows_on_a_failure(outcomes: list[bool]) -> None:
    """And a failure today never gives a wider spacing than a pass would."""
    rules = SpacingRules()
    passed, failed = next_spacing([*outcomes, P]), next_spacing([*outcomes, F])
    assert rules.least_m <= failed.spacing_m <= passed.spacing_m <= rules.most_m
    assert failed.spacing_m <= next_spacing(outcomes).spacing_m


@pytest.mark.parametrize(
    "ask",
    [
        lambda: share_bad(3, 2),
        lambda: share_bad(0, 0),
        lambda: share_bad(0, 5, 1.0),
        lambda: samples_needed(0.0),
        lambda: samples_needed(1e-9),
        lambda: loads([]),
        lambda: design_effect(0.5),
        lambda: design_effect(0.99),
        lambda: design_effect(2.0, 1.01),
        lambda: design_effect(2.0, -0.01),
        lambda: share_bad(0, 5, 1.1),
        lambda: share_bad(0, 5, 0.0),
        lambda: share_bad(-1, 5),
        lambda: samples_needed(1.0),
        lambda: samples_needed(1.1),
        lambda: samples_needed(0.5, 0.0),
        lambda: samples_needed(0.5, 1.0),
        lambda: samples_needed(0.5, 1.1),
        lambda: samples_needed(0.5, allowed=-1),
        lambda: draw_places([("A1", 3, 3)], 1, 0),
    ],
)
def test_what_cannot_be_asked_is_refused(ask: object) -> None:
    """More bad than samples, no samples, certainty, one load, no lap."""
    with pytest.raises(ValueError, match=r"."):
        ask()  # type: ignore[operator]


def test_where_all_were_bad_all_may_be() -> None:
    """And where all were good none may be bad; feet wholly alike count as one."""
    all_bad = share_bad(5, 5)
    assert (all_bad.high, all_bad.most) == (1.0, 1.0)
    assert share_bad(0, 5).low == 0.0
    assert most_bad(5, 5) == 1.0 > most_bad(4, 5)
    assert (design_effect(1.0, 1.0), design_effect(7.0, 1.0), design_effect(7.0, 0.0)) == (1, 7, 1)


@pytest.mark.parametrize(("allowed", "last"), [(0, 1), (1, 2), (3, 4)])
def test_where_a_lap_is_bad_whole_or_not_at_all_laps_are_counted(allowed: int, last: int) -> None:
    """0.95 to the 58th is 0.051, to the 59th 0.048: 58 laps of 10, and of the last one more than may be bad."""
    found = feet_needed(0.05, per_lap=10, within_lap=1.0, allowed=allowed)
    assert (found.laps, found.pieces) == (59, 58 * 10 + last)
