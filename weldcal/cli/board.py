"""The board for the day: what is true now on one screen, a key for each thing to do.

Invariant: looking records nothing. A key leaves the board for the step of the guided day,
with the terminal as it was, and comes back. A key is a letter of its own word in the reader's
language, the same all day; none records by itself.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import typer
from msgspec.structs import replace

from weldcal import settings
from weldcal.book import Book
from weldcal.cli import faces, guide, parse, replies
from weldcal.cli.keyboard import STOP, Keyboard, stop
from weldcal.cli.parse import JSON, flag, option
from weldcal.cli.questions import PersonLeft
from weldcal.cli.replies import GoBack
from weldcal.cli.shell import PLACE, book_of, interactive, print_all, print_json, say, single
from weldcal.errors import BookTrouble, WeldcalError
from weldcal.flow import going, operator
from weldcal.flow.opening import UNDO
from weldcal.flow.question import LEAVE, Call
from weldcal.records.day import Day
from weldcal.records.draft import Draft
from weldcal.records.fields import choose
from weldcal.reports import board as page
from weldcal.reports import lines, show
from weldcal.views.board import USUAL_LAP, Board
from weldcal.words import _

Pressed = str
LEAVES, KEYS, NOW = "leaves", "keys", "now"  # what keys mean besides the steps of the day
_FIXED = {"q": LEAVES, "?": KEYS, "n": NOW}
TOLD: dict[str, Callable[[], str]] = {NOW: lambda: _("Sheet's surface")}


@cache
def letters() -> dict[str, str]:
    """Step by key: the first letter of the step's word that is still free."""
    by_letter: dict[str, str] = {}
    for step in (*operator.STEPS, UNDO):
        word = [sign for sign in _(step.code).casefold() if sign.isascii() and sign.isalpha()]
        free = [sign for sign in [*word, *"0123456789"] if sign not in {*_FIXED, *by_letter}]
        by_letter[free[0]] = step.code
    return by_letter


def _open(day: Day) -> dict[str, str]:
    """The keys of what can be done now."""
    steps = {*operator.open_steps(day), UNDO.code}
    return {key: step for key, step in letters().items() if step in steps}


def shown(day: Day, todo: page.Todo) -> tuple[str, str]:
    """What can be pressed, in full and in short."""
    key_words = [*((key, _(step)) for key, step in _open(day).items()), ("n", _("sheet now"))]
    # No fold between a key and its word.
    keys = ", ".join(f"{key} {word}".replace(" ", "\N{NO-BREAK SPACE}") for key, word in key_words)
    step = todo.begun or todo.next
    if step is None:
        return _("{keys}; q leaves.", keys=keys), _("? keys, q leaves.")
    values = {"step": _(step), "keys": keys}
    return (
        _("Enter {step}; {keys}; q leaves.", **values),
        _("Enter {step}, ? keys, q leaves.", step=_(step)),
    )


def explained(day: Day) -> list[str]:
    """Every key and what it does."""
    step_lines = [
        f"- {key} {_(step)}: {_(going.STEPS[step].about)}" for key, step in _open(day).items()
    ]
    return [
        *step_lines,
        "- n " + _("sheet now: the sheet's temperature alone, and the speed for it"),
        "- " + _("Enter: what comes next. q leaves; all is kept."),
    ]


def meant(key: str | None, day: Day, todo: page.Todo) -> Pressed | None:
    """What a key asks for; None where it means nothing now."""
    if key is None:
        return None
    if key in ("\r", "\n"):
        return todo.begun or todo.next
    letter = key.casefold()
    return _FIXED.get(letter) or _open(day).get(letter)


_ROLE = "operator"
_LOOK_S = 2.0  # so often it is asked whether anything was recorded, here or in another window
_MINUTE_S = 60.0


@single
def board(
    ctx: typer.Context,
    machine: str = parse.MACHINE,
    sheet: str = parse.SHEET,
    lap: str = option(
        "--lap", _("Lap kind: selvage or granules; that of the next lap if not given.")
    ),
    once: bool = flag("--once", _("Say it once, and leave.")),
    as_json: bool = JSON,
) -> None:
    """The day on one screen: speed, go-ahead and minutes left, lap, age of readings, what waits; a key for each thing to do. Example: weldcal board"""
    book = book_of(ctx)
    guide.stay_on_job(book)
    watch = BoardWatch(
        book,
        replace(guide.DayBook(*ctx.find_root().meta[PLACE]), job=book.job.id),
        (machine, sheet, choose("lap", lap) if lap else None),
    )
    watch.look()
    if as_json:
        print_json(page.document(watch.board, watch.todo))
    elif once:
        _once(watch)
    else:
        raise typer.Exit(_kept_up(watch))


def _once(watch: BoardWatch) -> None:
    """The board as it would be drawn here, without its keys; all of it where it is printed."""
    if not faces.drawn_here():
        for board_line in page.lines(watch.board, watch.todo):
            print(lines.on_screen(board_line.text))
        return
    columns, rows = settings.screen_size()
    for row in page.screen(watch.board, watch.todo, ("", ""), (columns, rows - 1)):
        print(show.safe_lines(row.text))


class BoardWatch:
    """The board kept current: read again when something was recorded, and every minute.

    Attributes:
        board, todo: how it stood when it was last looked at.
    """

    board: Board
    todo: page.Todo

    def __init__(
        self, book: Book, place: guide.DayBook, kind: tuple[str | None, str | None, str | None]
    ) -> None:
        self.place, self._book, self._kind = place, book, kind
        self._seen: object = None
        self._looked = False

    def again(self) -> None:
        """Read again whatever the minute: what was answered and not recorded is not in the book."""
        self._seen = None

    def look(self) -> None:
        """Look at the book, where it or the minute is another than before."""
        from weldcal.book.boards import board as looked

        seen = (
            self._book.reader.unchanged(),
            int(self._book.beginning.clock().timestamp() // _MINUTE_S),
        )
        if seen == self._seen:
            return
        try:
            board = looked(self._book, *self._kind)
            self.board, self.todo = board, self._to_do(board)
        except BookTrouble as error:
            if not self._looked:
                raise
            self.board = replace(self.board, dialled=None, then=None, why=str(error))
        self._seen, self._looked = seen, True

    def _to_do(self, board: Board) -> page.Todo:
        """What waits for whoever types here: what comes next, what they began, what they put off."""
        person, date = board.day.typist, board.day.date
        kept = self._book.drafts.draft(person, _ROLE) if person else None
        now = kept if kept is not None and kept.date == date else Draft(date=date)
        draft = replace(now, person=person, role=_ROLE)
        begun = draft.step if any(given.asked for given in draft.answers) else None
        return page.Todo(
            going.suggested(board.day, draft),
            begun if begun != going.LIST else None,
            going.put_off(board.day, draft),
        )

    @property
    def wait_s(self) -> float:
        """How long nothing but a new record can change the board."""
        now = self._book.beginning.clock().timestamp()
        return min(_LOOK_S, _MINUTE_S - now % _MINUTE_S + 0.01)


def _kept_up(watch: BoardWatch) -> int:
    """Show the board until somebody leaves it; the exit code."""
    printed = faces.PrintedBoard()
    while True:
        pressed = _pressed(watch, printed)
        if pressed == LEAVES:
            return 0
        if pressed == STOP:
            stop()
        elif _done(watch, pressed) and not _goes_on():
            return 0
        watch.again()


def _pressed(watch: BoardWatch, printed: faces.PrintedBoard) -> Pressed:
    """Keep the board up until a key is pressed that means something."""
    there = interactive()
    with Keyboard(there=there) as keyboard:
        face: faces.Face = faces.Drawn() if faces.drawn_here() else printed
        try:
            face.open()
            while True:
                lapsed = watch.board.lapsed
                watch.look()
                keys = shown(watch.board.day, watch.todo) if there else ("", "")
                face.show(watch.board, watch.todo, keys)
                if watch.board.lapsed - lapsed:
                    face.ring()
                key = keyboard.wait(watch.wait_s)
                pressed = STOP if key == STOP else meant(key, watch.board.day, watch.todo)
                if pressed is not None:
                    return pressed
        finally:
            face.close()


def _goes_on() -> bool:
    """Whether whoever read the page goes back to the board."""
    try:
        return replies.typed(_("Enter goes on, q leaves: ")).strip().casefold() not in LEAVE
    except EOFError:
        return False


def _done(watch: BoardWatch, pressed: Pressed) -> bool:
    """Do what a key asks for; return whether there is something to read."""
    try:
        if pressed == KEYS:
            print_all(explained(watch.board.day))
        elif pressed == NOW:
            return _sheet_now(watch)
        else:
            return _step(watch.place, pressed)
    except WeldcalError as error:
        say(str(error))
    except (PersonLeft, GoBack):
        return False
    except (EOFError, KeyboardInterrupt):
        print()
        return False
    return True


def _sheet_now(watch: BoardWatch) -> bool:
    """The sheet as read now, and the speed for it: what `weldcal now` says."""
    typed = replies.typed(lines.prompt(f"{TOLD[NOW]()}: ")).strip()
    if not typed or typed.casefold() in LEAVE:
        return False
    book = guide.book_at(watch.place)
    try:
        guide.run(book, (Call("now", (typed,), _kind(watch.board)),), shown=True)
    finally:
        book.close()
    return True


def _kind(board: Board) -> dict[str, str | bool]:
    """The options that give `now` the board's machine, sheet and lap kind."""
    if board.dialled is None or board.then is None:
        return {}
    q = board.dialled.asked.question
    options: dict[str, str | bool] = {"--lap": q.lap} if q.lap != USUAL_LAP else {}
    return {"--machine": q.machine, "--sheet": q.sheet, **options} if board.then.kind else options


def _step(place: guide.DayBook, step: str) -> bool:
    """One step of the guided day; one that was begun and left is taken up first."""
    book = guide.book_at(place)
    try:
        person = book.reader.person()
        draft = guide.take_up(book, person, _ROLE)
        day = book.days.view(_ROLE)
        if draft.step is not None and any(given.asked for given in draft.answers):
            say(_("Taken up where it was left:"))
            guide.tell(day, draft)
        else:
            draft = going.begun_at(day, replace(draft, step=None, answers=()), step)
        while draft.step is not None:
            draft = guide.one_step(book, book.days.view(_ROLE), draft)
        return True
    finally:
        book.close()
