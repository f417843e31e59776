"""Faults per length, with the interval that `weldcal faults` tells: it allows for clumps.

Invariant: nothing found is no proof of nothing there: with no fault at all the
upper end is at least 3.69 faults over the length probed, not 0. How faults clump
is learnt from seams probed over all that was welded, and from how many is said.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from weldcal.quality.faults import PER_M, clumping, interval
from weldcal.reports import show
from weldcal.reports.dossier.charts import Rate
from weldcal.reports.dossier.lengths import length


def probed_over_all(seams: Iterable[Any]) -> list[Any]:
    """Seams welded and walked, with no welded stretch left unprobed."""
    return [s for s in seams if s.walks and s.state.welded_m > 0 and not s.state.unprobed]


def rate(
    label: str, by_seam: Mapping[str, int], seams: Iterable[Any], probed_m: float, units: str
) -> Rate | None:
    """Faults, counted by seam key, over a probed length; None where nothing was probed."""
    if probed_m <= 0:
        return None
    n = sum(by_seam.values())
    pieces = [(by_seam.get(s.key, 0), s.state.welded_m) for s in probed_over_all(seams)]
    dispersion, over = clumping(pieces)
    low, high = interval(n, probed_m, dispersion)
    per, low, high = (show.per_hundred(x, units) for x in (n / probed_m * PER_M, low, high))
    return Rate(label, n, length(probed_m, units), per, low, high, dispersion, over)
