"""The bench of bubbling: what it sets bubbles by heat and moisture, whatever the engine says."""

from __future__ import annotations

import pytest

from tests.bench.bubbling import SHARES, judge, report
from tests.bench.protocol import Arm, Row, mornings


@pytest.fixture(scope="module")
def rows() -> list[Row]:
    """Three narrow roofs, a usual lot and a moist one."""
    found: list[Row] = []
    for number in range(3):
        ((_, morning),) = mornings(number, "narrow", "slab", 7, (Arm(5, False),))
        for moist in (False, True):
            label = {"roof": number, "kind": "narrow", "days": 5, "moist": moist}
            found += [label | row for row in judge(morning, moist)]
    return found


def bubbled(rows: list[Row], **like: object) -> int:
    return sum(r["bubbled"] for r in rows if all(r[k] == v for k, v in like.items()))


def test_slow_strips_and_moist_lots_bubble(rows: list[Row]) -> None:
    """With the same luck, a lot that bubbles sooner never bubbles less."""
    slow, fast = SHARES[0], SHARES[-1]
    assert bubbled(rows, share=slow) > bubbled(rows, share=fast)
    for share in SHARES:
        assert bubbled(rows, share=share, moist=True) >= bubbled(rows, share=share, moist=False)


def test_the_crews_own_rate_is_that_of_its_record(rows: list[Row]) -> None:
    """One a morning, never 0 or 1: a few strips do not prove either."""
    for row in rows:
        assert 0.0 < row["own"] < 1.0
    for roof in range(3):
        assert len({r["own"] for r in rows if (r["roof"], r["moist"]) == (roof, False)}) == 1


def test_a_perfect_forecast_scores_nothing(rows: list[Row]) -> None:
    """The score is the mean square of what was said less what came."""
    perfect = [r | {"chance": float(r["bubbled"])} for r in rows]
    for line in report(perfect).splitlines():
        if ": n=" in line:
            assert line.split("; ")[1].startswith("0.0000, ")
