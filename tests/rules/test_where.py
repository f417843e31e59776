"""Where a job is, from what people write."""

from __future__ import annotations

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
            assert CITIES[city][0] == pytest.approx(there, abs=0.5), city
            compared.add(city)
    assert len(compared) > 25
