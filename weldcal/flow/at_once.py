"""Numbers and words typed where they can only mean one thing: several answers in one.

Invariant: what is understood here is what the questions themselves would take, one
after another; whatever can mean two things is left to the question that was asked.
"""

from __future__ import annotations

from weldcal.errors import WeldcalError
from weldcal.flow.question import Given, Question, read_answer
from weldcal.intake.line import tokens
from weldcal.records.day import DayAnswer

AnswersAtOnce = tuple[tuple[str, str | None], ...]

_AT = Question("at", "value", field="distance")
_READINGS = Question("readings", "many", field="reading")
_SHEET = Question("sheet_temp", "value", field="sheet_temp")


def answers_at_once(question: Question, typed: str, units: str) -> AnswersAtOnce:
    """The answers that a line gives at once, by their codes; none where it is an ordinary answer."""
    text = " ".join(typed.split())
    if question.code == "lap_what":
        return _lap(text, units)
    if question.code == "still":
        return _sheet_now(question, text, units)
    return ()


def given(found: AnswersAtOnce, at: str) -> Given:
    """Those answers, the first as the one that was asked for: one `back` takes all of them."""
    return tuple(DayAnswer(code, text, at, n == 0) for n, (code, text) in enumerate(found))


def _lap(text: str, units: str) -> AnswersAtOnce:
    """`33` finishes the lap there; `14 1/4 3/16` is a check at 14."""
    try:
        place, *read = tokens([text])
    except (WeldcalError, ValueError):
        return ()
    if not read and _reads(_AT, text, units):
        return (("lap_what", "finish"), ("end", text))
    widths = " ".join(read)
    if read and _reads(_AT, place, units) and _reads(_READINGS, widths, units):
        return (
            ("lap_what", "check"),
            ("at", place),
            ("readings", read_answer(_READINGS, widths, units)[1]),
        )
    return ()


def _sheet_now(question: Question, text: str, units: str) -> AnswersAtOnce:
    """`110` where it is asked whether all is still so: the sheet is, and the rest was read lately."""
    if not _reads(_SHEET, text, units):
        return ()
    kept = tuple((name, None) for name in question.fresh if name != "sheet_temp")
    return (("still", "no"), ("sheet_temp", text), *kept)


def _reads(question: Question, text: str, units: str) -> bool:
    try:
        read_answer(question, text, units)
    except WeldcalError:
        return False
    return True
