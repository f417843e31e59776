"""Long work as a bar on the terminal, and left cleanly by Ctrl-C.

Invariant: nothing is drawn into a pipe, with JSON, for a screen reader, or in the
first second; the bar goes to stderr and is gone when the work is done.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from weldcal import settings
from weldcal.errors import WeldcalError
from weldcal.long_work import Progress, no_progress
from weldcal.words import mark

# Work that is done by then needs no bar, nor the time that loading one takes.
_SOON_S = 1.0


class BrokenOff(WeldcalError):
    """Ctrl-C in the middle of long work."""

    exit_code = 130
    sentence = mark("left; every file is there whole or not at all, and nothing is half recorded.")


@contextmanager
def progress(*, quiet: bool = False) -> Iterator[Progress]:
    """A progress callback for the rooms below.

    Args:
        quiet: JSON was asked for.

    Raises:
        BrokenOff: Ctrl-C.
    """
    bar = _Bar()
    try:
        drawn = sys.stderr.isatty() and settings.moving() and not quiet
        yield bar.on_progress if drawn else no_progress
    except KeyboardInterrupt:
        raise BrokenOff from None
    finally:
        bar.clear()


class _Bar:
    """A bar that appears when the work turns out to be long."""

    def __init__(self) -> None:
        self._began = time.monotonic()
        self._drawn: Any = None
        self._task: Any = None

    def on_progress(self, what: str, done: int, total: int) -> None:
        """What is being done, how much of it, of how much (0: not known)."""
        if self._drawn is None:
            if time.monotonic() - self._began < _SOON_S:
                return
            self._draw()
        from rich.markup import escape

        from weldcal.reports.show import safe

        self._drawn.update(
            self._task, description=escape(safe(what)), completed=done, total=total or None
        )

    def _draw(self) -> None:
        from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

        from weldcal.reports import terminal

        # As written: rich would draw a name like ":fire:" as a picture.
        words = TextColumn("{task.description}", markup=True)
        console = terminal.console(stderr=True)
        self._drawn = Progress(
            words, BarColumn(), MofNCompleteColumn(), console=console, transient=True
        )
        self._task = self._drawn.add_task("", total=None)
        self._drawn.start()

    def clear(self) -> None:
        """Take the bar off the screen."""
        if self._drawn is not None:
            self._drawn.stop()
