"""Faults per length, with an interval that is exact for counts.

Invariant: nothing found is no proof of nothing there: with no fault at all the
upper end is 3.69 faults over the length probed, not 0.
"""

from __future__ import annotations

from weldcal.quality.faults import PER_M, interval
from weldcal.reports.dossier.charts import Rate
from weldcal.reports.dossier.lengths import length

_M100 = 100.0 / PER_M


def per_length(units: str) -> str:
    """The length rates are told for: `100 ft` or `100 m`."""
    return "100 ft" if units == "us" else "100 m"


def rate(label: str, n: int, probed_m: float, units: str) -> Rate | None:
    """Faults over a probed length; None where nothing was probed."""
    if probed_m <= 0:
        return None
    scale = 1.0 if units == "us" else _M100
    low, high = (end * scale for end in interval(n, probed_m))
    return Rate(label, n, length(probed_m, units), n / probed_m * PER_M * scale, low, high)
