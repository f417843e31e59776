"""How warm a dark sheet gets in the sun: a steady balance of heat at its surface.

Invariant: more sun never makes it colder, more wind never moves it away from the air.

    absorptance * sun = emittance * sigma * (Ts^4 - Tsky^4) + hc * (Ts - Ta)

The equation, the coefficients hc of 5, 12 and 30 W/m²K for low, medium and high wind,
and the sky 10 K below the air are those of ASTM E1980 (from memory, not seen; its
worked temperatures were computed anew from that equation).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

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
    wind = min(max(wind_m_per_s, _WIND_HC[0][0]), _WIND_HC[-1][0])
    for (low, at_low), (high, at_high) in pairwise(_WIND_HC):
        if wind <= high:
            return at_low + (at_high - at_low) * (wind - low) / (high - low)
    return _WIND_HC[-1][1]


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
