"""A crew's sheet of test strips into the book.

Invariant: a row gets the notes that a strip typed by hand gets, from the same code.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict

from msgspec.structs import replace

from weldcal.book.core import Note
from weldcal.book.recording.loading import Sheets
from weldcal.intake.kept import RowKept
from weldcal.intake.staged import KeptRow, Staged, StagedRow
from weldcal.log import chain
from weldcal.long_work import Progress, no_progress
from weldcal.records.codec import decode, encode
from weldcal.records.common import Setting
from weldcal.records.fields import same_name
from weldcal.records.plausible import SpeedSeen
from weldcal.records.strip import Strip
from weldcal.row_types.strips import StripRow
from weldcal.tables.columns import utc
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.marks import Marking
    from weldcal.book.recording.transactions import Transactions
    from weldcal.book.slips import Slips
    from weldcal.book.strips import Strips
    from weldcal.book.whole import Book
    from weldcal.book.writing import Writer
    from weldcal.intake.strips import ReadStrip

_NO_NAME_YET = "S0"


class _Dial(TypedDict):
    name: str
    dial: str


class StripSheets(Sheets):
    """Takes in a crew's sheets of test strips."""

    _kinds = ("strip",)

    def __init__(
        self,
        reader: JobReader,
        transactions: Transactions,
        at: Callable[[Path], Book],
        marks: Marking,
        slips: Slips,
        strips: Strips,
    ) -> None:
        super().__init__(reader, transactions, at)
        self._marks = marks
        self._slips = slips
        self._strips = strips

    def read(
        self,
        file: Path,
        *,
        keep_good: bool = False,
        machine: str | None = None,
        sheet: str | None = None,
        lap: str = "selvage",
        day_first: bool = False,
        by: str | None = None,
        on_progress: Progress = no_progress,
    ) -> Staged:
        """The strips of a crew's file, ready to be recorded; to be closed.

        Raises:
            LoadRefused: a row cannot be read, and `keep_good` was not asked.
            FileTrouble: the file cannot be read as a table of strips at all.
        """
        from weldcal.intake.strips import Defaults, read_strips

        who = self._reader.person(by)
        defaults = Defaults(
            units=self._reader.job.units,
            now=self._reader.now(),
            by=who,
            machine=self._only("machines", machine),
            sheet=self._only("sheets", sheet),
            lap=lap,
            day_first=day_first,
            dial_units=self._dials(),
        )
        file_rows = read_strips(file, defaults)
        return self._staged(
            file_rows, file.name, who, _stage, keep_good=keep_good, on_progress=on_progress
        )

    def slips(self, staged: Staged) -> Iterator[tuple[int, Note]]:
        """Rows not here already with a value that is likely a slip of the hand, and what it is."""
        self._compare(staged)
        for rows in staged.batches(fresh=True):
            for row in rows:
                strip: Strip = decode("strip", {**row.payload, "name": _NO_NAME_YET})
                yield from ((row.row, note) for note in self._unlikely(staged, strip))

    def _unlikely(self, staged: Staged, strip: Strip) -> tuple[Note, ...]:
        before = staged.speed_before(_key(strip.setting), utc(strip.seen.at))
        return self._slips.unlikely(strip.setting, strip.conditions, strip.seen.at, before)

    def _record(self, writer: Writer, staged: Staged, rows: list[StagedRow]) -> int:
        names = [writer.next_name("strip") for _row in rows]
        ids = writer.add_all(
            chain.NewEntry("strip", {**row.payload, "name": name}, writer.job)
            for row, name in zip(rows, names, strict=True)
        )
        recorded = zip(rows, ids, names, strict=True)
        staged.keep((row.n, subject, name, []) for row, subject, name in recorded)
        return 0

    def _notes_of(self, rows: list[KeptRow]) -> list[RowKept]:
        ids = [row.id for row in rows]
        with self._reader.snapshot():  # nothing changes meanwhile, so nothing is asked twice
            notes = self._marks.notes_of("strips", ids)
            read = self._reader.of_ids(StripRow, ids)
            judged = {row["id"]: row for row in self._strips.judged(read)}
            return [
                self._with_notes(row, notes[row.id], self._strips.verdict_of(judged[row.id]))
                for row in rows
            ]

    def _with_notes(
        self, row: KeptRow, row_notes: tuple[Note, ...], verdict: tuple[Note, ...]
    ) -> RowKept:
        strip: Strip = decode("strip", row.payload)
        alike = (Note("same_row", {"above": row.alike}),) if row.alike else ()
        slips = self._slips.unlikely(strip.setting, strip.conditions, strip.seen.at)
        return RowKept(row.row, strip, (*row_notes, *alike, *slips, *verdict))

    def _things(self) -> str:
        return _("strips")

    def dial_units(self) -> set[str]:
        """What the dials of the job's machines show."""
        return set(self._dials().values())

    def _dials(self) -> dict[str, str]:
        """What the dial of each machine shows, by `same_name` of the machine."""
        rows = self._reader.part(_Dial, "machines")
        return {same_name(row["name"]): row["dial"] for row in rows}


def _stage(staged: Staged, read: ReadStrip, listed: Callable[[str], str]) -> None:
    """Put a strip in, its person named as listed."""
    seen = replace(read.strip.seen, by=listed(read.strip.seen.by))
    strip = replace(read.strip, seen=seen)
    speed = strip.setting.speed
    key = None if speed is None else _key(strip.setting)
    sped = SpeedSeen(utc(strip.seen.at), speed.text, speed.unit) if speed else None
    staged.add(read.row, encode(strip), [], key, sped)


def _key(setting: Setting) -> str:
    """Whose speeds are compared."""
    return json.dumps([setting.machine, setting.sheet])
