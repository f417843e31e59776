"""The machines of a job and their dials, as measured up to a time.

Invariant: a mark stands for the speed last measured behind it before the time
asked about (or first after, where none was before); what was measured later
never changes what a dial meant earlier.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, TypeVar

import msgspec

from weldcal.book.core import Service
from weldcal.quality.dial import M_PER_MIN, MachineDial
from weldcal.row_types.listed import MachineRow
from weldcal.row_types.machines import MeasureRow, RepairRow
from weldcal.rules.welded import moment

if TYPE_CHECKING:
    from weldcal.book.dials import Dials
    from weldcal.book.firm import Firm
    from weldcal.book.job_reader import JobReader

R = TypeVar("R", MeasureRow, RepairRow)


class Machines(Service):
    """The job's machines, and their dials at any time."""

    _reader: JobReader
    _firm: Firm
    _dials: Dials

    def dial_of(self, name: str) -> tuple[MachineDial, MachineRow]:
        """A machine's dial with all of its measurements, and its row.

        Args:
            name: as it is listed.

        Raises:
            Unheard: the machine is not listed.
        """
        row = self._dials.machine(name)
        return dial_at(row, self.measured(name), None), row

    def measured(self, name: str) -> list[MeasureRow]:
        """A machine's measurements on every job it was on, in the order they were made.

        Args:
            name: as this job calls it.
        """
        return self._everywhere(MeasureRow, "measures", name)

    def repairs(self, name: str) -> list[RepairRow]:
        """A machine's repairs on every job it was on, in the order they were made.

        Args:
            name: as this job calls it.
        """
        if not self._reader.column(int, "SELECT 1 FROM repairs LIMIT 1"):
            return []
        return self._everywhere(RepairRow, "repairs", name)

    def _everywhere(self, row: type[R], table: str, name: str) -> list[R]:
        """A machine's rows of a table on every job it was on, in the order seen."""
        rows: list[R] = []
        for key in self._firm.everywhere("machine", name):
            rows += self._reader.select(
                row, f"SELECT * FROM {table} WHERE job = ? AND machine = ?", (key.job, key.name)
            )
        return sorted(rows, key=moment)


def offset_at(measured: Sequence[MeasureRow], at_utc: str | None) -> float:
    """Offset of the nozzle's air from its reading, K; 0 where nobody measured.

    Args:
        measured: a machine's measurements, in order.
        at_utc: as measured up to this time, UTC; the first after, where there is none before.
    """
    offsets = [
        (m["seen_utc"], m["nozzle_measured_c"] - m["nozzle_set_c"])
        for m in measured
        if m["nozzle_measured_c"] is not None and m["nozzle_set_c"] is not None
    ]
    before = [off_k for seen_utc, off_k in offsets if at_utc is None or seen_utc <= at_utc]
    if not offsets:
        return 0.0
    return before[-1] if before else offsets[0][1]


def dial_at(row: MachineRow, measured: Sequence[MeasureRow], at_utc: str | None) -> MachineDial:
    """The dial of a machine with what was measured up to a time.

    Marks listed with the machine on this job take the place of older measurements of it.

    Args:
        row: the machine's.
        measured: its measurements, in order.
        at_utc: the time, UTC; all of them, where not given.
    """
    marks: dict[float, float] = {}
    later: list[tuple[str, float, float]] = []
    for measure in measured:
        mark, speed = on_dial(row["dial"], measure), measure["speed_m_per_min"]
        if mark is None or not speed:
            continue
        if measure["tick"] < row["tick"]:
            marks[mark] = speed
        else:
            later.append((measure["seen_utc"], mark, speed))
    marks |= {float(mark): float(speed) for mark, speed in msgspec.json.decode(row["marks"])}
    for _seen, mark, speed in reversed(later):  # the first after, where none was before
        marks[mark] = speed
    marks |= {mark: speed for seen, mark, speed in later if at_utc is None or seen <= at_utc}
    return dial_with(row, marks)


def dial_with(row: MachineRow, marks: Mapping[float, float]) -> MachineDial:
    """The dial of a machine with its marks.

    Args:
        row: the machine's.
        marks: mark -> the speed measured at it, m/min.
    """
    tied = tuple(sorted(marks.items()))
    return MachineDial(row["dial"], row["dial_low"], row["dial_high"], row["dial_step"], tied)


def on_dial(dial: str, measure: MeasureRow) -> float | None:
    """The mark measured, in what the dial shows; None where no mark was.

    Args:
        dial: what it shows: a unit of speed, or bare marks.
        measure: the measurement.
    """
    mark, unit = measure["mark"], measure["mark_unit"]
    if mark is None or unit == dial or dial not in M_PER_MIN or unit not in M_PER_MIN:
        return mark
    return round(mark * M_PER_MIN[unit] / M_PER_MIN[dial], 6)
