"""Before the first lap and after the last: the start-up list, when a look is due, where a leak stands.

Invariant: nothing is taken as answered, done or dry that nobody said.
"""

from __future__ import annotations

import calendar
from collections.abc import Iterable, Sequence
from datetime import date

from msgspec import Struct

from weldcal.words import mark

PRACTICE = mark("common practice, no source")

# Where a leak stands, by what is to be done next.
SEARCH, TO_MEND, TO_LOOK, CLOSED = "search", "mend", "look", "closed"


class StartUpLine(Struct, frozen=True):
    """A line of the start-up list: its code (or the id of an added one), what it asks, its source."""

    code: str
    asks: str
    source: str


# What is looked at before the first lap of a job. A job adds lines of its own.
START_UP = tuple(
    StartUpLine(code, asks, PRACTICE)
    for code, asks in (
        ("permit", mark("Hot-work permit in hand; its fire watch is known to the crew")),
        (
            "extinguishers",
            mark("Extinguishers stand at the work, charged, and somebody can use them"),
        ),
        ("edges", mark("Roof edges and openings are guarded; everybody knows the way down")),
        (
            "beneath",
            mark("What lies beneath the deck and in walls near by is known, and does not burn"),
        ),
        ("deck", mark("Deck and insulation are dry, firm, clean and fastened")),
        ("drains", mark("Drains run, and water cannot stand where the day's edge will lie")),
        ("sheet", mark("Rolls are those of the contract, dry, stored upright and off the ground")),
        ("instructions", mark("The sheet maker's instructions for welding are on the roof")),
        ("limits", mark("The job's limits are agreed with who accepts the work, and adopted")),
        ("machine", mark("Machine: nozzle clean, roller round and turning, air intake free")),
        (
            "power",
            mark("Power: voltage read at the machine under load, cord short and heavy enough"),
        ),
        ("instruments", mark("Thermometer, tape and probe are there, and within their check")),
        ("people", mark("Who welds, who probes and who may stop the work is named")),
        ("weather", mark("Today's weather is known, and how the edge is made tight tonight")),
    )
)


def open_answer(answer: str | None) -> bool:
    """Whether a line is still open: not answered, or answered no."""
    return answer is None or answer == "no"


def stage(steps: Iterable[tuple[str, bool | None]]) -> str:
    """Where a leak stands after its steps, in the order they were seen.

    Args:
        steps: (found, mended or looked; of a look after rain, whether it was dry).

    Returns:
        SEARCH until something was found, and again after a look that was not dry; TO_MEND
        until it was mended; TO_LOOK until somebody looked at it dry after rain; CLOSED.
    """
    now = SEARCH
    for step, dry in steps:
        if step == "found":
            now = TO_MEND
        elif step == "mended":
            now = TO_LOOK
        elif not dry:
            now = SEARCH
        elif now == TO_LOOK:
            now = CLOSED
    return now


def months_after(day: date, months: int) -> date:
    """The same day some months later; the month's last day where it has no such day."""
    year, month = divmod(day.month - 1 + months, 12)
    year, month = day.year + year, month + 1
    return date(year, month, min(day.day, calendar.monthrange(year, month)[1]))


def due(last: Sequence[str], months: int) -> str:
    """When a roof is to be looked at again: some months after the last of these days (ISO)."""
    return months_after(date.fromisoformat(max(last)), months).isoformat()
