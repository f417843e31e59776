"""Where a sheet goes after it was read: the sun's path and the hour, from the reading on.

Invariant: at the hour of the reading it is what was read, whatever the balance would say; a
path under a covered sky never moves it more than one under a clear sky.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from weldcal.physics.sun import SunSite, clear_at
from weldcal.physics.surface import convection, steady_c, sun_behind

Sky = Literal["clear", "broken", "overcast"]

# Share of a clear sky's sun that an overcast one lets through: Kasten & Czeplak, Solar Energy
# 24(2), 1980, 177-189, 1 - 0.75 at 8 octas (from memory).
_OVERCAST = 0.25
# From this much sun on, a reading beside the air's tells how much of it the sheet takes in.
_TELLING_W_PER_M2 = 200.0
_LEAST_SHARE, _MOST_SHARE = 0.25, 1.1
# A clear day's air: from coldest to warmest, and the hour of the warmest (site setting, no source).
_AIR_RANGE_K, _WARMEST_HOUR = 8.0, 15.0
_MILD_C = 20.0
STEP_H = 1.0 / 6.0


@dataclass(frozen=True, slots=True)
class SheetRead:
    """A sheet's temperature as read, with what was read beside it; `None` is "not read"."""

    sheet_c: float
    hour: float
    air_c: float | None = None
    wind_m_per_s: float | None = None
    site: SunSite | None = None
    sky: Sky | None = None

    def sun_share(self) -> float:
        """Share of a clear sky's sun that the sheet takes in as a black one would.

        From the reading itself where there was sun and the air was read; else from the sky.

        Returns:
            0 to 1.
        """
        clear = clear_at(self.hour, self.site)
        if self.air_c is not None and clear >= _TELLING_W_PER_M2:
            behind = sun_behind(self.sheet_c, self.air_c, convection(self.wind_m_per_s))
            return min(max(behind / clear, _LEAST_SHARE), _MOST_SHARE)
        return _OVERCAST if self.sky == "overcast" else 1.0

    def moved_k(self, hour: float) -> float:
        """How far the sheet has moved at an hour, K, if the sky stays as it is.

        Args:
            hour: of the local day.

        Returns:
            K, from the reading on.
        """
        share, hc = self.sun_share(), convection(self.wind_m_per_s)
        sun_then = share * clear_at(self.hour, self.site)
        sun_now = share * clear_at(hour, self.site)
        air = self.air_c
        if air is None:
            air = self.sheet_c - (steady_c(sun_then, _MILD_C, hc) - _MILD_C)
        warmer = self.air_moved_k(hour)
        return steady_c(sun_now, air + warmer, hc) - steady_c(sun_then, air, hc)

    def air_moved_k(self, hour: float) -> float:
        """How far the air has moved at an hour, K: less under a covered sky.

        Args:
            hour: of the local day.

        Returns:
            K, from the reading on.
        """
        return (_air_k(hour) - _air_k(self.hour)) * min(self.sun_share(), 1.0)

    def at(self, hour: float) -> float:
        """The sheet at an hour, °C, if the sky stays as it is.

        Args:
            hour: of the local day.

        Returns:
            °C.
        """
        return self.sheet_c + self.moved_k(hour)

    def hours_until(self, moved_k: float, longest_h: float) -> float | None:
        """Hours until it has moved by so much, up or down; `None` where not within the longest.

        Args:
            moved_k: how far, K.
            longest_h: hours looked at.

        Returns:
            hours from the reading on.
        """
        for hour in hours_from(self.hour, self.hour + longest_h):
            if abs(self.moved_k(hour)) >= moved_k:
                return hour - self.hour
        return None


def hours_from(first: float, last: float, step_h: float = STEP_H) -> Iterator[float]:
    """Every step after one hour until another is reached: the last one may lie beyond it.

    Args:
        first: hour of the local day.
        last: hour of the local day.
        step_h: hours.
        first: hour of the day.
        last: hour to be reached.
        step_h: step, h.

    Returns:
        the hours, ascending.
    """
    for n in range(1, math.ceil((last - first) / step_h - 1e-9) + 1):
        yield first + n * step_h


def _air_k(hour: float) -> float:
    return _AIR_RANGE_K / 2.0 * math.cos(2.0 * math.pi * (hour - _WARMEST_HOUR) / 24.0)
