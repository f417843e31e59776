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

from weldcal.book.core import JobRow
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
    from weldcal.book.upkeep import Upkeep


class Book:
    """An open book: readers by what they read, recorders by what they record."""

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

    # -- readers ----------------------------------------------------------------------

    @cached_property
    def advising(self) -> Advising:
        """Advice for what holds now."""
        from weldcal.book.advised import Advising

        return Advising(self.reader, self.dialling, self.go_aheads, self.machines, self.observing)

    @cached_property
    def answering(self) -> Answering:
        """The answer in three lines: the speed, how sure, the one thing to do."""
        from weldcal.book.answering import Answering

        return Answering(self.reader, self.advising, self.go_aheads, self.strips, self.sunlit)

    @cached_property
    def covering(self) -> Covering:
        """What may be covered, and what must be probed, mended or cut first."""
        from weldcal.book.covering import Covering

        return Covering(self.doubting, self.limits, self.roof)

    @cached_property
    def days(self) -> Days:
        """What the guided day asks of the book."""
        from weldcal.book.day import Days

        return Days(
            self.reader,
            self.advising,
            self.answering,
            self.drafts,
            self.go_aheads,
            self.limits,
            self.needing,
            self.roof,
            self.runs,
            self.sealing,
            self.strips,
        )

    @cached_property
    def dialling(self) -> Dialling:
        """Questions to the computation, and its answers. Nothing is recorded."""
        from weldcal.book.dialling import Dialling

        return Dialling(
            self.reader, self.knowing, self.limits, self.machines, self.observing, self.strips
        )

    @cached_property
    def dossiers(self) -> Dossiers:
        """Gathers the warranty file."""
        from weldcal.book.dossier import Dossiers

        return Dossiers(
            self.reader,
            self.dialling,
            self.keeping,
            self.knowing,
            self.limits,
            self.marks,
            self.observing,
            self.roof,
            self.sampling,
            self.sealing,
            self.site,
            self.stock,
            self.strips,
            self.summing,
            self.upkeep,
        )

    @cached_property
    def doubting(self) -> Doubting:
        """What is in doubt, what to cut, and how many faults there were."""
        from weldcal.book.doubting import Doubting

        return Doubting(self.reader, self.limits, self.roof, self.runs)

    @cached_property
    def drafts(self) -> Drafts:
        """How a day begins, and answers of a step that is not recorded yet."""
        from weldcal.book.drafts import Drafts

        return Drafts(self.reader, self.preferences)

    @cached_property
    def firm(self) -> Firm:
        """Machines, sheets, instruments and people that outlive a job."""
        from weldcal.book.firm import Firm

        return Firm(self.reader)

    @cached_property
    def go_aheads(self) -> GoAheads:
        """How a go-ahead stands, and what waits."""
        from weldcal.book.standing import GoAheads

        return GoAheads(self.reader, self.limits, self.runs, self.strips, self.sunlit)

    @cached_property
    def hiding(self) -> Hiding:
        """What covers hide, and when."""
        from weldcal.book.hiding import Hiding

        return Hiding(self.reader)

    @cached_property
    def judging(self) -> Judging:
        """Drift, heat, power and dew, from what was measured."""
        from weldcal.book.judging import Judging

        return Judging(self.reader, self.machines, self.site, self.strips)

    @cached_property
    def keeping(self) -> Keeping:
        """What a whole check of the book and its photos finds; exports."""
        from weldcal.book.keeping import Keeping

        return Keeping(self.reader, self.sealing)

    @cached_property
    def knowing(self) -> Knowing:
        """What the firm's other jobs taught, and the knowledge file."""
        from weldcal.book.knowing import Knowing

        return Knowing(self.reader, self.preferences, self.on_job, self.firm)

    @cached_property
    def laying(self) -> Laying:
        """Rolls and surfaces that a layout of laps needs."""
        from weldcal.book.laying import Laying

        return Laying(self.reader, self.roof, self.strips)

    @cached_property
    def limits(self) -> Limits:
        """The job's limits in force at a time, and the acceptance they make."""
        from weldcal.book.limits import Limits

        return Limits(self.reader)

    @cached_property
    def looking_back(self) -> LookingBack:
        """The evening page, tomorrow's starting speed, the history of all jobs."""
        from weldcal.book.looking_back import LookingBack

        return LookingBack(
            self.reader,
            self.on_job,
            self.dialling,
            self.go_aheads,
            self.observing,
            self.roof,
            self.sealing,
            self.site,
            self.stock,
            self.strips,
            self.summing,
            self.upkeep,
            self.limits,
        )

    @cached_property
    def machines(self) -> Machines:
        """The job's machines, and their dials at any time."""
        from weldcal.book.machines import Machines

        return Machines(self.reader, self.firm, self.marks)

    @cached_property
    def marks(self) -> Marks:
        """What is odd about a row: its time, its people, what was carried over."""
        from weldcal.book.marks import Marks

        return Marks(self.reader)

    @cached_property
    def needing(self) -> Needing:
        """What a day needs besides strips and laps: power, rolls, hot work, samples."""
        from weldcal.book.needs import Needing

        return Needing(self.reader, self.doubting, self.go_aheads, self.site, self.upkeep)

    @cached_property
    def observing(self) -> Observing:
        """Strips and bleed checks as the computation takes them."""
        from weldcal.book.observing import Observing

        return Observing(self.reader, self.firm, self.machines, self.runs)

    @cached_property
    def passports(self) -> Passports:
        """What is known of a machine, sheet or person over all jobs."""
        from weldcal.book.passports import Passports

        return Passports(self.reader, self.on_job, self.firm, self.machines)

    @cached_property
    def plies(self) -> Plies:
        """What a ply over another hides, as it is laid."""
        from weldcal.book.plies import Plies

        return Plies(self.covering, self.roof)

    @cached_property
    def probing(self) -> Probing:
        """What probing, mending and widths say of a seam."""
        from weldcal.book.probing import Probing

        return Probing(self.reader, self.limits, self.runs)

    @cached_property
    def quick(self) -> Quick:
        """Reads a strip or a probe walk typed as one line."""
        from weldcal.book.quick import Quick

        return Quick(
            self.reader, self.limits, self.machines, self.marks, self.roof, self.runs, self.strips
        )

    @cached_property
    def roof(self) -> SeamStates:
        """Seams with their states, the plan, and the trace of one seam."""
        from weldcal.book.roof import SeamStates

        return SeamStates(
            self.reader, self.hiding, self.limits, self.marks, self.probing, self.runs, self.strips
        )

    @cached_property
    def routing(self) -> Routing:
        """Where the inspector walks next."""
        from weldcal.book.routing import Routing

        return Routing(self.reader, self.doubting, self.roof)

    @cached_property
    def runs(self) -> Runs:
        """Runs and bleed checks: which run welded what, and what a check falls short of."""
        from weldcal.book.runs import Runs

        return Runs(self.reader, self.hiding, self.limits, self.strips)

    @cached_property
    def sampling(self) -> Sampling:
        """Bleed checks charted, and peel loads."""
        from weldcal.book.sampling import Sampling

        return Sampling(self.reader, self.go_aheads, self.limits, self.runs, self.strips)

    @cached_property
    def sealing(self) -> Sealing:
        """Seals, and what checking the record finds."""
        from weldcal.book.sealing import Sealing

        return Sealing(self.reader)

    @cached_property
    def site(self) -> Site:
        """Measurements of machines, hot work, north."""
        from weldcal.book.site import Site

        return Site(self.reader, self.machines, self.marks)

    @cached_property
    def stock(self) -> Stock:
        """Roll lots and the punch list."""
        from weldcal.book.stock import Stock

        return Stock(self.reader)

    @cached_property
    def strips(self) -> Strips:
        """Test strips with their verdicts, and conditions as last read."""
        from weldcal.book.strips import Strips

        return Strips(self.reader, self.limits, self.marks)

    @cached_property
    def summing(self) -> Summing:
        """Seams summed up, for the evening page and the dossier."""
        from weldcal.book.summing import Summing

        return Summing(self.reader, self.doubting, self.marks, self.roof, self.site, self.strips)

    @cached_property
    def sunlit(self) -> Sunlit:
        """How old a sheet's reading may be, by what the sun may have done since."""
        from weldcal.book.sunlit import Sunlit

        return Sunlit(self.reader, self.strips)

    @cached_property
    def upkeep(self) -> Upkeep:
        """The start-up list, yearly looks, leaks followed up."""
        from weldcal.book.upkeep import Upkeep

        return Upkeep(self.reader, self.limits, self.stock, self.strips)

    # -- what writes -----------------------------------------------------------------------

    @cached_property
    def recording(self) -> Recorders:
        """What writes entries, one recorder a theme."""
        from weldcal.book.recording.recorders import Recorders

        return Recorders(self, self._file)
