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
    from weldcal.book.observing import Observing
    from weldcal.book.passports import Passports
    from weldcal.book.preferences import Preferences
    from weldcal.book.probing import Probing
    from weldcal.book.quick import Quick
    from weldcal.book.recording.advice import AdviceRecorder
    from weldcal.book.recording.amending import Amending
    from weldcal.book.recording.backups import Backups
    from weldcal.book.recording.covering import CoverRecorder
    from weldcal.book.recording.cuts import CutRecorder
    from weldcal.book.recording.firm import FirmRecorder
    from weldcal.book.recording.laying import LayRecorder
    from weldcal.book.recording.loading import Loading
    from weldcal.book.recording.packing import Packing
    from weldcal.book.recording.probing import ProbingRecorder
    from weldcal.book.recording.runs import RunRecorder
    from weldcal.book.recording.sampling import SampleRecorder
    from weldcal.book.recording.sealing import SealRecorder
    from weldcal.book.recording.seams import SeamRecorder
    from weldcal.book.recording.setup import Setup
    from weldcal.book.recording.site import SiteRecorder
    from weldcal.book.recording.stock import StockRecorder
    from weldcal.book.recording.strips import StripRecorder
    from weldcal.book.recording.transactions import Transactions
    from weldcal.book.recording.undoing import Undoing
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
        """Close the file."""
        self._file.close()

    def on_job(self, name: str) -> Book:
        """The same book, opened once more on another job."""
        return self.at(self.path, job=name)

    def at(self, path: Path, job: str | None = None) -> Book:
        """Another file, for the same person, job and clock."""
        reader = self.reader
        return Book(path, job=job or reader.job_name, by=reader.by, clock=self._file.clock)

    # -- what everything stands on ---------------------------------------------------------

    @cached_property
    def preferences(self) -> Preferences:
        """What is kept on this device only."""
        from weldcal.book.preferences import Preferences

        return Preferences(self._file)

    @cached_property
    def transactions(self) -> Transactions:
        """What writes."""
        from weldcal.book.recording.transactions import Transactions

        return Transactions(self._file, self.reader)

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
            self.strips,
            self.summing,
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

        return Laying(self.reader, self.strips)

    @cached_property
    def limits(self) -> Limits:
        """The job's limits in force at a time, and the acceptance they make."""
        from weldcal.book.limits import Limits

        return Limits(self.reader, self.preferences, self.marks)

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

        return Summing(self.reader, self.doubting, self.marks, self.roof, self.site)

    @cached_property
    def sunlit(self) -> Sunlit:
        """How old a sheet's reading may be, by what the sun may have done since."""
        from weldcal.book.sunlit import Sunlit

        return Sunlit(self.reader, self.strips)

    # -- recorders --------------------------------------------------------------------

    @cached_property
    def advice_recorder(self) -> AdviceRecorder:
        """Records advice given."""
        from weldcal.book.recording.advice import AdviceRecorder

        return AdviceRecorder(self.reader, self.transactions, self.dialling)

    @cached_property
    def amending(self) -> Amending:
        """Corrects what was recorded, and settles warnings and conflicts."""
        from weldcal.book.recording.amending import Amending

        return Amending(self.reader, self.transactions, self.roof)

    @cached_property
    def backups(self) -> Backups:
        """Backs the book up, and restores it."""
        from weldcal.book.recording.backups import Backups

        return Backups(self.reader, self.transactions, self.packing)

    @cached_property
    def cover_recorder(self) -> CoverRecorder:
        """Records cover-ups."""
        from weldcal.book.recording.covering import CoverRecorder

        return CoverRecorder(self.reader, self.transactions, self.covering, self.marks)

    @cached_property
    def cut_recorder(self) -> CutRecorder:
        """Draws the cuts that clear a doubt."""
        from weldcal.book.recording.cuts import CutRecorder

        return CutRecorder(self.doubting, self.sample_recorder)

    @cached_property
    def firm_recorder(self) -> FirmRecorder:
        """Records that two names mean one thing."""
        from weldcal.book.recording.firm import FirmRecorder

        return FirmRecorder(self.reader, self.transactions, self.firm)

    @cached_property
    def lay_recorder(self) -> LayRecorder:
        """Lists the laps of an area as laid out."""
        from weldcal.book.recording.laying import LayRecorder

        return LayRecorder(self.reader, self.roof, self.seam_recorder)

    @cached_property
    def loading(self) -> Loading:
        """Takes in other people's sheets of strips and probe walks."""
        from weldcal.book.recording.loading import Loading

        return Loading(
            self.reader,
            self.transactions,
            self.at,
            self.marks,
            self.probing,
            self.runs,
            self.strips,
        )

    @cached_property
    def packing(self) -> Packing:
        """Writes packs, takes them in, settles forks."""
        from weldcal.book.recording.packing import Packing

        return Packing(self.reader, self.transactions)

    @cached_property
    def probing_recorder(self) -> ProbingRecorder:
        """Records probe walks, findings, mends, lap widths and peel samples."""
        from weldcal.book.recording.probing import ProbingRecorder

        return ProbingRecorder(
            self.reader,
            self.transactions,
            self.go_aheads,
            self.hiding,
            self.limits,
            self.marks,
            self.probing,
            self.runs,
        )

    @cached_property
    def run_recorder(self) -> RunRecorder:
        """Records runs and bleed checks."""
        from weldcal.book.recording.runs import RunRecorder

        return RunRecorder(
            self.reader, self.transactions, self.go_aheads, self.marks, self.runs, self.strips
        )

    @cached_property
    def sample_recorder(self) -> SampleRecorder:
        """Draws the places of peel samples."""
        from weldcal.book.recording.sampling import SampleRecorder

        return SampleRecorder(self.reader, self.transactions, self.roof)

    @cached_property
    def seal_recorder(self) -> SealRecorder:
        """Seals a day, and notes to whom a seal was handed."""
        from weldcal.book.recording.sealing import SealRecorder

        return SealRecorder(self.reader, self.transactions, self.strips)

    @cached_property
    def seam_recorder(self) -> SeamRecorder:
        """Lists seams, and makes the tables anew."""
        from weldcal.book.recording.seams import SeamRecorder

        return SeamRecorder(self.reader, self.transactions, self.roof)

    @cached_property
    def setup(self) -> Setup:
        """Makes jobs, lists what belongs to them, adopts limits."""
        from weldcal.book.recording.setup import Setup

        return Setup(self.reader, self.transactions)

    @cached_property
    def site_recorder(self) -> SiteRecorder:
        """Records measurements, causes, hot work, openings and leaks."""
        from weldcal.book.recording.site import SiteRecorder

        return SiteRecorder(self.reader, self.transactions, self.hiding, self.machines, self.marks)

    @cached_property
    def stock_recorder(self) -> StockRecorder:
        """Records rolls, doubts of a lot, substrate and items of a visit."""
        from weldcal.book.recording.stock import StockRecorder

        return StockRecorder(self.reader, self.transactions, self.marks, self.stock)

    @cached_property
    def strip_recorder(self) -> StripRecorder:
        """Records conditions, strips and pulls."""
        from weldcal.book.recording.strips import StripRecorder

        return StripRecorder(self.reader, self.transactions, self.marks, self.strips, self.limits)

    @cached_property
    def undoing(self) -> Undoing:
        """Takes back the last thing recorded, and puts it back."""
        from weldcal.book.recording.undoing import Undoing

        return Undoing(self.reader, self.transactions)
