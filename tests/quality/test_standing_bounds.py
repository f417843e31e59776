"""Every rule of a standing go-ahead at its own bound: just short of it nothing, from it on broken.

A strip at 7:00 of one day, at 15 °C air, 20 °C sheet, 2 m/s, 230 V; one rule at a time.
"""

from __future__ import annotations

from typing import Any

import pytest
from msgspec.structs import replace

from weldcal.quality.go_ahead_rules import GOOD, LOOK, RULES, STRIP_AGAIN, Rule
from weldcal.quality.standing import LaterEvent, Trigger, Weather, WeldSetup, stands, triggers

DAY, H = "2026-05-04", 3600.0
MADE = WeldSetup("blue", "sbs", "selvage", 40.0, 500.0, 2.0, "lot 1", "RA", None, 80.0, 100.0)
STRIP = LaterEvent(7 * H, DAY, "read", None, Weather(15.0, 20.0, 2.0, 230.0), MADE)


def event(hour: float, kind: str, run: str | None = None, **given: Any) -> LaterEvent:
    """Something that happened that day; weather by name, all else as the strip was made."""
    weather = {k: v for k, v in given.items() if k in Weather.__struct_fields__}
    setup = {k: v for k, v in given.items() if k in WeldSetup.__struct_fields__}
    rest = {k: v for k, v in given.items() if k in ("name", "left", "day")}
    made = LaterEvent(
        round(hour * H, 3), DAY, kind, run, Weather(**weather), replace(MADE, **setup)
    )
    return replace(made, **rest)


def broken(
    rule: Rule, *events: LaterEvent, now: float = 12.0, today: str = DAY, **more: Any
) -> list[Trigger]:
    """What one rule says."""
    return list(triggers(STRIP, events, round(now * H, 3), today, (rule,), **more))


def the(code: str, level: str) -> Rule:
    """The rule of a code and level."""
    return next(rule for rule in RULES if (rule.code, rule.level) == (code, level))


NUMBERS = [
    ("ambient_moved", LOOK, "ambient_c", 15.0, 5.0),
    ("ambient_moved", STRIP_AGAIN, "ambient_c", 15.0, 10.0),
    ("sheet_moved", LOOK, "sheet_c", 20.0, 8.0),
    ("sheet_moved", STRIP_AGAIN, "sheet_c", 20.0, 15.0),
    ("wind_moved", LOOK, "wind_m_per_s", 2.0, 3.0),
    ("wind_moved", STRIP_AGAIN, "wind_m_per_s", 2.0, 6.0),
    ("voltage_moved", LOOK, "line_v", 230.0, 6.9),
    ("voltage_moved", STRIP_AGAIN, "line_v", 230.0, 13.8),
]


@pytest.mark.parametrize(("code", "level", "field", "was", "by"), NUMBERS)
@pytest.mark.parametrize("way", [1, -1])
def test_weather_that_moved(
    code: str, level: str, field: str, was: float, by: float, way: int
) -> None:
    """By so much, up or down; a strip only where it stays so for ten minutes."""
    rule = the(code, level)
    beyond, short = was + way * (by + 1e-6), was + way * (by - 1e-6)
    assert broken(rule, event(8, "read", **{field: short}), event(9, "read")) == []
    (told,) = broken(rule, event(8, "read", **{field: beyond}))
    assert (told.code, told.level, told.since_s, told.until_s) == (code, level, 8 * H, None)
    limit = by / 2.3 if field == "line_v" else by
    assert told.values["was"] == was and told.values["now"] == beyond
    assert told.values["limit"] == pytest.approx(limit)
    back = event(8.1, "read", **{field: was})  # six minutes later
    lasting = event(8 + 1 / 6, "read", **{field: was})  # ten minutes later
    if level == STRIP_AGAIN:
        assert broken(rule, event(8, "read", **{field: beyond}), back) == []
        assert len(broken(rule, event(8, "read", **{field: beyond}), lasting)) == 1
        assert broken(rule, event(8, "read", **{field: beyond}), now=8.16) == []
        assert len(broken(rule, event(8, "read", **{field: beyond}), now=8 + 1 / 6)) == 1
    else:
        (over,) = broken(rule, event(8, "read", **{field: beyond}), back)
        assert over.until_s == back.at_s


@pytest.mark.parametrize(("share", "over"), [(0.79, True), (0.81, False)])
def test_a_look_closes_when_the_value_is_back_within_four_fifths(share: float, over: bool) -> None:
    """Of the 5 K, or when somebody looked; then moves count from what it was at the look."""
    rule = the("ambient_moved", LOOK)
    moved = event(8, "read", ambient_c=21.0)
    (told,) = broken(rule, moved, event(9, "read", ambient_c=15.0 + 5 * share))
    assert (told.until_s is not None) is over
    looked = event(9, "looked")
    (told,) = broken(rule, moved, looked, event(10, "read", ambient_c=25.9))
    assert told.until_s == 9 * H
    again = broken(rule, moved, looked, event(10, "read", ambient_c=26.1))
    assert [t.since_s for t in again] == [8 * H, 10 * H]
    assert again[1].values["was"] == 21.0


SETTINGS = [
    ("nozzle_temperature", LOOK, "nozzle_c", 500.0, 10.0),
    ("nozzle_temperature", STRIP_AGAIN, "nozzle_c", 500.0, 30.0),
    ("travel_speed", LOOK, "speed_m_per_min", 2.0, 0.2),
    ("travel_speed", STRIP_AGAIN, "speed_m_per_min", 2.0, 0.4),
    ("air_flow", LOOK, "air_flow_pct", 80.0, 4.0),
    ("air_flow", STRIP_AGAIN, "air_flow_pct", 80.0, 12.0),
    ("roller_load", LOOK, "roller_load_n", 100.0, 10.0),
    ("roller_load", STRIP_AGAIN, "roller_load_n", 100.0, 30.0),
    ("other_nozzle", STRIP_AGAIN, "nozzle_width_mm", 40.0, 0.5),
]


@pytest.mark.parametrize(("code", "level", "field", "was", "by"), SETTINGS)
@pytest.mark.parametrize("way", [1, -1])
def test_a_run_made_otherwise_than_the_strip(
    code: str, level: str, field: str, was: float, by: float, way: int
) -> None:
    """From so much on, until a run is made as the strip was; what nobody said says nothing."""
    rule = the(code, level)
    beyond, short = was + way * (by + 1e-6), was + way * (by - 1e-6)
    assert broken(rule, event(8, "start", "R1", **{field: short})) == []
    assert broken(rule, event(8, "start", "R1", **{field: None})) == []
    assert broken(rule, event(8, "read", **{field: beyond})) == []  # no run
    start = event(8, "start", "R1", **{field: beyond})
    (told,) = broken(rule, start, event(9, "finish", "R1"))
    assert (told.since_s, told.until_s, told.runs) == (8 * H, None, ("R1",))
    assert told.values["was"] == was and told.values["now"] == beyond
    (told,) = broken(rule, start, event(10, "start", "R2"))
    assert told.until_s == 10 * H
    (told,) = broken(rule, start, event(9, "looked"), event(10, "start", "R2"))
    assert told.until_s == (9 * H if level == LOOK else 10 * H)


@pytest.mark.parametrize(
    ("code", "field", "other"),
    [
        ("other_machine", "machine", "red"),
        ("other_sheet", "sheet", "app"),
        ("other_lap", "lap", "granules"),
        ("other_operator", "operator", "BO"),
        ("other_roll_lot", "roll_lot", "lot 2"),
    ],
)
def test_another_machine_sheet_lap_person_or_lot(code: str, field: str, other: str) -> None:
    """Not the strip's, by name."""
    rule = next(rule for rule in RULES if rule.code == code)
    assert broken(rule, event(8, "start", "R1")) == []
    (told,) = broken(rule, event(8, "start", "R1", **{field: other}))
    assert (told.values["was"], told.values["now"]) == (getattr(MADE, field), other)


@pytest.mark.parametrize(("level", "hours"), [(LOOK, 3.0), (STRIP_AGAIN, 5.0)])
def test_hours_since_the_strip_or_the_last_look(level: str, hours: float) -> None:
    """A look starts those of looks anew, never those of strips."""
    rule = the("hours_passed", level)
    assert broken(rule, now=7 + hours - 1e-3) == []
    (told,) = broken(rule, now=7 + hours)
    assert (told.since_s, told.until_s) == ((7 + hours) * H, None)
    assert told.values["now"] == pytest.approx(hours)
    looked = broken(rule, event(9, "looked"), now=7 + hours + 1)
    assert [t.since_s for t in looked] == ([] if level == LOOK else [(7 + hours) * H])
    late = broken(rule, event(11, "looked"), now=12.5)
    if level == LOOK:
        assert [(t.since_s, t.until_s) for t in late] == [(10 * H, 11 * H)]


@pytest.mark.parametrize(("level", "minutes"), [(LOOK, 30.0), (STRIP_AGAIN, 60.0)])
def test_a_stop_between_runs(level: str, minutes: float) -> None:
    """From a finish to the next start or finish, or to now; none while another run goes on."""
    rule = the("stopped", level)
    first = [event(7.5, "start", "R1"), event(8, "finish", "R1")]
    end = 8 + minutes / 60
    assert broken(rule, *first, now=end - 1e-3) == []
    (told,) = broken(rule, *first, now=end)
    assert (told.since_s, told.until_s) == (end * H, None)
    assert told.values["now"] == pytest.approx(minutes)
    assert broken(rule, *first, event(end - 1e-3, "start", "R2")) == []
    (told,) = broken(rule, *first, event(end + 0.1, "start", "R2"))
    assert told.runs == ("R2",)
    lost = [event(end - 1e-3, "finish", "R9")]  # its start was never written down
    assert broken(rule, *first, *lost, now=end + 0.2) == []
    both = [event(7.4, "start", "R0"), *first]
    assert broken(rule, *both) == []
    assert broken(rule, now=20.0) == []  # nothing was finished yet
    looked = broken(rule, *first, event(end + 0.2, "looked"), now=end + 0.5)
    assert looked[0].until_s == (round((end + 0.2) * H, 3) if level == LOOK else None)


@pytest.mark.parametrize(
    ("holds", "hours", "was"),
    [(None, 2.0, None), (0.5, 0.5, "sun"), (2.0, 2.0, None), (3.0, 2.0, None)],
)
def test_a_reading_ages_by_the_rules_hours_or_the_suns(
    holds: float | None, hours: float, was: str | None
) -> None:
    """The less of the two; where nobody ever read, nothing ages."""
    rule = the("reading_age", LOOK)
    ages = {"read_s": 8 * H, "read_holds_h": holds}
    assert broken(rule, now=8 + hours - 1e-3, **ages) == []
    (told,) = broken(rule, now=8 + hours, **ages)
    assert told.since_s == (8 + hours) * H
    assert told.values == {"was": was, "now": pytest.approx(hours), "limit": hours}
    assert broken(rule, now=20.0) == []


def test_a_limit_of_nothing_is_passed_at_once() -> None:
    """A job may adopt 0: any stop, any age, any hour counts then."""
    at_once = [replace(the(code, LOOK), threshold=0.0) for code in ("hours_passed", "reading_age")]
    for rule in at_once:
        assert [t.since_s for t in broken(rule, now=7.5, read_s=7 * H)] == [7 * H]
    stop = replace(the("stopped", LOOK), threshold=0.0)
    ran = [event(7.5, "start", "R1"), event(8, "finish", "R1")]
    assert [t.since_s for t in broken(stop, *ran, now=8.25)] == [8 * H]


def test_what_happened_and_what_it_says() -> None:
    """A failed strip by name, a machine out by its strips, a check outside until the next look."""
    (lost,) = broken(the("power_lost", STRIP_AGAIN), event(8, "power_lost"))
    assert (lost.since_s, lost.until_s) == (8 * H, None)
    (failed,) = broken(the("strip_failed", STRIP_AGAIN), event(8, "strip_failed", name="S2"))
    assert failed.values["now"] == "S2"
    for left, limit in ((None, None), (1, 1.0), (2, 2.0)):
        (out,) = broken(
            the("machine_out", STRIP_AGAIN), event(8, "machine_out", name="S1, S2", left=left)
        )
        assert out.values == {"was": "S1, S2", "now": "blue", "limit": limit}
    rule = the("check_outside", LOOK)
    twice = broken(rule, event(8, "outside"), event(9, "outside"), event(10, "looked"))
    assert [(t.since_s, t.until_s) for t in twice] == [(8 * H, 10 * H)]
    open_ = broken(rule, event(8, "outside"), event(9, "looked"), event(10, "outside"))
    assert [(t.since_s, t.until_s) for t in open_] == [(8 * H, 9 * H), (10 * H, None)]
    day = the("new_day", STRIP_AGAIN)
    assert broken(day) == []
    (new,) = broken(day, today="2026-05-05", now=30.0)
    assert new.values == {"was": DAY, "now": "2026-05-05", "limit": None}
    (early,) = broken(day, event(25, "day", day="2026-05-05"), today="2026-05-05", now=30.0)
    assert early.since_s == 25 * H


@pytest.mark.parametrize(
    ("code", "level", "field", "value"),
    [
        ("nozzle_temperature", LOOK, "nozzle_c", 510.0),
        ("nozzle_temperature", STRIP_AGAIN, "nozzle_c", 470.0),
        ("other_nozzle", STRIP_AGAIN, "nozzle_width_mm", 40.5),
        ("air_flow", LOOK, "air_flow_pct", 76.0),
        ("roller_load", LOOK, "roller_load_n", 110.0),
    ],
)
def test_the_bound_itself_is_broken(code: str, level: str, field: str, value: float) -> None:
    """From it on, not only beyond it."""
    assert len(broken(the(code, level), event(8, "start", "R1", **{field: value}))) == 1
    if code == "nozzle_temperature" and level == LOOK:
        assert len(broken(the("ambient_moved", LOOK), event(8, "read", ambient_c=20.0))) == 1
        assert len(broken(the("wind_moved", STRIP_AGAIN), event(8, "read", wind_m_per_s=8.0))) == 1


def test_runs_within_are_those_welded_then_in_part() -> None:
    """Finished after it began, begun before it was over; one not finished goes on."""
    rule = the("power_lost", STRIP_AGAIN)
    runs = [
        event(7.5, "start", "R1"),
        event(8.0, "finish", "R1"),
        event(8.0, "power_lost"),
        event(8.5, "start", "R2"),
        event(9.0, "finish", "R2"),
        event(9.5, "start", "R3"),
    ]
    assert broken(rule, *runs)[0].runs == ("R2", "R3")
    assert broken(rule, *runs, now=9.2)[0].runs == ("R2",)
    long = [event(7.5, "start", "R1"), event(8.0, "power_lost"), event(8.1, "finish", "R1")]
    assert broken(rule, *long)[0].runs == ("R1",)
    before = event(6.5, "power_lost")
    assert broken(rule, before) == []


def test_the_worst_of_what_holds_decides() -> None:
    """What is over calls for nothing; nothing broken is good."""
    look = Trigger("a", LOOK, 1.0, None, {}, (), "")
    strip = Trigger("b", STRIP_AGAIN, 2.0, None, {}, (), "")
    assert stands(()) == GOOD
    assert stands((look,)) == LOOK
    assert stands((strip, look)) == stands((look, strip)) == STRIP_AGAIN
    assert stands((replace(strip, until_s=3.0), look)) == LOOK
