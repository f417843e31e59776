"""Rows of what is read before a lap is welded: conditions, strips, their readings."""

# Not postponed: the tables are made from the annotations as types.
from typing import TypedDict

from weldcal.row_types.columns import ConditionsColumns, SeenColumns, StripSettingColumns


class ConditionsRow(SeenColumns, ConditionsColumns):
    """Conditions read at one time."""


class StripRow(SeenColumns, StripSettingColumns, ConditionsColumns):
    """A test strip.

    Attributes:
        by_hand: 1 where `machine` is a hand tool.
        readings_n: how many readings; their median, least and most are beside it.
        bubbling: none, trace or heavy; None where nobody looked.
        bond: good, cold or not tried.
        pulled_utc, pulled_by: when and by whom it was pulled; None before.
        parted: where it parted when pulled; `bonded_mm`: how wide it held.
        smoke, exposed_mat: 1 where it was seen, 0 where not, None where nobody looked.
        roll_lot: printed on the wrapper.
        source: file and row it was loaded from.
        photos: names of photos, a JSON list.
    """

    by_hand: int
    readings_n: int
    width_median_mm: float | None
    width_min_mm: float | None
    width_max_mm: float | None
    bubbling: str | None
    bond: str
    pulled_utc: str | None
    pulled_by: str | None
    parted: str | None
    bonded_mm: float | None
    smoke: int | None
    exposed_mat: int | None
    roll_lot: str | None
    source: str | None
    note: str | None
    photos: str


class ReadingRow(TypedDict):
    """One reading of bleed-out, of a strip or a bleed check.

    Attributes:
        of: id of the strip or check; `n`: its place there, from 1.
        text: as typed.
    """

    id: str
    job: str
    of: str
    n: int
    width_mm: float
    text: str
