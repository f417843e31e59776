"""How warm a dark sheet gets in the sun, and where it goes after it was read.

Invariant: more sun never makes it colder, more wind never moves it away from the air. At the
hour of the reading it is what was read, whatever the balance would say; a path under a
covered sky never moves it more than one under a clear sky.

A steady balance of heat at the surface:

    absorptance * sun = emittance * sigma * (Ts^4 - Tsky^4) + hc * (Ts - Ta)

The equation, the coefficients hc of 5, 12 and 30 W/m²K for low, medium and high wind,
and the sky 10 K below the air are those of ASTM E1980 (from memory, not seen; its
worked temperatures were computed anew from that equation).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from weldcal.physics.sun import SunSite, clear_at

STEFAN_BOLTZMANN = 5.670374419e-8  # W/m²K⁴, CODATA 2018
SKY_BELOW_AIR_K = 10.0
_ZERO_C = 273.15
# Wind, m/s -> hc, W/m²K: the standard's low (0 to 2), medium (2 to 6), high (6 to 10) at the
# middle of each; straight between them.
_WIND_HC = ((1.0, 5.0), (4.0, 12.0), (8.0, 30.0))


@dataclass(frozen=True, slots=True)
class Surface:
    """A sheet's surface: shares of the sun taken in and of heat given off, 0 to 1.

    The defaults are a black surface as in the standard's worked example.
    """

    absorptance: float = 0.95
    emittance: float = 0.90


BLACK = Surface()


def convection(wind_m_per_s: float | None) -> float:
    """Convection coefficient, W/m²K; the medium one where nobody read the wind.

    Args:
        wind_m_per_s: m/s; `None` where nobody read it.

    Returns:
        W/m²K.
    """
    if wind_m_per_s is None:
        return _WIND_HC[1][1]
    return _WIND_HC[0][1] + sum(
        (at_high - at_low) * min(max((wind_m_per_s - low) / (high - low), 0.0), 1.0)
        for (low, at_low), (high, at_high) in pairwise(_WIND_HC)
    )


def steady_c(
    sun_w_per_m2: float, air_c: float, hc_w_per_m2k: float, surface: Surface = BLACK
) -> float:
    """Steady temperature of a surface in the sun, °C.

    Args:
        sun_w_per_m2: irradiance of the surface, not below 0.
        air_c: of the air beside it; the sky is `SKY_BELOW_AIR_K` colder.
        hc_w_per_m2k: convection coefficient, above 0.
        surface: what it takes in and gives off.

    Returns:
        °C.
    """
    air = air_c + _ZERO_C
    taken = surface.absorptance * sun_w_per_m2
    grey = surface.emittance * STEFAN_BOLTZMANN
    sky4 = (air - SKY_BELOW_AIR_K) ** 4
    at = air
    for _step in range(30):  # Newton: the left side less the right is concave and falls
        off = taken - grey * (at**4 - sky4) - hc_w_per_m2k * (at - air)
        step = off / (4 * grey * at**3 + hc_w_per_m2k)
        at += step
        if abs(step) < 1e-9:
            break
    return at - _ZERO_C


def sun_behind(surface_c: float, air_c: float, hc_w_per_m2k: float) -> float:
    """The irradiance, W/m², at which a dark roof would stand at `surface_c`; 0 if it needs none.

    Args:
        surface_c: the surface, °C.
        air_c: the air, °C.
        hc_w_per_m2k: convection coefficient, W/m²K.

    Returns:
        W/m².
    """
    at, air = surface_c + _ZERO_C, air_c + _ZERO_C
    grey = BLACK.emittance * STEFAN_BOLTZMANN
    lost = grey * (at**4 - (air - SKY_BELOW_AIR_K) ** 4) + hc_w_per_m2k * (at - air)
    return max(0.0, lost / BLACK.absorptance)


Sky = Literal["clear", "broken", "overcast"]

# Share of a clear sky's sun that an overcast one lets through: Kasten & Czeplak, Solar Energy
# 24(2), 1980, 177-189, 1 - 0.75 at 8 octas (from memory).
OVERCAST = 0.25
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
        if self.air_c is not None and self.tells_sun():
            behind = sun_behind(self.sheet_c, self.air_c, convection(self.wind_m_per_s))
            clear = clear_at(self.hour, self.site)
            return min(max(behind / clear, _LEAST_SHARE), _MOST_SHARE)
        return OVERCAST if self.sky == "overcast" else 1.0

    def tells_sun(self) -> bool:
        """Whether the reading itself shows how much sun there was: the air was read beside it,
        and a clear sky would have warmed the sheet.

        Returns:
            True where it does.
        """
        return self.air_c is not None and clear_at(self.hour, self.site) >= _TELLING_W_PER_M2

    def moved_k(self, hour: float) -> float:
        """How far the sheet has moved at an hour, K, if the sky stays as it is.

        Args:
            hour: of the local day.

        Returns:
            K, from the reading on.
        """
        share = self.sun_share()
        return self.moved_between_k(hour, share, share)

    def moved_between_k(
        self, hour: float, share_then: float, share_now: float, alike: float = 1.0
    ) -> float:
        """How far the sheet has moved at an hour, K, under a sky and a wind that changed.

        Args:
            hour: of the local day.
            share_then: of a clear sky's sun, at the reading.
            share_now: the same at that hour.
            alike: how alike the wind of that hour is to the one read, 1 to 0.

        Returns:
            K, from the reading on.
        """
        hc = convection(self.wind_m_per_s)
        sun_then = share_then * clear_at(self.hour, self.site)
        sun_now = share_now * clear_at(hour, self.site)
        air = self.air_c
        if air is None:
            air = self.sheet_c - (steady_c(sun_then, _MILD_C, hc) - _MILD_C)
        warmer = self._air_moved_k(hour, share_now)
        there = steady_c(sun_now, air + warmer, self._convection_later(alike))
        return there - steady_c(sun_then, air, hc)

    def warmed_k(self, sun_w_per_m2: float, alike: float = 1.0) -> float:
        """How much warmer so much more sun makes the sheet, K, where it was read: first order.

        Args:
            sun_w_per_m2: more sun, W/m².
            alike: how alike the wind is by then to the one read, 1 to 0.

        Returns:
            K.
        """
        lost = 4.0 * BLACK.emittance * STEFAN_BOLTZMANN * (self.sheet_c + _ZERO_C) ** 3
        return BLACK.absorptance * sun_w_per_m2 / (lost + self._convection_later(alike))

    def _convection_later(self, alike: float) -> float:
        """W/m²K under a wind so alike to the one read; of a wind that is nothing like it, medium."""
        medium = convection(None)
        return medium + alike * (convection(self.wind_m_per_s) - medium)

    def air_moved_k(self, hour: float) -> float:
        """How far the air has moved at an hour, K: less under a covered sky.

        Args:
            hour: of the local day.

        Returns:
            K, from the reading on.
        """
        return self._air_moved_k(hour, self.sun_share())

    def _air_moved_k(self, hour: float, share: float) -> float:
        return (_air_k(hour) - _air_k(self.hour)) * min(share, 1.0)

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

    Returns:
        the hours, ascending.
    """
    for n in range(1, math.ceil((last - first) / step_h - 1e-9) + 1):
        yield first + n * step_h


def _air_k(hour: float) -> float:
    return _AIR_RANGE_K / 2.0 * math.cos(2.0 * math.pi * (hour - _WARMEST_HOUR) / 24.0)
