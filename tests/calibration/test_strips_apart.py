"""The evidence in arrays: what each strip says, and that a part of a record says what it said."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from weldcal.calibration import Observation
from weldcal.calibration.features import Features
from weldcal.calibration.strips import (
    BOND,
    HEAVY,
    NO_BLEED,
    TRACE,
    WIDTH,
    StripArrays,
    levels_of,
    of_cells,
    strips,
)

Make = Callable[..., Observation]
FIRST = date(2026, 6, 1)


def one(day: int, machine: str, n: int) -> Observation:
    """A strip with one reading (so that no scatter is learnt), unlike its neighbours."""
    return Observation(
        day=(FIRST + timedelta(day)).isoformat(),
        machine=machine,
        sheet=("cap", "base")[n % 2],
        lap=("selvage", "granules")[n % 3 == 0],
        nozzle_c=480.0 + 10 * (n % 5),
        speed_m_per_min=1.5 + 0.1 * n,
        ambient_c=10.0 + n,
        sheet_c=None if n % 4 == 1 else 15.0 + 2 * n,
        hour=7.0 + n % 9,
        readings_mm=((), (0.0,), (4.7625,), (6.35,))[n % 4],
        bubbling=(None, "none", "trace", "heavy")[(n // 2) % 4],
        bond=(None, "good", "cold")[n % 3],
        damp=n % 7 == 3,
        repairs=n % 2,
        line_v=None if n % 5 else 220.0 + n,
    )


@given(
    st.lists(
        st.tuples(st.integers(0, 4), st.sampled_from(["M1", "M2", "M3"]), st.integers(0, 25)),
        min_size=1,
        max_size=14,
    ),
    st.data(),
)
def test_the_strips_of_some_cells_are_as_if_there_were_no_others(
    seen: list[tuple[int, str, int]], data: st.DataObject
) -> None:
    """Machines' days taken out of a record: every array is what those strips alone give."""
    rows = [one(*key) for key in seen]
    levels = levels_of(rows)
    whole = strips(rows, levels, True)
    assume(whole.cells)
    first = data.draw(st.integers(0, len(whole.cells) - 1))
    last = data.draw(st.integers(first + 1, len(whole.cells)))
    part = of_cells(whole, first, last)
    mine = [o for o in rows if (o.day, o.machine) in whole.cells[first:last]]
    alone = strips(mine, levels, True)
    assert [rows[i] for i in part.kept] == [mine[i] for i in alone.kept]
    assert (part.cells, part.days) == (alone.cells, alone.days)
    arrays = {f.name for f in fields(StripArrays)} - {"kept", "features", "cells", "days"}
    for name in sorted(arrays):
        np.testing.assert_allclose(getattr(part, name), getattr(alone, name), err_msg=name)
    for field in fields(Features):
        ours, theirs = (getattr(s.features, field.name) for s in (part, alone))
        np.testing.assert_allclose(ours, theirs, err_msg=field.name)


def rows_of(found: StripArrays) -> list[tuple[int, int, float]]:
    """(strip, kind, value) of the rows that say yes or no."""
    at = np.flatnonzero(found.kind >= TRACE)
    return [(int(found.row_strip[i]), int(found.kind[i]), float(found.value[i])) for i in at]


def test_each_sighting_is_a_row(strip: Make) -> None:
    """Heavy bubbling says twice yes; a trace yes and no; none once no; damp says nothing of it."""
    seen = [
        strip(bubbling="heavy", bond="cold"),
        strip(bubbling="trace", bond=None),
        strip(bubbling="none", bond="good"),
        strip(bubbling="heavy", bond="good", damp=True),
        strip(bubbling=None, bond=None),
    ]
    found = strips(seen, levels_of(seen), True)
    assert rows_of(found) == [
        (0, TRACE, 1.0),
        (0, HEAVY, 1.0),
        (0, BOND, 0.0),
        (1, TRACE, 1.0),
        (1, HEAVY, 0.0),
        (2, TRACE, 0.0),
        (2, BOND, 1.0),
        (3, BOND, 1.0),
    ]
    assert (found.kind == WIDTH).sum() == 5
    assert (strips(seen, levels_of(seen), False).kind >= TRACE).all()


def test_no_bleed_out_is_a_bound_and_what_says_nothing_is_left_out(strip: Make) -> None:
    """All zeros: below what can be read. No reading, no pull, not looked at: no strip."""
    seen = [
        strip(readings_mm=(), bubbling=None, bond=None),
        strip(readings_mm=(0.0, 0.0), bubbling=None, bond=None),
        strip(readings_mm=(0.0, 6.35), bubbling=None, bond=None),
        strip(readings_mm=(), bubbling="none", bond=None, damp=True),
        strip(readings_mm=(), bubbling="none", bond=None),
        strip(readings_mm=(), bubbling=None, bond="good"),
    ]
    found = strips(seen, levels_of(seen), True)
    assert found.kept.tolist() == [1, 2, 4, 5]
    assert found.kind.tolist() == [NO_BLEED, WIDTH, TRACE, BOND]
    assert found.value[0] < np.log(1.5875)


def test_sightings_of_bubbling_on_a_machines_day_share_its_moisture(strip: Make) -> None:
    """Kish's design effect, 0.4: one counts 1, two 1/1.4 each, three 1/1.8; a bond whole."""
    seen = [
        *(strip(day="2026-06-01", bubbling="none", bond="good") for _ in range(3)),
        *(strip(day="2026-06-01", machine="M2", bubbling="trace", bond=None) for _ in range(2)),
        strip(day="2026-06-02", bubbling="heavy", bond="good"),
    ]
    found = strips(seen, levels_of(seen), True)
    for kind, counts in (
        (TRACE, [1 / 1.8] * 3 + [1 / 1.4] * 2 + [1.0]),
        (HEAVY, [1 / 1.4] * 2 + [1.0]),
        (BOND, [1.0] * 4),
        (WIDTH, [1.0] * 6),
    ):
        assert found.share[found.kind == kind].tolist() == pytest.approx(counts)


def test_who_was_seen_and_the_highest_voltage_and_every_repair(strip: Make) -> None:
    """In the order first seen; a third repair means there were a first and a second."""
    seen = [
        strip(sheet="b", machine="M2", line_v=228.0, repairs=2),
        strip(sheet="a", machine="M1", line_v=None),
        strip(sheet="b", machine="M2", line_v=221.0),
    ]
    found = levels_of(seen)
    assert (found.sheets, found.machines) == (("b", "a"), ("M2", "M1"))
    assert found.volts == {"M2": 228.0}
    assert found.repairs == (("M2", 1), ("M2", 2))
