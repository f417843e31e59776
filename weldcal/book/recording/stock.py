"""Rolls and the laps they went into, the substrate before welding, visitors' punch lists.

Invariant: a lot in doubt names every lap that a run says it went into; an item of a visit is
open until its settling is recorded.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from weldcal.book.core import Note, Recorded, Service
from weldcal.records.stock import LotDoubt, PunchDone, PunchItem, Roll, Substrate
from weldcal.row_types.site import PunchRow
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.marks import Marking
    from weldcal.book.recording.transactions import Transactions
    from weldcal.book.stock import Stock


class StockRecorder(Service):
    """Records rolls, doubts of a lot, substrate and items of a visit."""

    _reader: JobReader
    _transactions: Transactions
    _marks: Marking
    _stock: Stock

    def record_roll(self, roll: Roll) -> Recorded:
        """Record rolls of a lot come to the roof.

        Args:
            roll: as typed.
        """
        roll_id = self._transactions.record("roll", roll)
        return Recorded(roll_id, roll.lot, self._marks.notes("rolls", roll_id))

    def doubt_lot(self, doubt: LotDoubt) -> Recorded:
        """Put a lot in doubt; the laps it went into are named.

        Args:
            doubt: as typed.
        """
        doubt_id = self._transactions.record("lot-doubt", doubt)
        laps = self._stock.lots(doubt.lot)[0].laps
        notes = self._marks.notes("lot_doubts", doubt_id)
        seams = [seam for seam, _start, _end in laps]
        note = Note("lot_laps", {"lot": doubt.lot, "seams": list(dict.fromkeys(seams))})
        return Recorded(doubt_id, doubt.lot, (*notes, note), {"seams": seams})

    def record_substrate(self, substrate: Substrate) -> Recorded:
        """Record the substrate of an area looked at before welding.

        Args:
            substrate: as typed.
        """
        one = self._transactions.record("substrate", substrate)
        notes = self._marks.notes("substrates", one)
        short = [name for name in ("dry", "primed", "clean") if getattr(substrate, name) is False]
        if short:
            notes += (Note("substrate_short", {"area": substrate.area, "short": short}),)
        return Recorded(one, substrate.area, notes)

    def record_item(self, item: PunchItem) -> Recorded:
        """Record something a visitor wants done; open until it is settled.

        Args:
            item: as typed.
        """
        item_id, named = self._transactions.record_named("punch", item)
        return Recorded(item_id, named.name, self._marks.notes("punch", item_id))

    def settle_item(self, name: str, done: PunchDone) -> Recorded:
        """Record what was done about an item.

        Args:
            name: of the item.
            done: as typed.

        Raises:
            Misplaced: the name is not of an item.
        """
        why = _("an item of a visit has a name like V1")
        row = self._reader.find_in(PunchRow, name, why)
        self._transactions.record("punch-done", done, row["id"])
        return Recorded(row["id"], row["name"])
