"""Dew point against other hands: PsychroLib, and hours measured at a weather station."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldcal.physics.dewpoint import MARGIN_K, dampness, dew_point_c, frost_point_c

AIR = st.floats(-40.0, 55.0)
HUMIDITY = st.floats(1.0, 100.0)

# (air °C, humidity %, dew point °C): WMO coefficients computed apart; the last column is
# MetPy 1.7.1's answer (Bolton 1980), a different formula for the same vapour.
BY_OTHERS = [
    (10, 50, 0.041, 0.048),
    (15, 70, 9.569, 9.569),
    (20, 50, 9.255, 9.256),
    (20, 85, 17.399, 17.388),
    (25, 54, 15.043, 15.033),
    (30, 40, 14.925, 14.907),
    (35, 70, 28.705, 28.649),
    (0, 80, -3.040, -3.046),
]


@pytest.mark.parametrize(("air", "humidity", "wmo", "metpy"), BY_OTHERS)
def test_the_dew_point_is_that_of_the_published_coefficients(
    air: float, humidity: float, wmo: float, metpy: float
) -> None:
    """To the digits of the table, and within 0.1 K of another formula."""
    assert dew_point_c(air, humidity) == pytest.approx(wmo, abs=6e-4)
    assert dew_point_c(air, humidity) == pytest.approx(metpy, abs=0.1)


@pytest.mark.parametrize("air", range(5, 50, 5))
@pytest.mark.parametrize("humidity", [20, 40, 60, 80, 95])
def test_above_freezing_it_agrees_with_psychrolib(air: float, humidity: float) -> None:
    """Within 0.1 K wherever the dew point is above 0 °C."""
    psychrolib = pytest.importorskip("psychrolib")
    psychrolib.SetUnitSystem(psychrolib.SI)
    expected = psychrolib.GetTDewPointFromRelHum(air, humidity / 100)
    if expected > 0:
        assert dew_point_c(air, humidity) == pytest.approx(expected, abs=0.1)


def test_below_freezing_the_frost_point_is_what_psychrolib_calls_dew_point() -> None:
    """0 °C and 80 %: −2.683 over ice by PsychroLib 2.5.0, where the dew point is −3.04."""
    assert frost_point_c(0, 80) == pytest.approx(-2.683, abs=0.02)
    assert dew_point_c(0, 80) == pytest.approx(-3.04, abs=0.01)


def test_it_falls_a_degree_for_five_per_cent_of_humidity() -> None:
    """Lawrence 2005 (BAMS 86:225), the rule of thumb for air of 60 % and more, within 1.1 K."""
    for air in (12.0, 20.0, 30.0):
        for humidity in (60, 70, 80, 90, 100):
            rule = air - (100 - humidity) / 5
            assert dew_point_c(air, humidity) == pytest.approx(rule, abs=1.1)


def test_it_agrees_with_dew_points_measured_through_a_year() -> None:
    """8760 hours of the typical year shipped with pvlib (Sand Point): readings in whole %, 0.1 K.

    A reading rounded to 1 % of humidity moves the dew point by about 0.1 to 0.3 K, so nearly
    all hours above freezing must lie within half a kelvin.
    """
    pvlib = pytest.importorskip("pvlib")
    import csv

    path = Path(pvlib.__file__).parent / "data" / "703165TY.csv"
    with path.open(encoding="latin-1") as file:
        next(file)
        rows = list(csv.DictReader(file))
    off = [
        dew_point_c(float(row["Dry-bulb (C)"]), float(row["RHum (%)"]))
        - float(row["Dew-point (C)"])
        for row in rows
        if float(row["Dew-point (C)"]) > 0
    ]
    assert len(off) > 3000
    assert abs(sum(off) / len(off)) < 0.1
    assert sum(abs(x) < 0.5 for x in off) / len(off) > 0.97


@given(AIR, HUMIDITY)
def test_the_dew_point_is_never_above_the_air(air: float, humidity: float) -> None:
    """And is the air's own temperature at saturation."""
    assert dew_point_c(air, humidity) <= air + 1e-9
    assert dew_point_c(air, 100.0) == pytest.approx(air, abs=1e-9)


@given(AIR, HUMIDITY, HUMIDITY)
def test_more_humidity_never_lowers_it(air: float, one: float, other: float) -> None:
    """Monotone in humidity."""
    low, high = sorted((one, other))
    assert dew_point_c(air, low) <= dew_point_c(air, high)


@given(st.floats(-40.0, -0.1), HUMIDITY)
def test_frost_forms_before_dew_below_freezing(air: float, humidity: float) -> None:
    """The frost point lies above the dew point wherever it is below 0 °C."""
    assert dew_point_c(air, humidity) <= frost_point_c(air, humidity) <= 0.0


# (air, humidity, sheet, code): which side of the margin, and of freezing, a sheet lies
SHEETS = [
    (20, 50, 30.0, "dry"),
    (20, 50, 9.255 + MARGIN_K + 0.01, "dry"),
    (20, 50, 9.255 + MARGIN_K - 0.01, "near_dew"),
    (20, 50, 9.0, "dew"),
    (2, 80, -3.0, "frost"),
    (0, 80, -2.9, "frost"),  # above the dew point, below the frost point
    (0, 80, -1.0, "near_dew"),
    (35, 0, 20.0, "dry"),
]


@pytest.mark.parametrize(("air", "humidity", "sheet", "code"), SHEETS)
def test_a_sheet_is_dry_near_dew_wet_or_frosty(
    air: float, humidity: float, sheet: float, code: str
) -> None:
    """By the margin of 3 K, borrowed from steel-coating practice."""
    assert dampness(air, humidity, sheet).code == code


@pytest.mark.parametrize(("sheet", "over"), [(0.5, dew_point_c), (-0.5, frost_point_c)])
def test_the_frost_point_counts_below_freezing_alone(sheet: float, over: Any) -> None:
    """The margin of a sheet just above and just below 0 °C."""
    assert dampness(2, 80, sheet).margin_k == pytest.approx(sheet - over(2, 80))


@pytest.mark.parametrize(("air", "humidity"), [(20, 101), (20, -1), (80, 50), (20, math.nan)])
def test_what_cannot_be_is_refused(air: float, humidity: float) -> None:
    """Humidity outside 0 to 100 %, air outside the formula's range."""
    with pytest.raises(ValueError, match=r"from"):
        dew_point_c(air, humidity)


@pytest.mark.parametrize(
    ("off_k", "code"),
    [(-0.5, "dew"), (0.0, "dew"), (0.5, "near_dew"), (2.9, "near_dew"), (3.0, "dry"), (9.0, "dry")],
)
def test_how_near_a_sheet_is_to_the_dew(off_k: float, code: str) -> None:
    """At the dew point dew forms; just the margin above it a sheet is dry. Saturated air of 0 °C.

    Its dew point is 0 °C whatever the coefficients, for the logarithm of 1 is 0.
    """
    found = dampness(0.0, 100.0, off_k) if off_k >= 0 else dampness(10.0, 100.0, 10.0 + off_k)
    assert (found.code, found.margin_k) == (code, pytest.approx(off_k, abs=1e-9))


@pytest.mark.parametrize(("sheet_c", "code"), [(-0.1, "frost"), (0.0, "dew"), (0.5, "dew")])
def test_below_freezing_it_is_frost(sheet_c: float, code: str) -> None:
    """In air of 20 °C and 90 % any of these sheets is wet; at 0 °C the dew point still counts."""
    found = dampness(20.0, 90.0, sheet_c)
    assert found.code == code
    point = frost_point_c if code == "frost" else dew_point_c
    assert found.margin_k == pytest.approx(sheet_c - point(20.0, 90.0))


def test_air_that_the_formula_holds_for_is_taken_to_its_bounds() -> None:
    """-45 to 60 °C, 0 to 100 %; air drier than 1 % counts as of 1 %."""
    for air in (-45.0, 60.0):
        assert dew_point_c(air, 50.0) < air
    for air, humidity in ((-45.1, 50.0), (60.1, 50.0), (20.0, -0.1), (20.0, 100.1)):
        with pytest.raises(ValueError, match="from"):
            dew_point_c(air, humidity)
    assert dew_point_c(20.0, 0.0) == dew_point_c(20.0, 1.0) < dew_point_c(20.0, 1.1)
