"""Rolls and the laps they went into, the substrate before welding, visitors' punch lists.

Invariant: a lot in doubt names every lap that a run says it went into; an item of a visit is
open until its settling is recorded.
"""

from __future__ import annotations

from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from weldcal.book.core import Note, Recorded
from weldcal.book.site import Site
from weldcal.errors import Misplaced
from weldcal.records.fields import same_name
from weldcal.records.stock import LotDoubt, PunchDone, PunchItem, Roll, Substrate
from weldcal.words import _

Row = dict[str, Any]


class Lot(Struct, frozen=True):
    """A lot: rows of its rolls, why it is in doubt, and (seam, from, to) of the runs it went into."""

    lot: str
    rolls: list[Row]
    doubts: list[Row]
    laps: list[tuple[str, float, float | None]]


class Stock(Site):
    """Verbs of rolls, substrate and visits."""

    def record_roll(self, roll: Roll) -> Recorded:
        """Record rolls of a lot come to the roof."""
        with self.writing(self.typist(roll.seen.by)) as writer:
            roll_id = writer.add("roll", roll, job=self.job.id)
        return Recorded(roll_id, roll.lot, self.told("rolls", roll_id))

    def doubt_lot(self, doubt: LotDoubt) -> Recorded:
        """Put a lot in doubt; the laps it went into are named."""
        with self.writing(self.typist(doubt.seen.by)) as writer:
            doubt_id = writer.add("lot-doubt", doubt, job=self.job.id)
        laps = self.lots(doubt.lot)[0].laps
        notes = self.told("lot_doubts", doubt_id)
        found = [seam for seam, _start, _end in laps]
        note = Note("lot_laps", {"lot": doubt.lot, "seams": list(dict.fromkeys(found))})
        return Recorded(doubt_id, doubt.lot, (*notes, note), {"seams": found})

    def lots(self, only: str | None = None) -> list[Lot]:
        """Every lot that was recorded or welded, with the laps it went into."""
        parts: dict[str, list[Row]] = {}
        for table in ("rolls", "lot_doubts"):
            parts[table] = self.rows(
                f"SELECT * FROM {table} WHERE job = ? ORDER BY seen_utc, tick", (self.job.id,)
            )
        runs = self.rows(
            "SELECT seam, roll_lot AS lot, start_m, end_m FROM runs WHERE job = ? "
            "AND roll_lot IS NOT NULL ORDER BY seen_utc, tick",
            (self.job.id,),
        )
        names: dict[str, str] = {}
        for row in (*parts["rolls"], *parts["lot_doubts"], *runs):
            names.setdefault(same_name(row["lot"]), row["lot"])
        wanted = [key for key in names if only is None or key == same_name(only)]

        def of(rows: list[Row], key: str) -> list[Row]:
            return [row for row in rows if same_name(row["lot"]) == key]

        return [
            Lot(
                names[key],
                of(parts["rolls"], key),
                of(parts["lot_doubts"], key),
                [(run["seam"], run["start_m"], run["end_m"]) for run in of(runs, key)],
            )
            for key in wanted
        ]

    # -- substrate ------------------------------------------------------------------------

    def record_substrate(self, substrate: Substrate) -> Recorded:
        """Record the substrate of an area looked at before welding."""
        with self.writing(self.typist(substrate.seen.by)) as writer:
            one = writer.add("substrate", substrate, job=self.job.id)
        notes = self.told("substrates", one)
        short = [name for name in ("dry", "primed", "clean") if getattr(substrate, name) is False]
        if short:
            notes += (Note("substrate_short", {"area": substrate.area, "short": short}),)
        return Recorded(one, substrate.area, notes)

    # -- visits ---------------------------------------------------------------------------

    def record_item(self, item: PunchItem) -> Recorded:
        """Record something a visitor wants done; open until it is settled."""
        with self.writing(self.typist(item.seen.by)) as writer:
            named = replace(item, name=writer.next_name("V", self.job.id))
            item_id = writer.add("punch", named, job=self.job.id)
        return Recorded(item_id, named.name, self.told("punch", item_id))

    def settle_item(self, name: str, done: PunchDone) -> Recorded:
        """Record what was done about an item.

        Raises:
            Misplaced: the name is not of an item.
        """
        row = self.find(name)
        if row["table"] != "punch":
            raise Misplaced(text=name, why=_("an item of a visit has a name like V1"))
        with self.writing(self.typist(done.seen.by)) as writer:
            writer.add("punch-done", done, job=self.job.id, about=row["id"])
        return Recorded(row["id"], row["name"])

    def punch_list(self, *, open_only: bool = False) -> list[Row]:
        """Items of visits, in the order asked for."""
        where = "AND done IS NULL" if open_only else ""
        return self.rows(
            f"SELECT * FROM punch WHERE job = ? {where} ORDER BY seen_utc, tick", (self.job.id,)
        )
