"""Where the sun stands, and what a clear sky sends down on a level roof.

Invariant: pure functions of place and time; below the horizon a clear sky sends nothing.

The position follows the low-precision formulas of the Astronomical Almanac, as printed
by Michalsky, Solar Energy 40(3), 1988, 227-235 (0.01 degrees from 1950 to 2050, without
refraction). Clear-sky irradiance follows Haurwitz, Journal of Meteorology 2, 1945, 154-166,
with the constants of Reno, Hansen and Stein, SAND2012-2389, 2012.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, datetime

_J2000 = datetime(2000, 1, 1, 12, tzinfo=UTC)


def elevation_deg(at: datetime, latitude_deg: float, longitude_deg: float) -> float:
    """Height of the sun's centre above the horizon, without refraction.

    Args:
        at: timezone-aware.
        latitude_deg: north positive, -90 to 90.
        longitude_deg: east positive, -180 to 180.

    Returns:
        Degrees, -90 to 90.

    Raises:
        ValueError: `at` has no time zone.
    """
    if at.tzinfo is None:
        raise ValueError("the time needs its zone")
    days = (at - _J2000).total_seconds() / 86_400
    anomaly = math.radians(357.528 + 0.9856003 * days)
    longitude = math.radians(
        280.460 + 0.9856474 * days + 1.915 * math.sin(anomaly) + 0.020 * math.sin(2 * anomaly)
    )
    tilt = math.radians(23.439 - 0.0000004 * days)
    ascension = math.atan2(math.cos(tilt) * math.sin(longitude), math.cos(longitude))
    declination = math.asin(math.sin(tilt) * math.sin(longitude))
    utc = at.astimezone(UTC)
    hours = utc.hour + utc.minute / 60 + utc.second / 3600
    sidereal_h = 6.697375 + 0.0657098242 * days + hours
    hour_angle = math.radians(15 * sidereal_h + longitude_deg) - ascension
    latitude = math.radians(latitude_deg)
    sine = math.sin(declination) * math.sin(latitude) + math.cos(declination) * math.cos(
        latitude
    ) * math.cos(hour_angle)
    return math.degrees(math.asin(max(-1.0, min(1.0, sine))))


def clear_sky_w_per_m2(elevation: float) -> float:
    """Irradiance of a level surface under a clear sky, W/m².

    Args:
        elevation: of the sun, degrees.

    Returns:
        W/m².
    """
    height = math.sin(math.radians(elevation))
    return 1098.0 * height * math.exp(-0.059 / height) if height > 0 else 0.0


_HIGH_SUN_W_PER_M2 = 950.0  # a clear summer noon, from memory


def share_by_hour(hour: float) -> float:
    """Share of high sun by the hour of the day alone: half a sine from 6 to 20 h.

    A stand-in where nobody said where the roof is (site setting, no source).

    Args:
        hour: of the local day, 0 to 24.

    Returns:
        0 to 1.
    """
    return max(math.sin(math.pi * (hour - 6.0) / 14.0), 0.0)


@dataclass(frozen=True, slots=True)
class SunSite:
    """Where a roof is, and midnight of the day in question, seconds since 1970 (UTC)."""

    latitude_deg: float
    longitude_deg: float
    midnight_s: float


def clear_at(hour: float, site: SunSite | None) -> float:
    """What a clear sky sends down at an hour of the local day, W/m².

    Args:
        hour: may lie below 0 or beyond 24.
        site: `None` where nobody said: then the hour alone speaks.

    Returns:
        W/m².
    """
    if site is None:
        return _HIGH_SUN_W_PER_M2 * share_by_hour(hour % 24.0)
    at = datetime.fromtimestamp(site.midnight_s + 3600.0 * hour, UTC)
    return clear_sky_w_per_m2(elevation_deg(at, site.latitude_deg, site.longitude_deg))
