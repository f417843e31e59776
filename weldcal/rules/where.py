"""Where a roof is, from what people write for it: coordinates, or a city of a short list.

Invariant: a city counts only where the job's own clock could be its clock, so that one of two
cities of a name is not taken for the other.
"""

from __future__ import annotations

import re
from functools import lru_cache

from weldcal.records.fields import folded

# Latitude (north), longitude (east), degrees, to about a tenth: from memory, not seen. A tenth
# of a degree moves the sun by less than half a minute.
CITIES: dict[str, tuple[tuple[float, float], ...]] = {
    "albuquerque": ((35.1, -106.6),),
    "anchorage": ((61.2, -149.9),),
    "atlanta": ((33.7, -84.4),),
    "austin": ((30.3, -97.7),),
    "baltimore": ((39.3, -76.6),),
    "barcelona": ((41.4, 2.2),),
    "berlin": ((52.5, 13.4),),
    "birmingham": ((33.5, -86.8), (52.5, -1.9)),
    "bogota": ((4.7, -74.1),),
    "boise": ((43.6, -116.2),),
    "boston": ((42.4, -71.1),),
    "buenos aires": ((-34.6, -58.4),),
    "buffalo": ((42.9, -78.9),),
    "calgary": ((51.0, -114.1),),
    "charlotte": ((35.2, -80.8),),
    "chicago": ((41.9, -87.6),),
    "cincinnati": ((39.1, -84.5),),
    "cleveland": ((41.5, -81.7),),
    "columbus": ((40.0, -83.0),),
    "dallas": ((32.8, -96.8),),
    "denver": ((39.7, -105.0),),
    "detroit": ((42.3, -83.0),),
    "dublin": ((53.3, -6.3),),
    "edmonton": ((53.5, -113.5),),
    "el paso": ((31.8, -106.5),),
    "guadalajara": ((20.7, -103.3),),
    "helsinki": ((60.2, 24.9),),
    "honolulu": ((21.3, -157.9),),
    "houston": ((29.8, -95.4),),
    "indianapolis": ((39.8, -86.2),),
    "jacksonville": ((30.3, -81.7),),
    "kansas city": ((39.1, -94.6),),
    "las vegas": ((36.2, -115.1),),
    "lima": ((-12.0, -77.0),),
    "lisbon": ((38.7, -9.1),),
    "london": ((51.5, -0.1), (43.0, -81.2)),
    "los angeles": ((34.1, -118.2),),
    "madrid": ((40.4, -3.7),),
    "melbourne": ((-37.8, 145.0), (28.1, -80.6)),
    "memphis": ((35.1, -90.0),),
    "mexico city": ((19.4, -99.1),),
    "miami": ((25.8, -80.2),),
    "milwaukee": ((43.0, -87.9),),
    "minneapolis": ((45.0, -93.3),),
    "monterrey": ((25.7, -100.3),),
    "montreal": ((45.5, -73.6),),
    "nashville": ((36.2, -86.8),),
    "new orleans": ((30.0, -90.1),),
    "new york": ((40.7, -74.0),),
    "oklahoma city": ((35.5, -97.5),),
    "omaha": ((41.3, -96.0),),
    "orlando": ((28.5, -81.4),),
    "oslo": ((59.9, 10.7),),
    "ottawa": ((45.4, -75.7),),
    "paris": ((48.9, 2.4), (33.7, -95.6)),
    "philadelphia": ((40.0, -75.2),),
    "phoenix": ((33.4, -112.1),),
    "pittsburgh": ((40.4, -80.0),),
    "portland": ((45.5, -122.7), (43.7, -70.3)),
    "quebec": ((46.8, -71.2),),
    "raleigh": ((35.8, -78.6),),
    "rome": ((41.9, 12.5),),
    "sacramento": ((38.6, -121.5),),
    "salt lake city": ((40.8, -111.9),),
    "san antonio": ((29.4, -98.5),),
    "san diego": ((32.7, -117.2),),
    "san francisco": ((37.8, -122.4),),
    "san juan": ((18.5, -66.1),),
    "santiago": ((-33.4, -70.7),),
    "seattle": ((47.6, -122.3),),
    "st. louis": ((38.6, -90.2),),
    "stockholm": ((59.3, 18.1),),
    "sydney": ((-33.9, 151.2),),
    "tampa": ((28.0, -82.5),),
    "toronto": ((43.7, -79.4),),
    "tucson": ((32.2, -111.0),),
    "tulsa": ((36.2, -95.9),),
    "vancouver": ((49.3, -123.1),),
    "washington": ((38.9, -77.0),),
    "winnipeg": ((49.9, -97.1),),
}

_NUMBERS = re.compile(
    r"^\s*(-?\d{1,2}(?:\.\d+)?)\s*°?\s*([NS]?)\s*[,; ]\s*(-?\d{1,3}(?:\.\d+)?)\s*°?\s*([EWO]?)\s*$",
    re.IGNORECASE,
)
# Clocks run up to this far from the sun (summer time, wide zones).
_FURTHEST_H = 3.0


@lru_cache(maxsize=64)
def coordinates(place: str | None, clock_h: float) -> tuple[float, float] | None:
    """Latitude and longitude of a place as written; `None` where they cannot be known.

    Args:
        place: like "42.36, -71.06", "42.36N 71.06W" or "12 Pier Road, Boston".
        clock_h: hours that the job's clock is ahead of UTC.

    Returns:
        Degrees, north and east positive.
    """
    if not place:
        return None
    read = _NUMBERS.match(place)
    if read:
        latitude = float(read[1]) * (-1.0 if read[2].upper() == "S" else 1.0)
        longitude = float(read[3]) * (-1.0 if read[4].upper() in ("W", "O") else 1.0)
        return (latitude, longitude) if abs(latitude) <= 90 and abs(longitude) <= 180 else None
    parts = {folded(part) for part in place.split(",")}
    for city, where in CITIES.items():
        near = [one for one in where if abs(one[1] / 15.0 - clock_h) <= _FURTHEST_H]
        if near and parts & {city, city.replace("st. ", "saint ")}:
            return min(near, key=lambda one: abs(one[1] / 15.0 - clock_h))
    return None
