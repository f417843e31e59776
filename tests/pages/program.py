"""The program as it runs for the pages: on a book and a clock of its own, at a screen.

Invariant: what is shown is all that the program printed, and the environment is
put back afterwards.
"""

from __future__ import annotations

import contextlib
import io
import os
import shlex
import shutil
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from weldcal import words
from weldcal.cli import demo
from weldcal.cli.guide import DayBook, open_day
from weldcal.cli.main import main

ZONE = ZoneInfo("America/Denver")
SUNDAY = datetime(2026, 5, 31, tzinfo=ZONE)
_LOW = 20  # rows with no room for large digits: a page in words has none
_TAKEN = ("NO_COLOR", "FORCE_COLOR", "COLORTERM", "TTY_COMPATIBLE", "TTY_INTERACTIVE")


@contextlib.contextmanager
def surroundings(home: Path, columns: int, language: str = "en", rows: int = 50) -> Iterator[None]:
    """A language, a home, a screen of so many columns and rows; no setting of whoever runs this."""
    kept, folder = dict(os.environ), Path.cwd()
    for name in [n for n in os.environ if n.startswith("WELDCAL_") or n in _TAKEN]:
        del os.environ[name]
    os.environ.update(
        HOME=str(home),
        LC_ALL="C.UTF-8",
        TZ=ZONE.key,
        WELDCAL_LANG=language,
        COLUMNS=str(columns),
        LINES=str(rows),
        TERM="xterm-256color",
    )
    _another_language()
    os.chdir(home)
    try:
        yield
    finally:
        os.chdir(folder)
        os.environ.clear()
        os.environ.update(kept)
        _another_language()


def _another_language() -> None:
    """The program speaks one language as long as it runs; here it runs more than once."""
    for held in (words._catalog, words.language, words.locale, words.decimal_mark):
        held.cache_clear()


class _Screen(io.StringIO):
    def isatty(self) -> bool:
        return True


class _Beside(io.TextIOBase):
    """stderr: on the same screen, and no terminal, so that no progress bar is drawn over it."""

    def __init__(self, screen: io.StringIO) -> None:
        self.screen = screen

    def write(self, text: str, /) -> int:
        return self.screen.write(text)


class _Keys(io.StringIO):
    """A keyboard: gives answer after answer and shows each on the screen, as a terminal does.

    `waiting` is the screen as it stood when nothing more was typed.
    """

    def __init__(self, answers: Iterator[str] | None, screen: io.StringIO) -> None:
        super().__init__()
        self.answers, self.screen = answers, screen
        self.waiting: str | None = None

    def isatty(self) -> bool:
        return self.answers is not None

    def readline(self, _size: int | None = -1, /) -> str:
        typed = next(self.answers or iter(()), None)
        if typed is None:
            self.waiting = self.waiting or self.screen.getvalue()
            return ""
        self.screen.write(f"{typed}\n")
        return f"{typed}\n"


@contextlib.contextmanager
def _streams(screen: io.StringIO, keys: io.StringIO) -> Iterator[None]:
    kept = sys.stdin
    sys.stdin = keys
    try:
        with contextlib.redirect_stdout(screen), contextlib.redirect_stderr(_Beside(screen)):
            yield
    finally:
        sys.stdin = kept


@dataclass
class Program:
    """weldcal in this process, in a folder of its own."""

    home: Path
    moment: datetime = SUNDAY + timedelta(days=1, hours=7)
    book: Path = field(init=False)

    def __post_init__(self) -> None:
        self.book = self.home / "book.sqlite"

    def clock(self) -> datetime:
        """The present, as set."""
        return self.moment.astimezone(UTC)

    def set(self, time: str, day: int | None = None) -> None:
        """Go to a time of the day; `day` counts from Sunday."""
        hour, minute = map(int, time.split(":"))
        start = self.moment if day is None else SUNDAY + timedelta(days=day)
        self.moment = start.replace(hour=hour, minute=minute)

    def run(self, line: str, *, there: bool = True) -> str:
        """What one command shows on a screen of 80 columns; it must do its work and ask nothing.

        Args:
            line: the command.
            there: whether somebody is at the keyboard, and could be asked.

        Raises:
            AssertionError: it was refused, or asked something.
        """
        shown, keys, code = self._at_the_screen(
            line, "", iter(()) if there else None, 80, rows=_LOW
        )
        if code or keys.waiting is not None:
            raise AssertionError(f"{line}: exit code {code}\n{shown}")
        return shown

    def seen(
        self,
        line: str,
        typed: Sequence[tuple[str, str]],
        columns: int,
        language: str = "en",
        rows: int = 50,
    ) -> str:
        """The screen after a command was typed at the prompt, then answers, each at its time.

        Raises:
            AssertionError: it did not ask for all that was typed.
        """
        left = list(typed)

        def answers() -> Iterator[str]:
            while left:
                time, text = left.pop(0)
                self.set(time)
                yield text

        shown, keys, _code = self._at_the_screen(
            line, f"$ {line}\n", answers(), columns, language, rows
        )
        if left:
            raise AssertionError(f"{line}: never asked for {left}\n{shown}")
        return shown if keys.waiting is None else keys.waiting

    def _at_the_screen(
        self,
        line: str,
        before: str,
        answers: Iterator[str] | None,
        columns: int,
        language: str = "en",
        rows: int = 50,
    ) -> tuple[str, _Keys, int]:
        program, *typed = shlex.split(line, comments=True)
        if program != "weldcal":
            raise AssertionError(f"{program}: not a command of the program")
        screen = _Screen()
        screen.write(before)
        keys = _Keys(answers, screen)
        with surroundings(self.home, columns, language, rows), _streams(screen, keys):
            if typed:
                code = main(["--book", str(self.book), *typed], clock=self.clock)
            else:
                code = open_day(DayBook(self.book, clock=self.clock))
        return screen.getvalue(), keys, code


def demo_roof(home: Path, commands: int | None = None) -> Program:
    """The demo's invented roof, on Monday, Tuesday and Wednesday of one certain week.

    Args:
        home: the folder its book goes to.
        commands: how many of the demo's commands are run; all if None.
    """
    program = Program(home)
    for day, time, typed in demo.SCRIPT[:commands]:
        program.set(time, day)
        program.run(f"weldcal {typed}", there=False)
    return program


def copy_of(program: Program, home: Path) -> Program:
    """The same roof in another folder, to go on with."""
    other = Program(home, program.moment)
    shutil.copyfile(program.book, other.book)
    return other
