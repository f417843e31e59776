"""What the firm's other jobs taught, for advice on this one: from this book, or a knowledge file.

Invariant: a job's own strips never come in twice. What was worked out is kept on this device
and worked out again where anything it rests on changed; nothing of it is evidence.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict

import msgspec
from msgspec import Struct

from weldcal.book.core import Service
from weldcal.book.naming import THINGS
from weldcal.errors import BookTrouble, FileTrouble, NoneYet
from weldcal.long_work import Progress, no_progress
from weldcal.row_types.listed import JobRow
from weldcal.views.knowledge import FirmNames, MetBy
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.firm import Firm
    from weldcal.book.job_reader import JobReader
    from weldcal.book.naming import Naming
    from weldcal.book.preferences import Preferences
    from weldcal.book.whole import Book
    from weldcal.calibration import From, KnownNames, Window
    from weldcal.calibration.job_said import JobSaid
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
    _naming: Naming

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

        file = self._file_for_this_job()
        if file is not None:
            there = self._naming.in_file(file)
            names = KnownNames(file.knowledge, there.who)
            counts = [
                there.shared(what).get(name, 0)
                for what, name in (("machine", machine), ("sheet", sheet))
            ]
        else:
            pooled = self._from_book(machine, sheet, window)
            if pooled is None:
                return None, None
            names = KnownNames(pooled, self._naming.on_job(self._reader.job.id))
            counts = [self._naming.shared("machine", machine), self._naming.shared("sheet", sheet)]
        rests = names.knowledge.rests_on(machine, sheet, names.who)
        return names, replace(
            rests,
            machine_shared=0 if rests.with_machine else counts[0],
            sheet_shared=0 if rests.with_sheet else counts[1],
        )

    def learn(
        self, without: Iterable[str] = (), on_progress: Progress = no_progress
    ) -> tuple[Knowledge, FirmNames]:
        """Learn from every job of the book.

        Args:
            without: names of jobs to leave out.
            on_progress: called with how far it is.

        Returns:
            The knowledge, and what every job of the book calls its things, those left out too:
            a name is no less of two things for that.

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
        return learn(jobs), self._naming.everyones()

    def write_knowledge(
        self,
        path: Path,
        without: Iterable[str] = (),
        key: Path | None = None,
        on_progress: Progress = no_progress,
    ) -> tuple[Knowledge, FirmNames, str]:
        """Learn, and write the knowledge file.

        Args:
            path: where to.
            without: names of jobs to leave out.
            key: a key file to sign with.
            on_progress: called with how far it is.

        Returns:
            As `learn`, and the file's SHA-256.

        Raises:
            Unheard, NoneYet: as `learn`.
            FileTrouble: it cannot be written, or is there already.
        """
        from weldcal import __version__
        from weldcal.log import knowledge

        found, names = self.learn(without, on_progress)
        today = self._reader.now().date().isoformat()
        digest = knowledge.write(path, found, names, made=today, program=__version__, key=key)
        return found, names, digest

    def met_by(self, file: KnowledgeRead) -> MetBy:
        """What a file knows of this job's machines and sheets.

        Args:
            file: a knowledge file.
        """
        there = self._naming.in_file(file)
        who, jobs = there.who, file.knowledge.jobs
        machines = {
            name: sum(key in job.machines for job in jobs) for name, key in who.machines.items()
        }
        sheets = {
            name: sum(any(s.key == sheet.key for s in job.sheets) for job in jobs)
            for name, sheet in who.sheets.items()
        }
        by_name = {
            plural: [name for name, one in there.meant[what].items() if one.by_name]
            for what, plural in THINGS.items()
        }
        return MetBy(
            {"machines": machines, "sheets": sheets},
            {plural: there.shared(what) for what, plural in THINGS.items()},
            by_name,
            file.has_job(self._reader.job.id),
        )

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

    def _file_for_this_job(self) -> KnowledgeRead | None:
        """The file taken in; None where there is none, or this job taught it."""
        try:
            file = self.knowledge_taken()
        except FileTrouble:  # kept by a newer program: advice does without
            return None
        if file is None or file.has_job(self._reader.job.id):
            return None
        return file

    def _from_book(self, machine: str, sheet: str, window: Window) -> Knowledge | None:
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
        return self._pooled(jobs)

    def _nearest(self, rows: list[JobRow], machine: str, sheet: str) -> list[JobRow]:
        """The jobs that tell most: with the sheet, with the machine, then the latest."""
        near = [
            {thing.job for thing in self._firm.everywhere(what, name)}
            for what, name in (("sheet", sheet), ("machine", machine))
        ]
        order = {row["id"]: n for n, row in enumerate(rows)}

        def nearness(row: JobRow) -> tuple[int, int]:
            return sum(row["id"] in jobs for jobs in near), order[row["id"]]

        nearest = sorted(rows, key=nearness, reverse=True)[:MOST_JOBS]
        return sorted(nearest, key=lambda row: order[row["id"]])

    def _pooled(self, jobs: Sequence[TaughtJob]) -> Knowledge:
        """The jobs pooled; kept, and pooled again only where one of them changed."""
        from weldcal.calibration.knowledge import Knowledge, learn

        mark = hashlib.sha256(
            msgspec.json.encode([FORM, [_plain(job) for job in jobs]])
        ).hexdigest()
        cached = self._kept(f"{_FIRM}:{self._reader.job.id}", mark)
        if cached is not None:
            return Knowledge.of(cached)
        pool = learn(jobs)
        self._keep_local(f"{_FIRM}:{self._reader.job.id}", mark, pool.plain())
        return pool

    def _taught_by(self, rows: Sequence[JobRow], on_progress: Progress) -> list[TaughtJob]:
        """What each of these jobs says, those that say nothing left out."""
        from weldcal.calibration.knowledge import TaughtJob

        marks = self._marks()
        taught = []
        for n, row in enumerate(rows):
            on_progress(_("jobs"), n, len(rows))
            summary = self._summary_of(row, marks.get(row["id"], ""))
            if summary is not None:
                taught.append(TaughtJob(row["id"], summary, self._naming.on_job(row["id"])))
        return taught

    def _summary_of(self, row: JobRow, mark: str) -> JobSaid | None:
        """What a job says; kept, and worked out again only where something of it changed."""
        from weldcal.calibration.job_said import JobSaid, job_said

        cached = self._kept(f"said:{row['id']}", mark)
        if cached is not None:
            return JobSaid.of(cached) if cached else None
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

    def _kept(self, name: str, mark: str) -> dict[str, object] | None:
        text = self._reader.local(name)
        if not text:
            return None
        with suppress(msgspec.MsgspecError):
            cached = msgspec.json.decode(text, type=_Kept)
            if cached.mark == mark:
                return cached.holds
        return None

    def _keep_local(self, name: str, mark: str, holds: dict[str, object]) -> None:
        """Keep what was worked out, where this book can be written; else it is worked out again."""
        if self._reader.in_snapshot:
            return
        with suppress(BookTrouble):
            self._preferences.keep(name, msgspec.json.encode(_Kept(mark, holds)).decode())


def _plain(job: TaughtJob) -> list[object]:
    return [
        job.key,
        job.summary.plain(),
        job.who.machines,
        [[name, sheet.key, sheet.kind] for name, sheet in sorted(job.who.sheets.items())],
    ]
