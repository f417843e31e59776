"""What is recorded about other entries: corrections, answers to warnings, advice given.

Invariant: a correction names what it corrects, the value before, the value after
and why; the earlier entry stays readable.
"""

from __future__ import annotations

from typing import Any

from msgspec import Struct

from weldcal.records.common import Seen
from weldcal.words import mark

# The path of an amend that takes an entry back (new: true) or puts it back (false).
WITHDRAWN = "withdrawn"
# Kinds that are never taken back: what a job stands on, what is out of the crew's
# hands, and what the program said by itself.
NEVER_WITHDRAWN = frozenset({"job", "seal", "handed", "advice", "fork-settled"})

# The usual reasons, kept in the record as they stand here whatever the language.
BY_MISTAKE = mark("typed by mistake")
BACK_BY_MISTAKE = mark("taken back by mistake")
PLACE_SAID = mark("where the job is")
USUAL_REASONS = (BY_MISTAKE, BACK_BY_MISTAKE, PLACE_SAID)


class Amend(Struct, frozen=True, kw_only=True):
    """A correction of one value of an earlier record, or the whole of it taken back.

    Attributes:
        of: id of the record corrected; of the entry taken back, which may be a later
            stage of a record, or a correction.
        path: where the value stands in its payload, dotted; or `WITHDRAWN`.
        old, new: the payload values.
        why: the reason.
        replaces: id of the entry that last set the value.
    """

    of: str
    path: str
    old: Any = None
    new: Any = None
    why: str
    seen: Seen
    replaces: str


class Settle(Struct, frozen=True, kw_only=True):
    """What was done about a warning that was overridden."""

    of: str
    done: str
    seen: Seen


class ForkSettled(Struct, frozen=True, kw_only=True):
    """A fork settled: why two entries take one place, and what was done about it.

    Attributes:
        device, seq: the place.
        hashes: of the entries that part there; another one later is another fork.
    """

    device: str
    seq: int
    hashes: tuple[str, ...]
    done: str
    seen: Seen


class AdviceGiven(Struct, frozen=True, kw_only=True):
    """Advice as it was given: what went in, what came out, by which version.

    Numbers are texts (shortest round-trip decimals), as in every payload.
    """

    seen: Seen
    question: dict[str, Any]
    answer: dict[str, Any]
    version: str
