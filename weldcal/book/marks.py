"""What a lawyer asks first, answered for every row: late, by whom, with what.

Invariant: a mark is derived from the row and the job's lists when it is shown;
it never changes what was recorded.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from functools import lru_cache
from operator import itemgetter
from typing import TYPE_CHECKING, TypedDict, TypeVar, cast

import msgspec
from msgspec import Struct

from weldcal.book.core import Note, Service
from weldcal.records.odd_names import odd
from weldcal.row_types import TABLES
from weldcal.row_types.columns import SeenColumns

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.verdicts import Verdicts
    from weldcal.views.rows import Marks as HasMarks


M = TypeVar("M", bound="HasMarks")
R = TypeVar("R", bound=Mapping[str, object])


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


@lru_cache(maxsize=256)  # of a roof's rows, most have the same few
def _flags(text: str) -> tuple[str, ...]:
    return msgspec.json.decode(text, type=tuple[str, ...])


def _pace_mark(row: Mapping[str, object]) -> str | None:
    """What is odd about the pace of a walk; None where nobody said when it began and ended."""
    began, ended = row.get("started_utc"), row.get("ended_utc")
    start, end = row.get("start_m"), row.get("end_m")
    if not (isinstance(began, str) and isinstance(ended, str)):
        return None
    if not (isinstance(start, float | int) and isinstance(end, float | int)):
        return None
    from weldcal.quality.probing import pace  # of a walk only

    took = datetime.fromisoformat(ended) - datetime.fromisoformat(began)
    paced = pace(abs(end - start), took.total_seconds())
    return _PACE[paced.code] if paced else None


def _paces(mark: str) -> dict[str, object]:
    """The paces between which a walk is one of probing, where a mark says that it is not."""
    from weldcal.quality import probing

    if mark == _PACE["clock_back"]:
        return {}
    return {
        "least_m_per_min": probing.PACE_LEAST_M_PER_MIN,
        "most_m_per_min": probing.PACE_MOST_M_PER_MIN,
        "pace_source": probing.PACE_SOURCE,
    }


class Markable(TypedDict):
    """The columns of a row that its marks are read from; others may add to them."""

    day: str
    instrument: str | None
    flags: str


class _Lists(Struct, frozen=True):
    """What of the job's lists a row is compared with.

    Attributes:
        names: column, the names listed there in order, and what people call such a thing.
        due: day by which an instrument is to be checked, by its name.
        withdrawn: ids of strips taken back.
        fell_short: gives the ids of strips that fell short after they may have passed.
    """

    names: list[tuple[str, dict[str, None], str]]
    due: dict[str, str | None]
    withdrawn: set[str]
    fell_short: Callable[[], set[str]]


class _Instrument(TypedDict):
    name: str
    due: str | None


class _Marker:
    """The marks of rows of one table.

    What follows from flags and names is worked out once for all rows that share them: a roof
    has a hundred thousand rows, and few people and machines.
    """

    def __init__(self, columns: Collection[str], lists: _Lists) -> None:
        self._lists = lists
        self._names = [each for each in lists.names if each[0] in columns]
        self._shared = [c for c in ("flags", *_NAMED) if c in columns and c != "seam"]
        self._read_shared = itemgetter(*self._shared)
        self._on_seam, self._walked = "seam" in columns, "started_utc" in columns
        on_strip = "go_ahead" in columns
        self._withdrawn = lists.withdrawn if on_strip else set()
        self._fell_short = lists.fell_short() if on_strip else set()
        self._kept: dict[tuple[object, ...], tuple[list[str], bool, str | None]] = {}

    def marks(self, row: Mapping[str, object]) -> list[str]:
        """The marks of one row."""
        shared = self._read_shared(row)
        if shared not in self._kept:
            self._kept[shared] = self._of_shared(row)
        first, looks_odd, ends = self._kept[shared]
        marks = list(first)
        if self._walked and (paced := _pace_mark(row)):
            marks.append(paced)
        if self._withdrawn and row["go_ahead"] in self._withdrawn:
            marks.append("go-ahead taken back")
        if self._fell_short and row["go_ahead"] in self._fell_short:
            marks.append("go-ahead fell short since")
        if ends and str(row["day"]) > ends:
            marks.append("instrument past its check")
        if looks_odd or (self._on_seam and odd(str(row["seam"]))):
            marks.append(ODD)
        return marks

    def _of_shared(self, row: Mapping[str, object]) -> tuple[list[str], bool, str | None]:
        """Flags and the marks of names not listed, whether a name is odd, when a check is due."""
        marks = list(_flags(str(row["flags"])))
        for column, known, what in self._names:
            name = row[column]
            if name and name not in known:
                marks.append(f"{what} not listed")
        instrument = row.get("instrument")
        due = self._lists.due.get(instrument) if isinstance(instrument, str) else None
        return marks, any(odd(str(row[column])) for column in self._shared[1:]), due


def _with_marks(rows: Iterable[R], lists: _Lists) -> Iterator[tuple[R, list[str]]]:
    marker = None
    for row in rows:
        marker = marker or _Marker(row.keys(), lists)
        yield row, marker.marks(row)


class Marking(Service):
    """What is odd about a row: its time, its people, what was carried over."""

    _reader: JobReader
    _verdicts: Verdicts

    def marked(self, struct: type[M], rows: Iterable[Markable]) -> list[M]:
        """Rows, each given its `marks`: its own flags and what the job's lists say of it.

        Args:
            struct: the rows' own struct with `marks`.
            rows: of one table, as they are recorded.
        """
        marked_rows = []
        for row, marks in _with_marks(rows, self._lists()):
            marked_rows.append(marked := cast("M", row))
            marked["marks"] = marks
        return marked_rows

    def with_marks(
        self, rows: Iterable[Mapping[str, object]]
    ) -> Iterator[tuple[Mapping[str, object], list[str]]]:
        """Rows of whatever table, each with its marks.

        Args:
            rows: as they are recorded.
        """
        return _with_marks(rows, self._lists())

    def marks_of(self, row: Mapping[str, object]) -> list[str]:
        """The marks of one row.

        Args:
            row: of any table, as its entry makes it.
        """
        return _Marker(row.keys(), self._lists()).marks(row)

    def _lists(self) -> _Lists:
        lists = [
            (column, dict.fromkeys(self._reader.names_in(table)), what)
            for column, table, what in _LISTED
        ]
        due = self._reader.part(_Instrument, "instruments")
        withdrawn = self._reader.each_of(str, "id", "withdrawn", "AND was_in = 'strips'")
        return _Lists(
            [(column, known, what) for column, known, what in lists if known],
            {instrument["name"]: instrument["due"] for instrument in due},
            set(withdrawn),
            self._verdicts.fell_short,
        )

    def notes(self, table: str, subject: str) -> tuple[Note, ...]:
        """Notes of what is odd about a row just recorded: its time, its people, what was carried.

        Args:
            table: where its row is.
            subject: its id.
        """
        return self.notes_of(table, [subject])[subject]

    def notes_of(self, table: str, subjects: Sequence[str]) -> dict[str, tuple[Note, ...]]:
        """`notes` of many rows at once.

        Args:
            table: where their rows are.
            subjects: their ids.

        Returns:
            Their notes, by id.
        """
        lists = self._lists()
        notes: dict[str, tuple[Note, ...]] = {}
        marker = _Marker(TABLES[table].__annotations__, lists)
        for first in range(0, len(subjects), _AT_ONCE):
            some = subjects[first : first + _AT_ONCE]
            rows: list[SeenColumns] = self._reader.of_ids(TABLES[table], some)
            for row in rows:
                notes[row["id"]] = tuple(self._notes(row, marker.marks(row), lists))
        return notes

    def _notes(self, row: SeenColumns, marks: list[str], lists: _Lists) -> Iterator[Note]:
        if self._reader.clock_back:
            yield Note("clock_back", {"at": self._reader.clock_back})
        if "late" in marks:
            yield Note("late", {"late_h": row["late_h"]})
        for mark in (mark for mark in marks if mark in _PACE.values()):
            yield Note("pace", {"mark": mark, **_paces(mark)})
        if ODD in marks:
            yield Note("odd_name", {})
        if "ahead of the clock" in marks:
            yield Note("ahead", {})
        if "instrument past its check" in marks:
            yield Note("past_check", {"instrument": row["instrument"]})
        columns: Mapping[str, object] = row
        for column, known, what in lists.names:
            if f"{what} not listed" in marks:
                values = {"what": what, "name": columns[column], "known": list(known)}
                yield Note("unlisted", values)
