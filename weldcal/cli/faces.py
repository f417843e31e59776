"""The board on a screen: drawn over itself by rich, or printed line by line.

Invariant: nothing is written unless something changed. Drawn, the board is on a screen of its
own, and what stood on the terminal before stands there again afterwards; printed, a line is
never written over.
"""

from __future__ import annotations

import contextlib
import sys
from typing import Any, Protocol

from weldcal import settings
from weldcal.reports import board as page
from weldcal.reports import lines, show
from weldcal.views.board import Board

Keys = tuple[str, str]


class Face(Protocol):
    """A way to show the board."""

    def open(self) -> None:
        """Take the screen."""

    def show(self, board: Board, todo: page.Todo, keys: Keys) -> None:
        """Show how it stands now."""

    def ring(self) -> None:
        """The bell."""

    def close(self) -> None:
        """Leave the screen as it was."""


class Drawn:
    """The board drawn over itself."""

    def __init__(self) -> None:
        from rich.live import Live  # nobody but the board waits for it

        from weldcal.reports import terminal

        self._console = terminal.console()
        self._shown: Any = None
        self._live = Live(
            console=self._console,
            screen=True,
            auto_refresh=False,
            redirect_stdout=False,
            redirect_stderr=False,
        )

    def open(self) -> None:
        """Go to a screen of its own."""
        self._live.start()

    def show(self, board: Board, todo: page.Todo, keys: Keys) -> None:
        """Draw it, where a row or the screen's size is another than before."""
        from rich.text import Text

        size = settings.screen_size()
        rows = page.screen(board, todo, keys, size)
        if (size, rows) == self._shown:
            return
        self._shown = (size, rows)
        self._console.size = size
        text = Text(no_wrap=True, overflow="crop", end="")
        for n, row in enumerate(rows):
            text.append(("\n" if n else "") + show.safe_lines(row.text), row.style or None)
        self._live.update(text, refresh=True)

    def ring(self) -> None:
        """The terminal's bell."""
        self._console.bell()

    def close(self) -> None:
        """Give the screen back; a terminal that is gone takes nothing back."""
        with contextlib.suppress(OSError):
            self._live.stop()


class PrintedBoard:
    """The board printed: all of it once, then each line that says something new."""

    def __init__(self) -> None:
        self._before: list[page.BoardLine] = []

    def open(self) -> None:
        """It writes where the cursor is."""

    def show(self, board: Board, todo: page.Todo, keys: Keys) -> None:
        """Say what is new, with the time where it comes later."""
        now = page.lines(board, todo, keys[0])
        at = show.clock(board.day.now, date=False)
        for text in page.news(self._before, now):
            print(lines.on_screen(f"{at} {text}" if self._before else text), flush=True)
        self._before = now

    def ring(self) -> None:
        """The terminal's bell; a file or a pipe has none."""
        if sys.stdout.isatty():
            print("\a", end="", flush=True)

    def close(self) -> None:
        """Nothing was written over."""


def drawn_here() -> bool:
    """Whether the board can be drawn over itself here, and is wanted so."""
    return sys.stdout.isatty() and settings.moving() and not settings.dumb_terminal()
