"""What is asked because of the weather, the lap and what stands on the list, case by case."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from weldcal.flow import going, operator, weather
from weldcal.flow.question import first_open
from weldcal.records.day import DayLap, GoAheadNow, Joint, LastReading, Needs
from weldcal.records.draft import DayAnswer

from . import days


@pytest.mark.parametrize("level", ["wait", "good", "strip_again", "none"])
def test_where_the_go_ahead_waits_for_the_weather_it_is_read_anew(level: str) -> None:
    """A sheet read lately is not asked for, unless the go-ahead itself waits for it."""
    day = replace(
        days.HOT,
        read=(LastReading("ambient", "61F", 0.1), LastReading("sheet_temp", "74F", 0.1)),
        standing=GoAheadNow("S1", level, days.SET),
    )
    assert ("conditions" in operator.due(day)) is (level == "wait")


@pytest.mark.parametrize(
    ("age", "limit", "old"), [(2.0, 2.0, False), (2.01, 2.0, True), (0.9, 1.0, False)]
)
def test_a_reading_older_than_the_job_lets_it_be_is_old(
    age: float, limit: float, old: bool
) -> None:
    """The sheet's, or the air's where nobody reads the sheet; wind never makes it so."""
    day = replace(days.BARE, read_h=limit)
    for name in ("sheet_temp", "ambient"):
        assert weather.sheet_old(replace(day, read=(LastReading(name, "61F", age),))) is old
    fresh = (LastReading("ambient", "61F", 9.0), LastReading("sheet_temp", "74F", 0.1))
    assert not weather.sheet_old(replace(day, read=fresh))
    assert not weather.sheet_old(replace(day, read=(LastReading("wind", "5", 9.0),)))
    assert not weather.sheet_old(day)


@pytest.mark.parametrize(("age", "asked"), [(0.25, False), (0.26, True)])
def test_readings_of_the_last_quarter_of_an_hour_need_no_look(age: float, asked: bool) -> None:
    """After that, whether all is still so."""
    day = replace(days.HOT, read=(LastReading("ambient", "61F", age),))
    assert bool(list(weather.still(day, ()))) is asked


@pytest.mark.parametrize(
    ("named", "typed", "question", "asked"),
    [
        ("wind", "14.5mph", "gust", False),  # 6.48 m/s
        ("wind", "14.6mph", "gust", True),  # 6.53 m/s
        ("wind", "6.5m/s", "gust", True),
        ("ambient", "50F", "roll_temp", True),
        ("ambient", "50.1F", "roll_temp", False),
        ("ambient", "10C", "roll_temp", True),
        ("humidity", "85", "damp", True),
        ("humidity", "84.9", "damp", False),
    ],
)
def test_what_is_asked_because_of_the_weather(
    named: str, typed: str, question: str, asked: bool
) -> None:
    """Gusts from 6.5 m/s, a roll's temperature up to 10 °C, damp from 85 % (site settings)."""
    given = (DayAnswer(named, typed, days.NOW),)
    codes = [q.code for q in going.STEPS["conditions"].asks(days.BARE, given)]
    assert (question in codes) is asked


@pytest.mark.parametrize(
    ("end", "reached"),
    [
        ("33", True),
        ("33ft", True),
        ("end", True),
        ("32.9", False),
        ("33.1", False),
        ("10.058m", True),
    ],
)
def test_a_lap_that_reached_its_end_needs_no_reason(end: str, reached: bool) -> None:
    """33 ft are 10.0584 m; within a tenth of a millimetre it is the end, to either side."""
    asked = going.STEPS["lap"].asks(days.WELDING, _given(seam="A1", lap_what="finish", end=end))
    near = end != "10.058m"
    assert ("stopped" not in [q.code for q in asked]) is (reached and near)


def _given(**texts: str) -> tuple[DayAnswer, ...]:
    return tuple(DayAnswer(code, text, days.NOW) for code, text in texts.items())


def test_the_seam_asked_about_is_named() -> None:
    """In the question whether it begins at the go-ahead's setting."""
    asked = first_open(going.STEPS["start"], days.GOOD, _given(weld="A7", start="0"))
    assert asked is not None and asked.code == "same_setting"
    assert asked.values["seam"] == "A7"


def test_what_is_asked_of_a_seam_says_where_it_stands() -> None:
    """Nothing listed; from its zero end; gone on with; and to be probed, first or again."""
    texts = {
        (): "Which seam do you weld?",
        (DayLap("A1", "0", "33"),): "Weld next",
        (DayLap("A1", "20", "33"),): "Weld {seam} on from {start}",
    }
    for some, text in texts.items():
        day = replace(days.GOOD, to_weld=some)
        asked = first_open(operator.START, day, ())
        assert asked is not None and asked.asks == text
    walks = {
        (): "Which seam do you probe? The walk begins with Enter",
        days.PROBING.to_probe[:1]: "Probe {seam}, {stretch}, welded {age} ago. "
        "Enter begins the walk",
        days.PROBING.to_probe[1:]: "Probe {seam}, {stretch}, again: {finding} was mended {age} "
        "ago. Enter begins the walk",
    }
    for some, text in walks.items():
        asked = first_open(going.STEPS["probe"], replace(days.PROBING, to_probe=some), ())
        assert asked is not None and asked.asks == text


def test_a_lap_welded_by_hand_is_begun_with_its_tool_alone() -> None:
    """No speed, no setting of the machine's go-ahead; its lap kind as the tool's command has it."""
    given = _given(weld="D1", start="0", tool="blower", nozzle="600", agree_hand="yes")
    (call,) = going.STEPS["start"].filled(days.DETAIL, given)
    assert call.line() == ["seam", "start", "D1", "--tool", "blower", "--nozzle", "600"]


def test_t_joints_of_another_lap_are_none_of_this_walks() -> None:
    """Found by the lap they lie on."""
    day = replace(days.PROBING, needs=Needs(joints=(Joint("A2.1t", "A2", 1.0),)))
    given = _given(walk="A1", walk_from="0", walk_to="33", walk_end="33")
    assert "joint" not in [q.code for q in going.STEPS["probe"].asks(day, given)]
