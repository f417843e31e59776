"""A machine measured: speeds, intervals, drift and what it does to seams."""

from __future__ import annotations

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldcal.quality.dial import MachineDial
from weldcal.quality.measure import (
    CANNOT_TELL,
    DRIFTED,
    WITHIN,
    Measured,
    check,
    drift,
    half_width,
    heat_check,
    history,
    least_distance_m,
    relative_uncertainty,
    true_speed,
)

DIAL = MachineDial("m/min", 0.5, 6.0, 0.1)


def measured(at_s: float, ratio: float, mark: float = 2.0, distance: float = 10.0) -> Measured:
    """Three runs alike at which the machine goes `ratio` times what its dial shows."""
    return Measured(at_s, mark, distance, (distance / (mark * ratio) * 60.0,) * 3)


def test_ten_feet_in_thirty_seconds_is_twenty_feet_a_minute() -> None:
    """Distance over time, m/min."""
    assert true_speed(10 * 0.3048, 30) == pytest.approx(20 * 0.3048)
    assert true_speed(0.5, 0.5) == pytest.approx(60.0)


def test_the_uncertainty_is_that_of_many_measurements() -> None:
    """The law of propagation (JCGM 100) against 20,000 simulated stopwatches and tapes."""
    one = Measured(0, 2.0, 3.0, (90.0,), timing_s=0.9, tape_m=0.02)
    rng = random.Random(1)
    speeds = [(3.0 + rng.gauss(0, 0.02)) / (90.0 + rng.gauss(0, 0.9)) * 60.0 for _ in range(20_000)]
    mean = sum(speeds) / len(speeds)
    spread = math.sqrt(sum((s - mean) ** 2 for s in speeds) / len(speeds))
    assert relative_uncertainty(one) == pytest.approx(spread / mean, rel=0.03)


@given(st.floats(0.3, 15), st.floats(0.01, 0.2))
def test_the_least_distance_is_just_enough(speed: float, tolerance: float) -> None:
    """At that distance the interval is as wide as the tolerance."""
    distance = least_distance_m(speed, tolerance)
    one = Measured(0, 1.0, distance, (distance / speed * 60.0,))
    assert 2 * relative_uncertainty(one) == pytest.approx(tolerance)


# (true over shown, distance m, state): 2 m/min, 0.2 s and 5 mm, tolerance 5 %
STATES = [
    (1.0, 10.0, WITHIN),
    (1.04, 10.0, WITHIN),
    (1.10, 10.0, DRIFTED),
    (0.90, 10.0, DRIFTED),
    (1.05, 10.0, CANNOT_TELL),
    (1.0, 0.2, CANNOT_TELL),
    (1.4, 0.2, DRIFTED),
]


@pytest.mark.parametrize(("ratio", "distance", "state"), STATES)
def test_drift_is_said_only_when_the_interval_says_so(
    ratio: float, distance: float, state: str
) -> None:
    """A short measurement cannot tell 5 %."""
    assert check(measured(0, ratio, distance=distance), DIAL).state == state


def runs(*seconds: float) -> Measured:
    """Runs over 10 m at mark 2 m/min, which should take 300 s."""
    return Measured(0, 2.0, 10.0, seconds)


def test_runs_that_scatter_are_not_said_to_have_drifted() -> None:
    """A mean 8 % slow: three runs alike tell; three 5 % apart, or one alone, do not."""
    assert check(runs(325, 326, 327), DIAL).state == DRIFTED
    assert check(runs(310, 326, 342), DIAL).state == CANNOT_TELL
    assert check(runs(322), DIAL).state == CANNOT_TELL
    assert check(runs(322, 322, 322), DIAL).state == DRIFTED
    assert check(runs(300, 301, 299), DIAL).state == WITHIN


def test_the_interval_of_three_runs_holds_the_true_speed_as_often_as_it_says() -> None:
    """5,000 machines, runs scattering by 1.5 % and stopwatches of 0.2 s: 95 % or a little more."""
    rng = random.Random(3)
    inside = 0
    for _ in range(5_000):
        times = [
            10.0 / (2.0 * (1 + rng.gauss(0, 0.015))) * 60 + rng.gauss(0, 0.2) for _ in range(3)
        ]
        found = check(runs(*times), DIAL)
        inside += found.low <= 1.0 <= found.high
    assert 0.94 <= inside / 5_000 <= 0.985


def test_the_interval_is_a_share_of_the_speed_found() -> None:
    """By hand: 3 m in 60 s, no scatter: u = hypot(0.2/sqrt(3)/60, 0.005/3) = 0.0025458.

    Twice that is 0.0050915. True over shown is 3/2 = 1.5, from 1.5 x 0.9949085 = 1.4923627 to
    1.5 x 1.0050915 = 1.5076373.
    """
    found = check(Measured(0.0, 2.0, 3.0, (60.0, 60.0, 60.0)), DIAL)
    assert (found.speed_m_per_min, found.runs) == (pytest.approx(3.0), 3)
    assert (found.low, found.ratio, found.high) == pytest.approx((1.4923627, 1.5, 1.5076373))


def test_one_run_or_two_scatter_as_runs_are_taken_to() -> None:
    """By hand: 3 m in 60 s once: hypot(2 x 0.0037268, 2 x 0.02) = 0.0406886; twice, by sqrt(2)."""
    once, twice = (half_width(Measured(0.0, 2.0, 3.0, (60.0,) * n)) for n in (1, 2))
    assert once == pytest.approx(0.0406886, abs=1e-7)
    assert twice == pytest.approx(math.hypot(2 * 0.0028868, 0.04 / math.sqrt(2)), abs=1e-6)


@pytest.mark.parametrize(
    ("ratio", "share"), [(1.05, 0.01), (1.04, 0.01), (1.03, 0.02), (1.09, 0.04), (0.93, 0.02)]
)
def test_a_measurement_that_cannot_tell_says_over_how_much_lap_one_would(
    ratio: float, share: float
) -> None:
    """As far as the speed lies from the tolerance of 5 %, but a fifth of that at the least."""
    (one,) = history([Measured(0.0, 2.0, 0.3, (0.3 / (2.0 * ratio) * 60.0,))], DIAL)
    found = drift([one])
    assert found.state == CANNOT_TELL
    assert found.measure_over_m == pytest.approx(least_distance_m(2.0 * ratio, share / ratio))


def test_a_drifted_machine_puts_the_seams_since_its_last_good_check_in_doubt() -> None:
    """Welded between as recorded and a tenth faster."""
    found = drift(history([measured(300, 1.1), measured(100, 1.0), measured(200, 1.01)], DIAL))
    assert (found.state, found.doubt_since_s) == (DRIFTED, 200)
    assert (found.seams_low, found.seams_high) == (1.0, pytest.approx(1.1))


def test_a_machine_that_crept_up_welded_at_every_speed_between() -> None:
    """A little slow at its last good check, fast now: both are told."""
    found = drift(history([measured(100, 0.97), measured(200, 1.1)], DIAL))
    assert (found.seams_low, found.seams_high) == pytest.approx((0.97, 1.1))


def test_a_machine_never_found_within_has_all_its_seams_in_doubt() -> None:
    """There is no good check to begin from."""
    found = drift(history([measured(100, 1.1), measured(200, 1.12)], DIAL))
    assert found.doubt_since_s == -math.inf
    assert found.seams_high == pytest.approx(1.12)


def test_a_machine_back_within_leaves_no_doubt_open() -> None:
    """What lies between is told by the history."""
    found = drift(history([measured(100, 1.1), measured(200, 1.0)], DIAL))
    assert (found.state, found.doubt_since_s) == (WITHIN, None)


def test_bare_marks_without_speeds_give_a_speed_and_no_drift() -> None:
    """Nothing was believed, so nothing has drifted."""
    one = check(measured(0, 1.0), MachineDial("mark", 1, 10, 0.5))
    assert (one.speed_m_per_min, one.ratio, one.state) == (pytest.approx(2.0), None, None)
    assert drift([one]).state is None
    assert drift([]).state is None


@pytest.mark.parametrize(
    ("reads", "state"), [(500, WITHIN), (507, CANNOT_TELL), (540, DRIFTED), (460, DRIFTED)]
)
def test_a_nozzle_reading_drifts_likewise(reads: float, state: str) -> None:
    """15 K tolerance, thermometer good to 5 K."""
    found = heat_check(reads, 500)
    assert (found.offset_k, found.state) == (reads - 500, state)


@pytest.mark.parametrize(("distance", "seconds"), [(0, 10), (1, 0), (-1, 10)])
def test_no_distance_or_no_time_is_refused(distance: float, seconds: float) -> None:
    """A speed needs both."""
    with pytest.raises(ValueError, match="above 0"):
        true_speed(distance, seconds)
