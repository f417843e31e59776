"""What a layout is made of: areas, rolls, the pattern they are laid in; rows, laps, T-joints.

Invariant: lengths are metres on the plan; a lap's `start` is its zero end.
"""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

Point = tuple[float, float]

# No piece shorter than this, and no row narrower than half a roll: a short piece walks and
# curls, and a lap close to the edge is cut by it (common practice, no source).
LEAST_PIECE_M = 1.0
NARROWEST = 0.5
# How narrow an edge row of a next ply may be, so that its laps keep off those below, m.
NARROW_OVER_M = 0.3

# UFGS-07550 §3.3.6: end laps of neighbouring rows 1 m apart, side laps 75 mm, end laps 150 mm.
STAGGER_M = 1.0
SIDE_LAP_M = 0.075
END_LAP_M = 0.150


class Rectangle(Struct, frozen=True):
    """A rectangle of roof: its letter, low corner and extents, m. Rectangles may share a letter.

    `slope` is which way water runs on it: x+, x-, y+ or y-; None where nobody said. `over` is
    the area that it is laid over as the next ply; None for the first.
    """

    letter: str
    x_m: float
    y_m: float
    length_x_m: float
    length_y_m: float
    slope: str | None = None
    over: str | None = None


class Rolls(Struct, frozen=True):
    """The sheet as rolled, and how it is lapped, m."""

    width_m: float
    length_m: float
    side_lap_m: float = SIDE_LAP_M
    end_lap_m: float = END_LAP_M
    least_piece_m: float = LEAST_PIECE_M


class Pattern(Struct, frozen=True):
    """How rows lie: the axis they run along, the edge row 1 starts from, the stagger of end laps.

    With `start` "low", row 1 lies along the edge of least x or y; the low edge of
    the roof, that water runs to, is where a roof is started. `from_high` begins each row at
    its end of greatest x or y, so that every piece laps over the one that water runs to.
    """

    along: Literal["x", "y"] = "x"
    start: Literal["low", "high"] = "low"
    stagger_m: float = STAGGER_M
    from_high: bool = False


def with_water(slope: str | None, along: str | None, start: str | None) -> Pattern:
    """How rows lie so that water runs off the upper sheet onto the lower one, as far as chosen.

    Rows across the slope begin at the edge that water runs to; rows along it are laid
    upwards, piece over piece (UFGS-07550 §3.3.6: "in shingle fashion to shed water", no
    backwater laps).

    Args:
        slope: which way water runs: x+, x-, y+, y-; None where nobody said.
        along, start: as chosen; None to follow the slope, else x and low.
    """
    axis, towards = (slope[0], slope[1]) if slope else ("y", "-")
    across = "y" if axis == "x" else "x"
    chosen = along or across
    low_edge = "low" if towards == "-" else "high"
    if chosen == axis:  # up the slope
        return Pattern(chosen, start or "low", STAGGER_M, bool(slope) and towards == "+")  # type: ignore[arg-type]
    return Pattern(chosen, start or low_edge)  # type: ignore[arg-type]


class RoofPoint(Struct, frozen=True):
    """A marked point: drain, curb, penetration or corner, and the length welded around it, m."""

    kind: str
    x_m: float
    y_m: float
    around_m: float | None = None


class SheetsRow(Struct, frozen=True):
    """A row of sheet: its band across the rows, m from row 1's edge, and lengths of its pieces, m.

    Attributes:
        start_m: where along the rows its first piece begins; two legs of a U have a row each of
            one number.
        narrowest_m: its least width: less than its band where it is cut along a step.
    """

    area: str
    number: int
    from_m: float
    to_m: float
    pieces_m: tuple[float, ...]
    start_m: float
    narrowest_m: float


class LapToWeld(Struct, frozen=True):
    """A seam to be welded. `start` is its zero end; `length_m` is None where nobody gave one."""

    name: str
    kind: str
    area: str
    start: Point
    end: Point
    length_m: float | None
    row: int | None = None
    at: str | None = None


class Below(Struct, frozen=True):
    """The laps of the ply below, and how far those above keep from them, m."""

    laps: tuple[LapToWeld, ...]
    side_m: float
    end_m: float


class TJoint(Struct, frozen=True):
    """Where an end lap meets a side lap, and how far along each it lies, m."""

    name: str
    place: Point
    side_lap: str
    at_m: float
    end_lap: str
    end_at_m: float


class Flag(Struct, frozen=True):
    """What a person should look at in a layout: a code and its numbers."""

    code: str
    values: dict[str, float | str]

    def number(self, name: str) -> float:
        """One of the numbers, by its name."""
        return float(self.values[name])


class RoofLayout(Struct, frozen=True):
    """A roof as laid, with its totals.

    Attributes:
        laps: side laps, end laps, laps between rectangles and details.
        rolls: least rolls found by cutting pieces first fit, longest first; details not counted.
        lap_m: length welded by machine, without details.
        detail_m: length of the details that have one.
    """

    rows: tuple[SheetsRow, ...]
    laps: tuple[LapToWeld, ...]
    t_joints: tuple[TJoint, ...]
    flags: tuple[Flag, ...]
    covered_m2: float
    rolls: int
    lap_m: float
    detail_m: float


def weld_hours(lap_m: float, speed_m_per_min: float) -> float:
    """Hours the machine travels for `lap_m`: travel alone, no set-up, stops or hand work."""
    if speed_m_per_min <= 0:
        raise ValueError("a travel speed is above 0")
    return lap_m / speed_m_per_min / 60.0
