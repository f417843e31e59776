"""Sums of lengths.

Invariant: what is counted twice is summed once, and a long roof is given in whole
feet or metres.
"""

from __future__ import annotations

from weldcal.quality.coverage import total
from weldcal.quality.doubt import Doubts
from weldcal.quality.doubt import in_doubt as places_in_doubt
from weldcal.reports import show
from weldcal.words import _


def length(m: float, units: str) -> str:
    """A sum of lengths: whole feet or metres from a thousand on, never in powers of ten."""
    value, unit = (m / 0.3048, "ft") if units == "us" else (m, "m")
    return f"{value:.0f} {show.unit(unit)}" if value >= 1000 else show.distance(m, units)


def in_doubt(found: Doubts | None, units: str) -> str:
    """Length of all that failures put in doubt; what several put in doubt counts once."""
    if found is None:
        return _("not reckoned for so many findings: weldcal doubt")
    metres = sum(map(total, places_in_doubt(found.doubts).values()))
    return length(metres, units) if metres else _("none")
