"""Questions of the guided day at the terminal: asked until they are answered, or left.

Invariant: the words for going back, leaving and putting off count at every question.
"""

from __future__ import annotations

from weldcal import settings
from weldcal.cli import replies
from weldcal.cli.replies import GoBack
from weldcal.errors import WeldcalError
from weldcal.flow.question import BACK, LEAVE, NAMED, Question, read_answer
from weldcal.records.day import Day
from weldcal.reports import asking, lines
from weldcal.words import _

# What can be typed at any question, in English and Spanish.
_LATER = {"later", "l", "luego"}


class PersonLeft(Exception):
    """Somebody leaves; what was answered is kept."""


class Later(Exception):
    """This step another time."""


def only(question: Question, day: Day, *, first: bool = True) -> str:
    """Ask a question that is of no step, until it is answered.

    Raises:
        GoBack: one back, where another question came before: not `first`.
    """
    while True:
        try:
            _code, text = read_answer(question, typed(question, day.units), day.units)
            if text:
                return text
        except (GoBack, Later):
            if not first:
                raise GoBack from None
            say(_("This is the first question. q leaves."))
        except WeldcalError as error:
            say(str(error))


def typed(question: Question, units: str) -> str:
    """What is typed at a question, once it is an answer.

    Raises:
        Left, GoBack, Later: it was a word for that.
    """
    names = {choice.casefold() for choice in question.choices if question.kind in NAMED}
    while True:
        answer = replies.typed(_shown(question, units), _offered(question)).strip()
        word = answer.casefold()
        if word == "?":
            for one in asking.explained(question, units):
                say(one)
        elif word in names:
            return answer
        elif (
            word in BACK
            or (word == "a" and settings.language() == "es")
            or (word in ("no", "n") and question.kind in ("confirm", "agree", "permit"))
        ):
            raise GoBack
        elif word in LEAVE:
            raise PersonLeft
        elif word in _LATER:
            raise Later
        else:
            return answer


def _offered(question: Question) -> list[str]:
    """What Tab completes: names as they are, words as they are shown."""
    if question.kind in NAMED:
        return list(question.choices)
    return [_(choice) for choice in question.choices]


def _shown(question: Question, units: str) -> str:
    """The question where it fits with room for the answer; else it is said first."""
    room = 1 if question.kind in ("confirm", "shown") else 8
    return lines.prompt(asking.prompt(question, units) + ": ", room)


def say(text: str) -> None:
    """Print one paragraph folded to the screen."""
    print(lines.wrapped(text))
