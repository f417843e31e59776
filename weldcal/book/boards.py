"""The board for the day, put together from the answers of the other services.

Invariant: one verb for each question, the same as the plain commands ask; nothing is recorded.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from weldcal.book.day import standing_of
from weldcal.errors import Misplaced, Missing, NoneYet, Unheard
from weldcal.quality.go_ahead_rules import GOOD
from weldcal.records.day import DayLap
from weldcal.records.times import seconds, stamp
from weldcal.row_types.work import RunRow
from weldcal.rules.on_seam import about_m
from weldcal.views.board import USUAL_LAP, Board, InWork
from weldcal.views.dialled import Dialled

if TYPE_CHECKING:
    from weldcal.book.whole import Book
    from weldcal.calibration import SpeedQuestion


def board(
    book: Book, machine: str | None = None, sheet: str | None = None, lap: str | None = None
) -> Board:
    """How the day stands now.

    Args:
        book: on the job.
        machine, sheet, lap: what the board is of; where not given, of the run in work, else
            as `dial` takes them.

    Raises:
        Unheard: a machine or sheet was named that is not listed.
    """
    with book.snapshot():
        day = book.days.view("operator")
        now = stamp(book.now())
        runs = book.runs.open_runs()
        board_now = Board(day=day, in_work=_in_work(book, day.welding, runs, now))
        named = bool(machine or sheet or lap)
        if not named:
            machine, sheet, lap = _kind_in_work(board_now, runs)
        try:
            asked = book.dialling.ask(machine=machine, sheet=sheet, lap=lap or USUAL_LAP)
        except (Misplaced, Missing, NoneYet) as error:
            return _unadvised(board_now, str(error))
        except Unheard as error:
            if named:
                raise
            return _unadvised(board_now, str(error))
        # A look at the board is no advice given: what is not asked for is not recorded.
        dialled = Dialled(asked, book.dialling.advise(asked), recorded=True)
        then = book.answering.then(dialled)
        return _with_go_ahead(
            book, replace(board_now, dialled=dialled, then=then), asked.question, now
        )


def _unadvised(board: Board, why: str) -> Board:
    return replace(board, why=why, standing=board.day.standing)


def _kind_in_work(board: Board, runs: list[RunRow]) -> tuple[str | None, str | None, str | None]:
    """Machine, sheet and lap kind in work; else only the lap kind of what is welded next."""
    mine = [run for run in runs if not run["by_hand"]]
    if mine:
        return mine[-1]["machine"], mine[-1]["sheet"], mine[-1]["lap"]
    return None, None, board.day.to_weld[0].kind if board.day.to_weld else None


def _with_go_ahead(book: Book, board: Board, q: SpeedQuestion, now: str) -> Board:
    """The board with the newest go-ahead of its kind."""
    try:
        stands = book.go_aheads.go_ahead_stands(q.machine, q.sheet, q.lap, now)
    except NoneYet:
        return board
    until = book.answering.good_until(stands, now) if stands.level == GOOD else None
    minutes_left = (seconds(until) - seconds(now)) / 60 if until else None
    return replace(board, standing=standing_of(stands), until=until, left_min=minutes_left)


def _in_work(
    book: Book, laps: tuple[DayLap, ...], runs: list[RunRow], now: str
) -> tuple[InWork, ...]:
    """The laps being welded, each with how far it may have come."""
    lengths = {row["seam_key"]: row["length_m"] for row in book.roof.seams()} if laps else {}
    laps_now = []
    for lap, run in zip(laps, runs, strict=True):
        minutes = (seconds(now) - seconds(run["seen_local"])) / 60
        speed = run["true_speed_m_per_min"] or run["speed_m_per_min"]
        end = lengths.get(run["seam_key"])
        about = about_m(run["start_m"], None if run["by_hand"] else speed, minutes, end)
        at_end = about is not None and end is not None and about >= end
        laps_now.append(InWork(lap, run["seen_local"], about, at_end))
    return tuple(laps_now)
