"""Column names as crews write them (invented, after common practice)."""

import pytest

from weldcal.intake.headers import KNOWN, recognised

from .conftest import Load


@pytest.mark.parametrize(
    ("header", "field", "unit"),
    [
        ("Nozzle (°F)", "nozzle", "F"),
        ("nozzle_temp_F", "nozzle", "F"),
        ("NOZZLE TEMP. [C]", "nozzle", "C"),
        ("Temp of nozzle, deg C", "nozzle", "C"),
        ("Temperatura boquilla (ºC)", "nozzle", "C"),
        ("Temp. de la boquilla °C", "nozzle", "C"),
        ("nozzle (Fahrenheit)", "nozzle", "F"),
        ("nozzle (set)", "nozzle", None),
        ("hot air temp", "nozzle", None),
        ("Velocidad (m/min)", "speed", "m/min"),
        ("speed_m_per_min", "speed", "m/min"),
        ("speed ft / min", "speed", "ft/min"),
        ("Speed (fpm)", "speed", "ft/min"),
        ("dial mark", "speed", "mark"),
        ("Speed", "speed", None),
        ("true speed (m/min)", "true_speed", "m/min"),
        ("velocidad real", "true_speed", None),
        ("Sangrado", "reading", None),
        ("bleed 1", "reading", None),
        ("Bleed-out #2 (in)", "reading", "in"),
        ("bleed3_mm", "reading", "mm"),
        ("Bleed left", "reading", None),
        ("Ambiente", "ambient", None),
        ("air temp F", "ambient", "F"),
        ("sheet temp", "sheet_temp", None),
        ("Sheet (°F)", "sheet_temp", "F"),
        ("Sheet", "sheet", None),
        ("RH %", "humidity", None),
        ("Humedad (%)", "humidity", "%"),
        ("wind_m_s", "wind", "m/s"),
        ("Viento (km/h)", "wind", "km/h"),
        ("Volts", "line_voltage", None),
        ("Bubbling (N/T/H)", "bubbling", None),
        ("Smoke?", "smoke", None),
        ("Operator:", "by", None),
        ("Exposed mat", "exposed_mat", None),
        ("Máquina", "machine", None),
    ],
)
def test_a_header_names_its_field_and_unit(header: str, field: str, unit: str | None) -> None:
    """Case, accents, order of words, brackets and suffixes are folded."""
    column = recognised(header)
    assert column is not None
    assert (column.field, column.unit, column.wrong_unit) == (field, unit, None)


@pytest.mark.parametrize(
    "header",
    [
        "",
        " ",
        "temp",
        "strip",
        "#",
        "wind direction",
        "bleed avg",
        "machine (ft/min)",
        "peel (N/mm)",
        "nozzle serial",
        "deck temp",
        "x" * 1000,
        "(",
        "()",
        "(F)",
        "F",
        "°",
    ],
)
def test_a_header_not_known_is_not_guessed(header: str) -> None:
    """It is kept as a note instead."""
    assert recognised(header) is None


def test_the_example_of_every_field_is_understood() -> None:
    """What the messages tell people to write works."""
    assert {recognised(known.example).field: field for field, known in KNOWN.items()} == {  # type: ignore[union-attr]
        field: field for field in KNOWN
    }


def test_no_spelling_means_two_fields() -> None:
    """Every name in the table is found under its own field."""
    for field, known in KNOWN.items():
        for name in known.spelled:
            assert recognised(name).field == field, name  # type: ignore[union-attr]


def test_a_column_without_a_name_is_told_by_its_number(load: Load) -> None:
    """Counted from one; one that is empty below its empty header is no column."""
    loaded = load(
        "Date,,Nozzle F,Speed,,Bleed 1 in,Sky,\n2026-06-01 07:00,,932,5.5,windy,1/4,clear,\n"
    )
    assert loaded.ignored == ("column 5", "Sky")
    assert "column 5: windy; Sky: clear" in (loaded.strips[0][1].note or "")
