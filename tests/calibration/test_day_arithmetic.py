"""The hidden day, by brute force: every path of states, and the model page's chances by hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import product
from math import exp, log

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldcal.calibration import Observation, SpeedQuestion
from weldcal.calibration import day_state as day
from weldcal.calibration.features import Array
from weldcal.calibration.observation import DayState

Make = Callable[..., Observation]
JUMPS = len(day._JUMPS)


def _chances_by_paths(log_like: Array, breaks: Array, mends: Array, weight: Array) -> Array:
    """Of each state at each observation, summed over all paths and draws (no recursion)."""
    count, draws, states = log_like.shape
    out = np.zeros((count, states))
    for m in range(draws):
        for path in product(range(states), repeat=count):
            chance, last = weight[m], 0
            for i, now in enumerate(path):
                stays = 1 - breaks[i].sum()
                if last == 0:
                    step = stays if now == 0 else breaks[i][now - 1]
                elif now == 0:
                    step = mends[i][last - 1]
                else:
                    step = 1 - mends[i][last - 1] if now == last else 0.0
                chance *= step * exp(log_like[i, m, now])
                last = now
            for i, now in enumerate(path):
                out[i, now] += chance
    return out / out.sum(axis=1, keepdims=True)


@given(st.integers(0, 10_000))
def test_forwards_and_backwards_are_the_sum_over_all_paths(seed: int) -> None:
    """Three states, four observations, two draws."""
    rng = np.random.default_rng(seed)
    log_like = rng.normal(-1.0, 2.0, (4, 2, 3))
    breaks, mends = rng.uniform(0.01, 0.4, (4, 2)), rng.uniform(0.05, 0.9, (4, 2))
    weight = rng.uniform(0.2, 1.0, 2)
    one = day._Day(log_like, np.log(breaks), mends)
    found = day._chances(day._forward(one, np.log(weight)) + day._backward(one))
    expected = _chances_by_paths(log_like, breaks, mends, weight)
    np.testing.assert_allclose(found, expected, rtol=1e-9)


def test_what_breaks_is_half_the_time_the_machine_and_seven_in_ten_times_colder() -> None:
    """A jump's density is J² times a normal of sd 0.30, by side; each surface a quarter."""
    shares = np.exp(day._log_shares())
    jumps, surfaces = shares[:JUMPS], shares[JUMPS:]
    assert surfaces.tolist() == pytest.approx([0.25, 0.25])
    assert jumps.sum() == pytest.approx(0.5)
    cold, hot = jumps[day._JUMPS < -1e-9].sum(), jumps[day._JUMPS > 1e-9].sum()
    assert cold / (cold + hot) == pytest.approx(0.7)
    at = {round(float(j), 1): s for j, s in zip(day._JUMPS, jumps, strict=True)}
    assert (min(at), max(at), len(at)) == (-1.5, 1.5, 31)
    assert at[0.0] == pytest.approx(0.0, abs=1e-12)
    for j in (0.2, 0.4, 0.9):
        ratio = (j / 0.3) ** 2 * exp(-0.5 * (j / 0.3) ** 2) / (exp(-0.5 * (0.1 / 0.3) ** 2) / 9)
        assert at[j] / at[0.1] == pytest.approx(ratio)
        assert at[-j] / at[j] == pytest.approx(7 / 3)


def _broken(rows: list[Observation], known: bool = True) -> Array:
    """Chance that something broke before each: machine, bond, bubbling."""
    table = np.exp(day._breaks(rows, known))
    return np.column_stack([table[:, :JUMPS].sum(axis=1), table[:, JUMPS:]])


def test_the_chance_that_something_broke_by_hours_strips_and_events(strip: Make) -> None:
    """0.03 overnight; 0.012 an hour and 0.008 a strip; 0.05 more where power was lost (MODEL.md)."""
    rows = [
        strip(hour=8.0),
        strip(hour=10.0),
        strip(hour=10.0, after_event=True),
        strip(hour=None),
        strip(hour=11.0),
    ]
    two_hours, strip_only = 1 - exp(-0.032), 1 - exp(-0.008)
    expected = [0.03, two_hours, 1 - (1 - strip_only) * 0.95, strip_only, strip_only]
    found = _broken(rows)
    assert found.sum(axis=1).tolist() == pytest.approx(expected)
    assert (found / found.sum(axis=1, keepdims=True)).tolist() == pytest.approx(
        np.array([[0.5, 0.25, 0.25]] * 5)
    )
    assert _broken([strip(after_event=True)]).sum() == pytest.approx(1 - 0.97 * 0.95)


def test_damp_wets_a_surface_and_leaves_the_machine(strip: Make) -> None:
    """Each surface 0.025 more; the machine no more than without."""
    dry, wet = _broken([strip(), strip()]), _broken([strip(), strip(after_damp=True)])
    assert wet[1, 0] == pytest.approx(dry[1, 0])
    for n in (1, 2):
        assert wet[1, n] == pytest.approx(1 - (1 - dry[1, n]) * 0.975)
    assert (wet[0] == dry[0]).all()


def test_what_never_was_known_cannot_have_changed(strip: Make) -> None:
    """A first roll can be wet; from the second strip on the machine can break."""
    rows = [strip(), strip()]
    found, usual = _broken(rows, known=False), _broken(rows)
    assert found[0].tolist() == pytest.approx([0.0, 0.0075, 0.0075])
    assert found[1].tolist() == pytest.approx(usual[1].tolist())


def test_one_in_ten_is_mended_and_a_repair_mends_the_machine(strip: Make) -> None:
    """Nine in ten where it was repaired between the two; the sheet is as it was."""
    found = day._mends([strip(), strip(repairs=1), strip(repairs=1), strip()])
    machine, surfaces = found[:, :JUMPS], found[:, JUMPS:]
    assert surfaces.tolist() == [[0.1, 0.1]] * 4
    assert machine.min(axis=1).tolist() == machine.max(axis=1).tolist() == [0.1, 0.9, 0.1, 0.1]


def _day(*states: int, sure: float = 12.0, order: tuple[int, ...] | None = None) -> DayState:
    """A day whose every observation speaks for one state, one draw; read."""
    log_like = np.zeros((len(states), 1, day.BUBBLES + 1))
    for i, state in enumerate(states):
        log_like[i, 0, state] = sure
    breaks = np.full((len(states), day.BUBBLES), log(0.02 / day.BUBBLES))
    mends = np.full((len(states), day.BUBBLES), 0.1)
    found = day._Day(log_like, breaks, mends)
    return day._read(found, np.zeros(1), list(order or range(len(states))))


COLDER = day.FIRST_JUMP + 10  # -0.5


def test_what_a_day_is_read_as() -> None:
    """From which observation on it is broken, by how much, and what is set aside once mended."""
    works = _day(0, 0)
    assert (works.working, works.since, works.aside) == (pytest.approx(1.0, abs=0.02), None, ())
    cold = _day(0, COLDER, COLDER)
    assert cold.since == 1 and cold.jump == pytest.approx(-0.5, abs=0.01)
    assert cold.machine == pytest.approx(1.0, abs=0.02)
    assert _day(COLDER, COLDER).since == 0
    assert _day(COLDER, 0, COLDER).since == 2
    bond = _day(0, day.BOND_FAILS)
    assert (bond.bond, bond.bubbling, bond.jump) == (
        pytest.approx(1.0, abs=0.02),
        pytest.approx(0.0, abs=0.02),
        pytest.approx(0.0, abs=0.2),
    )
    assert _day(0, day.BUBBLES).bubbling == pytest.approx(1.0, abs=0.02)
    mended = _day(COLDER, COLDER, 0, 0, order=(7, 3, 5, 9))
    assert (mended.since, mended.aside) == (None, (7, 3))
    later = _day(0, COLDER, COLDER, order=(7, 3, 5))
    assert (later.since, later.aside) == (3, ())


def test_a_day_is_in_order_of_when_things_were_seen(strip: Make, question: SpeedQuestion) -> None:
    """By the second, else by the hour, else as recorded; this machine and day only."""
    rows = (
        strip(hour=9.0, seen_s=30.0),
        strip(machine="M2"),
        strip(hour=8.0, seen_s=40.0),
        strip(day="2026-06-19"),
        strip(hour=10.0, seen_s=20.0),
    )
    assert day.in_order(rows, question) == [4, 0, 2]
    by_hour = tuple(replace(o, seen_s=None) for o in rows)
    assert day.in_order((*by_hour[:4], replace(by_hour[4], seen_s=1.0)), question) == [2, 0, 4]
    none = tuple(replace(o, hour=None) for o in by_hour)
    assert day.in_order(none, question) == [0, 2, 4]
    assert day.in_order((*by_hour[:4], none[4]), question) == [0, 2, 4]


def test_a_fitted_day_says_when_it_broke(strip: Make, question: SpeedQuestion) -> None:
    """An older day is what makes a machine known; another machine's day does not."""
    known = type("Known", (), {})()
    for rows, before in (
        ((strip(day="2026-06-19"),), True),
        ((strip(),), False),
        ((strip(day="2026-06-19", machine="M2"),), False),
        ((), False),
    ):
        known.observations = rows
        assert day._known_before(known, question) is before
