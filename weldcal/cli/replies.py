"""What was typed at a command's questions, so that `back` asks the one before again.

Invariant: a command asks before it records. Gone back, it is run again from its beginning
with the answers that still stand, and nothing is lost or recorded twice.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable


class GoBack(Exception):
    """One question back."""


class Replies:
    """The answers of one command.

    Attributes:
        kept: those that were understood, in order.
        again: those to be given again, where the command is run again.
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
