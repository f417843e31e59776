"""The machines of a job as listed, and what a number typed for one of their dials means.

Invariant: nothing measured is asked for here; what a mark stood for at a time, `machines` says.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from weldcal.book.core import Service
from weldcal.errors import Unheard
from weldcal.quantities import Quantity
from weldcal.records.fields import read, usual_unit
from weldcal.row_types.listed import MachineRow
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader


class Dials(Service):
    """The job's machines and their dials, as listed."""

    _reader: JobReader

    def machine(self, name: str) -> MachineRow:
        """A machine's row.

        Args:
            name: as it is listed.

        Raises:
            Unheard: it is not listed.
        """
        rows = self._reader.of_job(MachineRow, "AND name = ?", name)
        if not rows:
            known = ", ".join(self._reader.names_in("machines")) or _("none yet")
            raise Unheard(what=_("machine"), text=name, known=known)
        return rows[0]

    def read_speed(self, machine: str | None, text: str) -> Quantity:
        """Read a travel speed; a bare number is in what the machine's dial shows.

        Args:
            machine: as it is listed; in the job's usual unit, where not given.
            text: as typed.

        Raises:
            Unheard: the machine is not listed.
        """
        units = self._reader.job.units
        unit = self.machine(machine)["dial"] if machine else usual_unit("speed", units)
        if unit == "mark" and not any(sign.isalpha() for sign in text):
            return read("mark", text, units)
        return read("speed", text, units, None if unit == "mark" else unit)
