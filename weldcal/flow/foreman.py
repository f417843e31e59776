"""The foreman's evening: warnings to answer, the page of the day, the seal and its hand, the dossier.

Invariant: the seal comes after all that is to be recorded, and the dossier last.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from weldcal.flow.question import Given, Question, Step, Words, command, got
from weldcal.records.day import Day
from weldcal.words import mark


def due(day: Day) -> Iterator[str]:
    """Steps that are due, in order."""
    if day.warned:
        yield "settle"
    yield "evening"
    if day.seal is None:
        yield "seal"
    elif not day.seal.handed:
        yield "hand"
    yield "dossier"


def _settle(day: Day, given: Given) -> Iterator[Question]:
    known = tuple(warned.run for warned in day.warned)
    first = day.warned[0] if day.warned else None
    yield Question(
        "settled",
        "choice",
        choices=known,
        default=first.run if first else None,
        values={"warned": first} if first else {},
    )
    yield Question("what_done", "text")
    yield Question("confirm_settle", values=_told(given, "settled", "what_done"))


def _told(given: Given, *codes: str) -> dict[str, str]:
    return {code: got(given, code) or "" for code in codes}


def _evening(day: Day, given: Given) -> Iterator[Question]:
    yield Question("tomorrow", "value", "ambient", optional=True)


def _seal(day: Day, given: Given) -> Iterator[Question]:
    yield Question("confirm_seal")


def _hand(day: Day, given: Given) -> Iterator[Question]:
    yield Question("hand_to", "text", values={"seal": got(given, "seal_name") or ""})
    yield Question(
        "hand_how", "choice", choices=(mark("paper"), mark("photo"), mark("mail")), default="paper"
    )
    yield Question("confirm_hand", values=_told(given, "hand_to", "hand_how"))


def _hand_words(day: Day, given: Given) -> Words:
    return [
        command(
            "hand", got(given, "seal_name"), to=got(given, "hand_to"), how=got(given, "hand_how")
        )
    ]


def _dossier(day: Day, given: Given) -> Iterator[Question]:
    yield Question("want_dossier", "choice", choices=("yes", "no"), default="no")


def _dossier_words(day: Day, given: Given) -> Words:
    name = re.sub(r"[^a-z0-9]+", "-", (day.job or "").casefold()).strip("-") or "dossier"
    return [command("dossier", name)] if got(given, "want_dossier") == "yes" else []


def _roof(day: Day, given: Given) -> Iterator[Question]:
    yield Question("confirm_roof")


STEPS = (
    Step(
        "settle",
        ("settle",),
        _settle,
        lambda day, given: [command("settle", got(given, "settled"), got(given, "what_done"))],
    ),
    Step(
        "evening",
        (),
        _evening,
        lambda day, given: [command("evening", ambient=got(given, "tomorrow"))],
    ),
    Step("seal", ("seal",), _seal, lambda day, given: [["seal"]]),
    Step(
        "hand",
        ("handed",),
        _hand,
        _hand_words,
        lambda day, given: {"seal_name": day.seal.name} if day.seal else {},
    ),
    Step("dossier", (), _dossier, _dossier_words),
    Step("roof", (), _roof, lambda day, given: [["roof"]]),
)


def open_steps(day: Day) -> tuple[str, ...]:
    """Steps that can be taken now, in the order of an evening."""
    gone = {"settle": not day.warned, "hand": day.seal is None}
    return tuple(step.code for step in STEPS if not gone.get(step.code, False))
