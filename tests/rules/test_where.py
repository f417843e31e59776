"""Where a job is, from what people write."""

from __future__ import annotations

import math
from importlib import resources

import pytest

from weldcal.records.fields import folded
from weldcal.rules.where import CITIES, coordinates


@pytest.mark.parametrize(
    ("text", "clock_h", "found"),
    [
        ("42.36, -71.06", -4, (42.36, -71.06)),
        ("42.36N 71.06W", -4, (42.36, -71.06)),
        ("42.36° N, 71.06° O", -4, (42.36, -71.06)),  # oeste
        ("33.9 S 151.2 E", 10, (-33.9, 151.2)),
        ("12 Pier Road, Boston", -4, (42.4, -71.1)),
        ("BOGOTÁ", -5, (4.7, -74.1)),
        ("Portland", -7, (45.5, -122.7)),
        ("Portland, Maine", -4, (43.7, -70.3)),
        ("Boston", 0, None),  # the English one is not listed
        ("Boston", -1.75, (42.4, -71.1)),  # its sun's clock is -4.74: three hours off at most
        ("Boston", -1.7, None),
        ("the old mill", -6, None),
        ("95.0, 10.0", 0, None),
        ("90.1, 10.0", 0, None),
        ("-90, 180", 0, (-90.0, 180.0)),
        ("10.0, 180.1", 0, None),
        (None, 0, None),
    ],
)
def test_places_as_people_write_them(
    text: str | None, clock_h: float, found: tuple[float, float] | None
) -> None:
    """Coordinates; a city of the list, alone or after a comma, that the clock agrees with."""
    assert coordinates(text, clock_h) == found


def test_every_listed_city_is_on_earth() -> None:
    """And each is found by its own name on its own sun's clock."""
    for city, where in CITIES.items():
        for latitude, longitude in where:
            assert abs(latitude) < 70
            assert coordinates(city, round(longitude / 15)) == (latitude, longitude)


def _degrees(written: str) -> float:
    """+DDMM, +DDDMM or either with seconds, as ISO 6709 has them."""
    sign, digits = (-1 if written[0] == "-" else 1), written[1:]
    whole = len(digits) % 2 + 2
    parts = [
        float(digits[:whole]),
        *(float(digits[n : n + 2]) for n in range(whole, len(digits), 2)),
    ]
    return sign * sum(part / 60**n for n, part in enumerate(parts))


def test_cities_that_zones_are_named_for_lie_where_the_zones_do() -> None:
    """The tz database's zone.tab, to half a degree: it names a zone for a city and says where it is."""
    table = resources.files("tzdata").joinpath("zoneinfo", "zone.tab").read_text()
    compared = set()
    for line in table.splitlines():
        if line.startswith("#"):
            continue
        _country, place, zone = line.split("\t")[:3]
        city = folded(zone.rpartition("/")[2].replace("_", " "))
        split = max(place.rfind("+"), place.rfind("-"))
        there = _degrees(place[:split]), _degrees(place[split:])
        if city in CITIES and zone != "America/Argentina/San_Juan":  # ours is Puerto Rico's
            found = coordinates.__wrapped__(city, round(there[1] / 15))
            assert found == pytest.approx(there, abs=0.5), city
            compared.add(city)
    assert len(compared) > 25


# Degrees and minutes north and west, of public geography, from memory; the zones have the rest.
_NO_ZONE = """
albuquerque 35 05 106 39, atlanta 33 45 84 23, austin 30 16 97 44, baltimore 39 17 76 37,
barcelona 41 23 -2 11, birmingham 33 31 86 48, birmingham 52 29 1 54, boston 42 22 71 04,
buffalo 42 53 78 53, calgary 51 03 114 04, charlotte 35 14 80 51, cincinnati 39 06 84 31,
cleveland 41 30 81 42, columbus 39 58 83 00, dallas 32 47 96 48, el paso 31 46 106 29,
guadalajara 20 40 103 21, houston 29 46 95 23, jacksonville 30 20 81 39, kansas city 39 06 94 35,
las vegas 36 10 115 09, london 42 59 81 15, melbourne 28 05 80 37, memphis 35 09 90 03,
miami 25 47 80 13, milwaukee 43 03 87 57, minneapolis 44 59 93 16, montreal 45 30 73 34,
nashville 36 10 86 47, new orleans 29 58 90 04, oklahoma city 35 28 97 31, omaha 41 15 95 56,
orlando 28 32 81 23, ottawa 45 25 75 42, paris 33 40 95 33, philadelphia 39 57 75 10,
pittsburgh 40 26 80 00, portland 45 31 122 41, portland 43 40 70 16, quebec 46 49 71 13,
raleigh 35 47 78 39, sacramento 38 35 121 29, salt lake city 40 46 111 53, san antonio 29 25 98 30,
san diego 32 43 117 10, san francisco 37 47 122 25, san juan 18 27 66 04, seattle 47 37 122 20,
st. louis 38 38 90 12, tampa 27 58 82 28, tucson 32 13 110 58, tulsa 36 09 95 59,
washington 38 54 77 02
"""


@pytest.mark.parametrize("told", [one.strip() for one in _NO_ZONE.split(",")])
def test_the_other_cities_lie_where_a_map_has_them(told: str) -> None:
    """To a fifth of a degree, on the clock of its own sun."""
    city, *numbers = told.rsplit(" ", 4)
    north, north_min, west, west_min = map(float, numbers)
    longitude = -(west + math.copysign(west_min, west) / 60)
    found = coordinates.__wrapped__(city, round(longitude / 15))  # not as kept from before
    assert found == pytest.approx((north + north_min / 60, longitude), abs=0.2)


def test_every_city_is_compared_with_one_or_the_other() -> None:
    """None is left that only its own row says anything of."""
    zones = resources.files("tzdata").joinpath("zones").read_text().split()
    named = {folded(zone.rpartition("/")[2].replace("_", " ")) for zone in zones}
    listed = {one.strip().rsplit(" ", 4)[0] for one in _NO_ZONE.split(",")}
    assert set(CITIES) - named <= listed
