"""A machine or a surface that is no longer what it was, and what the advice then says.

The days here are invented. What must follow is common practice, no source: three failures in a
row at a speed that has been good are not three accidents; thin and bubbling at once is not heat.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldcal.calibration import Advice, Observation, Reach, SpeedQuestion, Window, fit
from weldcal.calibration.advice import STOP, choose
from weldcal.calibration.staleness import sheet_spread_k

FT = 0.3048
GOOD = 7.5 * FT
REACH = Reach(FT, 20 * FT, 0.5 * FT, 400.0, 620.0, tuple(FT * n / 2 for n in range(2, 41)))
ZERO, THIN, RIGHT, THICK = (0.0,) * 3, (1.5875,) * 3, (6.35,) * 3, (9.525,) * 3
Make = Callable[..., Observation]


@pytest.fixture
def days(strip: Make) -> list[Observation]:
    """Three good days and a good strip this morning, all about 7.5 ft/min."""
    found = [
        strip(
            day=f"2026-06-{17 + day}", speed_m_per_min=v * FT, readings_mm=(mm,) * 3, hour=7.0 + v
        )
        for day in range(3)
        for v, mm in ((7.0, 7.9375), (7.5, 6.35), (8.0, 4.7625))
    ]
    return [*found, strip(speed_m_per_min=GOOD, readings_mm=RIGHT, hour=7.5)]


def _said(rows: list[Observation], window: Window, question: SpeedQuestion) -> Advice:
    return fit(rows, window).advise(replace(question, hour=10.0), window, REACH)


def _row(strip: Make, count: int, **fields: object) -> list[Observation]:
    """The same result `count` times, half an hour apart, at the good speed."""
    given = {"speed_m_per_min": GOOD, "readings_mm": RIGHT, **fields}
    return [strip(hour=8.0 + n / 2, **given) for n in range(count)]


def test_a_healthy_morning_is_no_stop(days, window, question) -> None:
    """Nothing seen, nothing feared."""
    said = _said(days, window, question)
    assert said.sure
    assert said.state.broken < 0.02
    assert (said.stop, said.signs) == (False, ())


@pytest.mark.parametrize(
    ("seen", "kind", "sign"),
    [
        (
            {"readings_mm": ZERO[:2], "on_seam": True, "bond": None, "bubbling": None},
            "machine",
            "too_little",
        ),
        ({"bubbling": "heavy"}, "bubbling", "bubbling_anyway"),
        ({"bond": "cold"}, "bond", "cold_anyway"),
    ],
)
def test_three_failures_in_a_row_stop(
    days, strip, window, question, seen: dict[str, object], kind: str, sign: str
) -> None:
    """Never sure after the first, and STOP with no speed at the third, for its own cause."""
    for count in (1, 2, 3):
        said = _said([*days, *_row(strip, count, **seen)], window, question)
        assert not said.sure
    assert said.stop
    assert (said.forecast, said.next_strip, said.speed_low) == (None, None, None)
    chances = {k: getattr(said.state, k) for k in ("machine", "bond", "bubbling")}
    assert max(chances, key=lambda k: chances[k]) == kind
    assert said.signs[0].code == sign
    assert said.signs[0].shown_by[0].hour == 8.0


def test_each_dead_check_makes_a_working_machine_less_likely(days, strip, window, question) -> None:
    """More of what speaks against it never speaks for it."""
    dead = _row(strip, 4, readings_mm=ZERO[:2], on_seam=True, bond=None)
    working = [_said([*days, *dead[:count]], window, question).state.working for count in range(5)]
    assert working == sorted(working, reverse=True)


def test_mended_it_advises_again_and_leaves_the_broken_strips_aside(
    days, strip, window, question
) -> None:
    """A good strip at the good speed ends the STOP; the dead checks move no speed."""
    dead = _row(strip, 3, readings_mm=ZERO[:2], on_seam=True, bond=None)
    again = strip(speed_m_per_min=GOOD, readings_mm=RIGHT, hour=9.8)
    assert _said([*days, *dead], window, question).stop
    said = _said([*days, *dead, again], window, question)
    plain = _said([*days, again], window, question)
    assert not said.stop
    assert said.state.aside == (10, 11, 12)
    assert said.rests_on["set_aside"] == 3
    assert said.forecast is not None
    assert plain.forecast is not None
    assert said.forecast.speed_m_per_min == pytest.approx(plain.forecast.speed_m_per_min)


def test_the_time_of_a_check_counts_not_its_place_in_the_list(
    days, strip, window, question
) -> None:
    """Strips come first and checks after them from the book: the state goes by their hours."""
    dead = _row(strip, 2, readings_mm=ZERO[:2], on_seam=True, bond=None)
    again = strip(speed_m_per_min=GOOD, readings_mm=RIGHT, hour=9.8)
    late, early = ([*days, again, *dead], [*days, *dead, again])
    assert _said(late, window, question).state.working == pytest.approx(
        _said(early, window, question).state.working, abs=0.02
    )
    assert not _said(late, window, question).stop


def test_a_first_day_on_an_unusual_rig_is_not_broken(strip, window, question) -> None:
    """A rig at a third of common practice finds its window: cold, cold, then good."""
    rows = [
        strip(speed_m_per_min=v, readings_mm=mm, bond=bond, hour=7.5 + n / 4)
        for n, (v, mm, bond) in enumerate(
            ((1.7, ZERO, "cold"), (1.0, THIN, "cold"), (0.7, (7.9375,) * 3, "good"))
        )
    ]
    for count in (1, 2, 3):
        assert _said(rows[:count], window, question).state.broken < 0.15


def test_hundreds_of_older_strips_say_what_a_second_fit_would(
    strip, window, question, monkeypatch
) -> None:
    """The short way for a long record, against the long way: the same state to 0.05."""
    rng = np.random.default_rng(4)
    old = []
    for n in range(450):
        speed = float(GOOD * np.exp(rng.normal(0.0, 0.08)))
        width = 6.35 * (GOOD / speed) ** 3 * np.exp(rng.normal(0.0, 0.1))
        old.append(
            strip(
                day=f"2026-0{1 + n // 150}-{1 + n % 28:02d}",
                speed_m_per_min=speed,
                readings_mm=(round(width / 1.5875) * 1.5875,) * 3,
                bond=None,
                hour=8.0,
            )
        )
    fine = strip(speed_m_per_min=GOOD, readings_mm=RIGHT, hour=7.5)
    dead = _row(strip, 2, readings_mm=ZERO[:2], on_seam=True, bond=None)
    for today in ([fine], [fine, dead[0]], [fine, *dead]):
        rows = [*old, *today]
        monkeypatch.setattr("weldcal.calibration.engine.SETTLED", 400)
        known = fit(rows, window)
        assert known.before(question) is known
        short = known.state(question)
        monkeypatch.setattr("weldcal.calibration.engine.SETTLED", 10_000)
        known = fit(rows, window)
        assert known.before(question) is not known
        long = known.state(question)
        assert short.working == pytest.approx(long.working, abs=0.05)


def test_another_sheets_cold_pulls_are_its_own(days, strip, window, question) -> None:
    """A dusty roll says nothing of the next sheet on the same machine."""
    cold = _row(strip, 3, bond="cold", sheet="base")
    assert _said([*days, *cold], window, replace(question, sheet="base")).stop
    assert _said([*days, *cold], window, question).state.bond < 0.1


def test_good_bleed_out_that_parts_cold_never_gets_its_speed_again(strip, window, question) -> None:
    """5.5, 5.0, 4.5 ft/min, all with bleed-out and all cold: slower each time, then STOP."""
    rows = [
        strip(speed_m_per_min=v * FT, readings_mm=(mm,) * 3, bond="cold", hour=7.5 + n / 4)
        for n, (v, mm) in enumerate(((5.5, 6.35), (5.0, 7.9375), (4.5, 9.525)))
    ]
    for count in (1, 2, 3):
        said = _said(rows[:count], window, question)
        assert "cold_anyway" in {sign.code for sign in said.signs}
        assert not said.sure
        if said.forecast is not None:
            assert said.forecast.speed_m_per_min < rows[count - 1].speed_m_per_min - 0.01
    assert said.stop


def test_heavy_bubbling_never_gets_its_speed_again(days, strip, window, question) -> None:
    """Common practice, no source: what has just bubbled heavily goes faster, or not at all."""
    heavy = strip(speed_m_per_min=GOOD, readings_mm=THICK, bubbling="heavy", hour=8.0)
    said = _said([*days, heavy], window, question)
    assert said.forecast is None or said.forecast.speed_m_per_min > GOOD + 0.01


def test_thin_and_bubbling_at_once_is_told_as_that(strip, window, question) -> None:
    """1/16 in and heavy bubbling at 7 ft/min: no faster speed, a look for water."""
    said = _said(
        [strip(speed_m_per_min=7 * FT, readings_mm=THIN, bubbling="heavy", bond=None)],
        window,
        question,
    )
    assert said.stop
    assert "thin_and_bubbling" in {sign.code for sign in said.signs}


def test_an_order_that_cannot_be_names_both_strips(strip, window, question) -> None:
    """5 ft/min gave 1/8 in, 7 ft/min 3/8 in: neither is dropped in silence."""
    slow = strip(speed_m_per_min=5 * FT, readings_mm=(3.175,) * 3, hour=7.5)
    fast = strip(speed_m_per_min=7 * FT, readings_mm=THICK, hour=7.8)
    said = _said([slow, fast], window, question)
    (sign,) = [s for s in said.signs if s.code == "wrong_order"]
    assert sign.shown_by == (slow, fast)
    assert "signs_contradict" in said.doubts
    usual = [replace(slow, readings_mm=THICK), replace(fast, readings_mm=(3.175,) * 3)]
    assert "wrong_order" not in {s.code for s in _said(usual, window, question).signs}


def test_the_last_one_failing_here_is_never_sure(days, strip, window, question) -> None:
    """What makes a weld worse never improves a verdict: a bad check at the advised speed."""
    bad = strip(speed_m_per_min=GOOD, readings_mm=(1.5875, 3.175), on_seam=True, hour=8.0)
    assert "last_failed_here" in _said([*days, bad], window, question).doubts


def test_far_from_what_was_tried_the_speed_is_held_back(strip, window, question) -> None:
    """Three strips at 74 °F, a reading of 150 °F: no leap to 12.5 ft/min, and never sure."""
    rows = [
        strip(speed_m_per_min=v * FT, readings_mm=(mm,) * 3, sheet_c=23.3, hour=7.5)
        for v, mm in ((8.0, 1.5875), (5.5, 6.35), (5.0, 7.9375))
    ]
    near = _said(rows, window, replace(question, sheet_c=23.3 + 25.0))
    far = _said(rows, window, replace(question, sheet_c=65.6))
    assert near.forecast is not None
    assert far.forecast is not None
    assert (near.capped, far.capped) == ("", "warmer")
    assert far.forecast.speed_m_per_min <= near.forecast.speed_m_per_min + 1e-9
    assert far.next_strip is not None
    assert far.next_strip.speed_m_per_min <= near.forecast.speed_m_per_min + 1e-9
    assert "far_from_tried" in far.doubts


def test_a_reason_is_what_a_fit_without_that_strip_would_advise(strip, window, question) -> None:
    """Fitted anew without it, by hand: the same speed to the dial's step."""
    rows = [
        strip(speed_m_per_min=8.0 * FT, readings_mm=THIN, bond="cold", hour=7.5),
        strip(speed_m_per_min=5.5 * FT, readings_mm=(6.35, 4.7625, 6.35), hour=7.8),
        strip(speed_m_per_min=5.0 * FT, readings_mm=(6.35, 7.9375, 6.35), hour=8.0),
    ]
    asked = replace(question, hour=9.0)
    said = fit(rows, window).advise(asked, window, REACH)
    assert said.forecast is not None
    reasons = [r for r in said.reasons if r.code == "strip"]
    assert reasons
    for reason in reasons:
        left = [o for o in rows if o.speed_m_per_min != reason.values["speed_m_per_min"]]
        assert len(left) == 2
        without = choose(fit(left, window), asked, window, REACH).speed
        assert reason.values["without_m_per_min"] == pytest.approx(without)
        assert reason.effect == pytest.approx(said.forecast.speed_m_per_min - without)


def test_only_what_was_read_can_be_a_reason(days, window, question) -> None:
    """No voltage, no wind, no sun among the reasons where nobody read them."""
    for read in ({}, {"line_v": 190.0, "rated_v": 230.0}, {"wind_m_per_s": 9.0}):
        blank = replace(question, line_v=None, wind_m_per_s=None, sheet_c=45.0)
        asked = replace(blank, **read)
        codes = {r.code for r in fit(days, window).advise(asked, window, REACH).reasons}
        assert codes <= {"strip", "sheet_temperature", "nozzle"} | (
            {"voltage"} if "line_v" in read else {"wind"} if read else set()
        )


@given(
    read=st.floats(5.0, 20.0),
    first=st.floats(0.0, 8.0),
    more=st.floats(0.0, 8.0),
)
def test_an_older_reading_never_says_more(read: float, first: float, more: float) -> None:
    """A law: the spread of the sheet about its reading only grows with its age."""

    def spread(age: float) -> float:
        return sheet_spread_k(
            SpeedQuestion(
                "2026-06-20",
                "M1",
                "cap",
                "selvage",
                sheet_c=20.0,
                hour=read + age,
                hour_sheet_read=read,
            )
        )

    assert spread(0.0) == 0.0
    assert spread(first) <= spread(first + more) + 1e-9


def test_an_old_reading_widens_the_interval(days, window, question) -> None:
    """07:05 asked about at 11:40, against a fresh one at 11:40."""
    known = fit(days, window)
    fresh = replace(question, hour=11.67)
    old = replace(fresh, hour_sheet_read=7.08)

    def interval(asked: SpeedQuestion) -> float:
        (said,) = known.forecast(asked, [GOOD], 500.0)
        return said.width_high_mm - said.width_low_mm

    assert interval(old) > 1.5 * interval(fresh)
    assert known.advise(fresh, window, REACH).sure
    assert not known.advise(old, window, REACH).sure


@given(
    seen=st.lists(
        st.tuples(
            st.sampled_from([1.0, 1.6, 2.3, 3.5]),
            st.sampled_from([(), ZERO, THIN, RIGHT, THICK]),
            st.sampled_from(["none", "trace", "heavy", None]),
            st.sampled_from(["good", "cold", None]),
        ),
        max_size=5,
    )
)
def test_the_state_is_always_a_chance_and_stop_has_no_speed(
    seen: list[tuple[float, tuple[float, ...], str | None, str | None]],
) -> None:
    """Laws over random mornings: chances sum to 1; STOP if and only if no speed; never both
    STOP, or likely broken, and sure."""
    rows = [
        Observation(
            "2026-06-20",
            "M1",
            "cap",
            "selvage",
            500.0,
            speed,
            sheet_c=20.0,
            readings_mm=readings,
            bubbling=bubbling,  # type: ignore[arg-type]
            bond=bond,  # type: ignore[arg-type]
            hour=7.0 + n / 3,
        )
        for n, (speed, readings, bubbling, bond) in enumerate(seen)
    ]
    window = Window(low_mm=3.175, aim_mm=6.35, high_mm=9.525)
    asked = SpeedQuestion("2026-06-20", "M1", "cap", "selvage", 500.0, sheet_c=20.0, hour=10.0)
    said = fit(rows, window).advise(asked, window, REACH)
    state = said.state
    parts = np.array([state.working, state.machine, state.bond, state.bubbling])
    assert (parts >= -1e-9).all()
    assert parts.sum() == pytest.approx(1.0)
    assert said.stop == (said.forecast is None) == (state.broken >= STOP)
    assert not (said.sure and state.broken > 0.1)


def test_damp_noted_makes_bubbling_the_sheets_fault_and_not_the_machines(
    days, strip, window, question
) -> None:
    """Somebody noted damp before a trace at a speed that was clean: water, sooner than chance. One
    that is clean clears the sheet, and the machine is never blamed for the rain."""
    trace = strip(speed_m_per_min=GOOD, readings_mm=RIGHT, bubbling="trace", hour=8.5)
    dry = _said([*days, trace], window, question).state
    wet = _said([*days, replace(trace, after_damp=True)], window, question).state
    assert wet.bubbling > 2 * dry.bubbling
    assert wet.machine <= dry.machine + 1e-9
    clean = strip(speed_m_per_min=GOOD, readings_mm=RIGHT, hour=8.5, after_damp=True)
    said = _said([*days, clean], window, question)
    assert said.sure
    assert said.state.broken < 0.05
