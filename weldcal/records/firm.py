"""What outlives a job: somebody says that two things of two jobs are one, or are not.

Invariant: a thing is named by its job's entry and its name there; what is said
last of two things counts.
"""

from __future__ import annotations

from msgspec import Struct

from weldcal.records.common import Seen
from weldcal.records.fields import choose


class Thing(Struct, frozen=True, kw_only=True):
    """A machine, sheet, instrument or person as one job names it.

    Attributes:
        job: the id of the job's entry.
    """

    job: str
    name: str


class Same(Struct, frozen=True, kw_only=True):
    """Two things of two jobs are one, or (`same` is False) are not.

    Attributes:
        what: machine, sheet, instrument or person.
        one, other: the two.
        seen: who says so, and when.
    """

    what: str
    one: Thing
    other: Thing
    same: bool
    seen: Seen
    note: str | None = None

    def __post_init__(self) -> None:
        """Refuse a kind of thing that does not outlive a job (NotAChoice)."""
        choose("outlives", self.what)
