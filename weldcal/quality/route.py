"""One way round the roof: places to go to, in an order that saves steps.

Invariant: every place is visited once. A lap is walked from either of its ends; what there is
to do on one lap is done on one pass of it, in the order met.

The order: nearest next, then improved by turning
parts of the way round and moving single laps while that shortens it (2-opt, Croes 1958, and
or-opt, Or 1976; from memory). It is a good way, not proved the shortest.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

Point = tuple[float, float]

# With more laps than this the way is left as found: improving it takes the square of them.
_IMPROVED_UP_TO = 250


class Task(Struct, frozen=True):
    """Something to do on a lap.

    Attributes:
        code: probe, probe_again, doubt, cut, draw, t_joint; look, where a leak is searched.
        from_m, to_m: along its lap; equal for a place.
        of: the finding, failures or draw it is for.
    """

    code: str
    from_m: float
    to_m: float
    of: str = ""


class Leg(Struct, frozen=True):
    """A lap on the way, its tasks in the order met.

    Attributes:
        start, end: where it is begun and left, m on the plan; None where it has no place there.
        turned: walked from its far end towards zero.
    """

    seam: str
    tasks: tuple[Task, ...]
    start: Point | None = None
    end: Point | None = None
    turned: bool = False


def way(legs: Sequence[Leg], begin: Point = (0.0, 0.0)) -> tuple[Leg, ...]:
    """Legs in walking order, each turned as it is met; those without a place last, as given.

    Args:
        legs: each from its zero end, tasks along it.
        begin: where the walk begins.
    """
    placed = [leg for leg in legs if leg.start is not None and leg.end is not None]
    order = _nearest_next(placed, begin)
    if len(order) <= _IMPROVED_UP_TO:
        order = _improved(order, begin)
    return (*order, *(leg for leg in legs if leg.start is None or leg.end is None))


def length(legs: Sequence[Leg], begin: Point = (0.0, 0.0)) -> float:
    """Steps between laps, m: from the last place of one to the first of the next."""
    at, total = begin, 0.0
    for leg in legs:
        if leg.start is not None and leg.end is not None:
            total += math.dist(at, leg.start)
            at = leg.end
    return total


def turned(leg: Leg) -> Leg:
    """A leg walked the other way, its tasks in the order then met."""
    other = [Task(task.code, task.to_m, task.from_m, task.of) for task in reversed(leg.tasks)]
    # Along the lap again, or back towards its zero end.
    other.sort(key=lambda task: (task.from_m, task.to_m), reverse=not leg.turned)
    return Leg(leg.seam, tuple(other), leg.end, leg.start, not leg.turned)


def _nearest_next(legs: Sequence[Leg], begin: Point) -> list[Leg]:
    left, at, found = list(legs), begin, []
    while left:
        both = ((leg, n, way_) for n, leg in enumerate(left) for way_ in (leg, turned(leg)))
        _leg, n, chosen = min(both, key=lambda one: math.dist(at, one[2].start or at))
        left.pop(n)
        found.append(chosen)
        at = chosen.end or at
    return found


def _improved(order: list[Leg], begin: Point) -> list[Leg]:
    """Turn parts of the way round, and move single laps, while that makes it shorter."""
    while True:
        better = _turned_round(order, begin) or _moved(order, begin)
        if better is None:
            return order
        order = better


def _turned_round(order: list[Leg], begin: Point) -> list[Leg] | None:
    for low in range(len(order)):
        for high in range(low, len(order)):
            if _gain(order, low, high, begin) > 1e-6:
                part = [turned(leg) for leg in reversed(order[low : high + 1])]
                return [*order[:low], *part, *order[high + 1 :]]
    return None


def _moved(order: list[Leg], begin: Point) -> list[Leg] | None:
    """One lap walked at another time, either way."""
    for n, leg in enumerate(order):
        rest = [*order[:n], *order[n + 1 :]]
        before, after = _neighbours(rest, n, begin)
        saved = _apart(before, leg.start) + _apart(leg.end, after) - _apart(before, after)
        for at in range(len(rest) + 1):
            before, after = _neighbours(rest, at, begin)
            for one in (leg, turned(leg)):
                cost = _apart(before, one.start) + _apart(one.end, after) - _apart(before, after)
                if saved - cost > 1e-6:
                    return [*rest[:at], one, *rest[at:]]
    return None


def _neighbours(order: Sequence[Leg], at: int, begin: Point) -> tuple[Point | None, Point | None]:
    """Where the way comes from and goes on to, at a place in it."""
    return begin if at == 0 else order[at - 1].end, order[at].start if at < len(order) else None


def _gain(order: Sequence[Leg], low: int, high: int, begin: Point) -> float:
    """How many metres are saved by walking a part of the way backwards."""
    first, last = order[low], order[high]
    before, _next = _neighbours(order, low, begin)
    _last, after = _neighbours(order, high + 1, begin)
    was = _apart(before, first.start) + _apart(last.end, after)
    return was - _apart(before, last.end) - _apart(first.start, after)


def _apart(a: Point | None, b: Point | None) -> float:
    return 0.0 if a is None or b is None else math.dist(a, b)


class Route(Struct, frozen=True):
    """The way, how far it is between laps, what is still warm (seam and clock), where it begins."""

    legs: tuple[Leg, ...]
    between_m: float
    warm: tuple[tuple[str, str], ...]
    begin: Point
