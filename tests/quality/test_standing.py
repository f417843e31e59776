"""Whether a go-ahead still stands, as worksheets of a morning and as laws."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldcal.quality.standing import (
    GOOD,
    LOOK,
    RULES,
    STRIP_AGAIN,
    LaterEvent,
    Rule,
    Trigger,
    Weather,
    WeldSetup,
    stands,
    triggers,
)

DAY = "2026-05-04"
MADE = WeldSetup("blue", "sbs", "selvage", 40.0, 500.0, 1.7, "lot 1", "RA")
STRIP = LaterEvent(7 * 3600.0, DAY, "read", None, Weather(15.0, 20.0, 2.0, 230.0), MADE)


def at(clock: str) -> float:
    """Seconds of a time like 07:30; 31:00 is seven the next morning."""
    hours, minutes = clock.split(":")
    return int(hours) * 3600.0 + int(minutes) * 60.0


def event(clock: str, kind: str, run: str | None = None, **values: Any) -> LaterEvent:
    """An event of the day, made as the strip was unless said otherwise."""
    weather = Weather(**{k: v for k, v in values.items() if k in Weather.__struct_fields__})
    setup = {k: v for k, v in values.items() if k in WeldSetup.__struct_fields__}
    made = WeldSetup(**{**{f: getattr(MADE, f) for f in WeldSetup.__struct_fields__}, **setup})
    day = DAY if at(clock) < 24 * 3600 else "2026-05-05"
    return LaterEvent(at(clock), day, kind, run, weather, made)


def judged(clock: str, *events: LaterEvent, rules: tuple[Rule, ...] = RULES) -> tuple[Trigger, ...]:
    """What is known at a time."""
    day = DAY if at(clock) < 24 * 3600 else "2026-05-05"
    return triggers(STRIP, events, at(clock), day, rules)


def told(found: tuple[Trigger, ...], only_open: bool = True) -> list[tuple[str, str]]:
    """Codes and levels."""
    return [(t.code, t.level) for t in found if not only_open or t.until_s is None]


RUN = [event("07:30", "start", "R1"), event("08:00", "finish", "R1")]

# (what happens, events, asked at, what holds then)
WORKSHEETS: list[tuple[str, list[LaterEvent], str, list[tuple[str, str]]]] = [
    ("nothing", [], "07:30", []),
    ("a run", RUN, "08:10", []),
    ("idle for half an hour", RUN, "08:30", [("stopped", LOOK)]),
    (
        "idle, looked at since",
        [*RUN, event("08:35", "start", "R2"), event("08:37", "looked")],
        "08:40",
        [],
    ),
    ("idle for an hour", RUN, "09:00", [("stopped", LOOK), ("stopped", STRIP_AGAIN)]),
    (
        "idle for an hour, then a finish nobody started",
        [*RUN, event("09:01", "finish", "R2")],
        "09:02",
        [("stopped", LOOK), ("stopped", STRIP_AGAIN)],
    ),
    (
        "idle for an hour, welded again and looked at",
        [*RUN, event("09:05", "start", "R2"), event("09:06", "looked")],
        "09:10",
        [("stopped", STRIP_AGAIN)],
    ),
    ("three hours", [event("07:30", "start", "R1")], "10:00", [("hours_passed", LOOK)]),
    (
        "three hours, looked at in the second",
        [event("07:30", "start", "R1"), event("09:00", "looked")],
        "11:00",
        [],
    ),
    (
        "five hours, looked at or not",
        [event("07:30", "start", "R1"), event("09:00", "looked"), event("11:00", "looked")],
        "12:00",
        [("hours_passed", STRIP_AGAIN)],
    ),
    ("the power went", [event("07:40", "power_lost")], "07:41", [("power_lost", STRIP_AGAIN)]),
    ("warmer by 5", [event("08:00", "read", ambient_c=20.0)], "08:30", [("ambient_moved", LOOK)]),
    (
        "warmer by 5, then looked at",
        [
            event("08:00", "read", ambient_c=20.0),
            event("08:05", "looked"),
            event("08:30", "read", ambient_c=21.0),
        ],
        "08:40",
        [],
    ),
    (
        "warmer by 5, then back to 4.5: still a look",
        [event("08:00", "read", ambient_c=20.0), event("08:10", "read", ambient_c=19.5)],
        "08:40",
        [("ambient_moved", LOOK)],
    ),
    (
        "warmer by 5, then back to 3",
        [event("08:00", "read", ambient_c=20.0), event("08:10", "read", ambient_c=18.0)],
        "08:40",
        [],
    ),
    (
        "a passing cloud",
        [event("08:00", "read", sheet_c=3.0), event("08:05", "read", sheet_c=19.0)],
        "08:30",
        [],
    ),
    ("under the cloud", [event("08:00", "read", sheet_c=3.0)], "08:05", [("sheet_moved", LOOK)]),
    (
        "a cloud that stays",
        [event("08:00", "read", sheet_c=3.0), event("08:05", "read", sheet_c=4.0)],
        "08:10",
        [("sheet_moved", LOOK), ("sheet_moved", STRIP_AGAIN)],
    ),
    (
        "a cloud that stayed, gone now",
        [event("08:00", "read", sheet_c=3.0), event("08:20", "read", sheet_c=20.0)],
        "08:30",
        [("sheet_moved", STRIP_AGAIN)],
    ),
    (
        "line sags by 4 %",
        [event("08:00", "read", line_v=220.8)],
        "08:20",
        [("voltage_moved", LOOK)],
    ),
    (
        "wind up by 6",
        [event("08:00", "read", wind_m_per_s=8.0)],
        "08:20",
        [("wind_moved", LOOK), ("wind_moved", STRIP_AGAIN)],
    ),
    (
        "another lot",
        [event("08:00", "start", "R2", roll_lot="lot 2")],
        "08:05",
        [("other_roll_lot", LOOK)],
    ),
    (
        "another lot, looked at",
        [event("08:00", "start", "R2", roll_lot="lot 2"), event("08:03", "looked")],
        "08:05",
        [],
    ),
    (
        "another machine",
        [event("08:00", "start", "R2", machine="red")],
        "08:05",
        [("other_machine", STRIP_AGAIN)],
    ),
    (
        "back on the first machine",
        [
            event("08:00", "start", "R2", machine="red"),
            event("08:05", "finish", "R2"),
            event("08:06", "start", "R3"),
        ],
        "08:10",
        [],
    ),
    (
        "another operator",
        [event("08:00", "start", "R2", operator="BO")],
        "08:05",
        [("other_operator", STRIP_AGAIN)],
    ),
    (
        "a nozzle wider by half a millimetre",
        [event("08:00", "start", "R2", nozzle_width_mm=40.5)],
        "08:05",
        [("other_nozzle", STRIP_AGAIN)],
    ),
    (
        "set hotter by 20",
        [event("08:00", "start", "R2", nozzle_c=520.0)],
        "08:05",
        [("nozzle_temperature", LOOK)],
    ),
    (
        "set faster by a quarter",
        [event("08:00", "start", "R2", speed_m_per_min=2.125)],
        "08:05",
        [("travel_speed", LOOK), ("travel_speed", STRIP_AGAIN)],
    ),
]


@pytest.mark.parametrize(
    ("events", "clock", "expected"), [w[1:] for w in WORKSHEETS], ids=[w[0] for w in WORKSHEETS]
)
def test_a_morning_says_what_holds(
    events: list[LaterEvent], clock: str, expected: list[tuple[str, str]]
) -> None:
    """A day's log, and what the go-ahead is worth beneath it."""
    found = judged(clock, *events)
    assert sorted(told(found)) == sorted(expected)
    levels = {level for _code, level in expected}
    worst = STRIP_AGAIN if STRIP_AGAIN in levels else LOOK if levels else GOOD
    assert stands(found) == worst


def test_a_trigger_says_since_when_and_what_was_welded_after() -> None:
    """The run under way when the cloud came counts; the one before does not."""
    found = judged(
        "09:00",
        event("07:30", "start", "R1"),
        event("07:50", "finish", "R1"),
        event("07:52", "start", "R2"),
        event("08:00", "read", sheet_c=2.0),
        event("08:20", "finish", "R2"),
        event("08:22", "start", "R3"),
    )
    (voided,) = [t for t in found if t.level == STRIP_AGAIN]
    assert (voided.code, voided.since_s, voided.runs) == ("sheet_moved", at("08:00"), ("R2", "R3"))
    assert voided.values == {"was": 20.0, "now": 2.0, "limit": 15.0}
    assert voided.source


def test_runs_on_another_machine_stay_listed_after_the_first_is_back() -> None:
    """They were never covered by this strip."""
    found = judged(
        "08:30",
        event("08:00", "start", "R2", machine="red"),
        event("08:05", "finish", "R2"),
        event("08:06", "start", "R3"),
    )
    (other,) = [t for t in found if t.code == "other_machine"]
    assert (other.runs, other.until_s) == (("R2",), at("08:06"))


def test_a_night_shift_over_midnight_is_one_day_if_the_job_says_so() -> None:
    """Days are the job's: what a clock shows at midnight voids nothing by itself."""
    run = LaterEvent(at("25:00"), DAY, "start", "R9", setup=MADE)
    same = triggers(STRIP, [run], at("26:00"), DAY)
    assert "new_day" not in [t.code for t in same]
    (new,) = [t for t in triggers(STRIP, [run], at("31:00"), "2026-05-05") if t.code == "new_day"]
    assert (new.since_s, new.runs) == (at("31:00"), ("R9",))


def test_a_run_over_the_day_s_end_is_among_those_welded_after() -> None:
    """Its finish is the first thing seen of the new day."""
    found = judged("31:00", event("23:50", "start", "R1"), event("24:10", "finish", "R1"))
    (new,) = [t for t in found if t.code == "new_day"]
    assert new.since_s == at("24:10")


def test_what_was_not_read_breaks_no_rule() -> None:
    """A strip without a wind reading cannot say that the wind has moved."""
    bare = LaterEvent(STRIP.at_s, DAY, "read")
    found = triggers(bare, [event("08:00", "start", "R1", wind_m_per_s=20.0)], at("08:30"), DAY)
    assert found == ()


def test_every_rule_has_a_source_and_a_level() -> None:
    """No number without where it comes from."""
    assert all(rule.source and rule.level in (LOOK, STRIP_AGAIN) for rule in RULES)


def test_events_out_of_order_are_refused() -> None:
    """Order is the caller's: a story told backwards has no meaning."""
    with pytest.raises(ValueError, match="order"):
        judged("09:00", event("08:00", "looked"), event("07:30", "looked"))


KINDS = st.sampled_from(["read", "looked", "start", "finish", "power_lost"])
EVENTS = st.lists(
    st.tuples(
        st.integers(0, 600),
        KINDS,
        st.none() | st.floats(-10, 40),
        st.none() | st.floats(200, 250),
        st.sampled_from(["RA", "BO"]),
    ),
    max_size=12,
).map(
    lambda rows: [
        LaterEvent(
            STRIP.at_s + 60.0 * minutes,
            DAY,
            kind,
            f"R{minutes // 20}",
            Weather(ambient_c=ambient, line_v=volts),
            WeldSetup(operator=operator),
        )
        for minutes, kind, ambient, volts, operator in sorted(rows, key=lambda row: row[0])
    ]
)
LATCHED = {"new_day", "hours_passed", "stopped", "power_lost", "ambient_moved", "voltage_moved"}


@given(EVENTS, st.integers(0, 900), st.integers(0, 900))
def test_what_called_for_a_strip_goes_on_calling(events: list[LaterEvent], a: int, b: int) -> None:
    """Asked later, with all that happened in between, the same trigger holds since the same time."""
    early, late = (STRIP.at_s + 60.0 * minutes for minutes in sorted((a, b)))

    def voided(now: float) -> set[tuple[str, float]]:
        found = triggers(STRIP, events, now, DAY)
        return {(t.code, t.since_s) for t in found if t.level == STRIP_AGAIN and t.code in LATCHED}

    assert voided(early) <= voided(late)
    held = [t for t in triggers(STRIP, events, late, DAY) if t.level == STRIP_AGAIN]
    assert all(t.until_s is None for t in held if t.code in LATCHED)


@given(EVENTS, st.integers(0, 900))
def test_triggers_lie_between_the_strip_and_now(events: list[LaterEvent], minutes: int) -> None:
    """Nothing is told of the time before the strip, or of the time to come."""
    now = STRIP.at_s + 60.0 * minutes
    for trigger in triggers(STRIP, events, now, DAY):
        assert STRIP.at_s <= trigger.since_s <= now
        assert trigger.until_s is None or trigger.since_s <= trigger.until_s <= now
