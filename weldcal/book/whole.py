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

from weldcal.book.core import CurrentJob, Made, Services
from weldcal.book.file import BookFile, Clock
from weldcal.book.job_reader import JobReader
from weldcal.book.preferences import Preferences

if TYPE_CHECKING:
    from weldcal.book.advised import Advising
    from weldcal.book.answering import Answering
    from weldcal.book.beginning import Beginning
    from weldcal.book.covering import Covering
    from weldcal.book.day import Days
    from weldcal.book.dialling import Dialling
    from weldcal.book.dials import Dials
    from weldcal.book.dossier import Dossiers
    from weldcal.book.dossier_fits import DayFits
    from weldcal.book.doubting import Doubting
    from weldcal.book.drafts import Drafts
    from weldcal.book.firm import Firm
    from weldcal.book.hiding import Hiding
    from weldcal.book.judging import Judging
    from weldcal.book.keeping import Keeping
    from weldcal.book.knowing import Knowing
    from weldcal.book.last_read import LastRead
    from weldcal.book.laying import Laying
    from weldcal.book.leaking import Leaking
    from weldcal.book.limits import Limits
    from weldcal.book.looking_back import LookingBack
    from weldcal.book.machines import Machines
    from weldcal.book.marks import Marking
    from weldcal.book.naming import Naming
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
    from weldcal.book.slips import Slips
    from weldcal.book.standing import GoAheads
    from weldcal.book.stock import Stock
    from weldcal.book.strips import Strips
    from weldcal.book.summing import Summing
    from weldcal.book.sunlit import Sunlit
    from weldcal.book.traced import Traces
    from weldcal.book.upkeep import Upkeep
    from weldcal.book.verdicts import Verdicts


class Book(Services):
    """An open book: readers by what they read, recorders by what they record.

    What each service answers is said where it is defined.
    """

    reader: JobReader
    preferences: Preferences
    advising: Made[Advising] = Made("advised")
    answering: Made[Answering] = Made("answering")
    beginning: Made[Beginning] = Made("beginning")
    covering: Made[Covering] = Made("covering")
    days: Made[Days] = Made("day")
    dialling: Made[Dialling] = Made("dialling")
    dossiers: Made[Dossiers] = Made("dossier")
    dials: Made[Dials] = Made("dials")
    doubting: Made[Doubting] = Made("doubting")
    drafts: Made[Drafts] = Made("drafts")
    firm: Made[Firm] = Made("firm")
    fits: Made[DayFits] = Made("dossier_fits")
    go_aheads: Made[GoAheads] = Made("standing")
    hiding: Made[Hiding] = Made("hiding")
    judging: Made[Judging] = Made("judging")
    keeping: Made[Keeping] = Made("keeping")
    knowing: Made[Knowing] = Made("knowing")
    naming: Made[Naming] = Made("naming")
    last_read: Made[LastRead] = Made("last_read")
    laying: Made[Laying] = Made("laying")
    leaking: Made[Leaking] = Made("leaking")
    limits: Made[Limits] = Made("limits")
    looking_back: Made[LookingBack] = Made("looking_back")
    machines: Made[Machines] = Made("machines")
    marks: Made[Marking] = Made("marks")
    needing: Made[Needing] = Made("needs")
    observing: Made[Observing] = Made("observing")
    on_seams: Made[OnSeams] = Made("on_seams")
    passports: Made[Passports] = Made("passports")
    plies: Made[Plies] = Made("plies")
    probing: Made[Probing] = Made("probing")
    quick: Made[Quick] = Made("quick")
    roof: Made[SeamStates] = Made("roof")
    routing: Made[Routing] = Made("routing")
    runs: Made[Runs] = Made("runs")
    sampling: Made[Sampling] = Made("sampling")
    sealing: Made[Sealing] = Made("sealing")
    site: Made[Site] = Made("site")
    slips: Made[Slips] = Made("slips")
    stock: Made[Stock] = Made("stock")
    strips: Made[Strips] = Made("strips")
    summing: Made[Summing] = Made("summing")
    sunlit: Made[Sunlit] = Made("sunlit")
    traces: Made[Traces] = Made("traced")
    upkeep: Made[Upkeep] = Made("upkeep")
    verdicts: Made[Verdicts] = Made("verdicts")

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
    def job(self) -> CurrentJob:
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
