"""The order of a leak search: what is worth most is reached soonest."""

from __future__ import annotations

import math
from itertools import permutations, product

from hypothesis import given
from hypothesis import strategies as st

from weldcal.quality.route import Leg, Task, soonest, turned


@given(
    st.lists(st.tuples(*[st.floats(-30, 30)] * 4, st.floats(0, 90)), min_size=1, max_size=4),
)
def test_what_is_worth_most_is_reached_soonest(drawn: list[tuple[float, ...]]) -> None:
    """Every place once; no other order, nor any leg turned, is better by a tenth (all tried)."""
    legs = [
        Leg(f"A{n}", (Task("look", 0.0, 1.0, str(n)),), (a, b), (c, d))
        for n, (a, b, c, d, _worth) in enumerate(drawn)
    ]
    worth = {str(n): one[4] for n, one in enumerate(drawn)}

    def waited(order: tuple[Leg, ...]) -> float:
        at, walked, total = (0.0, 0.0), 0.0, 0.0
        for leg in order:
            assert leg.start is not None
            assert leg.end is not None
            walked += math.dist(at, leg.start) + math.dist(leg.start, leg.end)
            total += worth[leg.tasks[0].of] * walked
            at = leg.end
        return total

    found = soonest(legs, worth, (0.0, 0.0))
    assert sorted(leg.seam for leg in found) == sorted(leg.seam for leg in legs)
    best = min(
        waited(order)
        for places in permutations(legs)
        for order in product(*((leg, turned(leg)) for leg in places))
    )
    assert waited(found) <= 1.1 * best + 1e-6
