"""Rolls and the laps they went into, the substrate before welding, visitors' punch lists.

Invariant: a lot in doubt names every lap that a run says it went into; an item of a visit is
open until its settling is recorded.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from msgspec import Struct

from weldcal.records.fields import same_name

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader


Row = dict[str, Any]


class Lot(Struct, frozen=True):
    """A lot: rows of its rolls, why it is in doubt, and (seam, from, to) of the runs it went into."""

    lot: str
    rolls: list[Row]
    doubts: list[Row]
    laps: list[tuple[str, float, float | None]]


class Stock:
    """Roll lots and the punch list."""

    def __init__(self, reader: JobReader) -> None:
        self._reader = reader

    def lots(self, only: str | None = None) -> list[Lot]:
        """Every lot that was recorded or welded, with the laps it went into."""
        parts: dict[str, list[Row]] = {}
        for table in ("rolls", "lot_doubts"):
            parts[table] = self._reader.rows(
                f"SELECT * FROM {table} WHERE job = ? ORDER BY seen_utc, tick, device",
                (self._reader.job.id,),
            )
        runs = self._reader.rows(
            "SELECT seam, roll_lot AS lot, start_m, end_m FROM runs WHERE job = ? "
            "AND roll_lot IS NOT NULL ORDER BY seen_utc, tick, device",
            (self._reader.job.id,),
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

    def punch_list(self, *, open_only: bool = False) -> list[Row]:
        """Items of visits, in the order asked for."""
        where = "AND done IS NULL" if open_only else ""
        return self._reader.rows(
            f"SELECT * FROM punch WHERE job = ? {where} ORDER BY seen_utc, tick, device",
            (self._reader.job.id,),
        )
