"""What every observation carries: who saw it, when, with what.

Invariant: the time something was seen is kept apart from the time it was
entered; the second belongs to the entry, not to the record.
"""

# Not postponed: msgspec takes the annotations as types, and reading them from text takes time.
import re
from typing import Literal

from msgspec import Struct

from weldcal.quantities import Quantity
from weldcal.records.fields import check
from weldcal.records.times import check_time

PHOTO_NAME = re.compile(r"[0-9a-f]{64}", re.ASCII)


class Seen(Struct, frozen=True, kw_only=True):
    """Who saw or did it, and when.

    Attributes:
        at: ISO 8601 time with UTC offset.
        by: the person's name.
        instrument: what it was read with, where it matters.
    """

    at: str
    by: str
    instrument: str | None = None

    def __post_init__(self) -> None:
        """Refuse a time that cannot be read (ValueError)."""
        check_time(self.at)


class Carried(Struct, frozen=True, kw_only=True):
    """A value carried over from an earlier reading: which, and when it was read."""

    name: str
    read_at: str

    def __post_init__(self) -> None:
        """Refuse a time that cannot be read (ValueError)."""
        check_time(self.read_at)


class Photo(Struct, frozen=True, kw_only=True):
    """A picture kept beside the book under the SHA-256 of its bytes.

    `file` is the name it had where it was taken from.
    """

    sha256: str
    size: int
    kind: str
    file: str

    def __post_init__(self) -> None:
        """Refuse a name that is no hash (ValueError): it becomes a file's name."""
        if not PHOTO_NAME.fullmatch(self.sha256):
            raise ValueError("a photo's name is the SHA-256 of its bytes")


class Conditions(Struct, frozen=True, kw_only=True):
    """Weather, sheet and power at a time; `None` is "not read".

    `sheet_temp` is the surface of the upper sheet's face, `under_temp` of the lower
    one where they differ, `roll_temp` of a roll before it is laid out; `wind` is steady,
    `gust` its peak, `sky` clear, broken or overcast; `supply` is what feeds the machine, like
    "generator 2". `carried` names the values that were not read now.
    """

    ambient: Quantity | None = None
    sheet_temp: Quantity | None = None
    under_temp: Quantity | None = None
    humidity: Quantity | None = None
    wind: Quantity | None = None
    line_voltage: Quantity | None = None
    damp: bool | None = None
    gust: Quantity | None = None
    roll_temp: Quantity | None = None
    sky: Literal["clear", "broken", "overcast"] | None = None
    supply: str | None = None
    carried: tuple[Carried, ...] = ()

    def __post_init__(self) -> None:
        """Refuse what cannot be (OutOfRange)."""
        _within("ambient", self.ambient)
        _within("sheet_temp", self.sheet_temp)
        _within("humidity", self.humidity)
        _within("wind", self.wind)
        _within("line_voltage", self.line_voltage)
        _within("sheet_temp", self.under_temp)
        _within("sheet_temp", self.roll_temp)
        _within("wind", self.gust)


class Setting(Struct, frozen=True, kw_only=True):
    """How the machine, or the hand tool, was set.

    `speed` is what the dial showed: a speed, or a bare mark; None by hand. `true_speed` and
    `nozzle_measured` are there only where somebody measured them. `carried` names
    what nobody typed: it was taken over from the last strip, made when it says.
    `by_hand` is True where `machine` is a hand tool.
    """

    machine: str
    sheet: str
    lap: str
    nozzle: Quantity
    speed: Quantity | None = None
    true_speed: Quantity | None = None
    nozzle_measured: Quantity | None = None
    air_flow: Quantity | None = None
    nozzle_width: Quantity | None = None
    roller_load: Quantity | None = None
    carried: tuple[Carried, ...] | None = None
    by_hand: bool | None = None

    def __post_init__(self) -> None:
        """Refuse what cannot be (OutOfRange), and a machine without a speed (ValueError)."""
        if self.speed is None and not self.by_hand:
            raise ValueError("a machine is set to a travel speed")
        bare = self.speed is not None and self.speed.dimension == "mark"
        _within("mark" if bare else "speed", self.speed)
        _within("nozzle", self.nozzle)
        _within("air_flow", self.air_flow)
        _within("nozzle_width", self.nozzle_width)
        _within("roller_load", self.roller_load)
        _within("speed", self.true_speed)
        _within("nozzle", self.nozzle_measured)


def _within(field: str, quantity: Quantity | None) -> None:
    if quantity is not None:
        check(field, quantity)
