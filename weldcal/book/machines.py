"""The machines of a job and their dials, as measured up to a time.

Invariant: a mark stands for the speed last measured behind it before the time
asked about (or first after, where none was before); what was measured later
never changes what a dial meant earlier.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from weldcal.book.firm import Firm
from weldcal.errors import Unheard
from weldcal.quality.dial import M_PER_MIN, Dial
from weldcal.quantities import Quantity
from weldcal.records.fields import read, usual_unit
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.firm import Firm
    from weldcal.book.job_reader import JobReader
    from weldcal.book.marks import Marks


class Machines:
    """The job's machines, and their dials at any time."""

    def __init__(self, reader: JobReader, firm: Firm, marks: Marks) -> None:
        self._reader = reader
        self._firm = firm
        self._marks = marks

    def machine(self, name: str) -> dict[str, Any]:
        """A machine's row.

        Raises:
            Unheard: it is not listed.
        """
        rows = self._reader.rows(
            "SELECT * FROM machines WHERE job = ? AND name = ?", (self._reader.job.id, name)
        )
        if not rows:
            known = ", ".join(self._marks.listed("machines")) or _("none yet")
            raise Unheard(what=_("machine"), text=name, known=known)
        return rows[0]

    def dial_of(self, name: str, at_utc: str | None = None) -> tuple[Dial, dict[str, Any]]:
        """A machine's dial as measured up to a time (all of its measurements), and its row.

        Raises:
            Unheard: the machine is not listed.
        """
        row = self.machine(name)
        return dial_at(row, self.measured(name), at_utc), row

    def measured(self, name: str) -> list[dict[str, Any]]:
        """A machine's measurements on every job it was on, in the order they were made."""
        found = []
        for key in self._firm.everywhere("machine", name):
            found += self._reader.rows(
                "SELECT * FROM measures WHERE job = ? AND machine = ?", (key.job, key.name)
            )
        return sorted(found, key=lambda row: (row["seen_utc"], row["tick"]))

    def repairs(self, name: str) -> list[dict[str, Any]]:
        """A machine's repairs on every job it was on, in the order they were made."""
        if not self._reader.rows("SELECT 1 FROM repairs LIMIT 1"):
            return []
        found = []
        for key in self._firm.everywhere("machine", name):
            found += self._reader.rows(
                "SELECT * FROM repairs WHERE job = ? AND machine = ?", (key.job, key.name)
            )
        return sorted(found, key=lambda row: (row["seen_utc"], row["tick"]))

    def read_speed(self, machine: str | None, text: str) -> Quantity:
        """Read a travel speed; a bare number is in what the machine's dial shows."""
        unit = (
            self.dial_of(machine)[0].unit
            if machine
            else usual_unit("speed", self._reader.job.units)
        )
        if unit == "mark" and not any(sign.isalpha() for sign in text):
            return read("mark", text, self._reader.job.units)
        return read("speed", text, self._reader.job.units, None if unit == "mark" else unit)


def offset_at(measured: list[dict[str, Any]], at_utc: str | None) -> float:
    """What the nozzle's air is off its reading, K, as measured up to a time; first after if none before."""
    known = [
        m for m in measured if m["nozzle_measured_c"] is not None and m["nozzle_set_c"] is not None
    ]
    before = [m for m in known if at_utc is None or m["seen_utc"] <= at_utc]
    if not known:
        return 0.0
    taken = before[-1] if before else known[0]
    return float(taken["nozzle_measured_c"] - taken["nozzle_set_c"])


def dial_at(row: dict[str, Any], measured: list[dict[str, Any]], at_utc: str | None) -> Dial:
    """The dial of a machine's row with what was measured up to a time, in order.

    Marks listed with the machine on this job take the place of older measurements of it.
    """
    listed = {float(mark): float(speed) for mark, speed in json.loads(row["marks"])}
    measured = [one for one in measured if one["mark"] is not None and one["speed_m_per_min"]]
    before = [one for one in measured if one["tick"] < row["tick"]]
    marks = {on_dial(row["dial"], one): float(one["speed_m_per_min"]) for one in before} | listed
    measured = [one for one in measured if one["tick"] >= row["tick"]]
    for one in reversed(measured):  # the first after, where none was before
        marks[on_dial(row["dial"], one)] = one["speed_m_per_min"]
    for one in measured:
        if at_utc is None or one["seen_utc"] <= at_utc:
            marks[on_dial(row["dial"], one)] = one["speed_m_per_min"]
    return Dial(
        row["dial"],
        row["dial_low"],
        row["dial_high"],
        row["dial_step"],
        tuple(sorted(marks.items())),
    )


def on_dial(dial: str, measure: dict[str, Any]) -> float:
    """The mark measured, in what the dial shows."""
    mark, unit = float(measure["mark"]), measure["mark_unit"]
    if unit == dial or dial not in M_PER_MIN or unit not in M_PER_MIN:
        return mark
    return round(mark * M_PER_MIN[unit] / M_PER_MIN[dial], 6)
