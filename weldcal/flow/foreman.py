"""The foreman's evening: warnings to answer, the page of the day, the seal and its hand, the dossier.

Invariant: the seal comes after all that is to be recorded, and the dossier last.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from weldcal.flow import site
from weldcal.flow.inspector import ROOF
from weldcal.flow.question import WORD, Call, Calls, Given, Question, Step, got
from weldcal.records.day import Day
from weldcal.words import mark


def due(day: Day) -> Iterator[str]:
    """Steps that are due, in order."""
    if day.needs.start_up:
        yield site.START_UP.code
    if day.warned:
        yield "settle"
    if day.needs.covers:
        yield site.COVER.code
    yield from site.due(day)
    yield "evening"
    if day.seal is None:
        yield "seal"
    elif not day.seal.handed:
        yield "hand"
    yield "dossier"


def _settle(day: Day, given: Given) -> Iterator[Question]:
    first = day.warned[0] if day.warned else None
    yield Question(
        "settled",
        "choice",
        mark("Warning to answer: {run} on {seam}, {why}") if first else mark("Warning to answer"),
        option=WORD,
        choices=tuple(warned.run for warned in day.warned),
        default=first.run if first else None,
        values={"run": first.run, "seam": first.where, "why": first} if first else {},
    )
    yield Question(
        "what_done",
        "text",
        mark("What was done about it"),
        mark("In a few words: strip run at once and good; lap probed."),
        option=WORD,
    )
    yield Question("confirm_settle", asks=mark("{settled}: {what_done}. Enter records it"))


def _evening(day: Day, given: Given) -> Iterator[Question]:
    yield Question(
        "tomorrow",
        "value",
        mark("Evening page. Air expected tomorrow morning"),
        mark("For the speed to start with tomorrow; Enter leaves it out."),
        field="ambient",
        option="--ambient",
        optional=True,
    )


def _seal(day: Day, given: Given) -> Iterator[Question]:
    yield Question(
        "confirm_seal",
        asks=mark("Enter seals the day"),
        means=mark("A short code over all that is recorded. Hand it to somebody outside the crew."),
    )


def _hand(day: Day, given: Given) -> Iterator[Question]:
    yield Question(
        "hand_to",
        "text",
        mark("Who gets seal {seal}, outside the crew"),
        mark(
            "The owner's representative, say. Whoever holds the code can show later that nothing "
            "was changed."
        ),
        option="--to",
        values={"seal": got(given, "seal_name") or ""},
    )
    yield Question(
        "hand_how",
        "choice",
        mark("Handed as"),
        option="--how",
        choices=(mark("paper"), mark("photo"), mark("mail")),
        default="paper",
    )
    yield Question("confirm_hand", asks=mark("Seal to {hand_to}. Enter records it"))


def _handed(day: Day, given: Given, call: Call) -> Calls:
    return (Call(call.command, (got(given, "seal_name") or "",), call.options),)


def _dossier(day: Day, given: Given) -> Iterator[Question]:
    yield Question(
        "want_dossier",
        "choice",
        mark("Write the dossier now?"),
        mark("The warranty file, as HTML and PDF; it takes a moment."),
        choices=("yes", "no"),
        default="no",
    )


def _wanted(day: Day, given: Given, call: Call) -> Calls:
    name = re.sub(r"[^a-z0-9]+", "-", (day.job or "").casefold()).strip("-") or "dossier"
    return (Call(call.command, (name,)),) if got(given, "want_dossier") == "yes" else ()


STEPS = (
    Step(mark("settle"), mark("answer a warning"), _settle, "settle", ("settle",)),
    Step(mark("evening"), mark("the page of the day"), _evening, "evening", once=True),
    Step(mark("seal"), mark("seal the day"), _seal, "seal", ("seal",)),
    Step(
        mark("hand"),
        mark("hand the seal over"),
        _hand,
        "hand",
        ("handed",),
        _handed,
        lambda day, given: {"seal_name": day.seal.name} if day.seal else {},
    ),
    Step(mark("dossier"), mark("the warranty file"), _dossier, "dossier", calls=_wanted, once=True),
    site.START_UP,
    site.COVER,
    site.ENDED,
    site.WATCH,
    ROOF,
)


def open_steps(day: Day) -> tuple[str, ...]:
    """Steps that can be taken now, in the order of an evening."""
    unavailable = {"settle": not day.warned, "hand": day.seal is None, **site.gone(day)}
    return tuple(step.code for step in STEPS if not unavailable.get(step.code, False))
