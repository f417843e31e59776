"""Every value a person can type: its range, its usual unit, its choices."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldcal.errors import (
    BareReading,
    NotAChoice,
    NotANumber,
    NotAStretch,
    OutOfRange,
    TextNotPlain,
    Unreadable,
)
from weldcal.quantities import DIMENSION, UNITS, convert
from weldcal.records.alike import ALIKE
from weldcal.records.fields import (
    CHOICES,
    FIELDS,
    choose,
    is_end,
    past,
    plain_name,
    read,
    read_many,
    read_place,
    same_name,
    stretch,
    usual_unit,
)


@pytest.mark.parametrize("name", FIELDS)
@pytest.mark.parametrize("units", ["us", "si"])
def test_both_ends_of_a_range_are_accepted_and_nothing_beyond(name: str, units: str) -> None:
    """A range includes its ends, in whatever unit they are typed."""
    field = FIELDS[name]
    unit = usual_unit(name, units)
    for end, sign in ((field.low, -1), (field.high, 1)):
        inside = convert(Fraction(end), field.limit_unit, unit)
        assert read(name, f"{inside}{unit}", units).number == inside
        beyond = inside + sign * (1 if field.dimension == "count" else Fraction(1, 1000))
        with pytest.raises(OutOfRange):
            read(name, f"{beyond}{unit}", units)


@pytest.mark.parametrize("name", FIELDS)
@pytest.mark.parametrize("units", ["us", "si"])
def test_what_a_refusal_shows_to_type_instead_can_be_typed(name: str, units: str) -> None:
    """The example is itself a value of the field."""
    with pytest.raises(Unreadable) as refused:
        read(name, "?", units)
    example = str(refused.value).rpartition("like ")[2].rstrip(".")
    assert read(name, example, units).text == example


@pytest.mark.parametrize("name", FIELDS)
def test_the_usual_units_measure_the_field(name: str) -> None:
    """Both usual units, and that of the range, are of the field's dimension."""
    field = FIELDS[name]
    assert {DIMENSION[unit] for unit in (field.us, field.si, field.limit_unit)} == {field.dimension}


@pytest.mark.parametrize(
    ("name", "text", "allowed"),
    [
        ("nozzle", "9320F", ("122 °F", "1382 °F")),
        ("nozzle", "5000C", ("50 °C", "750 °C")),
        ("speed", "0", ("0.164 ft/min", "98.43 ft/min")),
        ("humidity", "140", ("0 %", "100 %")),
        ("reading", "-1/4", ("0 in", "3.937 in")),
    ],
)
def test_what_cannot_be_is_refused_with_the_range_in_the_unit_typed(
    name: str, text: str, allowed: tuple[str, str]
) -> None:
    """The sentence says what is allowed, in the person's own unit."""
    with pytest.raises(OutOfRange) as refused:
        read(name, text, "us")
    assert all(end in str(refused.value) for end in allowed)


@pytest.mark.parametrize(
    ("text", "units", "mm"),
    [
        ("1/4,3/16,5/16", "us", [6.35, 4.7625, 7.9375]),
        ("6mm, 7mm", "us", [6, 7]),
        ("6,7,6mm", "us", [6, 7, 6]),
        ("6;7", "si", [6, 7]),
        ("0", "us", [0]),
        ("¼, 5/16in", "si", [6.35, 7.9375]),
        ("1/4in, 6mm", "us", [6.35, 6]),
        ("1/4,6mm", "us", [6.35, 6]),
        ("a quarter, three sixteenths, 5/16", "us", [6.35, 4.7625, 7.9375]),
        ("un cuarto; tres octavos", "si", [0.25, 0.375]),
        ("half, 6mm", "us", [12.7, 6]),
        ("six, seven, six mm", "us", [6, 7, 6]),
        ("5,5; 6; 6,25", "si", [5.5, 6, 6.25]),
        ("5,5mm; 6mm", "us", [5.5, 6]),
        ("5,6", "si", [5, 6]),
        ("1/4,3/16;5/16", "us", [6.35, 4.7625, 7.9375]),
    ],
)
def test_several_readings_are_read_in_order(text: str, units: str, mm: list[float]) -> None:
    """A unit on the last alone is meant for all."""
    assert [reading.si("mm") for reading in read_many("reading", text, units)] == mm


@pytest.mark.parametrize("text", ["6", "6.", " 6 ", "six", "seis", "2", "62"])
def test_a_bare_whole_number_is_no_bleed_out_in_inches(text: str) -> None:
    """6 mm or 6/16 in? Refused, with both ways to type it; either way is then read."""
    with pytest.raises(BareReading) as refused:
        read("reading", text, "us")
    ways = re.findall(r"\d+mm|\d+/16", str(refused.value))
    assert len(ways) == 2
    for way in ways:
        read("reading", way, "us")


@pytest.mark.parametrize(
    ("text", "units", "mm"),
    [
        ("0", "us", 0),
        ("1", "us", 25.4),
        ("2in", "us", 50.8),
        ('2"', "us", 50.8),
        ("1 1/2", "us", 38.1),
        ("6", "si", 6),
        ("6mm", "us", 6),
    ],
)
def test_a_reading_that_can_be_meant_so_is_read(text: str, units: str, mm: float) -> None:
    """With its unit, or in a unit in which it can be."""
    assert read("reading", text, units).si("mm") == mm


@pytest.mark.parametrize("text", ["", ",", "1/4,x", "1/4,9999", "x,1/4"])
def test_one_bad_reading_refuses_them_all(text: str) -> None:
    """Half a strip is no strip."""
    with pytest.raises(Unreadable):
        read_many("reading", text, "us")


@pytest.mark.parametrize(
    ("text", "units", "metres"),
    [
        ("0-33", "us", (0, 10.0584)),
        ("0-10", "si", (0, 10)),
        ("0-10m", "us", (0, 10)),
        ("0 to 33", "us", (0, 10.0584)),
        ("0–33", "us", (0, 10.0584)),
        ("0..33ft", "si", (0, 10.0584)),
        ("3ft-14ft6in", "si", (0.9144, 4.4196)),
        ("14'6\"-20'", "si", (4.4196, 6.096)),
        ("33-0", "us", (10.0584, 0)),
        ("1.5 - 2.5", "si", (1.5, 2.5)),
    ],
)
def test_a_stretch_is_read_in_the_order_walked(
    text: str, units: str, metres: tuple[float, float]
) -> None:
    """From and to, forwards or backwards."""
    start, end = stretch(text, units)
    assert (start.si("m"), end.si("m")) == metres


@pytest.mark.parametrize("text", ["", "33", "0-33-40", "a-b-c"])
def test_what_is_no_stretch_is_refused(text: str) -> None:
    """One distance, or three, are not a from and a to."""
    with pytest.raises(NotAStretch):
        stretch(text, "us")


@given(st.text(max_size=10))
def test_any_text_is_a_stretch_or_refused(text: str) -> None:
    """Nothing but a refusal comes of nonsense."""
    try:
        start, _end = stretch(text, "us")
    except Unreadable:
        return
    assert start.unit in UNITS["length"]


@pytest.mark.parametrize(
    ("name", "text", "chosen"),
    [(n, word, word) for n, (_label, words) in CHOICES.items() for word in words]
    + [(n, text, word) for n, alike in ALIKE.items() for text, word in alike.items()],
)
def test_every_word_of_a_choice_counts_in_any_case(name: str, text: str, chosen: str) -> None:
    """Short and common spellings come to the one word."""
    assert choose(name, f"  {text.upper()} ") == chosen


@pytest.mark.parametrize("name", CHOICES)
def test_another_word_is_refused_with_those_that_count(name: str) -> None:
    """The sentence lists every word."""
    with pytest.raises(NotAChoice) as refused:
        choose(name, "perhaps")
    assert all(word in str(refused.value) for word in CHOICES[name][1])


@pytest.mark.parametrize("text", ["", "   ", "x" * 201, "a\ud800b"])
def test_what_is_no_name_is_refused(text: str) -> None:
    """Empty, over-long, or not text at all."""
    with pytest.raises(TextNotPlain):
        plain_name("seam", text)


@given(st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=50))
def test_a_name_read_twice_is_the_same(text: str) -> None:
    """Reading a name changes nothing the second time."""
    try:
        once = plain_name("seam", text)
    except TextNotPlain:
        return
    assert plain_name("seam", once) == once


def test_spellings_of_one_name_are_one() -> None:
    """Case, spacing and composed letters make no second seam."""
    assert len({same_name(name) for name in ("Año  1", "año 1", "AN\u0303O 1", " Año 1 ")}) == 1


def test_numbers_said_in_words_are_read_where_people_type() -> None:
    """In each way to read one; a sheet's cells are read as they stand."""
    assert read("wind", "eight", "us").number == 8
    assert read_place("eight", "us").number == 8
    assert [one.number for one in read_many("reading", "six, five", "si")] == [6, 5]
    for way in (read, read_many):
        with pytest.raises(NotANumber):
            way("reading", "six mm", "si", spoken=False)
    with pytest.raises(NotANumber):
        read_place("six", "si", spoken=False)


def test_a_name_may_have_two_hundred_signs() -> None:
    """As many as fit; outer blanks do not count."""
    assert plain_name("seam", f" {'x' * 200} ") == "x" * 200


@pytest.mark.parametrize(("text", "refusal"), [("62", BareReading), ("63", OutOfRange)])
def test_from_63_on_a_bare_bleed_out_can_be_nothing(text: str, refusal: type[Unreadable]) -> None:
    """62/16 in are 98.4 mm, which a reading may be (to 100 mm); 63/16 in are 100.0 and more."""
    with pytest.raises(refusal):
        read("reading", text, "us")


def test_the_far_end_is_a_place_beyond_all_others() -> None:
    """By any of its words; nothing lies past it, and past another place is measured on from it."""
    for text in ("end", " The  End", "al final"):
        assert is_end(read_place(text, "si"))
        assert read_place(text, "us").to("m") == 10_000
    with pytest.raises(NotAStretch):
        past(read_place("end", "si"), read("length", "1", "si"))
    on = past(read_place("14.5", "us"), read("length", "3in", "us"))
    assert (on.text, on.to("ft"), on.unit) == ("14.5+3in", Fraction("14.75"), "ft")
