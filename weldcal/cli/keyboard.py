"""One key at a time, without Enter, and the terminal as it was afterwards.

Invariant: whatever ends the program while a key is waited for (Ctrl-C, kill, hang-up), the
terminal's modes are put back first; Ctrl-Z leaves them right for the shell too.
"""

from __future__ import annotations

import contextlib
import os
import select
import signal
import sys
import termios
import tty
from types import FrameType, TracebackType
from typing import Any

BROKEN_OFF = 130  # the exit code, as of every command that was broken off
STOP = "stop"  # Ctrl-Z was pressed
_ENDS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)


class Keyboard:
    """The keyboard, for as long as a `with` lasts."""

    def __init__(self, *, there: bool) -> None:
        """Take it; where nobody is `there`, time goes by and no key is pressed."""
        self._there = there
        self._stopped = False
        self._modes: list[Any] | None = None
        self._handlers: dict[int, Any] = {}

    def __enter__(self) -> Keyboard:
        self._woken, self._wakes = os.pipe()
        for end in (self._woken, self._wakes):
            os.set_blocking(end, False)
        self._waker = signal.set_wakeup_fd(self._wakes, warn_on_full_buffer=False)
        try:
            self._take()
        except BaseException:  # a signal at this very moment
            self.__exit__(None, None, None)
            raise
        return self

    def _take(self) -> None:
        modes = termios.tcgetattr(sys.stdin) if self._there else None
        ends = [(which, _leave) for which in _ENDS]
        for which, does in (*ends, (signal.SIGWINCH, _wake), (signal.SIGTSTP, self._stop)):
            if signal.getsignal(which) != signal.SIG_IGN:  # as under nohup
                self._handlers[which] = signal.signal(which, does)
        if modes is not None:
            self._modes = modes
            tty.setcbreak(sys.stdin, termios.TCSANOW)

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        at: TracebackType | None,
    ) -> None:
        if self._modes is not None:
            with contextlib.suppress(termios.error, OSError):  # the terminal may be gone
                termios.tcsetattr(sys.stdin, termios.TCSANOW, self._modes)
        for which, did in self._handlers.items():
            signal.signal(which, did)
        signal.set_wakeup_fd(self._waker)
        os.close(self._woken)
        os.close(self._wakes)

    def wait(self, seconds: float) -> str | None:
        """The key pressed within so many seconds, `STOP`, or None: time went by, or the size changed.

        Raises:
            EOFError: the terminal is gone.
        """
        waited = [self._woken, *([sys.stdin.fileno()] if self._there else [])]
        ready, _out, _odd = select.select(waited, [], [], max(0.0, seconds))
        if self._woken in ready:
            with contextlib.suppress(BlockingIOError):
                os.read(self._woken, 512)
        if self._stopped:
            return STOP
        return self._key() if self._there and sys.stdin.fileno() in ready else None

    def _key(self) -> str | None:
        """One key; what was typed ahead stays for the next question. An arrow is none."""
        terminal = sys.stdin.fileno()
        try:
            first = os.read(terminal, 1)
        except OSError:
            raise EOFError from None
        if not first:
            raise EOFError
        if first == b"\x1b":
            while select.select([terminal], [], [], 0.02)[0] and os.read(terminal, 16):
                pass
            return None
        more = {0b110: 1, 0b1110: 2, 0b11110: 3}
        rest = next((n for lead, n in more.items() if first[0] >> (6 - n) == lead), 0)
        return (first + os.read(terminal, rest) if rest else first).decode("utf-8", "ignore")

    def _stop(self, _which: int, _frame: FrameType | None) -> None:
        self._stopped = True


def _wake(_which: int, _frame: FrameType | None) -> None:
    """The screen has another size: whoever waits looks again."""


def _leave(which: int, _frame: FrameType | None) -> None:
    """End, once: a second signal must not break off the putting back."""
    for name in _ENDS:
        signal.signal(name, signal.SIG_IGN)
    if which == signal.SIGINT:
        raise KeyboardInterrupt
    raise SystemExit(BROKEN_OFF)


def stop() -> None:
    """Stop as Ctrl-Z does, until the shell goes on with the program."""
    os.kill(os.getpid(), signal.SIGTSTP)
