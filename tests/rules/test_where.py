"""Where a job is, from what people write."""

from __future__ import annotations

import pytest

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
