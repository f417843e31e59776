"""What writes entries, one recorder a theme, each made when first asked for.

Invariant: a recorder is handed the transactions and the readers that it needs, never the book.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from weldcal.book.core import Services, made
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


class Recorders(Services):
    """The recorders of one book; what each records is said where it is defined."""

    transactions: Transactions
    advice: AdviceRecorder = made("recording.advice")
    amending: Amending = made("recording.amending")
    covering: CoverRecorder = made("recording.covering")
    firm: FirmRecorder = made("recording.firm")
    packing: Packing = made("recording.packing")
    probing: ProbingRecorder = made("recording.probing")
    runs: RunRecorder = made("recording.runs")
    sampling: SampleRecorder = made("recording.sampling")
    sealing: SealRecorder = made("recording.sealing")
    seams: SeamRecorder = made("recording.seams")
    setup: Setup = made("recording.setup")
    site: SiteRecorder = made("recording.site")
    stock: StockRecorder = made("recording.stock")
    strip_sheets: StripSheets = made("recording.strip_sheets")
    strips: StripRecorder = made("recording.strips")
    undoing: Undoing = made("recording.undoing")
    upkeep: UpkeepRecorder = made("recording.upkeep")
    walk_sheets: WalkSheets = made("recording.walk_sheets")

    def __init__(self, book: Book, file: BookFile) -> None:
        self._book = book
        self.transactions = Transactions(file, book.reader)

    def handed(self, name: str) -> object:
        """What a recorder is handed: the transactions, or a reader of the book.

        Args:
            name: of the reader.
        """
        return self.transactions if name == "transactions" else getattr(self._book, name)

    @cached_property
    def backups(self) -> Backups:
        """Backs the book up, and restores it."""
        from weldcal.book.recording.backups import Backups

        return Backups(self._book.reader, self.transactions, self.packing)

    @cached_property
    def laying(self) -> LayRecorder:
        """Lists the laps of an area as laid out."""
        from weldcal.book.recording.laying import LayRecorder

        book = self._book
        return LayRecorder(book.reader, book.laying, book.limits, book.roof, self.seams)
