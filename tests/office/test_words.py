"""The words of the office's cells, each number worked out by hand."""

from __future__ import annotations

import pytest

from weldcal.reports import office_pages
from weldcal.views.office import Off


def test_how_far_off_is_told_with_its_range_and_the_month_before() -> None:
    """A dash where nothing was measured."""
    off = Off("2026-06", 4, 1.5, -0.5, 3.0, None)
    one = office_pages._off(off)
    assert "2026-06" in one and "n 4" in one and "1.5" in one and "3.0" in one
    two = office_pages._off(Off("2026-06", 4, 1.5, -0.5, 3.0, ("2026-05", 2.5)))
    assert two.startswith(f"{one}; ")
    assert two.endswith(" in 2026-05") and "2.5" in two
    assert office_pages._off(None) == "–"


@pytest.mark.parametrize(
    ("units", "numbers"), [("si", ("0.9", "0.5", "1.8")), ("us", ("0.5", "0.3", "1.0"))]
)
def test_a_speed_a_degree_is_told_per_degree_of_the_jobs_units(
    units: str, numbers: tuple[str, str, str]
) -> None:
    """A degree Fahrenheit is five ninths of a kelvin; too few are said."""
    told = office_pages._per_degree((0.9, 0.54, 1.8), units)
    assert [number for number in numbers if number not in told] == []
    assert office_pages._per_degree(None, units) == "too few"
