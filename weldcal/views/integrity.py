"""What of a record bears on its independence: counts, each with what it is of.

Invariant: a count of how independent the proof is, never a mark for quality.
"""

from __future__ import annotations

from msgspec import Struct


class Tell(Struct, frozen=True):
    """One question, counted.

    Attributes:
        code: which question; `reports.dossier.integrity` has its words.
        n: how many; of: out of how many, None where there is no whole.
        names: the first of them, by name.
        by: "welder", "finder" or "other" -> how many were done by such a person.
    """

    code: str
    n: int
    of: int | None = None
    names: tuple[str, ...] = ()
    by: dict[str, int] = {}
