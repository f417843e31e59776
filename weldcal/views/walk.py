"""Places to go to: numbered, as a page draws them on the roof, and as a sheet of paper lists them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, TypedDict

from msgspec import Struct

if TYPE_CHECKING:
    from weldcal.quality.route import Leg

Point = tuple[float, float]


class Stop(Struct, frozen=True):
    """A place on a seam: its number, where it is begun and left, m on the plan."""

    n: int
    seam: str
    start: Point
    end: Point


class WalkingOrder(Struct, frozen=True):
    """Places in order, a way from one to the next.

    Attributes:
        begin: where the way begins.
        spot: where water was seen, where a leak is searched.
        lines: what there is to do at each, in words, below the drawing.
    """

    stops: tuple[Stop, ...]
    begin: Point
    spot: Point | None = None
    lines: tuple[str, ...] = ()


def stops_of(way: Iterable[Leg]) -> tuple[Stop, ...]:
    """The legs of a way that have a place on the plan, numbered as in its lines."""
    return tuple(
        Stop(n, leg.seam, leg.start, leg.end)
        for n, leg in enumerate(way, 1)
        if leg.start is not None and leg.end is not None
    )


class SheetLine(TypedDict):
    """A stretch of a seam on a probe sheet, m along it; `to_m` is None where no length is listed."""

    name: str
    from_m: float
    to_m: float | None
    note: str
