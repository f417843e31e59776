"""What was answered so far of a day, and by whom.

Invariant: nothing here is an entry. A `Draft` holds answers of one step that is not recorded
yet, and what of the day is done that leaves no entry (cautions read, the evening looked at).
Values are text as a person would type it in the job's units.
"""

from __future__ import annotations

from msgspec import Struct

from weldcal.words import mark

ROLES = (mark("operator"), mark("inspector"), mark("foreman"))


class DayAnswer(Struct, frozen=True):
    """One answer: to which question, the text (None: left out), and when it was given.

    `asked` is False where it followed from the day: the only strip that waits, where a walk
    begins. It is kept all the same, for the day may be another when the draft is taken up.
    """

    code: str
    text: str | None
    at: str
    asked: bool = True


class Draft(Struct, frozen=True, kw_only=True):
    """Where somebody is in their day.

    Attributes:
        date: the day it is of.
        step: what is being answered; None between steps.
        answers: in the order given.
        done: what is done or put off today and leaves no entry.
        begun: tick of the book's last entry when the step's command began; None before.
    """

    date: str
    person: str | None = None
    role: str | None = None
    step: str | None = None
    answers: tuple[DayAnswer, ...] = ()
    done: tuple[str, ...] = ()
    begun: int | None = None
