"""What writes entries, one recorder a theme, each made when first asked for.

Invariant: a recorder is handed the transactions and the readers that it needs, never the book.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from weldcal.book.file import BookFile
from weldcal.book.recording.transactions import Transactions

if TYPE_CHECKING:
    from weldcal.book.recording.advice import AdviceRecorder
    from weldcal.book.recording.amending import Amending
    from weldcal.book.recording.backups import Backups
    from weldcal.book.recording.covering import CoverRecorder
    from weldcal.book.recording.firm import FirmRecorder
    from weldcal.book.recording.laying import LayRecorder
    from weldcal.book.recording.packing import Packing
    from weldcal.book.recording.probing import ProbingRecorder
    from weldcal.book.recording.runs import RunRecorder
    from weldcal.book.recording.sampling import SampleRecorder
    from weldcal.book.recording.sealing import SealRecorder
    from weldcal.book.recording.seams import SeamRecorder
    from weldcal.book.recording.setup import Setup
    from weldcal.book.recording.site import SiteRecorder
    from weldcal.book.recording.stock import StockRecorder
    from weldcal.book.recording.strip_sheets import StripSheets
    from weldcal.book.recording.strips import StripRecorder
    from weldcal.book.recording.undoing import Undoing
    from weldcal.book.recording.upkeep import UpkeepRecorder
    from weldcal.book.recording.walk_sheets import WalkSheets
    from weldcal.book.whole import Book


class Recorders:
    """The recorders of one book."""

    def __init__(self, book: Book, file: BookFile) -> None:
        self._book = book
        self.transactions = Transactions(file, book.reader)

    @cached_property
    def advice(self) -> AdviceRecorder:
        """Records advice given."""
        from weldcal.book.recording.advice import AdviceRecorder

        return AdviceRecorder(self._book.reader, self.transactions, self._book.dialling)

    @cached_property
    def amending(self) -> Amending:
        """Corrects what was recorded, and settles warnings and conflicts."""
        from weldcal.book.recording.amending import Amending

        book = self._book
        return Amending(book.reader, self.transactions, book.roof, book.strips)

    @cached_property
    def backups(self) -> Backups:
        """Backs the book up, and restores it."""
        from weldcal.book.recording.backups import Backups

        return Backups(self._book.reader, self.transactions, self.packing)

    @cached_property
    def covering(self) -> CoverRecorder:
        """Records cover-ups, granules embedded, and what the next ply hides."""
        from weldcal.book.recording.covering import CoverRecorder

        book = self._book
        own = book.reader, self.transactions
        return CoverRecorder(*own, book.covering, book.marks, book.plies, book.runs)

    @cached_property
    def firm(self) -> FirmRecorder:
        """Records that two names mean one thing."""
        from weldcal.book.recording.firm import FirmRecorder

        return FirmRecorder(self._book.reader, self.transactions, self._book.firm)

    @cached_property
    def laying(self) -> LayRecorder:
        """Lists the laps of an area as laid out."""
        from weldcal.book.recording.laying import LayRecorder

        book = self._book
        return LayRecorder(book.reader, book.laying, book.limits, book.roof, self.seams)

    @cached_property
    def packing(self) -> Packing:
        """Writes packs, takes them in, settles forks."""
        from weldcal.book.recording.packing import Packing

        return Packing(self._book.reader, self.transactions)

    @cached_property
    def probing(self) -> ProbingRecorder:
        """Records probe walks, findings, mends, lap widths and peel samples."""
        from weldcal.book.recording.probing import ProbingRecorder

        return ProbingRecorder(
            self._book.reader,
            self.transactions,
            self._book.go_aheads,
            self._book.hiding,
            self._book.marks,
            self._book.probing,
            self._book.runs,
        )

    @cached_property
    def runs(self) -> RunRecorder:
        """Records runs and bleed checks."""
        from weldcal.book.recording.runs import RunRecorder

        return RunRecorder(
            self._book.reader,
            self.transactions,
            self._book.go_aheads,
            self._book.hiding,
            self._book.marks,
            self._book.runs,
            self._book.strips,
        )

    @cached_property
    def sampling(self) -> SampleRecorder:
        """Draws the places of peel samples, and the cuts that clear a doubt."""
        from weldcal.book.recording.sampling import SampleRecorder

        book = self._book
        return SampleRecorder(book.reader, self.transactions, book.doubting, book.roof)

    @cached_property
    def sealing(self) -> SealRecorder:
        """Seals a day, and notes to whom a seal was handed."""
        from weldcal.book.recording.sealing import SealRecorder

        return SealRecorder(self._book.reader, self.transactions, self._book.strips)

    @cached_property
    def seams(self) -> SeamRecorder:
        """Lists seams, and makes the tables anew."""
        from weldcal.book.recording.seams import SeamRecorder

        return SeamRecorder(self._book.reader, self.transactions, self._book.roof)

    @cached_property
    def setup(self) -> Setup:
        """Makes jobs, lists what belongs to them, adopts limits."""
        from weldcal.book.recording.setup import Setup

        book = self._book
        return Setup(book.reader, self.transactions, book.preferences, book.marks)

    @cached_property
    def site(self) -> SiteRecorder:
        """Records measurements, causes, hot work, openings and leaks."""
        from weldcal.book.recording.site import SiteRecorder

        return SiteRecorder(
            self._book.reader,
            self.transactions,
            self._book.hiding,
            self._book.machines,
            self._book.marks,
        )

    @cached_property
    def stock(self) -> StockRecorder:
        """Records rolls, doubts of a lot, substrate and items of a visit."""
        from weldcal.book.recording.stock import StockRecorder

        return StockRecorder(
            self._book.reader, self.transactions, self._book.marks, self._book.stock
        )

    @cached_property
    def strip_sheets(self) -> StripSheets:
        """Takes in a crew's sheets of test strips."""
        from weldcal.book.recording.strip_sheets import StripSheets

        book = self._book
        return StripSheets(book.reader, self.transactions, book.at, book.marks, book.strips)

    @cached_property
    def strips(self) -> StripRecorder:
        """Records conditions, strips and pulls."""
        from weldcal.book.recording.strips import StripRecorder

        return StripRecorder(
            self._book.reader,
            self.transactions,
            self._book.marks,
            self._book.strips,
            self._book.limits,
        )

    @cached_property
    def undoing(self) -> Undoing:
        """Takes back the last thing recorded, and puts it back."""
        from weldcal.book.recording.undoing import Undoing

        return Undoing(self._book.reader, self.transactions)

    @cached_property
    def upkeep(self) -> UpkeepRecorder:
        """Records answers of the start-up list, yearly looks and steps of a leak."""
        from weldcal.book.recording.upkeep import UpkeepRecorder

        book = self._book
        return UpkeepRecorder(book.reader, self.transactions, book.marks, book.upkeep)

    @cached_property
    def walk_sheets(self) -> WalkSheets:
        """Takes in typed-up probe sheets."""
        from weldcal.book.recording.walk_sheets import WalkSheets

        book = self._book
        own = book.reader, self.transactions, book.at
        return WalkSheets(*own, book.marks, book.probing, book.runs)
