"""Where a seam or an area lies on the plan, from its row.

Invariant: a place is known whole or not at all.
"""

from __future__ import annotations

from weldcal.row_types.listed import AreaRow, SeamRow

Point = tuple[float, float]


def ends(seam: SeamRow | None) -> tuple[Point, Point] | None:
    """Both ends of a seam, m; None where it has no place on the plan.

    Args:
        seam: its row; None where it is not listed.

    Returns:
        points, zero end first.
    """
    if seam is None:
        return None
    x0, y0, x1, y1 = seam["x0_m"], seam["y0_m"], seam["x1_m"], seam["y1_m"]
    if x0 is None or y0 is None or x1 is None or y1 is None:
        return None
    return (x0, y0), (x1, y1)


def rectangle(area: AreaRow) -> tuple[float, float, float, float] | None:
    """Low and high corner of an area, x before y, m; None where it is not laid out.

    Args:
        area: where it lies and how large it is, m.

    Returns:
        low x, low y, high x, high y, m.
    """
    x, y, length, width = area["x_m"], area["y_m"], area["length_m"], area["width_m"]
    if x is None or y is None or length is None or width is None:
        return None
    return x, y, x + length, y + width
