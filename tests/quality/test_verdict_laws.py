"""Laws of the verdict: what makes a weld worse never turns it towards GOOD.

Events are of any morning; each law adds one thing to it and compares the two verdicts.
"""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from weldcal.quality.go_ahead_rules import LEVELS
from weldcal.quality.standing import LaterEvent, Weather, WeldSetup, stands, triggers

NOW_S = 2.5 * 3600.0  # past the age of a reading, short of the hours of a strip
SETUP = WeldSetup(
    "blue", "base", "selvage", 100.0, 500.0, 1.7, "L1", "Ana", air_flow_pct=100, roller_load_n=260
)
STRIP = LaterEvent(0.0, "2026-06-01", "strip", weather=Weather(16.0, 23.0, 2.0, 230.0), setup=SETUP)
FAILURES = ("outside", "check_failed", "pull_failed", "strip_failed", "power_lost", "machine_out")
KINDS = ("read", "looked", "start", *FAILURES[:-1])


def event(at_s: float, kind: str, sheet_c: float) -> LaterEvent:
    """Something that happened: weather with a reading, a setting with a start."""
    weather = Weather(sheet_c=sheet_c) if kind == "read" else Weather()
    setup = SETUP if kind == "start" else WeldSetup()
    return LaterEvent(at_s, STRIP.day, kind, run=f"r{at_s}", weather=weather, setup=setup)


MORNINGS = st.lists(
    st.builds(event, st.floats(1.0, NOW_S), st.sampled_from(KINDS), st.floats(10.0, 45.0)),
    max_size=8,
)
TIMES = st.floats(0.0, NOW_S)


def level(events: list[LaterEvent], read_s: float | None = NOW_S, strip: LaterEvent = STRIP) -> int:
    """Place of the verdict in `LEVELS`."""
    ordered = sorted(events, key=lambda one: one.at_s)
    found = triggers(strip, ordered, NOW_S, STRIP.day, read_s=read_s)
    return LEVELS.index(stands(found))


@given(
    MORNINGS,
    TIMES,
    st.sampled_from(FAILURES),
)
def test_a_failure_more_never_improves_it(
    morning: list[LaterEvent], at_s: float, kind: str
) -> None:
    """At any time of the morning."""
    worse = LaterEvent(at_s, STRIP.day, kind, name="S9")
    assert level([*morning, worse]) >= level(morning)


@given(MORNINGS, TIMES, TIMES)
def test_an_older_reading_never_improves_it(
    morning: list[LaterEvent], one: float, other: float
) -> None:
    """The older of two times of the last reading."""
    assert level(morning, min(one, other)) >= level(morning, max(one, other))


@given(MORNINGS, TIMES, st.floats(0.3, 1.0), st.floats(0.3, 1.0))
def test_a_run_with_less_air_or_load_never_improves_it(
    morning: list[LaterEvent], at_s: float, air: float, load: float
) -> None:
    """Against the same run made as the strip was."""
    run = LaterEvent(at_s, STRIP.day, "start", run="new", setup=SETUP)
    less = replace(run, setup=replace(SETUP, air_flow_pct=100 * air, roller_load_n=260 * load))
    assert level([*morning, less]) >= level([*morning, run])


@given(MORNINGS, TIMES)
def test_a_run_on_another_lap_kind_is_not_covered(morning: list[LaterEvent], at_s: float) -> None:
    """A later run on the strip's own kind is; so only the last one counts here."""
    other = LaterEvent(NOW_S, STRIP.day, "start", run="new", setup=replace(SETUP, lap="granules"))
    early = [one for one in morning if one.at_s <= at_s]
    assert level([*early, other]) >= LEVELS.index("strip_again")
