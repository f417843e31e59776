"""Rolls and the laps they went into, the substrate before welding, visitors' punch lists.

Invariant: a lot in doubt names every lap that a run says it went into; an item of a visit is
open until its settling is recorded.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypedDict

from weldcal.records.fields import same_name
from weldcal.row_types import LotDoubtRow, PunchRow, RollRow
from weldcal.views.stock import Lot

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader


Row = dict[str, Any]


class OfLot(TypedDict):
    """A run as far as it tells where a lot went."""

    seam: str
    lot: str
    start_m: float
    end_m: float | None


class Stock:
    """Roll lots and the punch list."""

    def __init__(self, reader: JobReader) -> None:
        self._reader = reader

    def lots(self, only: str | None = None) -> list[Lot]:
        """Every lot that was recorded or welded, with the laps it went into."""
        job = (self._reader.job.id,)
        ordered = "WHERE job = ? ORDER BY seen_utc, tick, device"
        rolls = self._reader.select(RollRow, f"SELECT * FROM rolls {ordered}", job)
        doubts = self._reader.select(LotDoubtRow, f"SELECT * FROM lot_doubts {ordered}", job)
        runs = self._reader.select(
            OfLot,
            "SELECT seam, roll_lot AS lot, start_m, end_m FROM runs WHERE job = ? "
            "AND roll_lot IS NOT NULL ORDER BY seen_utc, tick, device",
            job,
        )
        names: dict[str, str] = {}
        for lot in (row["lot"] for part in (rolls, doubts, runs) for row in part):
            names.setdefault(same_name(lot), lot)
        wanted = [key for key in names if only is None or key == same_name(only)]

        return [
            Lot(
                names[key],
                [row for row in rolls if same_name(row["lot"]) == key],
                [row for row in doubts if same_name(row["lot"]) == key],
                [
                    (run["seam"], run["start_m"], run["end_m"])
                    for run in runs
                    if same_name(run["lot"]) == key
                ],
            )
            for key in wanted
        ]

    def punch_list(self, *, open_only: bool = False) -> list[PunchRow]:
        """Items of visits, in the order asked for."""
        where = "AND done IS NULL" if open_only else ""
        return self._reader.select(
            PunchRow,
            f"SELECT * FROM punch WHERE job = ? {where} ORDER BY seen_utc, tick, device",
            (self._reader.job.id,),
        )
