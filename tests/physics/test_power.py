"""Voltage drop against worked figures of the published tables."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldcal.physics.power import (
    CAUTIONS,
    Conductor,
    LosesAll,
    Supply,
    conductor,
    conductors,
    drop,
    thinnest,
)

FT = 0.3048
# NEC chapter 9 table 8 as reprinted for 20 °C (stranded), ohm per 1000 ft.
AT_20_C = [(14, 2.58), (12, 1.62), (10, 1.02), (8, 0.641), (6, 0.410)]

# (conductor, supply, V lost, share): computed by hand from the tables
WORKED = [
    (("us", 12), Supply(120, 100 * FT, load_a=16), 6.336, 0.0528),
    (("us", 10), Supply(230, 100 * FT, load_a=20), 4.96, 0.0216),
    (("metric", 4), Supply(230, 30, load_a=16, conductor_c=20), 4.752, 0.0207),
]


@pytest.mark.parametrize(("cord", "supply", "volts", "share"), WORKED)
def test_worked_examples(
    cord: tuple[str, float], supply: Supply, volts: float, share: float
) -> None:
    """2·I·R one way, resistances of NEC chapter 9 table 8 and IEC 60228."""
    found = drop(supply, conductor(*cord))
    assert found.drop_v == pytest.approx(volts, rel=1e-3)
    assert found.share == pytest.approx(share, abs=1e-4)


def test_the_heater_loses_by_the_square_of_the_voltage() -> None:
    """5.28 % of the voltage is 10.3 % of the power."""
    found = drop(Supply(120, 100 * FT, load_a=16), conductor("us", 12))
    assert 1 - found.heater_lost == pytest.approx(0.897, abs=5e-4)


@pytest.mark.parametrize(("gauge", "ohm"), AT_20_C)
def test_resistance_at_20_degrees_is_the_published_one(gauge: int, ohm: float) -> None:
    """The table's own coefficient takes 75 °C to 20 °C; that reprint is 1.5 % off at 6 AWG."""
    assert conductor("us", gauge).resistance(1000 * FT, 20.0) == pytest.approx(ohm, rel=0.02)


def test_metric_copper_at_75_degrees_is_a_fifth_more() -> None:
    """IEC 60228 copper, 0.00393 per K: factor 1.216."""
    cord = conductor("metric", 2.5)
    assert cord.resistance(1, 75) / cord.resistance(1, 20) == pytest.approx(1.216, abs=5e-4)


def test_gauges_that_are_nearly_one_size_agree_across_the_two_tables() -> None:
    """12 AWG is 3.31 mm², 10 AWG 5.26 mm² (ASTM B258): ohm times mm² is one copper within 6 %."""
    for gauge, area, near in ((12, 3.31, 4), (10, 5.26, 6)):
        us = conductor("us", gauge).resistance(1, 20) * area
        metric = conductor("metric", near, "class2").resistance(1, 20) * near
        assert us == pytest.approx(metric, rel=0.06)


@pytest.mark.parametrize("ohm", [0.25, 1.0, 3.0])
def test_a_heater_given_in_watts_draws_less_on_a_weak_line(ohm: float) -> None:
    """3300 W at 230 V behind some ohms a conductor, there and back: Ohm's law, worked apart."""
    cord = conductor("metric", 2.5, "class2")
    length = ohm / cord.resistance(1.0, 20.0)
    found = drop(Supply(230, length, load_w=3300, conductor_c=20), cord)
    heater = 230**2 / 3300
    whole = heater + 2 * ohm
    assert found.current_a == pytest.approx(230 / whole)
    assert found.machine_v == pytest.approx(230 * heater / whole)
    assert found.heater_lost == pytest.approx(1 - (heater / whole) ** 2)


def test_a_cord_may_be_as_short_as_none_and_a_load_as_small_as_it_is() -> None:
    """Half a metre loses a hundredth of what 50 m does; no length loses nothing."""
    cord = conductor("metric", 4)
    short, long = (drop(Supply(0.9, n, load_a=0.02), cord).drop_v for n in (0.5, 50.0))
    assert short == pytest.approx(long / 100)
    assert drop(Supply(230, 0.0, load_a=16), cord).drop_v == 0.0


def test_three_phases_lose_by_the_root_of_three() -> None:
    """√3·I·R line to line, and a star of the same power draws W/(√3·V) on a strong line."""
    cord = conductor("metric", 4)
    one = cord.resistance(50, 75)
    assert drop(Supply(400, 50, load_a=10, phases=3), cord).drop_v == pytest.approx(
        math.sqrt(3) * 10 * one
    )
    strong = drop(Supply(400, 0, load_w=6000, phases=3), cord)
    assert strong.current_a == pytest.approx(6000 / (math.sqrt(3) * 400))
    weak = drop(Supply(400, 50, load_w=6000, phases=3), cord)
    assert weak.machine_v == pytest.approx(400 * (400**2 / 6000) / (400**2 / 6000 + one))


@given(
    st.sampled_from(["us", "metric"]),
    st.floats(0, 200),
    st.floats(0.1, 30),
    st.sampled_from([1, 3]),
)
def test_longer_and_thinner_never_lose_less(
    system: str, length: float, amps: float, phases: int
) -> None:
    """Monotone along the table and along the cord."""
    cords = [c for c in conductors(system) if c.make in ("stranded", "class5")]
    supply = Supply(1000, length, load_a=amps, phases=phases)
    lost = [drop(supply, cord).drop_v for cord in cords]
    assert lost == sorted(lost, reverse=True)
    longer = Supply(1000, length + 1, load_a=amps, phases=phases)
    assert drop(longer, cords[0]).drop_v > lost[0]


@given(st.floats(1, 150), st.floats(1, 25), st.floats(0.005, 0.2))
def test_the_thinnest_that_would_do_does_and_the_next_thinner_does_not(
    length: float, amps: float, most: float
) -> None:
    """Or the table has none; and the cautions come either way."""
    supply = Supply(230, length, load_a=amps)
    answer = thinnest(supply, "us", most)
    assert answer.cautions == CAUTIONS
    shares = {}
    for cord in conductors("us"):
        if cord.make == "stranded":
            try:
                shares[cord.name] = drop(supply, cord).share
            except LosesAll:
                shares[cord.name] = math.inf
    doing = [name for name, share in shares.items() if share <= most]
    assert (answer.drop.conductor if answer.drop else None) == (doing[0] if doing else None)
    assert answer.drop is None or answer.drop.cautions == CAUTIONS


@pytest.mark.parametrize(
    ("supply", "said"),
    [
        (Supply(120, 30), "one of them"),
        (Supply(120, 30, load_a=10, load_w=1000), "one of them"),
        (Supply(120, 30, load_a=10, phases=2), "1 or 3 phases"),
        (Supply(0, 30, load_a=10), "above 0"),
        (Supply(120, -1, load_a=10), "above 0"),
        (Supply(120, 30, load_a=0), "above 0"),
        (Supply(120, 30, load_w=1000, rated_v=0), "above 0"),
        (Supply(120, 5000, load_a=50), "whole voltage"),
    ],
)
def test_what_cannot_be_is_refused(supply: Supply, said: str) -> None:
    """No load, two loads, two phases, no volts, a cord that eats the whole voltage: each as such."""
    with pytest.raises(ValueError, match=said):
        drop(supply, conductor("us", 14))


def test_a_cord_that_takes_just_all_of_the_voltage_leaves_nothing() -> None:
    """1 A through 1 ohm there and 1 ohm back is 2 V: of 2 V nothing is left, of 2.5 V half a volt."""
    cord = Conductor("metric", 1.0, "1 mm²", "class5", 1.0, 20.0, 0.0)
    with pytest.raises(LosesAll):
        drop(Supply(2.0, 1.0, load_a=1.0), cord)
    assert drop(Supply(2.5, 1.0, load_a=1.0), cord).machine_v == 0.5


def test_a_cord_that_loses_just_as_much_as_it_may_will_do() -> None:
    """16 A over 30 m of 4 mm² at 230 V; without a share said, 3 % (NEC 210.19, a note)."""
    supply = Supply(230, 30, load_a=16)
    share = drop(supply, conductor("metric", 4)).share
    for most, chosen in ((share, "4 mm²"), (share * 0.999, "6 mm²")):
        found = thinnest(supply, "metric", most).drop
        assert found is not None and found.conductor == chosen
    assert thinnest(supply, "metric") == thinnest(supply, "metric", 0.03)


def test_a_supply_above_the_rating_gains_heat() -> None:
    """240 V on a heater of 230 V: (240/230)² is 1.0888 of its watts, on a cord of no length."""
    found = drop(Supply(240, 0, load_w=3300, rated_v=230), conductor("metric", 4))
    assert found.heater_lost == pytest.approx(-0.0888, abs=1e-4)
    assert found.current_a == pytest.approx(240 / (230**2 / 3300))


def test_a_size_that_is_not_in_the_table_is_refused_with_those_that_are() -> None:
    """The message is what a person can choose from."""
    with pytest.raises(ValueError, match="12 AWG stranded"):
        conductor("us", 11)
    with pytest.raises(ValueError, match="metric"):
        conductor("imperial", 11)
