"""What happens on the roof besides laps: machines measured, hot work, cover-up, leaks reported.

Invariant: what is covered can be opened up, never again be probed; hiding a seam
not probed clean is never refused, and stays an open warning until answered.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from weldcal.book.core import Note, Service
from weldcal.book.job_reader import AS_SEEN, NEWEST
from weldcal.row_types.site import HotWorkRow
from weldcal.views.rows import MarkedHotWork, MarkedMeasure, WatchedHotWork

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.machines import Machines
    from weldcal.book.marks import Marking


class Site(Service):
    """Measurements of machines, hot work, north."""

    _reader: JobReader
    _machines: Machines
    _marks: Marking

    def measures(self, machine: str) -> list[MarkedMeasure]:
        """A machine's measurements, in the order they were made.

        Args:
            machine: as it is listed.
        """
        return self._marks.marked(MarkedMeasure, self._machines.measured(machine))

    def hot_work(self) -> list[WatchedHotWork]:
        """All hot work, in the order it began, with notes of its watch."""
        rows = self._reader.of_job(HotWorkRow, AS_SEEN)
        return [
            {**row, "watch_notes": watch_notes(row)}
            for row in self._marks.marked(MarkedHotWork, rows)
        ]

    def unwatched(self) -> list[WatchedHotWork]:
        """Hot work whose end, or whole fire watch, is not recorded; in the order it began."""
        return [row for row in self.hot_work() if not watched_whole(row)]

    def welded_without(self) -> list[str]:
        """Days of welding on which no hot work was recorded, in order."""
        return welded_without_hot_work(self._reader)

    def north_deg(self) -> float | None:
        """North on the plan as last seen, degrees clockwise from its y; None where nobody said."""
        degrees = self._reader.each_of(float, "degrees", "norths", f"{NEWEST} LIMIT 1")
        return degrees[0] if degrees else None


def welded_without_hot_work(reader: JobReader) -> list[str]:
    """Days of welding on which no hot work was recorded, in order.

    Args:
        reader: the job.
    """
    return reader.column(
        str,
        "SELECT DISTINCT day FROM runs WHERE job = ?1 AND day NOT IN "
        "(SELECT day FROM hot_work WHERE job = ?1) ORDER BY day",
        (reader.job.id,),
    )


def watched_whole(row: HotWorkRow) -> bool:
    """Whether its end and its whole fire watch are recorded.

    Args:
        row: the hot work.
    """
    return any(note.code == "watch_done" for note in watch_notes(row))


def watch_notes(row: HotWorkRow) -> tuple[Note, ...]:
    """What is to be said of the fire watch; `watch_done` where it was stood in full.

    Args:
        row: the hot work.
    """
    from datetime import datetime

    if row["ended_utc"] is None:
        return (Note("not_ended", {}),) if row["watched_until_utc"] else ()
    watched_min = 0.0
    if row["watched_until_utc"]:
        until = datetime.fromisoformat(row["watched_until_utc"])
        stood_for = until - datetime.fromisoformat(row["ended_utc"])
        watched_min = max(0.0, stood_for.total_seconds() / 60)
    if watched_min < row["watch_min"]:
        minutes_left = row["watch_min"] - watched_min
        return (Note("watch_left", {"left_min": minutes_left, "source": row["watch_source"]}),)
    return (Note("watch_done", {"stood_min": watched_min}),)
