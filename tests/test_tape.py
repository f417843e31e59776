"""Lengths as a tape shows them and as they are typed again; what else a quantity says of itself."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldcal import quantities
from weldcal.errors import NotANumber, WrongUnit
from weldcal.quantities import (
    Quantity,
    feet_inches_word,
    in_metres,
    is_feet_inches,
    mixed,
    on_tape,
    parse,
    retyped,
    says_unit,
    sign,
    tape_typed,
)


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("26'-10 5/8\"", "26'10-5/8\""),
        ("26 ft 10 5/8 in", "26'10-5/8\""),
        ("3'6\"", "3'6\""),
        ("3' - 6''", "3'6\""),
        ("3’6″", "3'6\""),
        ("14ft6in", "14'6\""),
        ("14 feet 6 inches", "14'6\""),
        (" 2' 1/2\" ", "2'1/2\""),
        ("0ft-2in", None),
        ("3ft-14ft6in", None),
        ("3'6", None),
        ("3 ft 6", None),
        ("3ft", None),
        ('6"', None),
        ("6", None),
        ("", None),
    ],
)
def test_one_reading_in_feet_and_inches(text: str, word: str | None) -> None:
    """As one word of a line; any other text as it is. Between words a hyphen means from and to."""
    assert is_feet_inches(text) is (word is not None)
    assert feet_inches_word(text) == (text if word is None else word)
    if word is not None:
        read, again = (parse(one, "length", "in", name="x") for one in (text, word))
        assert (read.number, read.unit) == (again.number, again.unit) == (read.number, "ft")


@pytest.mark.parametrize(
    ("metres", "feet", "inches"),
    [
        (0.0, 0, "0"),
        (0.3048, 1, "0"),
        (0.0254, 0, "1"),
        (0.0254 / 8, 0, "1/8"),
        (0.3048 * 26 + 0.0254 * 10.625, 26, "10 5/8"),
        (0.3048 * 3 - 0.0254 / 20, 3, "0"),  # to the nearest eighth it is the whole foot
        (0.3048 * 12, 12, "0"),
    ],
)
def test_a_length_on_a_tape(metres: float, feet: int, inches: str) -> None:
    """12 inches a foot, read to 1/8 in."""
    found = on_tape(metres)
    assert (found[0], mixed(found[1])) == (feet, inches)


@given(st.integers(0, 12 * 8 * 400))
def test_a_tape_is_read_back_as_what_it_shows(eighths: int) -> None:
    """Any eighth of an inch up to 400 ft, typed again in US units, is that length."""
    metres = float(Fraction(eighths, 8) * Fraction(254, 10000))
    typed = tape_typed(metres, "us")
    assert " " not in typed
    assert parse(typed, "length", "ft", name="x").si("m") == pytest.approx(metres, abs=5.1e-5)
    plain = tape_typed(metres, "si")
    assert float(plain) == pytest.approx(metres, abs=5.1e-5)


@pytest.mark.parametrize(
    ("metres", "units", "typed"),
    [
        (14.5 * 0.3048, "us", "14.5"),
        (14.25 * 0.3048, "us", "14.25"),
        (14.125 * 0.3048, "us", "14'1-1/2\""),
        (0.125 * 0.3048, "us", "0'1-1/2\""),
        (14.0 * 0.3048 + 0.0254 / 3, "us", "14'3/8\""),
        (14.0 * 0.3048 + 0.0254 / 30, "us", "14"),
        (0.0, "us", "0"),
        (-1.3048, "us", "-4.2808"),
        (8.197, "si", "8.197"),
        (8.19728, "si", "8.1973"),
        (8.0, "si", "8"),
        (100.0, "si", "100"),
    ],
)
def test_a_place_as_it_is_typed_again(metres: float, units: str, typed: str) -> None:
    """Decimals where two say it; else feet and inches; metres to a tenth of a millimetre."""
    assert tape_typed(metres, units) == typed


@pytest.mark.parametrize(
    ("number", "shown"),
    [("0", "0"), ("5/8", "5/8"), ("85/8", "10 5/8"), ("6", "6"), ("3/2", "1 1/2")],
)
def test_a_mixed_number(number: str, shown: str) -> None:
    """Whole and part, in lowest terms."""
    assert mixed(Fraction(number)) == shown


@pytest.mark.parametrize(
    ("text", "unit", "typed", "says"),
    [
        ("5,5", "mm", "5.5mm", False),
        ("5.5", "ft/min", "5.5ft/min", False),
        ("5 mm", "in", "5 mm", True),
        ('1/4"', "mm", '1/4"', True),
        ("1/4″", "mm", "1/4″", True),
        ("14'", "m", "14'", True),
        ("14′", "m", "14′", True),
        ("500°", "C", "500°", True),
        ("60%", "%", "60%", True),
        ("60", "%", "60%", False),
    ],
)
def test_a_value_is_typed_again_with_its_unit(text: str, unit: str, typed: str, says: bool) -> None:
    """Added where it was left out; a file's decimal comma is a point."""
    assert retyped(text, unit) == typed
    assert says_unit(text) is says


@pytest.mark.parametrize(("text", "says"), [("three eighths", False), ("half an inch", True)])
def test_a_number_in_words_may_say_no_unit(text: str, says: bool) -> None:
    """`three eighths` does not."""
    assert says_unit(text) is says


def test_a_length_worked_out_is_to_a_tenth_of_a_millimetre() -> None:
    """Its text is what it shows."""
    assert in_metres(1.23456) == Quantity("1.2346", Fraction(12346, 10000), "m")
    assert in_metres(2.0) == Quantity("2", Fraction(2), "m")


@pytest.mark.parametrize(("unit", "shown"), [("C", "°C"), ("degF", "°F"), ("mm", "mm")])
def test_the_sign_of_a_unit(unit: str, shown: str) -> None:
    """As it is written beside a number."""
    assert sign(unit) == shown


def test_a_quantity_converts_within_its_kind_only() -> None:
    """Exactly, and as the nearest float; another kind is refused with what there is."""
    read = parse("6", "length", "in", name="x")
    assert (read.dimension, read.to("mm"), read.si("mm")) == ("length", Fraction("152.4"), 152.4)
    assert read.si("in") == 6.0
    for refused in (read.to, read.si):
        with pytest.raises(WrongUnit) as said:
            refused("F")
        assert said.value.values["allowed"] == "m, mm, cm, in, ft"
        assert said.value.values["example"] == "1in"
    with pytest.raises(ValueError, match="unknown unit 'furlong'"):
        Quantity("1", Fraction(1), "furlong")


@given(
    st.fractions(min_value=-(10**4), max_value=10**4, max_denominator=4096),
    st.sampled_from([(a, b) for us in quantities.UNITS.values() for a in us for b in us]),
)
def test_the_float_is_the_nearest_to_the_exact_number(
    number: Fraction, pair: tuple[str, str]
) -> None:
    """By Python's own division of whole numbers."""
    unit, to = pair
    assert Quantity("x", number, unit).si(to) == float(quantities.convert(number, unit, to))


def test_the_longest_text_that_is_read() -> None:
    """64 signs (ours, no source); a longer one is shown cut."""
    text = "0" * 63 + "5"
    assert parse(text, "length", "mm", name="x").number == 5
    with pytest.raises(NotANumber) as said:
        parse("0" + text, "length", "mm", name="x")
    assert said.value.values["text"] == "0" * 64 + "…"


@pytest.mark.parametrize(
    ("default", "example", "shown"),
    [("in", None, "1/4in"), ("N/mm", None, "5N/mm"), ("in", "3/8", "3/8in")],
)
def test_a_refusal_shows_what_to_type(default: str, example: str | None, shown: str) -> None:
    """A number that suits the unit, or the one that was given."""
    dimension = quantities.DIMENSION[default]
    for text, kind in (("fast", NotANumber), ("5 F", WrongUnit), ("1/0", NotANumber)):
        with pytest.raises(kind) as said:
            parse(text, dimension, default, name="x", example=example)
        assert said.value.values["example"] == shown


@pytest.mark.parametrize(
    ("text", "seconds"), [("1:30", "90"), ("0:05.5", "11/2"), ("12:00 min", "720"), ("2", "2")]
)
def test_a_stopwatch_shows_minutes_and_seconds(text: str, seconds: str) -> None:
    """Only where a time is meant."""
    assert parse(text, "time", "s", name="x").to("s") == Fraction(seconds)
    if ":" in text:
        with pytest.raises((NotANumber, WrongUnit)):
            parse(text, "length", "in", name="x")


def test_feet_and_inches_are_a_length_only() -> None:
    """A speed of 3'6\" is none; in a file neither is a number in words."""
    with pytest.raises((NotANumber, WrongUnit)):
        parse("3'6\"", "speed", "ft/min", name="x")
    with pytest.raises(NotANumber):
        parse("half", "length", "in", name="x", spoken=False)
    assert parse("half", "length", "in", name="x").number == Fraction(1, 2)


@pytest.mark.parametrize(
    ("text", "dimension", "unit"),
    [
        ("5 F", "difference", "degF"),
        ("5 K", "difference", "degC"),
        ("5 C", "difference", "degC"),
        ("5 F", "temperature", "F"),
        ("5 degF", "temperature", "F"),
        ("5", "difference", "degC"),
    ],
)
def test_a_difference_is_no_temperature(text: str, dimension: str, unit: str) -> None:
    """By the kind that is asked for."""
    read = parse(text, dimension, "degC" if dimension == "difference" else "C", name="x")
    assert (read.number, read.unit) == (5, unit)


@pytest.mark.parametrize("text", ["5²", "5①", "½²"])
def test_a_sign_of_a_number_that_is_none_on_a_tape(text: str) -> None:
    """5² is not 52."""
    with pytest.raises(NotANumber):
        parse(text, "length", "in", name="x")
