"""What the daily sheet shows beside the evening page of the same day.

Invariant: rows are those of the book, marked; none of them was taken back.
"""

from __future__ import annotations

from msgspec import Struct

from weldcal.views.rows import MarkedConditions, MarkedPeel, MarkedWidth, ReadBleed


class DaySheet(Struct, frozen=True):
    """What was read, checked and cut on a day, in the order it was seen.

    Attributes:
        conditions: weather and power as read.
        bleeds: bleed checks, with their `readings` as typed.
        widths: the lap's overlap and bond, measured.
        peels: samples.
        mended: id -> name of the findings that the day's mends are of.
    """

    conditions: list[MarkedConditions]
    bleeds: list[ReadBleed]
    widths: list[MarkedWidth]
    peels: list[MarkedPeel]
    mended: dict[str, str]
