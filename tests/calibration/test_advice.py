"""Learning from strips, advice, the card and the report, on strips of our own invention."""

from __future__ import annotations

import doctest
import subprocess
import sys
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

import weldcal.calibration
from tests.calibration.conftest import Strip
from weldcal.calibration import (
    SIXTEENTH_MM,
    NothingInReachError,
    Observation,
    Reach,
    SpeedQuestion,
    Window,
    fit,
    report,
)


def width(f: object) -> float:
    """How wide a forecast's interval is, in logs."""
    return float(np.log(f.width_high_mm / f.width_low_mm))  # type: ignore[attr-defined]


def test_the_documented_example_works() -> None:
    """The example in the package's docstring, as written."""
    assert doctest.testmod(weldcal.calibration).failed == 0


def test_importing_the_package_does_not_import_numpy() -> None:
    """Records of questions and answers come without the computation."""
    code = "import sys, weldcal.calibration as c; c.Observation; print('numpy' in sys.modules)"
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "False"


def test_same_strips_same_seed_same_advice(strip, question, window, reach) -> None:
    """Answers are deterministic."""
    one = fit([strip()], window).advise(question, window, reach)
    assert one == fit([strip()], window).advise(question, window, reach)


def test_too_wide_means_faster_and_too_narrow_slower(strip, question, window, reach) -> None:
    """After one strip the advice moves away from what was wrong."""

    def speed(*readings: float) -> float:
        seen = strip(readings_mm=readings)
        return fit([seen], window).advise(question, window, reach).forecast.speed_m_per_min

    assert speed(15.9, 14.3, 15.9) > 1.7 > speed(1.5875, 3.175, 1.5875)


def test_no_bleed_out_says_slower_not_a_width_of_nothing(strip, question, window, reach) -> None:
    """Zeros are censored: slower than after a narrow bead, and no wild leap to the dial's end."""
    none = strip(readings_mm=(0.0, 0.0, 0.0), bond="cold")
    advice = fit([none], window).advise(question, window, reach)
    assert 0.6 < advice.forecast.speed_m_per_min < 1.6


def test_history_narrows_the_forecast_and_learns_the_speed(
    history, strip, question, window, reach
) -> None:
    """Ten days of strips: near the law they were made by, and far surer than none."""
    rows = history(10)
    known = fit(rows, window)
    advice = known.advise(question, window, reach)
    assert advice.forecast.speed_m_per_min == pytest.approx(1.8, rel=0.08)
    nothing = fit([], window).forecast(question, [1.8], 500.0)[0]
    assert width(advice.forecast) < 0.4 * width(nothing)
    assert advice.doubts == ("no_strip_today",)
    today = strip(speed_m_per_min=advice.forecast.speed_m_per_min)
    assert fit([*rows, today], window).advise(question, window, reach).sure


def test_elasticity_is_learned_not_assumed(history, window) -> None:
    """A wide and a narrow sheet, by the same code: their own exponents come back."""
    for elasticity in (1.0, 5.0):
        made = report(fit(history(15, elasticity), window), history(15, elasticity), window)
        found = next(c for c in made.coefficients if c.name == "elasticity:cap")
        assert found.mean == pytest.approx(np.log(elasticity), abs=0.25)


def test_one_wild_strip_does_not_drag_the_day(history, strip, question, window, reach) -> None:
    """A mistyped row today moves the advice by less than 4 %, is named, and is counted."""
    rows = [*history(10), strip(speed_m_per_min=1.8), strip(speed_m_per_min=1.8)]
    usual = fit(rows, window).advise(question, window, reach)
    wild = strip(speed_m_per_min=1.8, readings_mm=(25.4, 25.4, 27.0), id="typo")
    advice = fit([*rows, wild], window).advise(question, window, reach)
    assert advice.forecast.speed_m_per_min == pytest.approx(
        usual.forecast.speed_m_per_min, rel=0.04
    )
    assert advice.rests_on["set_aside"] == 1
    made = report(fit([*rows, wild], window), [*rows, wild], window)
    assert [
        made.residuals[k].id for k in range(len(made.residuals)) if made.residuals[k].set_aside
    ] == ["typo"]


def test_one_wild_reading_does_not_drag_its_strip(strip, window) -> None:
    """Four readings of 1/4 in and one of 1 in: the strip still says about 1/4 in."""
    from weldcal.calibration.readings import widths

    found = widths([(6.35, 6.35, 6.35, 6.35, 25.4)], [25.4 / 16])
    assert np.exp(found.log_mm[0]) == pytest.approx(6.35, rel=0.08)


def test_damp_strips_stay_out_of_bubbling(history, strip, question, window) -> None:
    """Heavy bubbling on damp sheet says nothing of heat."""
    rows = history(5)
    damp = [strip(damp=True, bubbling="heavy", readings_mm=(), bond=None)] * 3
    dry = [strip(bubbling="heavy", readings_mm=(), bond=None)] * 3

    def bubbling(more: list[Observation]) -> float:
        return fit([*rows, *more], window).forecast(question, [1.7], 500.0)[0].chance_bubbling

    assert bubbling(damp) == pytest.approx(bubbling([]), abs=0.03)
    assert bubbling(dry) > bubbling([]) + 0.2


def test_with_no_bubbling_ever_seen_it_still_knows_that_it_comes(history, question, window) -> None:
    """All-none strips: rare at the right speed, likely at half of it."""
    known = fit(history(10), window)
    slow, right = known.forecast(question, [0.8, 1.8], 500.0)
    assert right.chance_bubbling < 0.05
    assert slow.chance_bubbling > 0.4


def test_forecasts_are_monotone_in_speed(history, question, window) -> None:
    """Faster: narrower, less bubbling, colder."""
    said = fit(history(5), window).forecast(question, np.arange(0.8, 4.0, 0.2).tolist(), 500.0)
    for before, after in pairwise(said):
        assert after.width_mm < before.width_mm
        assert after.chance_bubbling <= before.chance_bubbling
        assert after.chance_heavy <= before.chance_heavy
        assert after.chance_cold >= before.chance_cold


def test_heavy_bubbling_is_never_likelier_than_bubbling(history, question, window) -> None:
    """Ordered by construction."""
    for said in fit(history(3), window).forecast(question, [0.6, 1.0, 1.8, 3.0], 500.0):
        assert said.chance_heavy <= said.chance_bubbling


def test_advice_stays_on_the_dial_and_within_reach(strip, question, window) -> None:
    """Only marks of the dial, only inside the limits."""
    reach = Reach(0.5, 2.0, 0.1, 400.0, 620.0, speeds=(0.5, 1.0, 1.5, 2.0, 3.0))
    too_hot = strip(readings_mm=(20.6, 22.2, 20.6), speed_m_per_min=2.0)
    advice = fit([too_hot], window).advise(question, window, reach)
    assert advice.forecast.speed_m_per_min == 2.0
    with pytest.raises(NothingInReachError):
        fit([], window).advise(replace(question, nozzle_c=700.0), window, reach)


def test_beyond_the_strips_it_says_so(history, strip, question, window, reach) -> None:
    """Another nozzle, a far warmer sheet, another lap kind or machine: each is named."""
    known = fit([*history(10), strip(speed_m_per_min=1.8)], window)

    def doubts(**changes: object) -> tuple[str, ...]:
        return known.advise(replace(question, **changes), window, reach).doubts

    assert "nozzle_beyond_strips" in doubts(nozzle_c=570.0)
    assert "weather_beyond_strips" in doubts(sheet_c=75.0)
    assert "nothing_tried" in doubts(lap="granules")
    assert "machine_untried" in doubts(machine="M9")


def test_searching_nozzles_stays_inside_those_asked(strip, question, window, reach) -> None:
    """Over a grid of nozzle temperatures the best pair comes back."""
    asked = replace(question, nozzle_c=None, nozzles_c=(480.0, 500.0, 520.0))
    advice = fit([strip()], window).advise(asked, window, reach)
    assert advice.forecast.nozzle_c in (480.0, 500.0, 520.0)


def test_it_holds_until_the_sheet_warms_and_then_goes_faster(
    history, strip, question, window, reach
) -> None:
    """On a steep sheet a warming roof ends the setting; the speed from there is higher."""
    rows = [*history(12, 5.0), strip(speed_m_per_min=1.8)]
    advice = fit(rows, window).advise(question, window, reach)
    assert advice.holds_until_sheet_c is not None
    assert question.sheet_c < advice.holds_until_sheet_c < question.sheet_c + 25.0
    assert advice.speed_from_there > advice.forecast.speed_m_per_min


def test_reasons_name_the_warmer_sheet(history, strip, question, window, reach) -> None:
    """At 2 p.m. the sheet's temperature moved the advice most, and by how much is said."""
    rows = [*history(12), strip(speed_m_per_min=1.8)]
    advice = fit(rows, window).advise(replace(question, sheet_c=45.0), window, reach)
    first = advice.reasons[0]
    assert first.code == "sheet_temperature"
    assert first.effect > 0.2
    assert first.values["now_sheet_c"] == 45.0
    assert len(advice.reasons) <= 3


def test_bleed_checks_are_evidence(history, strip, question, window) -> None:
    """A reading on the seam narrows what is said of the same hour."""
    rows = history(5)
    seam = strip(on_seam=True, readings_mm=(6.35, 6.35), bond=None, speed_m_per_min=1.8)
    before = fit(rows, window).forecast(question, [1.8], 500.0)[0]
    assert width(fit([*rows, seam], window).forecast(question, [1.8], 500.0)[0]) < width(before)


def test_two_sheets_keep_their_own_elasticity(history, question, window) -> None:
    """A wide and a narrow sheet in one job do not blur into one."""
    wide = history(10, 1.0, seed=3)
    narrow = [replace(o, sheet="steep") for o in history(10, 5.0, seed=4)]
    known = fit([*wide, *narrow], window)

    def ratio(sheet: str) -> float:
        asked = replace(question, sheet=sheet)
        slow, fast = known.forecast(asked, [1.7, 1.9], 500.0)
        return float(np.log(slow.width_mm / fast.width_mm) / np.log(1.9 / 1.7))

    assert ratio("cap") == pytest.approx(1.0, abs=0.35)
    assert ratio("steep") == pytest.approx(5.0, abs=1.2)


def test_a_thermoplastic_sheet_is_judged_by_bond_and_bubbling_alone(strip, question, reach) -> None:
    """No readings at all: too cold at 5, too hot at 3, good at 4 m/min."""
    unjudged = Window(3.0, 6.0, 9.0, by_bleed_out=False)
    rows = [
        strip(speed_m_per_min=v, readings_mm=(), bubbling=bubbling, bond=bond)
        for v, bubbling, bond in (
            (3.0, "heavy", None),
            (3.8, "none", "good"),
            (4.2, "none", "good"),
            (5.2, "none", "cold"),
        )
    ]
    advice = fit(rows, unjudged).advise(question, unjudged, reach)
    assert 3.5 < advice.forecast.speed_m_per_min < 4.6


def test_many_speeds_at_once_agree_with_one_by_one(history, question, window) -> None:
    """Beyond 120 speeds forecasts are interpolated: within 1 % of width and 0.01 of chance."""
    known = fit(history(5), window)
    speeds = np.linspace(0.8, 4.0, 500)
    many = known.forecast(question, speeds.tolist(), 500.0)
    for i in (10, 130, 333, 480):
        alone = known.forecast(question, [float(speeds[i])], 500.0)[0]
        assert many[i].width_high_mm == pytest.approx(alone.width_high_mm, rel=0.01)
        assert many[i].chance == pytest.approx(alone.chance, abs=0.01)


def test_odd_records_never_break_it(question, window, reach) -> None:
    """Extremes, blanks and contradictions: finite answers within reach, or STOP, every time."""
    rng = np.random.default_rng(11)
    for _ in range(25):
        rows = [_odd(rng) for _ in range(rng.integers(1, 9))]
        advice = fit(rows, window).advise(question, window, reach)
        said = advice.forecast
        state = advice.state
        assert np.isfinite([state.working, state.machine, state.bond, state.bubbling]).all()
        assert advice.stop == (said is None)
        if said is None:
            assert state.broken >= 0.8
            assert advice.next_strip is None
            continue
        assert reach.speed_min <= said.speed_m_per_min <= reach.speed_max
        assert 0.0 < said.width_low_mm <= said.width_mm <= said.width_high_mm < float("inf")
        assert 0.0 <= said.chance <= 1.0


def _odd(rng: np.random.Generator) -> Observation:
    def maybe(low: float, high: float) -> float | None:
        return None if rng.random() < 0.4 else float(rng.uniform(low, high))

    return Observation(
        day=str(rng.choice(["2026-06-18", "2026-06-20"])),
        machine=str(rng.choice(["M1", "M2", "[x]"])),
        sheet=str(rng.choice(["cap", "base"])),
        lap=rng.choice(["selvage", "granules"]),
        nozzle_c=float(rng.uniform(150.0, 700.0)),
        speed_m_per_min=float(np.exp(rng.uniform(-2.5, 3.0))),
        ambient_c=maybe(-30.0, 45.0),
        sheet_c=maybe(-30.0, 90.0),
        wind_m_per_s=maybe(0.0, 40.0),
        line_v=maybe(80.0, 260.0),
        rated_v=maybe(110.0, 240.0),
        damp=bool(rng.random() < 0.3),
        readings_mm=tuple(rng.choice([0.0, 1.5875, 6.35, 30.0, 75.0], rng.integers(0, 6)).tolist()),
        bubbling=rng.choice(["none", "trace", "heavy", None]),
        bond=rng.choice(["good", "cold", None]),
    )


def test_a_strip_that_says_nothing_is_not_tried(strip, question, window, reach) -> None:
    """No readings, nobody looked, no pull: it neither brackets nor spoils the bracket."""
    empty = strip(readings_mm=(), bubbling=None, bond=None)
    assert "nothing_tried" in fit([empty], window).advise(question, window, reach).doubts
    both = fit([empty, strip()], window).advise(question, window, reach).doubts
    assert "speed_beyond_strips" not in both


@pytest.mark.parametrize("width", [SIXTEENTH_MM * 2, SIXTEENTH_MM * 6])
def test_a_last_check_at_the_very_edge_takes_the_certainty_away(
    strip: Strip, question: SpeedQuestion, window: Window, reach: Reach, width: float
) -> None:
    """1/8 in and 3/8 in are inside the limits, and a machine that has just changed shows so."""
    days = [strip(day=f"2026-06-{d:02d}") for d in range(1, 15) for _ in range(2)]
    morning = [strip(hour=7.5), strip(hour=7.7)]
    check = strip(hour=8.5, readings_mm=(width, width), bond=None, on_seam=True)
    assert fit([*days, *morning], window).advise(question, window, reach).sure
    said = fit([*days, *morning, check], window).advise(question, window, reach)
    assert not said.sure
    assert "last_at_edge" in said.doubts
    first = fit([*days, check], window).advise(question, window, reach)
    assert "last_at_edge" not in first.doubts  # nothing today to have moved away from


def test_what_showed_too_little_speaks_until_a_pull_there_holds(
    strip: Strip, question: SpeedQuestion, window: Window, reach: Reach
) -> None:
    """A check at the lower limit, then a good strip a tenth slower: nobody is sure of the old
    speed again. A good check there shows no bond; a strip that is pulled there and holds does."""
    days = [strip(day=f"2026-06-{d:02d}") for d in range(1, 15) for _ in range(2)]
    usual = strip().speed_m_per_min
    seen = [*days, strip(hour=7.5), strip(hour=7.7)]
    edge = strip(hour=8.5, readings_mm=(2 * SIXTEENTH_MM,) * 2, bond=None, on_seam=True)
    slower = strip(hour=8.7, speed_m_per_min=0.9 * usual, readings_mm=(5 * SIXTEENTH_MM,) * 5)
    check = strip(hour=8.9, bond=None, on_seam=True)
    pulled = strip(hour=9.1)

    def doubts(*later: Observation) -> tuple[str, ...]:
        return fit([*seen, *later], window).advise(question, window, reach).doubts

    assert "last_at_edge" in doubts(edge, slower)
    assert "last_at_edge" in doubts(edge, slower, check)
    assert "last_at_edge" not in doubts(edge, slower, check, pulled)


def test_a_trace_of_bubbling_speaks_until_one_with_as_much_heat_is_clean(
    strip: Strip, question: SpeedQuestion, window: Window, reach: Reach
) -> None:
    """What the job's rule fails, fails: a wet roll shows a trace first. Where a trace passes, or a
    colder one was clean, nothing is said."""
    days = [strip(day=f"2026-06-{d:02d}") for d in range(1, 15) for _ in range(2)]
    seen = [*days, strip(hour=7.5), strip(hour=7.7)]
    trace = strip(hour=8.5, bubbling="trace", bond=None, on_seam=True)
    usual = strip().speed_m_per_min
    faster = strip(hour=8.7, speed_m_per_min=1.2 * usual, readings_mm=(3 * SIXTEENTH_MM,) * 5)
    clean = strip(hour=8.9, bond=None, on_seam=True)

    def doubts(*later: Observation, limits: Window = window) -> tuple[str, ...]:
        return fit([*seen, *later], limits).advise(question, limits, reach).doubts

    assert "last_failed_here" in doubts(trace)
    assert "last_failed_here" in doubts(trace, faster)
    assert "last_failed_here" not in doubts(trace, clean)
    assert "last_failed_here" not in doubts(trace, limits=replace(window, trace_ok=True))


@pytest.mark.parametrize(("slowest", "fastest", "told"), [(20.0, 24.0, 20.0), (0.05, 0.09, 0.09)])
def test_a_dial_out_of_all_reach_is_set_as_near_as_it_goes(
    question: SpeedQuestion, window: Window, slowest: float, fastest: float, told: float
) -> None:
    """Ten times too fast, or too slow: its slowest, or its fastest; and never sure."""
    reach = Reach(slowest, fastest, (fastest - slowest) / 4, 500.0, 500.0)
    said = fit([], window).advise(question, window, reach)
    assert said.forecast is not None
    assert said.forecast.speed_m_per_min == pytest.approx(told)
    assert not said.sure
