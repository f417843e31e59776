"""The keys of the board: one for each thing to do, the same all day.

Invariant: a key is a letter of its own word in the reader's language; no key records by itself.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

from weldcal.flow import going, operator
from weldcal.flow.opening import UNDO
from weldcal.records.day import Day
from weldcal.reports import board
from weldcal.words import _

Pressed = str
LEAVES, KEYS, NOW = "leaves", "keys", "now"  # what keys mean besides the steps of the day
_FIXED = {"q": LEAVES, "?": KEYS, "n": NOW}
TOLD: dict[str, Callable[[], str]] = {NOW: lambda: _("Sheet's surface")}


@cache
def letters() -> dict[str, str]:
    """Step by key: the first letter of the step's word that is still free."""
    found: dict[str, str] = {}
    for step in (*operator.STEPS, UNDO):
        word = [sign for sign in _(step.code).casefold() if sign.isascii() and sign.isalpha()]
        free = [sign for sign in [*word, *"0123456789"] if sign not in {*_FIXED, *found}]
        found[free[0]] = step.code
    return found


def _open(day: Day) -> dict[str, str]:
    """The keys of what can be done now."""
    steps = {*operator.open_steps(day), UNDO.code}
    return {key: step for key, step in letters().items() if step in steps}


def shown(day: Day, todo: board.Todo) -> tuple[str, str]:
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


def meant(key: str | None, day: Day, todo: board.Todo) -> Pressed | None:
    """What a key asks for; None where it means nothing now."""
    if key is None:
        return None
    if key in ("\r", "\n"):
        return todo.begun or todo.next
    letter = key.casefold()
    return _FIXED.get(letter) or _open(day).get(letter)
