"""The decision rule: which strips are go-aheads, and what voids one.

Outside reference: simple acceptance and guarded acceptance as in JCGM 106:2012
section 8 (ISO 14253-1): a value is accepted when it lies inside the tolerance
interval, less the guard band at either end. The limits here are common
practice, no source.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from weldcal.quality.goahead import Acceptance, Judged, Key, PassedStrip, shortfalls, voids

SIXTEENTH = 25.4 / 16
LIMITS = Acceptance(
    low_mm=2 * SIXTEENTH,
    aim_mm=4 * SIXTEENTH,
    high_mm=6 * SIXTEENTH,
    guard_mm=0.0,
    spread_mm=3 * SIXTEENTH,
    readings_least=3,
    trace_passes=False,
    by_bleed_out=True,
    bonded_least_mm=0.0,
    cool_least_min=0.0,
    cool_before_probe_min=0.0,
    lap_least_side_mm=0.0,
    lap_least_end_mm=0.0,
    slack_m=0.0,
)
GOOD = Judged(widths_mm=(4 * SIXTEENTH, 3 * SIXTEENTH, 5 * SIXTEENTH), bubbling="none", bond="good")


def codes(strip: Judged, limits: Acceptance = LIMITS) -> list[str]:
    """What is short."""
    return [short.code for short in shortfalls(strip, limits)]


def widths(*sixteenths: float) -> Judged:
    """A good strip of these widths."""
    return replace(GOOD, widths_mm=tuple(SIXTEENTH * n for n in sixteenths))


@pytest.mark.parametrize(
    ("strip", "short"),
    [
        (GOOD, []),
        (widths(2, 2, 2), []),
        (widths(6, 6, 6), []),
        (widths(3, 3, 6), []),
        (widths(1.9, 2, 2), ["too_little"]),
        (widths(6, 6, 6.1), ["too_much"]),
        (widths(2, 4, 6), ["spread"]),
        (widths(4, 4), ["few_readings"]),
        (widths(), ["few_readings"]),
        (widths(0, 4, 8), ["too_little", "too_much", "spread"]),
        (replace(GOOD, bubbling="trace"), ["bubbling"]),
        (replace(GOOD, bubbling="heavy"), ["bubbling"]),
        (replace(GOOD, bubbling=None), ["bubbling_not_looked"]),
        (replace(GOOD, bond="not tried"), ["pull_not_tried"]),
        (replace(GOOD, bond="cold"), ["cold"]),
        (replace(GOOD, exposed_mat=True), ["exposed_mat"]),
    ],
)
def test_a_strip_is_a_go_ahead_only_if_nothing_is_short(strip: Judged, short: list[str]) -> None:
    """Every reading inside, ends included; all shortfalls named, none set aside."""
    assert codes(strip) == short


@pytest.mark.parametrize(
    ("guard", "short"), [(0.0, []), (0.5, []), (1.0, []), (1.5, ["too_little"])]
)
def test_a_guard_band_narrows_what_is_accepted(guard: float, short: list[str]) -> None:
    """With a guard of one sixteenth a reading of 3/16 just clears a limit of 1/8."""
    assert codes(widths(3, 4, 4), replace(LIMITS, guard_mm=guard * SIXTEENTH)) == short


def test_a_guard_band_narrows_the_upper_end_too() -> None:
    """5/16 clears 3/8 by a sixteenth, not by two."""
    assert codes(widths(5, 4, 4), replace(LIMITS, guard_mm=2 * SIXTEENTH)) == ["too_much"]


def test_trace_passes_only_where_the_limits_say_so_and_heavy_never() -> None:
    """The job's limits decide about trace."""
    allowed = replace(LIMITS, trace_passes=True)
    assert codes(replace(GOOD, bubbling="trace"), allowed) == []
    assert codes(replace(GOOD, bubbling="heavy"), allowed) == ["bubbling"]


def test_a_sheet_judged_by_bond_is_not_judged_by_width() -> None:
    """A perfect lap of such a sheet may show no bleed-out at all."""
    assert codes(widths(), replace(LIMITS, by_bleed_out=False)) == []
    assert codes(replace(widths(), bond="cold"), replace(LIMITS, by_bleed_out=False)) == ["cold"]


WIDTHS = st.lists(st.integers(0, 10).map(lambda n: n * SIXTEENTH), min_size=3, max_size=6).map(
    tuple
)


@given(WIDTHS, st.integers(0, 4))
def test_a_wider_guard_never_lets_more_through(found: tuple[float, ...], guard: int) -> None:
    """Guarding is monotone."""
    strip = replace(GOOD, widths_mm=found)
    wide = replace(LIMITS, guard_mm=guard * SIXTEENTH)
    assert set(codes(strip)) <= set(codes(strip, wide))


@given(WIDTHS, st.integers(0, 10))
def test_a_further_reading_never_makes_a_strip_better(found: tuple[float, ...], more: int) -> None:
    """No reading is set aside: three were enough, a fourth can only speak against."""
    strip = replace(GOOD, widths_mm=found)
    longer = replace(GOOD, widths_mm=(*found, more * SIXTEENTH))
    assert set(codes(strip)) <= set(codes(longer))


KEY = Key("blue", "base", "selvage", 100.0)
STANDING = PassedStrip(
    id="s", name="S1", key=KEY, day="2026-06-01", nozzle_c=500.0, speed_m_per_min=1.7
)


@pytest.mark.parametrize(
    ("key", "day", "void"),
    [
        (KEY, "2026-06-01", []),
        (KEY, "2026-06-02", ["new_day"]),
        (replace(KEY, machine="red"), "2026-06-01", ["other_machine"]),
        (replace(KEY, sheet="cap"), "2026-06-01", ["other_sheet"]),
        (replace(KEY, lap="granules"), "2026-06-01", ["other_lap"]),
        (replace(KEY, nozzle_width_mm=75.0), "2026-06-01", ["other_nozzle"]),
        (replace(KEY, nozzle_width_mm=None), "2026-06-01", []),
        (
            replace(KEY, machine="red", sheet="cap"),
            "2026-06-02",
            ["other_machine", "other_sheet", "new_day"],
        ),
    ],
)
def test_a_go_ahead_stands_for_what_it_was_made_for(key: Key, day: str, void: list[str]) -> None:
    """Its machine, nozzle, sheet, lap kind and day; all that voids it is named."""
    assert [short.code for short in voids(STANDING, key, day)] == void
