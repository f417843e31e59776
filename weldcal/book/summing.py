"""Seams summed up one after another, so that ten thousand cost no more memory than their sums.

Invariant: nothing is recorded here, and a seam's state and flags are those the
roof shows.
"""

from __future__ import annotations

import heapq
import json
from collections.abc import Iterator
from itertools import groupby, islice
from operator import itemgetter
from typing import TYPE_CHECKING, TypeVar

from weldcal.book.dossier_facts import count_marks, facts
from weldcal.book.seams import ON_SEAMS, Row, Rows
from weldcal.log import photos
from weldcal.long_work import Beat, silent
from weldcal.quality.doubt import Doubts
from weldcal.row_types import TABLES as ROW_TYPES
from weldcal.row_types import AreaRow, SeenColumns
from weldcal.tables.schema import TABLES
from weldcal.views.dossier import Counted, Roof, SeamFacts
from weldcal.views.rows import MarkedBleed, ReadBleed
from weldcal.views.rows import Marks as HasMarks
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.doubting import Doubting
    from weldcal.book.job_reader import JobReader
    from weldcal.book.marks import Marks
    from weldcal.book.roof import SeamStates
    from weldcal.book.site import Site
    from weldcal.book.strips import Strips


M = TypeVar("M", bound=HasMarks)
R = TypeVar("R")

_AT_ONCE = 300  # seams read together


# With more findings than this, what they put in doubt is left to `weldcal doubt`.
MOST_DOUBTED = 20_000


class Summing:
    """Seams summed up, for the evening page and the dossier."""

    def __init__(
        self,
        reader: JobReader,
        doubting: Doubting,
        marks: Marks,
        roof: SeamStates,
        site: Site,
        strips: Strips,
    ) -> None:
        self._reader = reader
        self._doubting = doubting
        self._marks = marks
        self._roof = roof
        self._site = site
        self._strips = strips

    def marked(self, struct: type[M], table: str, day: str | None = None) -> list[M]:
        """Rows of observations of this job, marked, in the order seen.

        Args:
            struct: the table's row with `marks`.
            table: where they are.
            day: of this local day only, ISO.
        """
        on, values = ("AND day = ?", [day]) if day else ("", [])
        rows: list[SeenColumns] = self._reader.select(
            ROW_TYPES[table],
            f"SELECT * FROM {table} WHERE job = ? {on} ORDER BY seen_utc, tick, id",
            (self._reader.job.id, *values),
        )
        return self._marks.marked(struct, rows)

    def listed(self, struct: type[R], table: str) -> list[R]:
        """Rows of what the job lists, in the order listed.

        Args:
            struct: the table's row.
            table: areas, sheets, machines ...
        """
        return self._reader.select(
            struct,
            f"SELECT * FROM {table} WHERE job = ? ORDER BY rowid",
            (self._reader.job.id,),
        )

    def read_bleeds(self, day: str | None = None) -> list[ReadBleed]:
        """Bleed checks of this job, marked, with their readings as typed, in the order seen.

        Args:
            day: of this local day only, ISO.
        """
        checks = self.marked(MarkedBleed, "bleeds", day)
        readings = self._strips.readings_of(checks)
        return [
            {**check, "readings": [one["text"] for one in readings.get(check["id"], [])]}
            for check in checks
        ]

    def rows_of(self, table: str, day: str | None = None) -> list[Row]:
        """Rows of a table of this job (and day), marked where they are observations."""
        order = "seen_utc, tick, id" if "seen_utc" in TABLES[table] else "rowid"
        on = "AND day = ?" if day else ""
        values = (self._reader.job.id, day) if day else (self._reader.job.id,)
        rows = self._reader.rows(
            f"SELECT * FROM {table} WHERE job = ? {on} ORDER BY {order}", values
        )
        return self._marks.marked_rows(rows) if "flags" in TABLES[table] else rows

    def roof_sheet(self, beat: Beat = silent) -> Roof:
        """What the roof is drawn from."""
        return Roof(
            self.summed({}, beat),
            self.listed(AreaRow, "areas"),
            self.doubts(),
            self._site.north_deg(),
        )

    def photo_names(self) -> list[str]:
        """Photos of the job's findings, mends and strips that were not taken back, each once, as seen."""
        named = " UNION ALL ".join(
            f"SELECT photos, seen_utc, tick, device FROM {table} WHERE job = ?1 AND photos <> '[]'"
            for table in ("findings", "mends", "strips")
        )
        rows = self._reader.rows(f"{named} ORDER BY seen_utc, tick, device", (self._reader.job.id,))
        return list(dict.fromkeys(name for row in rows for name in json.loads(row["photos"])))

    def photo(self, name: str) -> bytes | None:
        """A photo's bytes; None where they are not those the record names."""
        if photos.fault(self._reader.path, name) is not None:
            return None
        return (photos.folder(self._reader.path) / name).read_bytes()

    def summed(self, marks: dict[str, Counted], beat: Beat) -> list[SeamFacts]:
        """Sum every seam up, in the order listed; count marks on the way into `marks`."""
        beside, sides = self._roof.beside(self._roof.seams()), self._side_laps()

        def summed(key: str, rows: Rows) -> SeamFacts:
            seam = beside.listed.get(key)
            judged = beside.judged(key, rows, sides.get(seam["joins"] if seam else None, {}))
            return facts(key, seam, rows, judged, beside.slack)

        found: dict[str, SeamFacts] = {}
        for batch in self._seam_batches():
            for key, rows in batch.items():
                for table, part in rows.items():
                    count_marks(marks, table, part)
                found[key] = summed(key, rows)
            beat(_("seams"), min(len(found), len(beside.listed)), len(beside.listed))
        order = dict.fromkeys([*beside.listed, *found])
        return [found.get(key) or summed(key, {}) for key in order]

    def _side_laps(self) -> dict[str | None, Rows]:
        """Runs and walks of the side laps that T-joints lie on, as much of them as a joint needs."""
        found: dict[str | None, Rows] = {}
        for table in ("runs", "walks"):
            rows = self._reader.rows(
                f"SELECT * FROM {table} "
                "WHERE job = ?1 AND seam_key IN (SELECT joins FROM seams WHERE job = ?1) "
                "ORDER BY seen_utc, tick, id",
                (self._reader.job.id,),
            )
            for row in self._roof.as_welded(table, rows):
                found.setdefault(row["seam_key"], {}).setdefault(table, []).append(row)
        return found

    def _seam_batches(self) -> Iterator[dict[str, Rows]]:
        """Rows on seams, `_AT_ONCE` seams at a time: seam key -> table -> marked rows."""
        streams = [self._by_seam(table) for table in ON_SEAMS]
        merged = groupby(heapq.merge(*streams, key=itemgetter(0)), key=itemgetter(0))
        while True:
            flat: dict[str, list[Row]] = {}
            for _key, group in islice(merged, _AT_ONCE):
                for _same, table, row in group:
                    flat.setdefault(table, []).append(row)
            if not flat:
                return
            yield self.sorted_out(flat)

    def _by_seam(self, table: str) -> Iterator[tuple[str, str, Row]]:
        rows = self._reader.reading().execute(
            f"SELECT * FROM {table} WHERE job = ? AND seam IS NOT NULL "
            "ORDER BY seam_key, seen_utc, tick, id",
            (self._reader.job.id,),
        )
        for row in rows:
            yield row["seam_key"], table, dict(row)

    def sorted_out(self, flat: dict[str, list[Row]]) -> dict[str, Rows]:
        """Rows by seam and table, as they were welded."""
        found: dict[str, Rows] = {}
        for table, rows in flat.items():
            for row in self._roof.as_welded(table, self._marks.marked_rows(rows)):
                found.setdefault(row["seam_key"], {}).setdefault(table, []).append(row)
        return found

    def doubts(self) -> Doubts | None:
        """What failures put in doubt; None where there are too many to reckon here."""
        found = self._reader.rows(
            "SELECT count(*) AS n FROM findings WHERE job = ?", (self._reader.job.id,)
        )
        return self._doubting.doubt() if found[0]["n"] <= MOST_DOUBTED else None
