"""Test strips: the hot stage when made, the cold stage when pulled apart.

Invariant: a strip whose pull was not tried has bond "not tried" and can never
become a go-ahead; filling in the pull later is not a correction.
"""

# Not postponed: msgspec takes the annotations as types, and reading them from text takes time.
from msgspec import Struct

from weldcal.quantities import Quantity
from weldcal.records.common import Conditions, Photo, Seen, Setting
from weldcal.records.fields import check


class Strip(Struct, frozen=True, kw_only=True):
    """A trial weld.

    Attributes:
        name: short name on this job, "S7".
        readings: bleed-out along the strip, as typed; 0 is "less than can be read".
        bubbling: none, trace, heavy, or None where nobody looked.
        bond: good, cold or not tried.
        source: file and row, where it was loaded from one.
    """

    name: str
    seen: Seen
    setting: Setting
    conditions: Conditions
    readings: tuple[Quantity, ...] = ()
    bubbling: str | None = None
    bond: str = "not tried"
    parted: str | None = None
    bonded_width: Quantity | None = None
    smoke: bool | None = None
    exposed_mat: bool | None = None
    roll_lot: str | None = None
    note: str | None = None
    source: str | None = None
    photos: tuple[Photo, ...] = ()

    def __post_init__(self) -> None:
        """Refuse a reading that cannot be (OutOfRange)."""
        for reading in self.readings:
            check("reading", reading)


class Pull(Struct, frozen=True, kw_only=True):
    """The cold stage of a strip, filled in when it has cooled."""

    seen: Seen
    bond: str
    parted: str | None = None
    bonded_width: Quantity | None = None


class Reading(Struct, frozen=True, kw_only=True):
    """Conditions read by themselves, between strips."""

    seen: Seen
    conditions: Conditions
