"""What a job, a machine and what is seen on them cannot be: each bound from either side.

The bounds are this program's.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest

from weldcal.errors import BadDial, NotAChoice, OutOfRange
from weldcal.quantities import Quantity
from weldcal.records.common import Conditions, Seen, Setting
from weldcal.records.firm import Same, Thing
from weldcal.records.job import DialMark, Job, Machine
from weldcal.records.seam import LapWidth
from weldcal.records.site import Measure
from weldcal.records.upkeep import LeakStep, StartAnswer

SEEN = Seen(at="2026-06-01T07:00:00-06:00", by="Ana Ruiz")


def q(text: str, unit: str) -> Quantity:
    """A number with its unit."""
    return Quantity(text, Fraction(text), unit)


@pytest.mark.parametrize(("hour", "can_be"), [(-1, False), (0, True), (23, True), (24, False)])
def test_a_day_begins_at_an_hour_of_the_clock(hour: int, can_be: bool) -> None:
    """0 to 23, for night shifts."""
    of: dict[str, Any] = {"name": "North hall", "units": "us", "zone": "America/Denver"}
    assert Job(**of).day_begins == 0  # at midnight where nobody says
    if can_be:
        assert Job(**of, day_begins=hour).day_begins == hour
        return
    with pytest.raises(NotAChoice, match="23"):
        Job(**of, day_begins=hour)


def machine(low: str = "1", high: str = "20", step: str = "0.5", **more: Any) -> Machine:
    """A machine with a dial in ft/min."""
    of: dict[str, Any] = {"nozzle_low": q("300", "C"), "nozzle_high": q("600", "C"), **more}
    low, high, step = (q(text, "ft/min") for text in (low, high, step))
    return Machine(name="blue", dial="ft/min", dial_low=low, dial_high=high, dial_step=step, **of)


@pytest.mark.parametrize(
    ("dial", "can_be"),
    [
        (("1", "20", "0.5"), True),
        (("0", "2000", "1"), True),
        (("0", "2001", "1"), False),  # two thousand steps, no more
        (("1", "2001", "1"), True),
        (("0", "1", "1/2000"), True),
        (("0", "1", "1/2001"), False),
        (("5", "5", "1"), False),
        (("6", "5", "1"), False),
        (("1", "20", "0"), False),
        (("1", "20", "-1"), False),
    ],
)
def test_a_dial_runs_upwards_in_steps(dial: tuple[str, str, str], can_be: bool) -> None:
    """From low to high, in steps above 0."""
    if can_be:
        assert machine(*dial).dial_high.text == dial[1]
        return
    with pytest.raises(BadDial, match="steps above 0"):
        machine(*dial)


def test_a_nozzle_range_runs_upwards_whatever_its_units() -> None:
    """572 °F are 300 °C: no range from one to the other."""
    assert machine(nozzle_low=q("571", "F"), nozzle_high=q("300", "C")).nozzle_low.text == "571"
    for low in ("572", "573"):
        with pytest.raises(BadDial, match="nozzle range"):
            machine(nozzle_low=q(low, "F"), nozzle_high=q("300", "C"))


@pytest.mark.parametrize(
    ("marks", "can_be"),
    [
        ([("1", "3"), ("2", "6")], True),
        ([("2", "6"), ("1", "3")], True),  # in any order
        ([("1", "3"), ("2", "3")], False),
        ([("1", "6"), ("2", "3")], False),
        ([("1", "3"), ("1", "6")], False),
    ],
)
def test_a_higher_mark_is_a_higher_speed(marks: list[tuple[str, str]], can_be: bool) -> None:
    """And each mark one speed."""
    of = tuple(DialMark(mark=q(at, "mark"), speed=q(to, "ft/min")) for at, to in marks)
    if can_be:
        assert machine(marks=of).marks == of
        return
    with pytest.raises(BadDial, match="higher marks"):
        machine(marks=of)


SETTING: dict[str, Any] = {
    "machine": "blue",
    "sheet": "base",
    "lap": "selvage",
    "nozzle": q("932", "F"),
}
FAR = {
    "ambient": q("200", "C"),
    "sheet_temp": q("200", "C"),
    "under_temp": q("200", "C"),
    "roll_temp": q("200", "C"),
    "humidity": q("101", "%"),
    "wind": q("61", "m/s"),
    "gust": q("61", "m/s"),
    "line_voltage": q("601", "V"),
}


@pytest.mark.parametrize("name", FAR)
def test_no_reading_of_the_weather_is_beyond_what_can_be(name: str) -> None:
    """Each by itself."""
    with pytest.raises(OutOfRange):
        Conditions(**{name: FAR[name]})


@pytest.mark.parametrize("name", ["speed", "true_speed", "nozzle", "nozzle_measured"])
def test_no_setting_is_beyond_what_can_be(name: str) -> None:
    """A travel speed of 0 and air of 10 °C, as set and as measured."""
    wrong = q("0", "ft/min") if "speed" in name else q("10", "C")
    with pytest.raises(OutOfRange):
        Setting(**{**SETTING, "speed": q("5.5", "ft/min"), name: wrong})


def test_only_a_hand_has_no_travel_speed() -> None:
    """A machine has one, or a bare mark."""
    assert Setting(**SETTING, by_hand=True).speed is None
    assert Setting(**SETTING, speed=q("5", "mark")).speed == q("5", "mark")
    for by_hand in (None, False):
        with pytest.raises(ValueError, match="travel speed"):
            Setting(**SETTING, by_hand=by_hand)


def test_what_is_measured_is_held_to_what_can_be() -> None:
    """A lap's overlap and what of it is bonded; a travel, its time and each time again."""
    lap: dict[str, Any] = {"name": "T1", "seam": "A1", "seen": SEEN, "at": q("1", "m")}
    assert LapWidth(**lap, overlap=q("100", "mm")).bonded is None
    for overlap, bonded in (("2001", "10"), ("100", "2001")):
        with pytest.raises(OutOfRange):
            LapWidth(**lap, overlap=q(overlap, "mm"), bonded=q(bonded, "mm"))
    good: dict[str, Any] = {"distance": q("6", "m"), "time": q("218", "s")}
    assert Measure(machine="blue", seen=SEEN, **good).again == ()
    for wrong in (
        {"distance": q("0", "m")},
        {"time": q("0", "s")},
        {"again": (q("218", "s"), q("0", "s"))},
    ):
        with pytest.raises(OutOfRange):
            Measure(machine="blue", seen=SEEN, **{**good, **wrong})


def test_a_word_of_a_choice_is_held_to_its_words() -> None:
    """Also in a record that somebody else's program wrote."""
    one, other = Thing(job="a", name="blue"), Thing(job="b", name="blue")
    for wrong in (
        lambda: Same(what="hour", one=one, other=other, same=True, seen=SEEN),
        lambda: StartAnswer(line="x", seen=SEEN, answer="perhaps"),
        lambda: LeakStep(seen=SEEN, step="painted", said="over"),
        lambda: Job(name="a", units="furlongs", zone="UTC"),
        lambda: Job(name="a", units="us", zone="Mars/Olympus"),
    ):
        with pytest.raises(NotAChoice):
            wrong()
