"""What writes entries, one recorder a theme, each made when first asked for.

Invariant: a recorder is handed the transactions and the readers that it needs, never the book.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from weldcal.book.core import Made, Services
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
    from weldcal.book.recording.strips import ConditionsRecorder, StripRecorder
    from weldcal.book.recording.undoing import Undoing
    from weldcal.book.recording.upkeep import UpkeepRecorder
    from weldcal.book.recording.walk_sheets import WalkSheets
    from weldcal.book.whole import Book


class Recorders(Services):
    """The recorders of one book; what each records is said where it is defined."""

    transactions: Transactions
    advice: Made[AdviceRecorder] = Made("recording.advice")
    amending: Made[Amending] = Made("recording.amending")
    conditions: Made[ConditionsRecorder] = Made("recording.strips")
    covering: Made[CoverRecorder] = Made("recording.covering")
    firm: Made[FirmRecorder] = Made("recording.firm")
    packing: Made[Packing] = Made("recording.packing")
    probing: Made[ProbingRecorder] = Made("recording.probing")
    runs: Made[RunRecorder] = Made("recording.runs")
    sampling: Made[SampleRecorder] = Made("recording.sampling")
    sealing: Made[SealRecorder] = Made("recording.sealing")
    seams: Made[SeamRecorder] = Made("recording.seams")
    setup: Made[Setup] = Made("recording.setup")
    site: Made[SiteRecorder] = Made("recording.site")
    stock: Made[StockRecorder] = Made("recording.stock")
    strip_sheets: Made[StripSheets] = Made("recording.strip_sheets")
    strips: Made[StripRecorder] = Made("recording.strips")
    undoing: Made[Undoing] = Made("recording.undoing")
    upkeep: Made[UpkeepRecorder] = Made("recording.upkeep")
    walk_sheets: Made[WalkSheets] = Made("recording.walk_sheets")

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
