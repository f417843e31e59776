"""What is likely a slip of the hand in what was typed: a dial's end, the weather, a far speed.

Invariant: nothing is refused here; it is asked back before it is kept, and flagged after.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, TypedDict

from msgspec.structs import replace

from weldcal.book.core import Note, Service
from weldcal.book.job_reader import NEWEST
from weldcal.book.last_read import quantity_of
from weldcal.quantities import Quantity
from weldcal.records import plausible
from weldcal.records.common import Conditions, Setting
from weldcal.records.fields import read as read_field
from weldcal.records.fields import same_name
from weldcal.row_types.strips import StripRow
from weldcal.tables.columns import utc

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader


class _SpeedTyped(TypedDict):
    seen_utc: str
    speed_text: str | None
    speed_unit: str | None


class _DialListed(TypedDict):
    name: str
    dial: str
    dial_low: float
    dial_high: float


class Slips(Service):
    """What is likely a slip of the hand, by what the job holds."""

    _reader: JobReader

    def unlikely(
        self,
        setting: Setting | None,
        read: Conditions,
        at: str,
        pending: plausible.SpeedSeen | None = None,
    ) -> tuple[Note, ...]:
        """What is likely a slip of the hand: asked back before it is kept, and flagged after.

        Off the machine's dial, weather that hardly is, or a speed far from that of the strip
        before on that machine and sheet. What was carried over was asked when it was read.

        Args:
            setting: None where no machine was used.
            read: conditions, with what was carried over.
            at: when, ISO 8601.
            pending: a speed of that machine and sheet before then that is not in the book yet.
        """
        read = replace(read, **dict.fromkeys((p.name for p in read.carried), None), carried=())
        if setting is None:
            return tuple(_slip_note(slip) for slip in plausible.weather_slips(read))
        speed = setting.speed
        dials = [d for d in self.dials() if _same_machine(d, setting.machine)]
        off = [slip for dial in dials if speed and (slip := plausible.speed_slip(speed, dial))]
        notes = tuple(_slip_note(slip) for slip in [*off, *plausible.weather_slips(read)])
        if speed is None or off:
            return notes
        last = self._last_speed(setting.machine, setting.sheet, at, pending)
        far = plausible.far_slip(speed, last) if last else None
        return (*notes, Note("far_from_last", far.values)) if far else notes

    def _last_speed(
        self, machine: str, sheet: str, at: str, pending: plausible.SpeedSeen | None
    ) -> Quantity | None:
        """The speed of the strip before on a machine and sheet."""
        rows = self._reader.part(
            _SpeedTyped,
            "strips",
            f"AND machine = ? AND sheet = ? AND NOT by_hand AND seen_utc < ? {NEWEST} LIMIT 1",
            machine,
            sheet,
            utc(at),
        )
        text, unit = (rows[0]["speed_text"], rows[0]["speed_unit"]) if rows else (None, None)
        if pending and not (rows and rows[0]["seen_utc"] > pending.seen_utc):
            text, unit = pending.text, pending.unit
        if text is None:
            return None
        return read_field("mark" if unit == "mark" else "speed", text, self._reader.job.units, unit)

    def dials(self) -> list[plausible.DialRange]:
        """What each machine's dial goes from and to, as listed."""
        rows = self._reader.part(_DialListed, "machines")
        return [
            plausible.DialRange(r["name"], r["dial"], r["dial_low"], r["dial_high"]) for r in rows
        ]


def _same_machine(dial: plausible.DialRange, machine: str) -> bool:
    return same_name(dial.machine) == same_name(machine)


def off_dial(
    strip: StripRow, dials: Sequence[plausible.DialRange]
) -> dict[str, str | float] | None:
    """Machine, low and high of a dial that does not have the strip's speed.

    Args:
        strip: its row.
        dials: those of the job.
    """
    mark = strip["dial_mark"]
    number, unit = (strip["speed_m_per_min"], "m/min") if mark is None else (mark, "mark")
    if number is None:
        return None
    speed = quantity_of(number, unit)
    for dial in dials:
        if _same_machine(dial, strip["machine"]) and plausible.speed_slip(speed, dial):
            return {"machine": dial.machine, "low": dial.low, "high": dial.high}
    return None


def _slip_note(slip: plausible.Slip) -> Note:
    if slip.code == "off_dial":
        return Note("off_dial", slip.values)
    if slip.code == "wind_hardly":
        return Note("wind_hardly", slip.values)
    return Note("sheet_hardly", slip.values)
