"""What a strip falls short of, by how much, each limit from either side."""

from __future__ import annotations

from typing import Any

import pytest
from msgspec.structs import replace

from weldcal.quality.goahead import (
    Acceptance,
    Judged,
    Key,
    Looked,
    PassedStrip,
    narrow,
    no_look_mends,
    shortfalls,
    voids,
)

LIMITS = Acceptance(
    low_mm=3.0,
    aim_mm=6.0,
    high_mm=9.0,
    guard_mm=0.5,
    spread_mm=3.0,
    readings_least=3,
    trace_passes=False,
    by_bleed_out=True,
    bonded_least_mm=40.0,
    cool_least_min=10.0,
    cool_before_probe_min=0.0,
    lap_least_side_mm=0.0,
    lap_least_end_mm=0.0,
    slack_m=0.0,
)
GOOD = Judged((5.0, 6.0, 7.0), "none", "good", parted="in the compound", bonded_mm=60.0)


@pytest.mark.parametrize(
    ("given", "short"),
    [
        ({}, {}),
        ({"widths_mm": (3.5, 5.0, 6.0)}, {}),
        ({"widths_mm": (3.49, 5.0, 6.0)}, {"too_little": {"width_mm": 3.49, "low_mm": 3.5}}),
        ({"widths_mm": (3.4, 3.3, 5.0)}, {"too_little": {"width_mm": 3.3, "low_mm": 3.5}}),
        ({"widths_mm": (8.5, 7.0, 6.0)}, {}),
        ({"widths_mm": (8.51, 7.0, 6.0)}, {"too_much": {"width_mm": 8.51, "high_mm": 8.5}}),
        ({"widths_mm": (8.6, 8.9, 7.0)}, {"too_much": {"width_mm": 8.9, "high_mm": 8.5}}),
        ({"widths_mm": (4.0, 5.0, 7.0)}, {}),
        (
            {"widths_mm": (4.0, 5.0, 7.01)},
            {"spread": {"spread_mm": pytest.approx(3.01), "limit_mm": 3.0}},
        ),
        ({"widths_mm": (5.0, 6.0)}, {"few_readings": {"n": 2, "least": 3}}),
        ({"widths_mm": ()}, {"few_readings": {"n": 0, "least": 3}}),
        ({"bubbling": "trace"}, {"bubbling": {"bubbling": "trace"}}),
        ({"bubbling": "heavy"}, {"bubbling": {"bubbling": "heavy"}}),
        ({"bubbling": None}, {"bubbling_not_looked": {}}),
        ({"exposed_mat": True}, {"exposed_mat": {}}),
        ({"damp": True}, {"damp": {}}),
        ({"off_dial": {"machine": "blue"}}, {"off_dial": {"machine": "blue"}}),
        ({"bond": "not tried", "bonded_mm": 1.0}, {"pull_not_tried": {}}),
        ({"bond": "cold"}, {"cold": {}}),
        ({"bond": "cold", "parted": "at the lap"}, {"cold": {}}),
        ({"parted": "at the lap"}, {"parted_clean": {}}),
        ({"parted": None}, {}),
        ({"bonded_mm": 40.0}, {}),
        ({"bonded_mm": 39.9}, {"narrow_bond": {"width_mm": 39.9, "least_mm": 40.0}}),
        ({"bonded_mm": None}, {}),
        ({"cooled_min": 10.0}, {}),
        ({"cooled_min": 9.9}, {"pulled_warm": {"minutes": 9.9, "least": 10.0}}),
        ({"cooled_min": None}, {}),
    ],
)
def test_what_keeps_a_strip_from_being_a_go_ahead(
    given: dict[str, Any], short: dict[str, Any]
) -> None:
    """The codes and their numbers; the guard band lies within the limits at both ends."""
    found = shortfalls(replace(GOOD, **given), LIMITS)
    assert {one.code: one.values for one in found} == short
    assert len(found) == len(short)
    bare = shortfalls(replace(GOOD, **given), replace(LIMITS, by_bleed_out=False))
    widths = {"too_little", "too_much", "spread", "few_readings"}
    assert {one.code for one in bare} == set(short) - widths


@pytest.mark.parametrize(
    ("overlap", "bonded", "codes"),
    [
        (80.0, 40.0, []),
        (79.9, 40.0, ["narrow_lap"]),
        (80.0, 39.9, ["narrow_bond"]),
        (79.0, 39.0, ["narrow_lap", "narrow_bond"]),
        (80.0, None, []),
    ],
)
def test_a_lap_narrower_than_its_limits(
    overlap: float, bonded: float | None, codes: list[str]
) -> None:
    """Of the sheets' overlap 80 mm, of what holds 40 mm."""
    found = narrow(overlap, bonded, 80.0, 40.0)
    assert [one.code for one in found] == codes
    seen = {"narrow_lap": (overlap, 80.0), "narrow_bond": (bonded, 40.0)}
    for one in found:
        assert (one.values["width_mm"], one.values["least_mm"]) == seen[one.code]


NOTHING, TWICE = ((0.0,), "none", ("too_little",)), ((0.0, 0.0), "none", ("too_little",))
INSIDE, THIN = ((6.0,), "none", ()), ((2.0,), "none", ("too_little",))
THICK, HEAVY = ((12.0,), "none", ("too_much",)), ((6.0,), "heavy", ("bubbling",))
PART = ((0.0, 2.0), "none", ("too_little",))


@pytest.mark.parametrize(
    ("checks", "mends"),
    [
        ((NOTHING,), (False,)),
        ((TWICE,), (True,)),
        ((NOTHING, NOTHING), (False, True)),
        ((NOTHING, INSIDE, NOTHING), (False, False, False)),
        ((NOTHING, THICK, NOTHING), (False, False, True)),
        ((THIN, NOTHING), (False, False)),
        ((NOTHING, THIN, THIN, NOTHING), (False, False, False, True)),
        ((PART, PART), (False, False)),
        ((HEAVY,), (True,)),
        ((HEAVY, INSIDE), (True, False)),
        ((INSIDE, THICK), (False, False)),
    ],
)
def test_checks_that_no_look_mends(checks: tuple[Any, ...], mends: tuple[bool, ...]) -> None:
    """Heavy bubbling; nothing at two places with none inside between them."""
    looked = [Looked(widths, bubbling, frozenset(short)) for widths, bubbling, short in checks]
    assert no_look_mends(looked) == mends


KEY = Key("blue", "cap", "selvage", 40.0)


@pytest.mark.parametrize(
    ("key", "day", "short"),
    [
        (KEY, "2026-06-01", {}),
        (
            replace(KEY, machine="red"),
            "2026-06-01",
            {"other_machine": {"was": "blue", "now": "red"}},
        ),
        (replace(KEY, sheet="base"), "2026-06-01", {"other_sheet": {"was": "cap", "now": "base"}}),
        (
            replace(KEY, lap="granules"),
            "2026-06-01",
            {"other_lap": {"was": "selvage", "now": "granules"}},
        ),
        (replace(KEY, nozzle_width_mm=40.5), "2026-06-01", {}),
        (replace(KEY, nozzle_width_mm=39.5), "2026-06-01", {}),
        (
            replace(KEY, nozzle_width_mm=40.6),
            "2026-06-01",
            {"other_nozzle": {"was_mm": 40.0, "now_mm": 40.6}},
        ),
        (replace(KEY, nozzle_width_mm=None), "2026-06-01", {}),
        (replace(KEY, hand="AR"), "2026-06-01", {"other_hand": {"was": None, "now": "AR"}}),
        (KEY, "2026-06-02", {"new_day": {"was": "2026-06-01"}}),
    ],
)
def test_what_a_go_ahead_is_not_for(key: Key, day: str, short: dict[str, Any]) -> None:
    """Another machine, sheet, lap kind, nozzle by over half a millimetre, hand or day."""
    strip = PassedStrip("1", "S1", KEY, "2026-06-01", 500.0, 2.0)
    assert {one.code: one.values for one in voids(strip, key, day)} == short
