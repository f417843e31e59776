"""What is likely a slip of the hand: each bound from either side, as somebody types it.

The bounds are this program's.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from weldcal.quantities import Quantity
from weldcal.records.common import Conditions
from weldcal.records.plausible import DialRange, far_slip, speed_slip, weather_slips


def typed(text: str, unit: str = "ft/min") -> Quantity:
    """A number with its unit."""
    return Quantity(text, Fraction(text), unit)


@pytest.mark.parametrize(
    ("text", "likely"),
    [
        ("1", "fits"),
        ("20", "fits"),
        ("5.5", "fits"),
        ("0.9", None),
        ("20.1", 2.01),
        ("55", 5.5),
        ("200", 20.0),
        ("201", 2.01),
        ("2000", 20.0),
        ("2001", None),
        ("0.1", None),
    ],
)
def test_a_speed_that_the_dial_cannot_show(text: str, likely: float | str | None) -> None:
    """A dial of 1 to 20 ft/min, its ends included; else what a point too far right would mean."""
    found = speed_slip(typed(text), DialRange("blue", "ft/min", 1.0, 20.0))
    assert ("fits" if found is None else found.values["likely"]) == likely


@pytest.mark.parametrize("text", ["0.3048", "6.096"])
def test_the_ends_of_a_dial_are_on_it_in_other_units(text: str) -> None:
    """1 and 20 ft/min, typed in m/min."""
    assert speed_slip(typed(text, "m/min"), DialRange("blue", "ft/min", 1.0, 20.0)) is None


def test_a_dial_of_bare_numbers_says_nothing_of_speeds() -> None:
    """Nor one in ft/min of a mark; a mark is held against marks."""
    bare, feet = DialRange("old", "mark", 1.0, 9.0), DialRange("blue", "ft/min", 1.0, 20.0)
    assert speed_slip(typed("55"), bare) is None
    assert speed_slip(typed("55", "mark"), feet) is None
    assert speed_slip(typed("9", "mark"), bare) is None
    found = speed_slip(typed("55", "mark"), bare)
    assert found is not None and found.values["likely"] == 5.5


@pytest.mark.parametrize(
    ("now", "last", "far"),
    [
        ("5", "2", True),  # 2.5 times
        ("4.9", "2", False),
        ("2", "5", True),
        ("2", "4.9", False),
        ("0", "5", False),
        ("5", "0", False),
    ],
)
def test_a_speed_far_from_the_last_strips(now: str, last: str, far: bool) -> None:
    """Two and a half times as fast, or as slow (site setting, no source)."""
    assert (far_slip(typed(now), typed(last)) is not None) is far
    assert far_slip(typed(now), typed(last, "mark")) is None


@pytest.mark.parametrize(
    ("read", "slip"),
    [
        ({"wind": ("24.5", "m/s")}, None),
        ({"wind": ("24.6", "m/s")}, ("wind_hardly", None)),
        ({"wind": ("54", "mph")}, None),  # 24.1 m/s
        ({"wind": ("55", "mph")}, ("wind_hardly", None)),  # 24.6 m/s
        ({"sheet_temp": ("90", "C")}, None),
        ({"sheet_temp": ("90.1", "C")}, ("sheet_hardly", None)),
        ({"sheet_temp": ("-30", "C")}, None),
        ({"under_temp": ("-30.1", "C")}, ("sheet_hardly", None)),
        ({"sheet_temp": ("0", "C"), "ambient": ("20", "C")}, None),
        ({"sheet_temp": ("0", "C"), "ambient": ("21", "C")}, ("sheet_hardly", 21.0)),
        ({"sheet_temp": ("60", "C"), "ambient": ("20", "C")}, None),
        ({"sheet_temp": ("95", "C"), "ambient": ("20", "C")}, ("sheet_hardly", None)),
    ],
)
def test_weather_that_hardly_is(
    read: dict[str, tuple[str, str]], slip: tuple[str, float | None] | None
) -> None:
    """Each bound as it stands is none; the air is named only where the sheet is too far below it.

    Beaufort 10 begins at 24.5 m/s (World Meteorological Organization; from memory); 90 °C,
    -30 °C and 20 K below the air are site settings, no source.
    """
    found = weather_slips(Conditions(**{name: typed(*one) for name, one in read.items()}))
    said = [(one.code, one.values.get("ambient_c")) for one in found]
    assert said == ([] if slip is None else [slip])
