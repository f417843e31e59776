"""What the firm's other jobs taught, for advice on this one: from this book, or a knowledge file.

Invariant: a job's own strips never come in twice. What was worked out is kept on this device
and worked out anew where anything it rests on changed; nothing of it is evidence.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict

import msgspec
from msgspec import Struct

from weldcal.book.core import Service
from weldcal.errors import BookTrouble, FileTrouble, NoneYet
from weldcal.long_work import Progress, no_progress
from weldcal.records.fields import same_name
from weldcal.row_types.listed import JobRow, SheetRow
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.firm import Firm
    from weldcal.book.job_reader import JobReader
    from weldcal.book.preferences import Preferences
    from weldcal.book.whole import Book
    from weldcal.calibration import From, KnownNames, Window
    from weldcal.calibration.job_said import JobSaid
    from weldcal.calibration.keys import Who
    from weldcal.calibration.knowledge import Knowledge, TaughtJob
    from weldcal.log.knowledge import KnowledgeRead


FORM = 2  # of what is kept here, and of the numbers it is worked out with (priors, pooling)
MOST_JOBS = 12  # of this book that advice looks at: those with the machine or sheet, the latest
_FIRM = "knowledge"
_COUNTED = ("strips", "bleeds", "readings", "runs", "machines", "amendments", "withdrawn")


class _Total(TypedDict):
    """How much of a table there is, and the last of it."""

    n: int
    t: int | None


class _JobTotal(_Total):
    """The same of one job; `p` counts strips that were pulled."""

    job: str
    p: int


class _Kept(Struct, frozen=True):
    """What was worked out and kept on this device, and what it rested on."""

    mark: str
    holds: dict[str, object]


class Knowing(Service):
    """What the firm's other jobs taught, and the knowledge file."""

    _reader: JobReader
    _preferences: Preferences
    _on_job: Callable[[str], Book]
    _firm: Firm

    def firm_knows(
        self, machine: str, sheet: str, window: Window
    ) -> tuple[KnownNames | None, From | None]:
        """What other jobs taught, with this job's names; and from how many. None, where nothing.

        A knowledge file taken in comes before the other jobs of this book, unless this very job
        taught it.

        Args:
            machine, sheet: names as this job lists them.
            window: the limits in force.
        """
        if not window.by_bleed_out:
            return None, None
        from weldcal.calibration.knowledge import KnownNames

        found = self._from_file() or self._from_book(machine, sheet, window)
        if found is None:
            return None, None
        known = KnownNames(*found)
        return known, known.knowledge.rests_on(machine, sheet, known.who)

    def learn(
        self, without: Iterable[str] = (), on_progress: Progress = no_progress
    ) -> tuple[Knowledge, dict[str, dict[str, str]]]:
        """Learn from every job of the book.

        Args:
            without: names of jobs to leave out.
            on_progress: called with how far it is.

        Returns:
            The knowledge, and for machines, sheets and classes the keys of their names.

        Raises:
            Unheard: no such job; NoneYet: no job has a strip to learn from.
        """
        from weldcal.calibration.knowledge import learn

        left = {self._firm.other_job(name)["id"] for name in without}
        rows = self._reader.select(JobRow, "SELECT * FROM jobs ORDER BY tick, device")
        jobs = self._taught_by([r for r in rows if r["id"] not in left], on_progress)
        if not jobs:
            raise NoneYet(
                what=_("strip"), then=_("Knowledge comes of strips: weldcal strip record")
            )
        on_progress(_("levels"), 0, 0)
        return learn(jobs), self._names_known({job.key for job in jobs})

    def write_knowledge(
        self,
        path: Path,
        without: Iterable[str] = (),
        key: Path | None = None,
        on_progress: Progress = no_progress,
    ) -> tuple[Knowledge, str]:
        """Learn, and write the knowledge file.

        Args:
            path: where to.
            without: names of jobs to leave out.
            key: a key file to sign with.
            on_progress: called with how far it is.

        Returns:
            The knowledge, and the file's SHA-256.

        Raises:
            Unheard, NoneYet: as `learn`.
            FileTrouble: it cannot be written, or is there already.
        """
        from weldcal import __version__
        from weldcal.log import knowledge

        found, names = self.learn(without, on_progress)
        made = self._reader.now().date().isoformat()
        digest = knowledge.write(path, found, names, made=made, program=__version__, key=key)
        return found, digest

    def met_by(self, file: KnowledgeRead) -> tuple[dict[str, dict[str, int]], bool]:
        """On how many of its jobs a file met this job's machines and sheets.

        Args:
            file: a knowledge file.

        Returns:
            Counts by name, for `machines` and for `sheets`; and whether this job is one of the
            file's.
        """
        _knowledge, who = self._read_file(file)
        known = file.knowledge.jobs
        machines = {
            name: sum(key in job.machines for job in known) for name, key in who.machines.items()
        }
        sheets = {
            name: sum(any(s.key == sheet.key for s in job.sheets) for job in known)
            for name, sheet in who.sheets.items()
        }
        return {"machines": machines, "sheets": sheets}, file.has_job(self._reader.job.id)

    def take_knowledge(self, path: Path, key: str | None = None) -> KnowledgeRead:
        """Take a knowledge file in: advice rests on it from now on.

        Args:
            path: the file.
            key: the public key that must have signed it, hex.

        Raises:
            BadKnowledge: it is damaged, newer, or not signed so.
        """
        from weldcal.log import knowledge

        file = knowledge.read(path, key)
        self._preferences.keep(_FIRM, file.text)
        return file

    def forget_knowledge(self) -> None:
        """Take the knowledge file out again.

        Raises:
            NoneYet: none was taken in.
        """
        if not self._reader.local(_FIRM):
            raise NoneYet(
                what=_("knowledge file"), then=_("Take one in: weldcal knowledge take FILE")
            )
        self._preferences.keep(_FIRM, "")

    def knowledge_taken(self) -> KnowledgeRead | None:
        """The knowledge file taken in; None where there is none."""
        from weldcal.log import knowledge

        text = self._reader.local(_FIRM)
        return knowledge.of_text(text, _("the knowledge taken in")) if text else None

    def _from_file(self) -> tuple[Knowledge, Who] | None:
        try:
            file = self.knowledge_taken()
        except FileTrouble:  # kept by a newer program: advice does without
            return None
        if file is None or file.has_job(self._reader.job.id):
            return None
        return self._read_file(file)

    def _read_file(self, file: KnowledgeRead) -> tuple[Knowledge, Who]:
        """A file's knowledge, and this job's names by its keys."""
        from weldcal.calibration.keys import SheetKey, Who

        machines = {m: file.key_of("machine", m) for m in self._reader.names_in("machines")}
        sheets = {
            row["name"]: SheetKey(
                file.key_of("sheet", row["name"]), file.key_of("class", class_of(row))
            )
            for row in self._sheets_of(self._reader.job.id)
        }
        return file.knowledge, Who(machines, sheets)

    def _from_book(self, machine: str, sheet: str, window: Window) -> tuple[Knowledge, Who] | None:
        rows = self._reader.select(
            JobRow,
            "SELECT * FROM jobs WHERE id != ? AND EXISTS "
            "(SELECT 1 FROM strips WHERE strips.job = jobs.id) ORDER BY tick, device",
            (self._reader.job.id,),
        )
        if not rows:
            return None
        chosen = self._nearest(rows, machine, sheet)
        jobs = self._taught_by(chosen, no_progress)
        if not jobs:
            return None
        return self._pooled(jobs), self._who(self._reader.job.id)

    def _nearest(self, rows: list[JobRow], machine: str, sheet: str) -> list[JobRow]:
        """The jobs that tell most: with the sheet, with the machine, then the latest."""
        near = [
            {thing.job for thing in self._firm.everywhere(what, name)}
            for what, name in (("sheet", sheet), ("machine", machine))
        ]
        order = {row["id"]: n for n, row in enumerate(rows)}

        def nearness(row: JobRow) -> tuple[int, int]:
            return sum(row["id"] in jobs for jobs in near), order[row["id"]]

        kept = sorted(rows, key=nearness, reverse=True)[:MOST_JOBS]
        return sorted(kept, key=lambda row: order[row["id"]])

    def _pooled(self, jobs: Sequence[TaughtJob]) -> Knowledge:
        """The jobs pooled; kept, and pooled anew only where one of them changed."""
        from weldcal.calibration.knowledge import Knowledge, learn

        mark = hashlib.sha256(
            msgspec.json.encode([FORM, [_plain(job) for job in jobs]])
        ).hexdigest()
        kept = self._kept(f"{_FIRM}:{self._reader.job.id}", mark)
        if kept is not None:
            return Knowledge.of(kept)
        made = learn(jobs)
        self._keep_local(f"{_FIRM}:{self._reader.job.id}", mark, made.plain())
        return made

    def _taught_by(self, rows: Sequence[JobRow], on_progress: Progress) -> list[TaughtJob]:
        """What each of these jobs says, those that say nothing left out."""
        from weldcal.calibration.knowledge import TaughtJob

        marks = self._marks()
        found = []
        for n, row in enumerate(rows):
            on_progress(_("jobs"), n, len(rows))
            summary = self._summary_of(row, marks.get(row["id"], ""))
            if summary is not None:
                found.append(TaughtJob(row["id"], summary, self._who(row["id"])))
        return found

    def _summary_of(self, row: JobRow, mark: str) -> JobSaid | None:
        """What a job says; kept, and worked out anew only where something of it changed."""
        from weldcal.calibration.job_said import JobSaid, job_said

        kept = self._kept(f"said:{row['id']}", mark)
        if kept is not None:
            return JobSaid.of(kept) if kept else None
        book = self._on_job(row["name"])
        try:
            rows = [
                o
                for o in book.observing.observations()
                if book.limits.acceptance(o.sheet).by_bleed_out
            ]
            summary = job_said(rows, self.any_window())
        finally:
            book.close()
        self._keep_local(f"said:{row['id']}", mark, summary.plain() if summary else {})
        return summary

    def any_window(self) -> Window:
        """A window for what strips say: only that bleed-out judges them counts."""
        from weldcal.calibration import Window

        return Window(low_mm=3.175, aim_mm=6.35, high_mm=9.525)

    def _marks(self) -> dict[str, str]:
        """For each job, something that changes where anything its strips rest on does."""
        parts: dict[str, list[object]] = {}
        for table in _COUNTED:
            tick = "max(tick)" if table != "readings" else "0"
            pulled = "count(pulled_utc)" if table == "strips" else "0"
            for row in self._reader.select(
                _JobTotal,
                f"SELECT job, count(*) AS n, {tick} AS t, {pulled} AS p FROM {table} GROUP BY job",
            ):
                parts.setdefault(row["job"], []).append([table, row["n"], row["t"], row["p"]])
        everywhere = [
            self._reader.select(_Total, f"SELECT count(*) AS n, max(tick) AS t FROM {table}")
            for table in ("measures", "sames", "limits")
        ]
        return {
            job: hashlib.sha256(msgspec.json.encode([FORM, everywhere, part])).hexdigest()
            for job, part in parts.items()
        }

    def _who(self, job: str) -> Who:
        """A job's machines and sheets by the firm's keys."""
        from weldcal.calibration.keys import SheetKey, Who

        groups = {what: self._firm.groups(what) for what in ("machine", "sheet")}
        machines = self._reader.column(str, "SELECT name FROM machines WHERE job = ?", (job,))
        return Who(
            {name: f"m{groups['machine'][job, same_name(name)]}" for name in machines},
            {
                r["name"]: SheetKey(f"s{groups['sheet'][job, same_name(r['name'])]}", class_of(r))
                for r in self._sheets_of(job)
            },
            other=job,
        )

    def _sheets_of(self, job: str) -> list[SheetRow]:
        return self._reader.select(SheetRow, "SELECT * FROM sheets WHERE job = ?", (job,))

    def _names_known(self, jobs: set[str]) -> dict[str, dict[str, str]]:
        """Of machines, sheets and classes: the key of each folded name that means one thing."""
        found: dict[str, dict[str, set[str]]] = {"machine": {}, "sheet": {}, "class": {}}
        for job in jobs:
            who = self._who(job)
            for name, key in who.machines.items():
                found["machine"].setdefault(same_name(name), set()).add(key)
            for name, sheet in who.sheets.items():
                found["sheet"].setdefault(same_name(name), set()).add(sheet.key)
                if sheet.kind:
                    found["class"].setdefault(sheet.kind, set()).add(sheet.kind)
        return {
            what: {name: next(iter(keys)) for name, keys in names.items() if len(keys) == 1}
            for what, names in found.items()
        }

    def _kept(self, name: str, mark: str) -> dict[str, object] | None:
        text = self._reader.local(name)
        if not text:
            return None
        with suppress(msgspec.MsgspecError):
            kept = msgspec.json.decode(text, type=_Kept)
            if kept.mark == mark:
                return kept.holds
        return None

    def _keep_local(self, name: str, mark: str, holds: dict[str, object]) -> None:
        """Keep what was worked out, where this book can be written; else it is done anew."""
        if self._reader.in_snapshot:
            return
        with suppress(BookTrouble):
            self._preferences.keep(name, msgspec.json.encode(_Kept(mark, holds)).decode())


def class_of(sheet: SheetRow) -> str:
    """The declared class of a sheet: its description and thickness; "" where nothing is.

    Args:
        sheet: its row.
    """
    thickness = sheet["thickness_mm"]
    parts = [same_name(sheet["description"] or ""), f"{thickness:.1f}" if thickness else ""]
    return "|".join(parts) if any(parts) else ""


def _plain(job: TaughtJob) -> list[object]:
    return [
        job.key,
        job.summary.plain(),
        job.who.machines,
        [[name, sheet.key, sheet.kind] for name, sheet in sorted(job.who.sheets.items())],
    ]
