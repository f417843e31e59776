"""Other people's files into the book: all rows, or none unless told otherwise.

Invariant: every row is either recorded or refused with its row, column, value
and what would be accepted; a load is one transaction.
"""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, TypedDict

import msgspec
from msgspec.structs import replace

from weldcal.book.core import Note
from weldcal.book.sheet_rows import Here, WalkMade, WalkTyped, repeated, said_of, walk_made
from weldcal.errors import EndUnknown, LoadRefused
from weldcal.intake.kept import LoadDone, RowKept
from weldcal.log import chain, store
from weldcal.long_work import Beat, counted, silent
from weldcal.records.codec import encode
from weldcal.records.fields import END, same_name
from weldcal.records.strip import Strip
from weldcal.row_types import StripRow
from weldcal.words import _, plural

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.marks import Marks
    from weldcal.book.probing import Probing
    from weldcal.book.recording.transactions import Transactions
    from weldcal.book.runs import Runs
    from weldcal.book.strips import Strips
    from weldcal.book.whole import Book
    from weldcal.intake.probes import Loaded, WalkRow
    from weldcal.intake.strips import Refusal


_AT_ONCE = 500  # rows of one query


_DRAFTED = 2000  # entries held before they are added


class _Dial(TypedDict):
    name: str
    dial: str


class _Kept(TypedDict):
    body: str
    hash: str


class Loading:
    """Takes in other people's sheets of strips and probe walks."""

    def __init__(
        self,
        reader: JobReader,
        transactions: Transactions,
        at: Callable[[Path], Book],
        marks: Marks,
        probing: Probing,
        runs: Runs,
        strips: Strips,
    ) -> None:
        self._reader = reader
        self._transactions = transactions
        self._at = at
        self._marks = marks
        self._probing = probing
        self._runs = runs
        self._strips = strips

    @contextmanager
    def trial(self) -> Iterator[Book]:
        """A copy of the book to try a verb on: what it would do, with nothing kept and no lock held."""
        with TemporaryDirectory(prefix="weldcal-") as folder:
            path = Path(folder) / "trial.sqlite"
            copy = sqlite3.connect(path)
            try:
                with store.trouble(self._reader.path):
                    self._reader.reading().backup(copy)
            finally:
                copy.close()
            tried = self._at(path)
            try:
                yield tried
            finally:
                tried.close()

    def load_strips(
        self,
        file: Path,
        *,
        keep_good: bool = False,
        machine: str | None = None,
        sheet: str | None = None,
        lap: str = "selvage",
        day_first: bool = False,
        by: str | None = None,
        leave: frozenset[int] = frozenset(),
        beat: Beat = silent,
    ) -> LoadDone:
        """Record the strips of a crew's CSV file; what is here already is left alone.

        Args:
            leave: rows that are not to be kept.

        Raises:
            LoadRefused: a row cannot be read, and `keep_good` was not asked.
            FileTrouble: the file cannot be read as a table of strips at all.
        """
        from weldcal.intake.strips import Defaults, read_strips

        typist = self._reader.typist(self._reader.person(by))
        dials = self._reader.select(
            _Dial, "SELECT name, dial FROM machines WHERE job = ?", (self._reader.job.id,)
        )
        defaults = Defaults(
            units=self._reader.job.units,
            now=self._reader.now(),
            by=self._reader.person(by),
            machine=self._only("machines", machine),
            sheet=self._only("sheets", sheet),
            lap=lap,
            day_first=day_first,
            dial_units={same_name(row["name"]): row["dial"] for row in dials},
        )
        loaded = read_strips(file, defaults, beat)
        bad = len({refusal.row for refusal in loaded.refused})
        if loaded.refused and not keep_good:
            raise LoadRefused(
                file=file.name,
                bad=bad,
                rows=loaded.rows,
                good=len(loaded.strips),
                first=_first(loaded.refused),
            )
        read = [(row, strip) for row, strip in loaded.strips if row not in leave]
        typed = self._as_typed(read)  # before the lock: the longest part of a load
        with self._transactions.writing(typist) as writer:
            here = self._as_recorded("strip")
            job, fresh = self._reader.job.id, []
            for row, strip, payload, said in typed:
                if here[said]:  # two alike in the file are two strips
                    here[said].pop()
                    continue
                fresh.append((row, strip, writer.next_name("S", job), payload, said))
            told = counted(fresh, _("strips"), len(fresh), beat)
            ids = writer.add_all(
                chain.NewEntry("strip", {**msgspec.json.decode(payload), "name": name}, job)
                for _row, _strip, name, payload, _said in told
            )
        made = [
            (row, subject, replace(strip, name=name), said)
            for (row, strip, name, _payload, said), subject in zip(fresh, ids, strict=True)
        ]
        with self._reader.snapshot():  # nothing changes meanwhile, so nothing is asked twice
            kept = self._strips_kept(made)
        names, known = tuple(one.name for one in kept), len(read) - len(kept)
        return LoadDone(names, loaded.refused, loaded.ignored, known, kept)

    def _as_typed(self, read: Sequence[tuple[int, Strip]]) -> list[tuple[int, Strip, bytes, bytes]]:
        """Strips with their people's names as listed, each with its payload as JSON and all that it says."""
        people = {by: self._reader.person(by) for by in {strip.seen.by for _row, strip in read}}
        typed = []
        for row, strip in read:
            named = replace(strip, seen=replace(strip.seen, by=people[strip.seen.by]))
            payload = encode(named)
            typed.append((row, named, msgspec.json.encode(payload), said_of(payload)))
        return typed

    def _strips_kept(self, made: list[tuple[int, str, Strip, bytes]]) -> tuple[RowKept, ...]:
        """The strips just recorded, each with the notes that it has when recorded by hand."""
        ids = [subject for _row, subject, _strip, _said in made]
        told = self._marks.told_of("strips", ids)
        verdicts: dict[str, tuple[Note, ...]] = {}
        for first in range(0, len(ids), _AT_ONCE):
            some = ids[first : first + _AT_ONCE]
            marks = ", ".join("?" * len(some))
            for row in self._strips.judged(
                self._reader.select(StripRow, f"SELECT * FROM strips WHERE id IN ({marks})", some)
            ):
                verdicts[row["id"]] = self._strips.verdict_of(row)
        twice = repeated((row, said) for row, _id, _strip, said in made)
        kept = []
        for number, subject, strip, _said in made:
            slips = self._strips.unlikely(strip.setting, strip.conditions, strip.seen.at)
            notes = (*told[subject], *twice.get(number, ()), *slips, *verdicts[subject])
            kept.append(RowKept(number, strip.name, strip, notes, slips=slips))
        return tuple(kept)

    def _as_recorded(self, kind: str) -> Here:
        """Ids by what records of this job said when recorded, corrected since or not; none taken back."""
        rows = self._reader.select(
            _Kept,
            "SELECT body, hash FROM entries WHERE job = ? AND kind = ? "
            "AND id NOT IN (SELECT id FROM withdrawn) ORDER BY tick DESC, device DESC",
            (self._reader.job.id, kind),
        )
        here: Here = defaultdict(list)
        for entry in chain.readable([(row["body"], row["hash"]) for row in rows]):
            here[said_of(entry.payload)].append(entry.id)
        return here

    def load_probes(
        self,
        file: Path,
        *,
        keep_good: bool = False,
        day_first: bool = False,
        by: str | None = None,
        beat: Beat = silent,
    ) -> LoadDone:
        """Record the walks and findings of a typed-up probe sheet; what is here already is left alone.

        Args:
            file: the sheet.
            keep_good: take the rows that can be read, where others cannot.
            day_first: dates are day before month.
            by: who probed, where a row does not say.
            beat: hears how far it is.

        Raises:
            LoadRefused: a row cannot be read, and `keep_good` was not asked.
            FileTrouble: the file cannot be read as a probe sheet at all.
        """
        from weldcal.intake.probes import read_probes

        who = self._reader.person(by)
        usual = day_first or self._reader.job.units == "si"
        loaded = self._ends_known(
            read_probes(file, self._reader.job.units, self._reader.now(), who, usual, beat)
        )
        bad = len({refusal.row for refusal in loaded.refused})
        if loaded.refused and not keep_good:
            raise LoadRefused(
                file=file.name,
                bad=bad,
                rows=loaded.rows,
                good=len(loaded.walks),
                first=_first(loaded.refused),
            )
        typed = self._walks_typed(loaded.walks)  # before the lock: the longest part of a load
        with self._transactions.writing(self._reader.typist(who)) as writer:
            here = self._as_recorded("walk"), self._as_recorded("finding")
            told = counted(typed, _("walks"), len(typed), beat)
            drafts: list[chain.NewEntry] = []
            made = []
            for one in told:
                made.append(walk_made(writer, self._reader.job.id, one, here, drafts))
                if len(drafts) >= _DRAFTED:
                    writer.add_all(drafts)
                    drafts.clear()
            writer.add_all(drafts)
        fresh = [one for one in made if one.new or one.found]
        with self._reader.snapshot():
            kept = self._walks_kept(fresh)
        names = [
            name
            for one in fresh
            for name in ([one.walk.name] if one.new else []) + [f.name for f in one.found]
        ]
        known = len(made) - len(fresh)
        return LoadDone(tuple(names), loaded.refused, loaded.ignored, known, kept)

    def _ends_known(self, loaded: Loaded) -> Loaded:
        """The walks of a sheet with `end` as a distance; where no length is listed, refused."""
        from dataclasses import replace as changed

        from weldcal.intake.row import Refusal

        known, refused = [], list(loaded.refused)
        for part in loaded.walks:
            try:
                walk = self._runs.placed_in(part.walk)
                found = [self._runs.placed_in(one) for one in part.found]
            except EndUnknown as error:
                refused.append(Refusal(part.row, "to", END, str(error)))
            else:
                known.append(changed(part, walk=walk, found=found))
        return changed(loaded, walks=tuple(known), refused=tuple(refused))

    def _walks_typed(self, read: Sequence[WalkRow]) -> list[WalkTyped]:
        """Walks and findings with their people's names as listed, each walk with its payload."""
        people = {by: self._reader.person(by) for by in {part.walk.seen.by for part in read}}
        typed = []
        for part in read:
            seen = replace(part.walk.seen, by=people[part.walk.seen.by])
            walk = replace(part.walk, seen=seen)
            found = tuple(replace(one, seen=seen) for one in part.found)
            payload = encode(walk)
            whole = msgspec.json.encode(payload)
            typed.append(WalkTyped(part.row, walk, found, whole, said_of(payload)))
        return typed

    def _walks_kept(self, made: list[WalkMade]) -> tuple[RowKept, ...]:
        """The walks just recorded, each with the notes that it has when recorded by hand."""
        told = self._marks.told_of("walks", [one.id for one in made])
        twice = repeated((one.row, one.said) for one in made if one.new)
        return tuple(
            RowKept(
                one.row,
                one.walk.name,
                one.walk,
                (
                    *told.get(one.id, ()),
                    *twice.get(one.row, ()),
                    *self._probing.walk_notes(one.walk, one.found, [f.name for f in one.found]),
                ),
                one.found,
            )
            for one in made
        )

    def dial_units(self) -> set[str]:
        """What the dials of the job's machines show."""
        return set(
            self._reader.column(
                str, "SELECT dial FROM machines WHERE job = ?", (self._reader.job.id,)
            )
        )

    def _only(self, table: str, given: str | None) -> str | None:
        """The name given, as listed; else the only one listed; else None: rows must say."""
        names = self._reader.names_in(table)
        if given is not None:
            return next((name for name in names if same_name(name) == same_name(given)), given)
        return names[0] if len(names) == 1 else None


def _first(refused: tuple[Refusal, ...], most: int = 20) -> str:
    """The refusals, a line each, as many as a screen holds."""
    lines = [refusal.sentence() for refusal in refused[:most]]
    more = len(refused) - most
    if more > 0:
        lines.append(plural("and {n} more", "and {n} more", more))
    return "".join(f"\n- {line}" for line in lines)
