"""What pages show of the start-up list, of yearly looks and of leaks."""

from __future__ import annotations

from msgspec import Struct

from weldcal.row_types.site import LeakRow, LeakStepRow, StartAnswerRow


class ListLine(Struct, frozen=True):
    """A line of the start-up list, and the row of its last answer.

    Attributes:
        n: its number on the list.
        code: of one of the program's lines, or the id of an added one.
        added: whether the job added it: then its words are as typed.
    """

    n: int
    code: str
    asks: str
    source: str
    added: bool
    answer: StartAnswerRow | None = None


class LookDue(Struct, frozen=True):
    """When a part of the roof is to be looked at again.

    Attributes:
        area: empty where no area is listed: then it is the whole roof.
        last: day of the last look, ISO; None where nobody looked yet.
        welded: day it was last welded on.
        due: ISO.
        over: whether that day has come.
        open: items of its looks that are not settled.
    """

    area: str
    last: str | None
    welded: str | None
    due: str
    over: bool
    open: int


class LeakNow(Struct, frozen=True):
    """A leak: its row, its steps in the order seen, and where it stands."""

    row: LeakRow
    steps: list[LeakStepRow]
    stage: str
