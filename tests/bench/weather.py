"""Real hourly weather, and the sheet's temperature under it.

Invariant: air temperature, humidity, wind, sun and cloud are measured hours of
two typical meteorological years (TMY3, US National Renewable Energy
Laboratory) that ship inside the pvlib package: a temperate inland station and
a cool, windy coastal one. Only the sheet's temperature is computed.

Sheet temperature: steady sol-air balance of a dark sheet over insulation (no
heat through the back),

    a*GHI + e*s*(Tsky^4 - T^4) + hc*(Ta - T) = 0,

solved by Newton steps each hour and then lagged. hc = 5.7 + 3.8*V (McAdams,
from memory); clear-sky temperature 0.0552*Ta^1.5 K (Swinbank 1963, from
memory), mixed with Ta by cloud cover.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np

FILES = ("723170TYA.CSV", "703165TY.csv")
SIGMA = 5.670e-8
EMISSIVITY = 0.92
ROOF_WIND = 0.6  # wind at the lap over wind at the mast; common practice, no source


@dataclass(frozen=True, slots=True)
class Weather:
    """Hourly arrays of shape (days, 24): °C, °C, m/s, %, W/m2, mm; `sheet_c` at absorptance 1."""

    ambient_c: np.ndarray
    wind_m_per_s: np.ndarray
    humidity_pct: np.ndarray
    sun_w_per_m2: np.ndarray
    cloud: np.ndarray
    workable: tuple[int, ...]

    def at(self, name: str, day: int, hour: float) -> float:
        """The named array at a local hour, between its hours by a straight line."""
        return float(np.interp(hour, np.arange(24.0), getattr(self, name)[day]))

    def sheet_c(self, day: int, hour: float, absorptance: float) -> float:
        """Sheet surface temperature, °C; the last half hour counts half (thermal lag)."""
        now, before = (self._balance(day, h, absorptance) for h in (hour, hour - 0.5))
        return 0.5 * (now + before)

    def _balance(self, day: int, hour: float, absorptance: float) -> float:
        air = self.at("ambient_c", day, hour) + 273.15
        wind = ROOF_WIND * self.at("wind_m_per_s", day, hour)
        cloud = self.at("cloud", day, hour)
        sky = (1 - 0.7 * cloud) * 0.0552 * air**1.5 + 0.7 * cloud * air
        hc = 5.7 + 3.8 * wind
        gain = absorptance * self.at("sun_w_per_m2", day, hour) + EMISSIVITY * SIGMA * sky**4
        sheet = air
        for _ in range(6):
            excess = gain + hc * (air - sheet) - EMISSIVITY * SIGMA * sheet**4
            sheet += excess / (hc + 4 * EMISSIVITY * SIGMA * sheet**3)
        return sheet - 273.15


@lru_cache(maxsize=2)
def station(number: int) -> Weather:
    """The weather of one of the two shipped stations."""
    import pvlib

    path = Path(pvlib.__file__).parent / "data" / FILES[number]
    table, _ = pvlib.iotools.read_tmy3(path, map_variables=True)

    def grid(column: str) -> np.ndarray:
        return table[column].to_numpy(float).reshape(365, 24)

    rain = np.clip(grid("Lprecip depth (mm)"), 0, None)
    ambient = grid("temp_air")
    dry = (rain[:, 5:16] < 0.3).all(axis=1)
    warm = (ambient[:, 7] > 1.0) & (ambient[:, 7:16].max(axis=1) < 38.0)
    return Weather(
        ambient_c=ambient,
        wind_m_per_s=grid("wind_speed"),
        humidity_pct=grid("relative_humidity"),
        sun_w_per_m2=grid("ghi"),
        cloud=grid("TotCld (tenths)") / 10.0,
        workable=tuple(int(d) for d in np.flatnonzero(dry & warm)),
    )
