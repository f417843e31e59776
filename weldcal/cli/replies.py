"""What is typed at a question: a line that can be edited, and `back` to the question before.

Invariant: a command asks before it records. Gone back, it is run again from its beginning
with the answers that still stand, and nothing is lost or recorded twice. What was typed is
remembered no longer than the program runs; where the terminal or the system has no line
editing, a plain line is read.
"""

from __future__ import annotations

import contextlib
from collections import deque
from collections.abc import Callable, Sequence

from weldcal import settings


class GoBack(Exception):
    """One question back."""


class Replies:
    """The answers of one command.

    Attributes:
        kept: those that were understood, in order.
        again: those to be given again, where the command is run anew.
    """

    def __init__(self) -> None:
        self.kept: list[str] = []
        self.again: deque[str] = deque()

    def run(self, command: Callable[[], object]) -> object:
        """Run a command, and again from its beginning each time somebody goes back.

        Raises:
            GoBack: from its first question.
        """
        self.kept, self.again = [], deque()
        while True:
            try:
                return command()
            except GoBack:
                if not self.kept:
                    raise
                self.again = deque(self.kept[:-1])
                self.kept = []

    def reply(self, question: str, typed: Callable[[str], str]) -> str:
        """The answer to a question: given before, or typed now."""
        answer = self.again.popleft() if self.again else typed(question)
        self.kept.append(answer)
        return answer

    def refused(self) -> None:
        """The last answer was not understood: it is asked again, and not gone back to."""
        self.kept.pop()


REPLIES = Replies()


def typed(question: str, offered: Sequence[str] = ()) -> str:
    """What is typed at a question.

    Args:
        question: shown as it is.
        offered: what Tab completes.
    """
    if not settings.dumb_terminal():  # one that cannot move its cursor back cannot be edited on
        with contextlib.suppress(ImportError):  # a build without it, as on some systems
            _editing(tuple(offered))
    return input(question)


def _editing(offered: tuple[str, ...]) -> None:
    import readline

    def complete(text: str, n: int) -> str | None:
        fits = [word for word in offered if word.casefold().startswith(text.casefold())]
        return fits[n] if n < len(fits) else None

    readline.set_completer_delims("")  # a name of two words is one answer
    readline.set_completer(complete)
    libedit = "libedit" in (readline.__doc__ or "")
    readline.parse_and_bind("bind ^I rl_complete" if libedit else "tab: complete")
    if not libedit:  # what is pasted is typed; some screens show the signs around it
        readline.parse_and_bind("set enable-bracketed-paste off")
