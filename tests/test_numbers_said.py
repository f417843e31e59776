"""Numbers as people say them, turned into digits; what is no number stays as it was typed."""

from __future__ import annotations

import pytest

from weldcal.errors import NotANumber, WrongUnit
from weldcal.numbers_said import in_digits, unaccented
from weldcal.quantities import parse


@pytest.mark.parametrize(
    ("said", "digits"),
    [
        ("half", "1/2"),
        ("a half", "1/2"),
        ("one half", "1/2"),
        ("two halves", "2/2"),
        ("half of an inch", "1/2 inch"),
        ("half of", "1/2"),
        ("a third", "1/3"),
        ("two thirds", "2/3"),
        ("dos tercios", "2/3"),
        ("3 quarters", "3/4"),
        ("1 fourth", "1/4"),
        ("99 quarters", "99/4"),
        ("seven-eighths", "7/8"),
        ("thirty-second", "1/32"),
        ("three thirty-seconds", "3/32"),
        ("tres octavos de una pulgada", "3/8 pulgada"),
        ("3/8 of an inch", "3/8 inch"),
        ("3/8 de pulgada", "3/8 pulgada"),
        ("5 y 3/8 de pulgada", "5 3/8 pulgada"),
        ("five and 3/8", "5 3/8"),
        ("5 and 3/8 in", "5 3/8 in"),
        ("an inch", "1 inch"),
        ("an inch and a half", "1 1/2 inch"),
        ("pulgada y media", "1 1/2 pulgada"),
        ("pie y medio", "1 1/2 pie"),
        ("foot and a half", "1 1/2 foot"),
        ("two feet and a half", "2 1/2 feet"),
        ("twelve and a half inches", "12 1/2 inches"),
        ("five milimetros", "5 mm"),
        ("cinco y medio centímetros", "5 1/2 cm"),
        ("five-mm", "5 mm"),
        ("zero", "0"),
        ("veinte", "20"),
        ("DIECISÉIS", "16"),
        ("1,5", "1.5"),
        ("-5,25 mm", "-5.25 mm"),
        ("0,125", "0.125"),
        ("123456789 and a half", "123456789 1/2"),
    ],
)
def test_what_is_said_is_in_digits(said: str, digits: str) -> None:
    """In either language, the unit after it; of fractions, of halves of an inch and a foot."""
    assert in_digits(said) == digits


@pytest.mark.parametrize(
    "text",
    [
        "", "  ", "a", "an", "inch", "pulgada", "and a half", "of half", "5", "5 mm", "-5",
        "1-1/2", "5 1/2 in", "1,000", "1,2,3", "100 quarters", "1234567890 and a half",
        "5 x", "x 5", "3/8", '3/8"', "1/2/3",
    ],
)  # fmt: skip
def test_what_is_not_said_stays_as_typed(text: str) -> None:
    """Digits, halves of sayings, and what may be a thousand."""
    assert in_digits(text) == text


@pytest.mark.parametrize(
    "text",
    [
        "two half", "five half", "cinco medio", "five and", "five and mm", "two and three",
        "two inches and a half mm", "half a", "two feet and", "one two", "a", "pulgada",
        "half half", "3/8 and a half",
    ],
)  # fmt: skip
def test_what_may_be_two_numbers_is_none(text: str) -> None:
    """`five half`: 5/2, or 5 1/2? Refused, and the person types it."""
    with pytest.raises((NotANumber, WrongUnit)):
        parse(text, "length", "in", name="x")


def test_accents_and_capitals_are_dropped() -> None:
    """Letters stay what they are; a ligature is its letters."""
    assert unaccented("PULGADA Ñandú ﬁn") == "pulgada nandu fin"
    assert unaccented("") == ""
