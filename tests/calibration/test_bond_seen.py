"""What the day's bonds are known by: only laps that were pulled and held, by when they were welded."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.calibration.stand_in import StandIn
from weldcal.calibration import Observation, Reach, SpeedQuestion, Window, fit
from weldcal.calibration.bond_seen import bond_seen, doubts

Make = Callable[..., Observation]
WINDOW = Window(3.175, 6.35, 9.525)  # as long as the go-ahead's rule: 5 h
PULLED, CHECK = {"hour": 7.5}, {"bond": None, "on_seam": True}
PEELED = {"readings_mm": (), "bubbling": None, "on_seam": True}


def day(strip: Make, *seen: dict[str, Any]) -> Any:
    return StandIn(tuple(strip(**({"hour": 7.5 + n / 2} | one)) for n, one in enumerate(seen)))


@pytest.mark.parametrize(
    ("seen", "hour", "said"),
    [
        ((), 8.0, ["bond_not_seen"]),
        ((CHECK, CHECK, CHECK), 9.0, ["bond_not_seen"]),
        (({"bond": None},), 8.0, ["bond_not_seen"]),
        (({"bond": "cold"},), 8.0, ["bond_not_seen"]),
        ((PULLED,), 8.0, []),
        ((PULLED, CHECK, CHECK), 9.0, []),
        # As long as a strip holds, and no longer, however many checks there were.
        ((PULLED, *[CHECK] * 9), 12.4, []),
        ((PULLED, *[CHECK] * 9), 12.5, ["bond_long_ago"]),
        ((PULLED,), 12.5, ["bond_long_ago"]),
        # A sample counts from when its place was welded.
        ((PULLED, {**PEELED, "hour": 9.0}), 13.9, []),
        ((PULLED, {**PEELED, "hour": 9.0}), 14.0, ["bond_long_ago"]),
        ((PULLED, {**PEELED, "hour": 9.0, "bond": "cold"}), 12.5, ["bond_long_ago"]),
        # Another machine's, sheet's, lap's or day's bond shows nothing here.
        (({**PULLED, "machine": "M2"},), 8.0, ["bond_not_seen"]),
        (({**PULLED, "sheet": "base"},), 8.0, ["bond_not_seen"]),
        (({**PULLED, "lap": "granules"},), 8.0, ["bond_not_seen"]),
        (({**PULLED, "day": "2026-06-19"},), 8.0, ["bond_not_seen"]),
    ],
)
def test_what_was_not_seen(
    strip: Make,
    question: SpeedQuestion,
    seen: tuple[dict[str, Any], ...],
    hour: float,
    said: list[str],
) -> None:
    """By kind and age of what was pulled."""
    assert doubts(day(strip, *seen), replace(question, hour=hour), WINDOW) == said


def test_it_says_what_was_pulled_last_and_whether_more_was_welded(
    strip: Make, question: SpeedQuestion
) -> None:
    """The strip's own hour; a check after it was not pulled."""
    alone = bond_seen(day(strip, {**PULLED, "name": "S1"}), question)
    assert alone is not None
    assert (alone.name, alone.hour, alone.more_since) == ("S1", 7.5, False)
    more = bond_seen(day(strip, {**PULLED, "name": "S1"}, CHECK), question)
    assert more == replace(alone, more_since=True)


ONE = st.fixed_dictionaries(
    {"hour": st.floats(6.0, 16.0), "bond": st.sampled_from(["good", "cold", None])}
)


@given(st.lists(ONE, max_size=5), st.data())
def test_a_worse_bond_never_takes_a_doubt_away(
    seen: list[dict[str, Any]], data: st.DataObject
) -> None:
    """One good pull less, whatever it becomes, and no doubt less."""
    question = SpeedQuestion(day="d", machine="M1", sheet="cap", lap="selvage", hour=16.0)

    def made(rows: list[dict[str, Any]]) -> bool:
        observations = tuple(
            Observation("d", "M1", "cap", "selvage", 500.0, 2.0, readings_mm=(6.35,), **row)
            for row in rows
        )
        return bool(doubts(StandIn(observations), question, WINDOW))  # type: ignore[arg-type]

    good = [n for n, row in enumerate(seen) if row["bond"] == "good"]
    if not good:
        assert made(seen)
        return
    at = data.draw(st.sampled_from(good))
    for worse in ("cold", None):
        changed = [dict(row, bond=worse) if n == at else row for n, row in enumerate(seen)]
        assert made(changed) >= made(seen)


def test_with_bleed_checks_alone_nobody_is_sure(
    strip: Make, question: SpeedQuestion, window: Window, reach: Reach
) -> None:
    """Fourteen good days, and today good checks only: sure once a strip was pulled and held, and
    no more five hours after it. The speed is the same all along."""
    days = [strip(day=f"2026-06-{d:02d}", hour=7.5) for d in range(1, 15) for _ in range(2)]
    checks = [strip(hour=7.5 + n / 4, bond=None, on_seam=True) for n in range(3)]
    pulled = strip(hour=8.4)

    def asked(*today: Observation, hour: float = 8.5) -> Any:
        return fit([*days, *today], window).advise(replace(question, hour=hour), window, reach)

    unseen, seen = asked(*checks), asked(*checks, pulled)
    assert unseen.doubts == ("bond_not_seen",)
    assert seen.sure
    assert seen.forecast.speed_m_per_min == pytest.approx(unseen.forecast.speed_m_per_min, abs=0.1)
    late = asked(*checks, pulled, hour=13.5)
    assert not late.sure
    assert "bond_long_ago" in late.doubts


def test_samples_that_part_at_the_lap_are_heard(
    strip: Make, question: SpeedQuestion, window: Window, reach: Reach
) -> None:
    """Bleed-out as ever, and a sample parts: not sure there. Two: the surface is named. Three: STOP."""
    days = [strip(day=f"2026-06-{d:02d}", hour=7.5) for d in range(1, 15) for _ in range(2)]
    today = [strip(hour=7.5), strip(hour=8.0, bond=None, on_seam=True)]
    parted = strip(hour=8.5, **{**PEELED, "bond": "cold"})
    held = strip(hour=8.5, **{**PEELED, "bond": "good"})

    def asked(*more: Observation) -> Any:
        return fit([*days, *today, *more], window).advise(
            replace(question, hour=9.0), window, reach
        )

    assert asked(held).sure
    assert asked(held).rests_on["peel_samples"] == 1
    assert not asked(parted).sure
    twice = asked(parted, replace(parted, hour=8.7))
    assert not twice.sure
    assert [sign.code for sign in twice.signs] == ["cold_anyway"]
    assert asked(parted, replace(parted, hour=8.7), replace(parted, hour=8.8)).stop
