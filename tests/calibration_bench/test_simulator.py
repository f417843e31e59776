"""The bench's simulators are sane: direction of physics, seeds, and an oracle at the top."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.bench import slab
from tests.bench.methods import Rule
from tests.bench.oracle import Oracle
from tests.bench.protocol import Arm, judge, mornings
from tests.bench.regressions import Conjugate, LeastSquares, reml
from tests.bench.roofs import SPEEDS, Air, Machine, Shift, draw_roof

WORLDS = ("slab", "affine")
MILD = Air(ambient_c=18.0, sheet_c=25.0, wind=2.0, volts=0.98)
PLAIN = Machine("M", 1.0, 0.0, 1.0, 700.0)


@pytest.mark.parametrize("world", WORLDS)
@pytest.mark.parametrize("kind", ["wide", "narrow"])
def test_faster_travel_bleeds_out_less_and_never_heats_more(world: str, kind: str) -> None:
    """Width and both margins fall as speed rises, on every roof."""
    for number in range(8):
        roof = draw_roof(number, kind, world, 1)  # type: ignore[arg-type]
        truth = roof.physics.respond(SPEEDS, 540.0, MILD, PLAIN, Shift())
        for values in (truth.log_mm, truth.bubble_k, truth.bond_k):
            assert np.all(np.diff(values[0]) <= 1e-9)


@pytest.mark.parametrize("world", WORLDS)
@pytest.mark.parametrize(
    "hotter",
    [
        replace(MILD, sheet_c=45.0),
        replace(MILD, ambient_c=30.0, sheet_c=40.0),
        replace(MILD, wind=0.0),
    ],
)
def test_warmer_sheet_and_less_wind_bleed_out_more(world: str, hotter: Air) -> None:
    """Each moves width up at every speed."""
    for number in range(5):
        physics = draw_roof(number, "narrow", world, 2).physics
        before = physics.respond(SPEEDS, 540.0, MILD, PLAIN, Shift()).log_mm
        after = physics.respond(SPEEDS, 540.0, hotter, PLAIN, Shift()).log_mm
        assert np.all(after >= before - 1e-9)


@pytest.mark.parametrize("world", WORLDS)
def test_low_voltage_bleeds_out_less_once_the_heater_saturates(world: str) -> None:
    """A drop in voltage makes a cold strip."""
    physics = draw_roof(3, "wide", world, 2).physics
    weak = replace(PLAIN, cap_k=560.0)
    full = physics.respond(SPEEDS, 590.0, replace(MILD, volts=1.0), weak, Shift()).log_mm
    low = physics.respond(SPEEDS, 590.0, replace(MILD, volts=0.85), weak, Shift()).log_mm
    assert np.all(low < full)


def test_ambient_slopes_span_what_was_published() -> None:
    """1 to 2.3 % of speed per K, not bunched at one end."""
    _, facts = slab.draw_many(np.random.default_rng(0), "narrow", 600, 1.0)
    assert facts["slope"].min() >= 0.010
    assert facts["slope"].max() <= 0.023
    assert np.quantile(facts["slope"], 0.9) - np.quantile(facts["slope"], 0.1) > 0.005


def test_slab_conduction_approaches_the_semi_infinite_solid() -> None:
    """One material, steady convection: Carslaw & Jaeger's surface ratio."""
    from scipy.special import erfcx

    h, length, k, store = 170.0, 0.05, 0.19, 1000 * 1650.0
    peak, _ = slab.conduct(np.array([length]), np.array([h]), np.array([k]))
    i = int(np.argmin(np.abs(slab.LOG_SPEEDS - np.log(3.0))))
    dwell = length * 60 / np.exp(slab.LOG_SPEEDS[i])
    # the slab's coefficient climbs from 0.5 to 1.5 of h; a steady one lies between
    exact = [1 - erfcx(f * h * np.sqrt(k * dwell / store) / k) for f in (0.9, 1.3)]
    assert exact[0] < peak[0, i] < exact[1]


@pytest.mark.parametrize("world", WORLDS)
def test_same_seed_gives_the_same_morning(world: str) -> None:
    """History and outcome repeat exactly; another seed differs."""

    def once(seed: int) -> object:
        ((_, morning),) = mornings(4, "wide", world, seed, (Arm(5, True),))
        return morning.earlier, judge(morning, Conjugate())

    assert once(7) == once(7)
    assert once(7) != once(8)


def test_shorter_history_is_the_tail_of_the_longer() -> None:
    """Five days are the last five of twenty, and none is none."""
    short, long, none = (
        m.earlier
        for _, m in mornings(2, "wide", "slab", 3, (Arm(5, False), Arm(20, False), Arm(0, False)))
    )
    assert long[-len(short) :] == short
    assert none == ()


def test_a_crew_that_reads_once_asks_at_two_with_the_reading_of_the_morning() -> None:
    """Its strips too rest on that reading, and say how old it is; the ordinary crew's are fresh."""
    once, fresh = (
        mornings(7, "wide", "slab", 7, (Arm(0, False),), read_once=flag)[0][1]
        for flag in (True, False)
    )
    for morning in (once, fresh):
        morning.ask(Conjugate(), (), 7.5, 0)
    first = once.asked
    assert first == fresh.asked
    for morning in (once, fresh):
        morning.ask(Conjugate(), (), 14.0, 100)
    assert once.asked == replace(first, hour=14.0, hour_sheet_read=7.5)
    assert once.weld(2.0, 14.0, 1).seen.hour_sheet_read == 7.5
    assert fresh.asked.hour_sheet_read is None
    assert fresh.asked.sheet_c != first.sheet_c


@pytest.mark.parametrize("world", WORLDS)
def test_oracle_is_at_least_level_with_the_peers(world: str) -> None:
    """First advice and 2 p.m. together, over a few mornings."""
    peers = (
        Rule("yesterday"),
        Rule("slope", halve=True, slope=True),
        LeastSquares("p", pooled=True),
        Conjugate(),
    )
    wins = dict.fromkeys((Oracle(), *peers), 0)
    for number in range(12):
        ((_, morning),) = mornings(number, "narrow", world, 5, (Arm(5, False),))
        for method in wins:
            row, _ = judge(morning, method)
            wins[method] += row["good0"] + row["pm_good"]
    assert wins[Oracle()] >= max(wins[p] for p in peers)


def test_mixed_peer_agrees_with_statsmodels() -> None:
    """Fixed effects and variance ratio of the REML peer against MixedLM."""
    from statsmodels.regression.mixed_linear_model import MixedLM

    rng = np.random.default_rng(0)
    day = np.repeat(np.arange(25), 4)
    x = np.column_stack([np.ones(100), rng.normal(size=100)])
    y = x @ [1.0, -2.0] + rng.normal(0, 0.3, 25)[day] + rng.normal(0, 0.2, 100)
    ours = reml(x, y, day)
    theirs = MixedLM(y, x, groups=day).fit(reml=True)
    assert ours.beta == pytest.approx(theirs.fe_params, abs=2e-3)
    assert ours.s2 == pytest.approx(theirs.scale, rel=0.05)
