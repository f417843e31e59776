"""Rolls and the laps they went into, the substrate before welding, visitors' punch lists.

Invariant: a lot in doubt names every lap that a run says it went into; an item of a visit is
open until its settling is recorded.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, TypedDict, TypeVar

from weldcal.book.core import Service
from weldcal.book.job_reader import AS_SEEN
from weldcal.records.fields import same_name
from weldcal.row_types.site import LotDoubtRow, PunchRow, RollRow
from weldcal.views.rows import Lot

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader


class _OfLot(TypedDict):
    lot: str


class _Welded(_OfLot):
    seam: str
    start_m: float
    end_m: float | None


L = TypeVar("L", bound=_OfLot)


class Stock(Service):
    """Roll lots and the punch list."""

    _reader: JobReader

    def lots(self, only: str | None = None) -> list[Lot]:
        """Every lot that was recorded or welded, with the laps it went into.

        Args:
            only: this lot, in any spelling; all, where not given.
        """
        job = self._reader.job.id
        rolls = self._reader.of_job(RollRow, AS_SEEN)
        doubts = self._reader.of_job(LotDoubtRow, AS_SEEN)
        runs = self._reader.select(
            _Welded,
            "SELECT seam, roll_lot AS lot, start_m, end_m FROM runs WHERE job = ? "
            "AND roll_lot IS NOT NULL ORDER BY seen_utc, tick, device",
            (job,),
        )
        names: dict[str, str] = {}
        for lot in [row["lot"] for row in (*rolls, *doubts, *runs)]:
            names.setdefault(same_name(lot), lot)
        return [
            Lot(
                names[key],
                _of(rolls, key),
                _of(doubts, key),
                [(run["seam"], run["start_m"], run["end_m"]) for run in _of(runs, key)],
            )
            for key in names
            if only is None or key == same_name(only)
        ]

    def punch_list(self, *, open_only: bool = False) -> list[PunchRow]:
        """Items of visits, in the order asked for.

        Args:
            open_only: without those that are settled.
        """
        where = "AND done IS NULL" if open_only else ""
        return self._reader.of_job(PunchRow, f"{where} {AS_SEEN}")


def _of(rows: Iterable[L], key: str) -> list[L]:
    return [row for row in rows if same_name(row["lot"]) == key]
