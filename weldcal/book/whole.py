"""The book with every service.

Invariant: services are made when first asked for, each handed only what it needs: a reader
never holds what writes, and who records a strip does not wait for the dossier.
"""

from __future__ import annotations

import sqlite3
from contextlib import AbstractContextManager
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from weldcal.book.core import JobRow, Services, made
from weldcal.book.file import BookFile, Clock
from weldcal.book.job_reader import JobReader
from weldcal.book.preferences import Preferences

if TYPE_CHECKING:
    from weldcal.book.advised import Advising
    from weldcal.book.answering import Answering
    from weldcal.book.covering import Covering
    from weldcal.book.day import Days
    from weldcal.book.dialling import Dialling
    from weldcal.book.dossier import Dossiers
    from weldcal.book.dossier_fits import DayFits
    from weldcal.book.doubting import Doubting
    from weldcal.book.drafts import Drafts
    from weldcal.book.firm import Firm
    from weldcal.book.hiding import Hiding
    from weldcal.book.judging import Judging
    from weldcal.book.keeping import Keeping
    from weldcal.book.knowing import Knowing
    from weldcal.book.laying import Laying
    from weldcal.book.limits import Limits
    from weldcal.book.looking_back import LookingBack
    from weldcal.book.machines import Machines
    from weldcal.book.marks import Marks
    from weldcal.book.needs import Needing
    from weldcal.book.observing import Observing
    from weldcal.book.on_seams import OnSeams
    from weldcal.book.passports import Passports
    from weldcal.book.plies import Plies
    from weldcal.book.probing import Probing
    from weldcal.book.quick import Quick
    from weldcal.book.recording.recorders import Recorders
    from weldcal.book.roof import SeamStates
    from weldcal.book.routing import Routing
    from weldcal.book.runs import Runs
    from weldcal.book.sampling import Sampling
    from weldcal.book.sealing import Sealing
    from weldcal.book.site import Site
    from weldcal.book.standing import GoAheads
    from weldcal.book.stock import Stock
    from weldcal.book.strips import Strips
    from weldcal.book.summing import Summing
    from weldcal.book.sunlit import Sunlit
    from weldcal.book.traced import Traces
    from weldcal.book.upkeep import Upkeep


class Book(Services):
    """An open book: readers by what they read, recorders by what they record.

    What each service answers is said where it is defined.
    """

    reader: JobReader
    preferences: Preferences
    advising: Advising = made("advised")
    answering: Answering = made("answering")
    covering: Covering = made("covering")
    days: Days = made("day")
    dialling: Dialling = made("dialling")
    dossiers: Dossiers = made("dossier")
    doubting: Doubting = made("doubting")
    drafts: Drafts = made("drafts")
    firm: Firm = made("firm")
    fits: DayFits = made("dossier_fits")
    go_aheads: GoAheads = made("standing")
    hiding: Hiding = made("hiding")
    judging: Judging = made("judging")
    keeping: Keeping = made("keeping")
    knowing: Knowing = made("knowing")
    laying: Laying = made("laying")
    limits: Limits = made("limits")
    looking_back: LookingBack = made("looking_back")
    machines: Machines = made("machines")
    marks: Marks = made("marks")
    needing: Needing = made("needs")
    observing: Observing = made("observing")
    on_seams: OnSeams = made("on_seams")
    passports: Passports = made("passports")
    plies: Plies = made("plies")
    probing: Probing = made("probing")
    quick: Quick = made("quick")
    roof: SeamStates = made("roof")
    routing: Routing = made("routing")
    runs: Runs = made("runs")
    sampling: Sampling = made("sampling")
    sealing: Sealing = made("sealing")
    site: Site = made("site")
    stock: Stock = made("stock")
    strips: Strips = made("strips")
    summing: Summing = made("summing")
    sunlit: Sunlit = made("sunlit")
    traces: Traces = made("traced")
    upkeep: Upkeep = made("upkeep")

    def __init__(
        self,
        path: Path | str,
        *,
        job: str | None = None,
        by: str | None = None,
        clock: Clock = lambda: datetime.now(UTC),
    ) -> None:
        """Name a book; it is opened when first needed.

        Args:
            path: the file.
            job: name of the job to work on, instead of the last one used.
            by: who is typing.
            clock: the present, timezone-aware.
        """
        self._file = BookFile(Path(path), clock)
        self.reader = JobReader(self._file, job, by)
        self.preferences = Preferences(self._file)

    @property
    def path(self) -> Path:
        """The book's file."""
        return self._file.path

    @property
    def job(self) -> JobRow:
        """The job worked on.

        Raises:
            NoJob: there is none; Unheard: no job of the name asked for.
        """
        return self.reader.job

    def now(self) -> datetime:
        """The present, on the job's clock."""
        return self.reader.now()

    def snapshot(self) -> AbstractContextManager[sqlite3.Connection]:
        """Everything read within is of one moment, whatever others write meanwhile."""
        return self._file.snapshot()

    def close(self) -> None:
        """Close the file, and let go of the day's window."""
        if "drafts" in self.__dict__:
            self.drafts.let_go()
        self._file.close()

    def on_job(self, name: str) -> Book:
        """The same book, opened once more on another job.

        Args:
            name: of the job.
        """
        return self.at(self.path, job=name)

    def at(self, path: Path, job: str | None = None) -> Book:
        """Another file, for the same person, job and clock.

        Args:
            path: the file.
            job: its name; that of this book, where not given.
        """
        reader = self.reader
        return Book(path, job=job or reader.job_name, by=reader.by, clock=self._file.clock)

    @cached_property
    def recording(self) -> Recorders:
        """What writes entries, one recorder a theme."""
        from weldcal.book.recording.recorders import Recorders

        return Recorders(self, self._file)
