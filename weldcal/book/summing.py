"""Seams summed up one after another, so that ten thousand cost no more memory than their sums.

Invariant: nothing is recorded here, and a seam's state and flags are those the
roof shows.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, TypeVar

from weldcal.book.core import Service
from weldcal.book.dossier_facts import count_marks, facts
from weldcal.book.job_reader import AS_LISTED, AS_SEEN
from weldcal.book.seam_rows import NOTHING_WHOLE, WholeRows
from weldcal.log import photos
from weldcal.long_work import Progress, no_progress
from weldcal.quality.doubt import Doubts
from weldcal.quality.welded_over import RunOnSeam
from weldcal.records.times import zone
from weldcal.row_types import TABLES as ROW_TYPES
from weldcal.row_types.columns import SeenColumns
from weldcal.row_types.listed import AreaRow
from weldcal.row_types.work import RunRow
from weldcal.tables.schema import TABLES
from weldcal.views.dossier import Counted, Roof, SeamFacts
from weldcal.views.rows import MarkedBleed, MarkedRun, ReadBleed
from weldcal.views.rows import Marks as HasMarks
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.doubting import Doubting
    from weldcal.book.job_reader import JobReader
    from weldcal.book.marks import Marking
    from weldcal.book.on_seams import OnSeams
    from weldcal.book.roof import SeamStates
    from weldcal.book.site import Site
    from weldcal.book.strips import Strips


M = TypeVar("M", bound=HasMarks)
R = TypeVar("R")

_AT_ONCE = 300  # seams read together


# With more findings than this, what they put in doubt is left to `weldcal doubt`.
MOST_DOUBTED = 20_000


class Summing(Service):
    """Seams summed up, for the evening page and the dossier."""

    _reader: JobReader
    _doubting: Doubting
    _marks: Marking
    _on_seams: OnSeams
    _roof: SeamStates
    _site: Site
    _strips: Strips

    def marked(self, struct: type[M], table: str, day: str | None = None) -> list[M]:
        """Rows of observations of this job, marked, in the order seen.

        Args:
            struct: the table's row with `marks`.
            table: where they are.
            day: of this local day only, ISO.
        """
        on, values = ("AND day = ?", [day]) if day else ("", [])
        rows: list[SeenColumns] = self._reader.of_job(
            ROW_TYPES[table], f"{on} ORDER BY seen_utc, tick, id", *values
        )
        return self._marks.marked(struct, rows)

    def runs_of(self, day: str) -> list[MarkedRun]:
        """Runs begun on a day, and those begun before it and finished on it, marked.

        Args:
            day: the job's local day, ISO.
        """
        over = [
            run
            for run in self._reader.of_job(
                RunRow, f"AND day < ? AND finished_utc >= ? {AS_SEEN}", day, _day_before(day)
            )
            if self._day_of(run["finished_utc"] or "") == day
        ]
        return [*self._marks.marked(MarkedRun, over), *self.marked(MarkedRun, "runs", day)]

    def welded(self) -> list[RunOnSeam]:
        """Where each run of this job lies, and when it began."""
        sql = "SELECT id, seam_key, start_m, end_m, seen_utc, tick FROM runs WHERE job = ?"
        return self._reader.select(RunOnSeam, sql, (self._reader.job.id,))

    def _day_of(self, at_utc: str) -> str:
        """The job's local day of a time in UTC."""
        local = datetime.fromisoformat(at_utc).astimezone(zone(self._reader.job.zone))
        return self._strips.day_of(local.isoformat())

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

    def rows_of(self, table: str) -> list[dict[str, object]]:
        """Rows of a table of this job, whichever that is, marked where they are observations.

        Args:
            table: where they are.
        """
        seen = "seen_utc" in TABLES[table]
        rows: list[Mapping[str, object]] = self._reader.of_job(
            ROW_TYPES[table], f"ORDER BY {'seen_utc, tick, id' if seen else 'rowid'}"
        )
        if "flags" not in TABLES[table]:
            return [dict(row) for row in rows]
        return [{**row, "marks": marks} for row, marks in self._marks.with_marks(rows)]

    def roof_sheet(self, on_progress: Progress = no_progress) -> Roof:
        """What the roof is drawn from.

        Args:
            on_progress: called with how far it is.
        """
        return Roof(
            self.summed({}, on_progress),
            self._reader.of_job(AreaRow, AS_LISTED),
            self.doubts(),
            self._site.north_deg(),
        )

    def photo_names(self) -> list[str]:
        """Photos of findings, mends and strips that were not taken back, each once, as seen."""
        named = " UNION ALL ".join(
            f"SELECT photos, seen_utc, tick, device FROM {table} WHERE job = ?1 AND photos <> '[]'"
            for table in ("findings", "mends", "strips")
        )
        taken = self._reader.column(
            str,
            f"SELECT photos FROM ({named}) ORDER BY seen_utc, tick, device",
            (self._reader.job.id,),
        )
        return list(dict.fromkeys(name for names in taken for name in json.loads(names)))

    def photo(self, name: str) -> bytes | None:
        """A photo's bytes; None where they are not those the record names.

        Args:
            name: as the record names it.
        """
        if photos.fault(self._reader.path, name) is not None:
            return None
        return (photos.folder(self._reader.path) / name).read_bytes()

    def summed(self, marks: dict[str, Counted], on_progress: Progress) -> list[SeamFacts]:
        """Sum every seam up, in the order listed.

        Args:
            marks: counted so far, by mark; those of what is on seams are added.
            on_progress: called with how far it is.
        """
        context, laps = self._roof.context(self._roof.seams()), self._on_seams.meeting()

        def summed(key: str, rows: WholeRows) -> SeamFacts:
            seam = context.listed.get(key)
            return facts(key, seam, rows, context.judged(key, rows, laps))

        facts_by_key: dict[str, SeamFacts] = {}
        for batch in self._on_seams.batches(_AT_ONCE):
            for key, rows in batch.items():
                _count(marks, rows)
                facts_by_key[key] = summed(key, rows)
            on_progress(
                _("seams"), min(len(facts_by_key), len(context.listed)), len(context.listed)
            )
        order = dict.fromkeys([*context.listed, *facts_by_key])
        return [facts_by_key.get(key) or summed(key, NOTHING_WHOLE) for key in order]

    def doubts(self) -> Doubts | None:
        """What failures put in doubt; None where there are too many to work out here."""
        (findings_n,) = self._reader.each_of(int, "count(*)", "findings")
        return self._doubting.doubt() if findings_n <= MOST_DOUBTED else None


def _day_before(day: str) -> str:
    """The day before, ISO: earlier in UTC than the day begins anywhere."""
    return (date.fromisoformat(day) - timedelta(days=1)).isoformat()


def _count(marks: dict[str, Counted], rows: WholeRows) -> None:
    """Count the marks of what is on one seam, table by table."""
    count_marks(marks, "runs", rows.runs)
    count_marks(marks, "finishes", rows.finishes)
    count_marks(marks, "bleeds", rows.bleeds)
    count_marks(marks, "widths", rows.widths)
    count_marks(marks, "walks", rows.walks)
    count_marks(marks, "findings", rows.findings)
    count_marks(marks, "mends", rows.mends)
    count_marks(marks, "peels", rows.peels)
