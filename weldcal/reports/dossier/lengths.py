"""Sums of lengths.

Invariant: what is counted twice is summed once, or said to be; a long roof is given in whole
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


def welded(m: float, again_m: float, units: str) -> str:
    """What runs welded; where some of it was welded over again, how much: the roof counts it once."""
    if length(m, units) == length(m - again_m, units):
        return length(m, units)
    whole, again = length(m, units), length(again_m, units)
    return _("{length} ({again} of it over again)", length=whole, again=again)


def probed(m: float, over_m: float, units: str) -> str:
    """What was probed; where some of it was welded over since, how much: the roof counts it no more."""
    if length(m, units) == length(m - over_m, units):
        return length(m, units)
    whole, over = length(m, units), length(over_m, units)
    return _("{length} ({over} of it welded over since)", length=whole, over=over)


def in_doubt(doubts: Doubts | None, units: str) -> str:
    """Length of all that failures put in doubt; what several put in doubt counts once."""
    if doubts is None:
        return _("not reckoned for so many findings: weldcal doubt")
    metres = sum(map(total, places_in_doubt(doubts.doubts).values()))
    return length(metres, units) if metres else _("none")
