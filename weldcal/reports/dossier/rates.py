"""Faults per length, with the interval that `weldcal faults` shows: it allows for clumps.

Invariant: nothing found is no proof of nothing there: with no fault at all the
upper end is at least 3.69 faults over the length probed, not 0. How faults clump
is learnt from the probed part of every run, and from how many is said.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from msgspec import Struct

from weldcal.quality.faults import PER_M, ProbedPiece, clumping, interval
from weldcal.reports import show
from weldcal.reports.dossier.lengths import length
from weldcal.views.dossier import SeamFacts


class ShownRate(Struct, frozen=True):
    """A rate with its interval: faults `n` over a length, both rates per length.

    Attributes:
        dispersion: how faults clump, 1 where they fall as chance alone would have them.
        seams: from how many that was learnt.
    """

    label: str
    n: int
    over: str
    rate: float
    low: float
    high: float
    dispersion: float
    seams: int


def probed_over_all(seams: Iterable[SeamFacts]) -> list[SeamFacts]:
    """Seams welded and walked, with no welded stretch left unprobed."""
    return [s for s in seams if s.walks and s.state.welded_m > 0 and not s.state.unprobed]


def rate(
    label: str,
    faults: int,
    pieces: Sequence[ProbedPiece],
    probed_m: float,
    units: str,
    kind: str | None = None,
) -> ShownRate | None:
    """The rate of faults on probed lap, with its interval.

    Args:
        label: what it is called.
        faults: how many, of `kind`.
        pieces: the probed part of each run, from which the clumping is learnt.
        probed_m: lap probed, m.
        units: us or si.
        kind: of fault; all where None.

    Returns:
        Rates per 100 ft or 100 m; None where nothing was probed.
    """
    if probed_m <= 0:
        return None
    dispersion, over = clumping(pieces, kind)
    low, high = interval(faults, probed_m, dispersion)
    per, low, high = (show.per_hundred(x, units) for x in (faults / probed_m * PER_M, low, high))
    return ShownRate(label, faults, length(probed_m, units), per, low, high, dispersion, over)
