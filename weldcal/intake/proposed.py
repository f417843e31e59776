"""What a typed line came to, before it counts."""

from __future__ import annotations

from msgspec import Struct

from weldcal.intake.probe_line import ProbeLine
from weldcal.records.seam import Finding, Walk
from weldcal.records.strip import Strip


class StripProposed(Struct, frozen=True):
    """A strip as it will be recorded once somebody says so.

    Attributes:
        as_on: short name of the strip that what was not typed was taken from, if any.
        taken: what was taken from it: names of the setting's fields.
        age_h: hours from that strip to this one.
    """

    strip: Strip
    as_on: str | None = None
    taken: tuple[str, ...] = ()
    age_h: float = 0.0


class WalkProposed(Struct, frozen=True):
    """A walk as it will be recorded once somebody says so; `by_list`: its length is the seam's."""

    walk: Walk
    found: tuple[Finding, ...]
    line: ProbeLine
    by_list: bool = False
