"""What a lawyer asks first, answered beside every row: late, by whom, with what.

Invariant: a mark is derived from the row and the job's lists when it is shown;
it never changes what was recorded.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from weldcal.book.core import Note
from weldcal.quality.probing import (
    PACE_LEAST_M_PER_MIN,
    PACE_MOST_M_PER_MIN,
    PACE_SOURCE,
    pace,
)
from weldcal.records.odd_names import odd

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader


_PACE = {
    "too_fast": "walked too fast to probe",
    "too_slow": "walked too slowly to be one walk",
    "clock_back": "walk ends before it began",
}


_LISTED = (
    ("machine", "machines", "machine"),
    ("sheet", "sheets", "sheet"),
    ("seen_by", "people", "person"),
)


# Columns that hold a name somebody typed.
_NAMED = ("seam", "seen_by", "machine", "sheet", "instrument")


ODD = "name with invisible or look-alike signs"


_AT_ONCE = 500  # rows of one query


_PACES = {
    "least_m_per_min": PACE_LEAST_M_PER_MIN,
    "most_m_per_min": PACE_MOST_M_PER_MIN,
    "pace_source": PACE_SOURCE,
}


@lru_cache(maxsize=256)  # of a roof's rows, most have the same few
def _flags(text: str) -> tuple[str, ...]:
    return tuple(json.loads(text))


def _seconds(row: dict[str, Any]) -> float:
    began, ended = (datetime.fromisoformat(row[k]) for k in ("started_utc", "ended_utc"))
    return (ended - began).total_seconds()


class Marks:
    """What is odd about a row: its time, its people, what was carried over."""

    def __init__(self, reader: JobReader) -> None:
        self._reader = reader

    def marked(self, rows: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
        """Rows with `marks`: their own flags and what the job's lists say of them."""
        lists = [(column, set(self.listed(table)), what) for column, table, what in _LISTED]
        listed = [(column, known, f"{what} not listed") for column, known, what in lists if known]
        due = {
            row["name"]: row["due"]
            for row in self._reader.rows(
                "SELECT name, due FROM instruments WHERE job = ?", (self._reader.job.id,)
            )
        }
        gone = {
            row["id"]
            for row in self._reader.rows(
                "SELECT id FROM withdrawn WHERE job = ? AND was_in = 'strips'",
                (self._reader.job.id,),
            )
        }
        marked = []
        for row in rows:
            marks = list(_flags(row["flags"]))
            for column, known, mark in listed:
                name = row.get(column)
                if name and name not in known:
                    marks.append(mark)
            if row.get("started_utc") and row.get("ended_utc"):
                paced = pace(abs(row["end_m"] - row["start_m"]), _seconds(row))
                marks += [_PACE[paced.code]] if paced else []
            if row.get("go_ahead") in gone:
                marks.append("go-ahead taken back")
            ends = due.get(row.get("instrument"))
            if ends and row["day"] > ends:
                marks.append("instrument past its check")
            if any(odd(row[column]) for column in _NAMED if row.get(column)):
                marks.append(ODD)
            row["marks"] = marks
            marked.append(row)
        return marked

    def told(self, table: str, subject: str) -> tuple[Note, ...]:
        """Notes of what is odd about a row just recorded: its time, its people, what was carried."""
        return self.told_of(table, [subject])[subject]

    def told_of(self, table: str, subjects: Sequence[str]) -> dict[str, tuple[Note, ...]]:
        """`told` of many rows at once."""
        lists = {what: self.listed(named) for _column, named, what in _LISTED}
        told: dict[str, tuple[Note, ...]] = {}
        for first in range(0, len(subjects), _AT_ONCE):
            some = subjects[first : first + _AT_ONCE]
            places = ", ".join("?" * len(some))
            rows = self._reader.rows(f"SELECT * FROM {table} WHERE id IN ({places})", some)
            for row in self.marked(rows):
                told[row["id"]] = tuple(self._told(row, lists))
        return told

    def _told(self, row: dict[str, Any], lists: dict[str, list[str]]) -> Iterator[Note]:
        if self._reader.clock_back:
            yield Note("clock_back", {"at": self._reader.clock_back})
        if "late" in row["marks"]:
            yield Note("late", {"late_h": row["late_h"]})
        for mark in (mark for mark in row["marks"] if mark in _PACE.values()):
            limits = {} if mark == _PACE["clock_back"] else _PACES
            yield Note("pace", {"mark": mark, **limits})
        if ODD in row["marks"]:
            yield Note("odd_name", {})
        if "ahead of the clock" in row["marks"]:
            yield Note("ahead", {})
        if "instrument past its check" in row["marks"]:
            yield Note("past_check", {"instrument": row["instrument"]})
        for column, _named, what in _LISTED:
            if f"{what} not listed" in row["marks"]:
                yield Note("unlisted", {"what": what, "name": row[column], "known": lists[what]})

    def listed(self, table: str) -> list[str]:
        """Names listed in a table of the job."""
        rows = self._reader.rows(
            f"SELECT name FROM {table} WHERE job = ? ORDER BY tick, device", (self._reader.job.id,)
        )
        return [row["name"] for row in rows]
