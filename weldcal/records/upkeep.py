"""What is recorded before the first lap and after the last: start-up list, yearly looks, leaks.

Invariant: a line is open until somebody says "yes" or "not needed"; a leak is until it was
looked at dry after rain.
"""

from __future__ import annotations

from msgspec import Struct

from weldcal.records.common import Seen
from weldcal.records.fields import choose
from weldcal.words import mark

# Who asks for what a yearly look found.
YEARLY = mark("yearly look")


class StartLine(Struct, frozen=True, kw_only=True):
    """A line that a job adds to its start-up list, and where it comes from."""

    line: str
    seen: Seen
    source: str


class StartAnswer(Struct, frozen=True, kw_only=True):
    """What somebody answered to a line of the start-up list.

    Attributes:
        line: code of one of the program's lines, or the id of an added one.
        answer: yes, no, or not needed; "no" leaves the line open.
    """

    line: str
    seen: Seen
    answer: str
    note: str | None = None

    def __post_init__(self) -> None:
        """Refuse another answer (NotAChoice)."""
        choose("start_answer", self.answer)


class Look(Struct, frozen=True, kw_only=True):
    """A yearly look at an area; what was found are items of it. `area` is empty for all of the roof."""

    name: str
    seen: Seen
    area: str = ""
    note: str | None = None


class LeakStep(Struct, frozen=True, kw_only=True):
    """What was done about a leak.

    Attributes:
        step: found, mended or looked (at again, after rain).
        said: what was found, how it was mended, what was seen.
        place: where, where somebody said: a seam and a distance, as people say it.
        dry: of a look after rain, whether it was dry.
    """

    seen: Seen
    step: str
    said: str
    place: str | None = None
    dry: bool | None = None

    def __post_init__(self) -> None:
        """Refuse another step (NotAChoice)."""
        choose("leak_step", self.step)
