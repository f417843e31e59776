"""Numbers with units: read as people type them, converted exactly.

Outside references: pint's unit registry for every pair of units; NIST SP 811
(2008) appendix B.8 for single factors.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import permutations

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldcal.errors import NotANumber, WrongUnit
from weldcal.quantities import UNITS, Quantity, convert, parse, sixteenths, unit_named

UREG = pint.UnitRegistry()
PINT = {
    "in": "inch",
    "ft": "foot",
    "C": "degC",
    "F": "degF",
    "K": "kelvin",
    "m/min": "meter/minute",
    "ft/min": "foot/minute",
    "m/s": "meter/second",
    "km/h": "kilometer/hour",
    "mph": "mile/hour",
    "cm/s": "centimeter/second",
    "ft/s": "foot/second",
    "lbf": "force_pound",
    "kgf": "kilogram_force",
    "N/mm": "newton/millimeter",
    "lbf/in": "force_pound/inch",
    "degC": "delta_degC",
    "degF": "delta_degF",
    "A": "ampere",
    "s": "second",
    "min": "minute",
    "h": "hour",
    "%": "percent",
    "V": "volt",
}
PAIRS = [pair for units in UNITS.values() for pair in permutations(units, 2)]
PAIR = st.sampled_from(PAIRS)
NUMBERS = st.fractions(min_value=-(10**6), max_value=10**6, max_denominator=10**6)


def by_pint(number: float, unit: str, to: str) -> float:
    """The same conversion by pint, which has no unit of 50 mm: N/50mm goes by N/mm."""
    number = number / 50 if unit == "N/50mm" else number
    per_mm = {"N/50mm": "N/mm"}
    unit, wanted = per_mm.get(unit, unit), per_mm.get(to, to)
    moved = UREG.Quantity(number, PINT.get(unit, unit)).to(PINT.get(wanted, wanted)).magnitude
    return moved * 50 if to == "N/50mm" else moved


@pytest.mark.parametrize(("unit", "to"), PAIRS)
@pytest.mark.parametrize(
    "number", [Fraction(0), Fraction(1), Fraction(-40), Fraction(932), Fraction(11, 2)]
)
def test_every_pair_of_units_converts_as_pint_does(unit: str, to: str, number: Fraction) -> None:
    """pint is the outside reference; 1e-12 relative is its float rounding."""
    expected = by_pint(float(number), unit, to)
    assert float(convert(number, unit, to)) == pytest.approx(expected, rel=1e-12, abs=1e-9)


@pytest.mark.parametrize(
    ("number", "unit", "to", "exact"),
    [
        # NIST SP 811 B.8: exact factors are printed bold there.
        ("1", "in", "mm", "25.4"),
        ("1", "ft", "m", "0.3048"),
        ("1", "mph", "m/s", "0.44704"),
        ("1", "ft/min", "m/s", "0.00508"),
        ("1", "lbf", "N", "4.4482216152605"),
        ("1", "kgf", "N", "9.80665"),
        ("1", "km/h", "mph", "15625/25146"),
        ("932", "F", "C", "500"),
        ("-40", "F", "C", "-40"),
        ("0", "C", "K", "273.15"),
        ("1/4", "in", "mm", "6.35"),
        ("50", "N/50mm", "N/mm", "1"),
    ],
)
def test_conversions_are_exact(number: str, unit: str, to: str, exact: str) -> None:
    """Not the nearest float: the very number."""
    assert convert(Fraction(number), unit, to) == Fraction(exact)


@given(NUMBERS, PAIR)
def test_there_and_back_is_the_same_number(number: Fraction, pair: tuple[str, str]) -> None:
    """Conversion loses nothing, in any pair of units."""
    unit, to = pair
    assert convert(convert(number, unit, to), to, unit) == number


@given(NUMBERS, st.sampled_from([p for units in UNITS.values() for p in permutations(units, 3)]))
def test_a_way_round_by_a_third_unit_is_the_same(
    number: Fraction, three: tuple[str, str, str]
) -> None:
    """Conversions compose: a to b to c is a to c."""
    a, b, c = three
    assert convert(convert(number, a, b), b, c) == convert(number, a, c)


@given(
    st.fractions(min_value=-999, max_value=999, max_denominator=64),
    st.sampled_from([(unit, dim) for dim, units in UNITS.items() for unit in units]),
)
def test_a_number_typed_with_its_unit_is_read_back(number: Fraction, pair: tuple[str, str]) -> None:
    """Every unit's own name is understood after a fraction or a whole number."""
    unit, dimension = pair
    default = next(iter(UNITS[dimension]))
    text = f"{number} {unit}"
    assert parse(text, dimension, default, name="x") == Quantity(text.strip(), number, unit)


@given(st.decimals(min_value=-1000, max_value=1000, places=4))
def test_a_decimal_is_kept_exactly(number: object) -> None:
    """0.1 is one tenth, not the float nearest to it."""
    assert parse(f"{number:f}", "length", "in", name="x").number == Fraction(f"{number:f}")


@pytest.mark.parametrize(
    ("text", "dimension", "default", "number", "unit"),
    [
        ("932", "temperature", "F", "932", "F"),
        ("932F", "temperature", "C", "932", "F"),
        ("932 °F", "temperature", "C", "932", "F"),
        ("932 deg F", "temperature", "C", "932", "F"),
        ("932℉", "temperature", "C", "932", "F"),
        ("500c", "temperature", "F", "500", "C"),
        ("−5C", "temperature", "F", "-5", "C"),
        ("+61", "temperature", "F", "61", "F"),
        ("5.5", "speed", "ft/min", "11/2", "ft/min"),
        ("5.5fpm", "speed", "m/min", "11/2", "ft/min"),
        ("5.5 FT/MIN", "speed", "m/min", "11/2", "ft/min"),
        ("5½ ft/min", "speed", "m/min", "11/2", "ft/min"),
        ("1.7m/min", "speed", "ft/min", "17/10", "m/min"),
        ("8 mph", "speed", "m/s", "8", "mph"),
        (".5", "length", "in", "1/2", "in"),
        ("6.", "length", "mm", "6", "mm"),
        ("1/4", "length", "in", "1/4", "in"),
        ('3/16"', "length", "mm", "3/16", "in"),
        ("3/16″", "length", "mm", "3/16", "in"),
        ("1 / 4 in", "length", "mm", "1/4", "in"),
        ("¼", "length", "in", "1/4", "in"),
        ("⅜in", "length", "mm", "3/8", "in"),
        ("5½", "length", "in", "11/2", "in"),
        ("1-1/2in", "length", "mm", "3/2", "in"),
        ("1 1/2 inches", "length", "mm", "3/2", "in"),
        ("6mm", "length", "in", "6", "mm"),
        ("6 MM", "length", "in", "6", "mm"),
        ("14'", "length", "m", "14", "ft"),
        ("14' 6\"", "length", "m", "29/2", "ft"),
        ("14ft6in", "length", "m", "29/2", "ft"),
        ("14 feet 6 1/2 in", "length", "m", "349/24", "ft"),
        ("14′6″", "length", "m", "29/2", "ft"),
        ("60%", "percent", "%", "60", "%"),
        ("60 % RH", "percent", "%", "60", "%"),
        ("228 volts", "voltage", "V", "228", "V"),
        ("40lbs", "force", "N", "40", "lbf"),
        ("22 lbf/in", "line load", "N/mm", "22", "lbf/in"),
        ("190 N/50 mm", "line load", "N/mm", "190", "N/50mm"),
        ("５", "length", "in", "5", "in"),
    ],
)
def test_what_people_type_is_read(
    text: str, dimension: str, default: str, number: str, unit: str
) -> None:
    """Fractions, primes, degree signs, case and spacing mean what they look like."""
    read = parse(text, dimension, default, name="x")
    assert (read.number, read.unit, read.text) == (Fraction(number), unit, text.strip())


SAID = [
    ("quarter", "1/4", "in"),
    ("a quarter", "1/4", "in"),
    ("one quarter", "1/4", "in"),
    ("Half", "1/2", "in"),
    ("three eighths", "3/8", "in"),
    ("three-eighths", "3/8", "in"),
    ("3 eighths", "3/8", "in"),
    ("three sixteenths", "3/16", "in"),
    ("3 16ths", "3/16", "in"),
    ("five thirty-seconds", "5/32", "in"),
    ("three quarter inch", "3/4", "in"),
    ("five and a half", "11/2", "in"),
    ("5 and a half", "11/2", "in"),
    ("five and 3/8", "43/8", "in"),
    ("six", "6", "in"),
    ("six mm", "6", "mm"),
    ("zero", "0", "in"),
    ("half an inch", "1/2", "in"),
    ("a quarter of an inch", "1/4", "in"),
    ("an inch and a half", "3/2", "in"),
    ("an inch", "1", "in"),
    ("two feet and a half", "5/2", "ft"),
    ("five and a half mm", "11/2", "mm"),
    ("un cuarto", "1/4", "in"),
    ("cuarto", "1/4", "in"),
    ("medio", "1/2", "in"),
    ("media pulgada", "1/2", "in"),
    ("tres octavos", "3/8", "in"),
    ("tres dieciseisavos", "3/16", "in"),
    ("cinco y medio", "11/2", "in"),
    ("5 y medio", "11/2", "in"),
    ("tres octavos de pulgada", "3/8", "in"),
    ("una pulgada y media", "3/2", "in"),
    ("pulgada y cuarto", "5/4", "in"),
    ("seis milímetros", "6", "mm"),
    ("dieciséis milímetros", "16", "mm"),
    ("5,5", "11/2", "in"),
    ("5,5mm", "11/2", "mm"),
    ("0,125", "1/8", "in"),
    (" 5,25 mm ", "21/4", "mm"),
]


@pytest.mark.parametrize(("text", "number", "unit"), SAID)
def test_a_number_as_people_say_it_is_read_and_kept_as_typed(
    text: str, number: str, unit: str
) -> None:
    """Words in English and Spanish, and a decimal comma: exact, the text untouched."""
    read = parse(text, "length", "in", name="x")
    assert (read.number, read.unit, read.text) == (Fraction(number), unit, text.strip())


@pytest.mark.parametrize("text", [text for text, _number, _unit in SAID])
def test_a_file_is_read_in_digits_only(text: str) -> None:
    """Where words do not count, none does: a comma may part two values there."""
    with pytest.raises((NotANumber, WrongUnit)):
        parse(text, "length", "in", name="x", spoken=False)


COUNTS = {
    "en": "one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen",
    "es": "un dos tres cuatro cinco seis siete ocho nueve diez once doce trece catorce quince",
}
PARTS = {
    "en": {2: "half", 4: "quarter", 8: "eighth", 16: "sixteenth"},
    "es": {2: "medio", 4: "cuarto", 8: "octavo", 16: "dieciseisavo"},
}


@given(
    st.sampled_from(["en", "es"]),
    st.integers(0, 15),
    st.sampled_from([2, 4, 8, 16]),
    st.data(),
    st.sampled_from(["", " mm", " in", " ft"]),
)
def test_what_is_said_is_the_number_meant(
    tongue: str, whole: int, of: int, data: st.DataObject, unit: str
) -> None:
    """Any mixed number on a tape, said in either tongue, is that number exactly."""
    count = data.draw(st.integers(1, of - 1))
    part = f"{COUNTS[tongue].split()[count - 1]} {PARTS[tongue][of]}{'s' if count > 1 else ''}"
    text = (
        (
            f"{COUNTS[tongue].split()[whole - 1]} {'and' if tongue == 'en' else 'y'} "
            if whole
            else ""
        )
        + part
        + unit
    )
    read = parse(text, "length", "in", name="x")
    assert (read.number, read.unit, read.text) == (
        whole + Fraction(count, of),
        unit.strip() or "in",
        text,
    )


@given(st.decimals(min_value=0, max_value=1000, places=2), st.sampled_from(["", "mm", " ft"]))
def test_a_decimal_comma_is_a_point(number: object, unit: str) -> None:
    """`5,50 ft` is `5.50 ft`."""
    pointed = f"{number:f}{unit}"
    read = parse(pointed.replace(".", ","), "length", "in", name="x")
    assert read.number == parse(pointed, "length", "in", name="x").number


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "fast",
        "5,5,5",
        "1,000",
        "5,",
        ",5",
        "5,5/8",
        "1/0",
        "1/2/3",
        "--5",
        "5 5",
        "nan",
        "inf",
        "1e3",
        "0x10",
        "5x",
        "½½",
        "5²",
        "1_000",
        "٣",
        "5\x00",
        "9" * 70,
        "1/",
        "/4",
        "in",
        "5 in in",
        "a",
        "an",
        "and a half",
        "y medio",
        "half half",
        "five six",
        "five half",
        "cinco medio",
        "half past",
        "quarter to",
        "three eighths eighths",
        "5 quarter half",
        "a quarter and",
        "half fast",
        "10 a m",
        "5 an inch",
        "two inches and a half inch",
        "1 foot and a half inch",
        "dos pulgadas y media pulgada",
    ],
)
def test_text_that_is_no_number_is_refused(text: str) -> None:
    """One sentence with the text, the name and an example; no guess."""
    with pytest.raises(NotANumber) as refused:
        parse(text, "length", "in", name="bleed-out")
    assert "bleed-out" in str(refused.value)
    assert "1/4in" in str(refused.value)


@pytest.mark.parametrize(
    ("text", "dimension", "default"),
    [
        ("5.5in", "speed", "ft/min"),
        ("5.5 m", "speed", "ft/min"),
        ("932ft", "temperature", "F"),
        ("60F", "percent", "%"),
        ("6C", "length", "in"),
        ("40 in", "force", "lbf"),
    ],
)
def test_a_unit_of_another_kind_is_refused_by_name(text: str, dimension: str, default: str) -> None:
    """The sentence names the wrong unit and those that would do."""
    with pytest.raises(WrongUnit) as refused:
        parse(text, dimension, default, name="x")
    assert default in str(refused.value)


@given(st.text(max_size=12), st.sampled_from(list(UNITS)))
def test_any_text_is_read_or_refused(text: str, dimension: str) -> None:
    """No text whatever raises anything but a refusal."""
    default = next(iter(UNITS[dimension]))
    try:
        read = parse(text, dimension, default, name="x")
    except (NotANumber, WrongUnit):
        return
    assert read.unit in UNITS[dimension]


def test_a_number_never_changes_kind() -> None:
    """An inch cannot be asked for in degrees."""
    with pytest.raises(WrongUnit):
        Quantity("1/4", Fraction(1, 4), "in").to("C")


@pytest.mark.parametrize(
    ("dimension", "unit"), [(d, u) for d, units in UNITS.items() for u in units]
)
def test_every_unit_knows_its_own_name(dimension: str, unit: str) -> None:
    """What the program prints it can read."""
    assert unit_named(unit, dimension) == unit


@pytest.mark.parametrize(
    ("mm", "shown"),
    [(6.35, "1/4"), (25.4, "1"), (33.3375, "1 5/16"), (0.0, "0"), (4.7625, "3/16")],
)
def test_a_width_is_shown_as_a_tape_reads(mm: float, shown: str) -> None:
    """In lowest terms, to the nearest sixteenth."""
    assert sixteenths(mm) == shown
