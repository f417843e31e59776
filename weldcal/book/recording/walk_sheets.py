"""A typed-up probe sheet into the book: walks, and what they found.

Invariant: a row gets the notes that a walk typed by hand gets, from the same code.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec.structs import replace

from weldcal.book.core import Named, Note
from weldcal.book.recording.loading import Sheets
from weldcal.errors import EndUnknown
from weldcal.intake.kept import RowKept
from weldcal.intake.row import Refusal
from weldcal.intake.staged import KeptRow, Staged, StagedRow
from weldcal.log import chain
from weldcal.long_work import Progress, no_progress
from weldcal.records.codec import decode, encode
from weldcal.records.fields import END
from weldcal.records.seam import Finding, Walk
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.marks import Marking
    from weldcal.book.probing import Probing
    from weldcal.book.recording.transactions import Transactions
    from weldcal.book.runs import Runs
    from weldcal.book.whole import Book
    from weldcal.book.writing import Writer
    from weldcal.intake.probes import ReadWalk


class WalkSheets(Sheets):
    """Takes in typed-up probe sheets."""

    _kinds = ("walk", "finding")

    def __init__(
        self,
        reader: JobReader,
        transactions: Transactions,
        at: Callable[[Path], Book],
        marks: Marking,
        probing: Probing,
        runs: Runs,
    ) -> None:
        super().__init__(reader, transactions, at)
        self._marks = marks
        self._probing = probing
        self._runs = runs

    def read(
        self,
        file: Path,
        *,
        keep_good: bool = False,
        day_first: bool = False,
        by: str | None = None,
        on_progress: Progress = no_progress,
    ) -> Staged:
        """The walks of a probe sheet, ready to be recorded; to be closed.

        Raises:
            LoadRefused: a row cannot be read, and `keep_good` was not asked.
            FileTrouble: the file cannot be read as a probe sheet at all.
        """
        from weldcal.intake.probes import read_probes

        who = self._reader.person(by)
        units = self._reader.job.units
        found = read_probes(file, units, self._reader.now(), who, day_first or units == "si")
        return self._staged(
            found, file.name, who, self._stage, keep_good=keep_good, on_progress=on_progress
        )

    def _stage(self, staged: Staged, one: ReadWalk, listed: Callable[[str], str]) -> None:
        """Put a walk in, its person named as listed, `end` as a distance where a length is listed."""
        try:
            walk = self._runs.placed_in(one.walk)
            found = [self._runs.placed_in(finding) for finding in one.found]
        except EndUnknown as error:
            staged.refuse(Refusal(one.row, "to", END, str(error)))
            return
        seen = replace(walk.seen, by=listed(walk.seen.by))
        found_payloads = [encode(replace(finding, seen=seen)) for finding in found]
        staged.add(one.row, encode(replace(walk, seen=seen)), found_payloads)

    def slips(self, staged: Staged) -> Iterator[tuple[int, Note]]:
        """None: what is odd about a walk becomes a note, not a question."""
        del staged
        return iter(())

    def _record(self, writer: Writer, staged: Staged, rows: list[StagedRow]) -> int:
        job = writer.job
        drafts: list[chain.NewEntry] = []
        kept = []
        findings = 0
        for row in rows:
            walk_id, name = row.here or chain.new_id(), ""
            if row.here is None:
                name = writer.next_name("walk")
                drafts.append(
                    chain.NewEntry("walk", {**row.payload, "name": name}, job, None, walk_id)
                )
            found = []
            for payload in row.found:
                whole = {**payload, "walk": walk_id}
                # A walk recorded now has no findings yet.
                if row.here and staged.take_here("finding", whole):
                    continue
                found.append({**whole, "name": writer.next_name("finding")})
            drafts += [chain.NewEntry("finding", payload, job) for payload in found]
            findings += len(found)
            if row.here is None or found:
                kept.append((row.n, walk_id, name, found))
        writer.add_all(drafts)
        staged.keep(kept)
        return findings

    def _notes_of(self, rows: list[KeptRow]) -> list[RowKept]:
        with self._reader.snapshot():
            ids = [row.id for row in rows]
            notes = self._marks.notes_of("walks", ids)
            places = ", ".join("?" * len(ids))
            named = self._reader.select(
                Named, f"SELECT id, name FROM walks WHERE id IN ({places})", ids
            )
            names = {row["id"]: row["name"] for row in named}
            return [self._with_notes(row, names[row.id], notes[row.id]) for row in rows]

    def _with_notes(self, row: KeptRow, name: str, row_notes: tuple[Note, ...]) -> RowKept:
        walk: Walk = decode("walk", {**row.payload, "name": name})
        found: tuple[Finding, ...] = tuple(decode("finding", payload) for payload in row.found)
        alike = (Note("same_row", {"above": row.alike}),) if row.alike else ()
        notes = self._probing.walk_notes(walk, found, [one.name for one in found])
        return RowKept(row.row, walk, (*row_notes, *alike, *notes), found)

    def _things(self) -> str:
        return _("walks")
