"""What was measured of a machine and of the air, as pages show it."""

from __future__ import annotations

from msgspec import Struct

from weldcal.quality.measure import Drift, HeatCheck, SpeedCheck
from weldcal.views.rows import MarkedMeasure


class Drifted(Struct, frozen=True):
    """A machine's measurements and what they say.

    Attributes:
        speeds: each measurement of its speed, `mark` in what the dial shows, against the dial
            as listed; in the order made.
        drift: what they say together.
        affected: names of the seams concerned.
    """

    speeds: tuple[tuple[MarkedMeasure, SpeedCheck], ...]
    drift: Drift
    affected: tuple[str, ...]


Heats = list[tuple[MarkedMeasure, HeatCheck]]  # measured nozzle temperatures, each as judged


class AirRead(Struct, frozen=True):
    """Conditions as they count now; None where nobody read them."""

    ambient_c: float | None
    humidity_pct: float | None
    sheet_c: float | None
    wind_m_per_s: float | None
    line_v: float | None
    damp: bool
