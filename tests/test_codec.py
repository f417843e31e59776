"""Records to payloads and back; hostile payloads refused."""

from __future__ import annotations

import json
import types
from datetime import UTC, datetime
from fractions import Fraction
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec import Struct

from weldcal.errors import TextNotPlain
from weldcal.quantities import DIMENSION, UNITS, Quantity, convert
from weldcal.records.codec import KINDS, SHORT_NAMED, decode, encode, record_class
from weldcal.records.codec import read as read_json
from weldcal.records.common import Conditions, Seen, Setting
from weldcal.records.fields import FIELDS, read
from weldcal.records.firm import Same
from weldcal.records.job import DialMark, Machine
from weldcal.records.strip import Reading

TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=8)
NUMBERS = st.fractions(min_value=-(10**6), max_value=10**6, max_denominator=1000)
ANY_QUANTITY = st.builds(Quantity, text=TEXT, number=NUMBERS, unit=st.sampled_from(list(DIMENSION)))


@st.composite
def of_field(draw: st.DrawFn, *names: str) -> Quantity:
    """A value a field of one of these names can hold, in any unit of its dimension."""
    field = FIELDS[draw(st.sampled_from(names))]
    low, high = Fraction(field.low), Fraction(field.high)
    part = draw(st.fractions(0, 1, max_denominator=100))
    number = low + (high - low) * part
    if field.dimension == "count":
        number = Fraction(round(number))
    unit = draw(st.sampled_from(list(UNITS[field.dimension])))
    return Quantity(draw(TEXT), convert(number, field.limit_unit, unit), unit)


# Where a record's field is not called what it is read as.
READ_AS = {
    "start": ("distance",),
    "end": ("distance",),
    "at": ("distance",),
    "readings": ("reading",),
    "speed": ("speed", "mark"),
    "true_speed": ("speed",),
    "nozzle_measured": ("nozzle",),
    "under_temp": ("sheet_temp",),
    "distance": ("travel",),
    "time": ("seconds",),
    "again": ("seconds",),
    "roll_length": ("length",),
    "roll_temp": ("sheet_temp",),
    "gust": ("wind",),
    "overlap": ("lap_width",),
    "bonded": ("lap_width",),
}
TIMES = st.datetimes(datetime(1971, 1, 1), datetime(2199, 1, 1), timezones=st.just(UTC)).map(
    datetime.isoformat
)
# Texts that are not any text.
TEXTS = {
    "read_at": TIMES,
    "at": TIMES,
    "units": st.sampled_from(["us", "si"]),
    "answer": st.sampled_from(["yes", "no", "not needed"]),
    "step": st.sampled_from(["found", "mended", "looked"]),
    "zone": st.sampled_from(["America/Denver", "Europe/Madrid", "UTC"]),
    "sha256": st.binary(min_size=32, max_size=32).map(bytes.hex),
}
# What a payload may hold: text, whole numbers, booleans, lists, objects; a float never.
PART = st.recursive(
    TEXT | st.integers(-(2**53) + 1, 2**53 - 1) | st.booleans(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXT, inner, max_size=3),
    max_leaves=6,
)
QUANTITY_PARTS = st.builds(encode, ANY_QUANTITY)


def values(kind: Any, name: str) -> st.SearchStrategy[Any]:
    """Any value of an annotated type, as the field of that name may hold it."""
    if kind is str:
        return TEXTS.get(name, TEXT)
    if kind is bool:
        return st.booleans()
    if kind is int:
        return st.integers(0, 23)
    if kind is type(None):
        return st.none()
    if kind is Any:
        return st.none() | PART | QUANTITY_PARTS | st.lists(QUANTITY_PARTS, max_size=2)
    if kind is Quantity:
        read_as = READ_AS.get(name, (name,) if name in FIELDS else ())
        return of_field(*read_as) if read_as else ANY_QUANTITY
    if get_origin(kind) in (types.UnionType, Union):
        return st.one_of(*(values(part, name) for part in get_args(kind)))
    if get_origin(kind) is Literal:
        return st.sampled_from(get_args(kind))
    if get_origin(kind) is tuple:
        parts = get_args(kind)
        if parts[-1] is not Ellipsis:
            return st.tuples(*(values(part, name) for part in parts))
        return st.lists(values(parts[0], name), max_size=3).map(tuple)
    if get_origin(kind) is dict:
        inside = get_args(kind)[1]
        return st.dictionaries(TEXT, PART if inside is Any else values(inside, name), max_size=3)
    if isinstance(kind, type) and issubclass(kind, Struct):
        return records(kind)
    raise NotImplementedError(kind)


def records(cls: type[Struct]) -> st.SearchStrategy[Any]:
    """Any record of a class."""
    if cls is Machine:
        return MACHINES
    parts = {name: values(hint, name) for name, hint in get_type_hints(cls).items()}
    if cls is Setting:  # only a hand has no travel speed
        machine = st.builds(Setting, **{**parts, "speed": of_field("speed", "mark")})
        return machine | st.builds(Setting, **{**parts, "by_hand": st.just(True)})
    if cls is Same:
        parts["what"] = st.sampled_from(["machine", "sheet", "instrument", "person"])
    if cls in [record_class(kind) for kind in SHORT_NAMED]:
        parts["name"] = st.from_regex(r"[A-Z][0-9]{1,9}", fullmatch=True)
        if "warnings" in parts:
            parts["warnings"] = st.lists(st.sampled_from(["no_go_ahead", "new_day"])).map(tuple)
    return st.builds(cls, **parts)


def _mark(number: int, unit: str = "mark") -> Quantity:
    return Quantity(str(number), Fraction(number), unit)


# A machine refuses a dial that cannot be: these run upwards.
MACHINES = st.builds(
    Machine,
    name=TEXT,
    dial=st.sampled_from(["mark", "ft/min"]),
    dial_low=st.integers(0, 3).map(_mark),
    dial_high=st.integers(4, 9).map(_mark),
    dial_step=st.just(Quantity("1/2", Fraction(1, 2), "mark")),
    nozzle_low=st.integers(100, 300).map(lambda n: _mark(n, "C")),
    nozzle_high=st.integers(800, 1000).map(lambda n: _mark(n, "F")),
    rated_voltage=st.none() | st.integers(100, 250).map(lambda n: _mark(n, "V")),
    marks=st.integers(0, 4).map(
        lambda most: tuple(
            DialMark(mark=_mark(n), speed=_mark(n + 1, "ft/min")) for n in range(most)
        )
    ),
)


@pytest.mark.parametrize("kind", KINDS)
@settings(max_examples=25)
@given(data=st.data())
def test_a_record_is_read_back_from_its_payload(kind: str, data: st.DataObject) -> None:
    """decode(kind, encode(r)) == r, through JSON text too, for every kind."""
    record = data.draw(records(record_class(kind)))
    payload = encode(record)
    assert decode(kind, payload) == record
    assert decode(kind, json.loads(json.dumps(payload))) == record


@pytest.mark.parametrize("kind", KINDS)
@settings(max_examples=25)
@given(data=st.data())
def test_a_payload_holds_no_float_and_no_null(kind: str, data: st.DataObject) -> None:
    """Floats have more than one canonical text and null says nothing: neither is hashed."""
    payload = encode(data.draw(records(record_class(kind))))
    assert not any(isinstance(leaf, float) or leaf is None for leaf in leaves(payload))


def leaves(part: Any) -> list[Any]:
    """All values at the ends of a payload."""
    if isinstance(part, dict):
        return [leaf for value in part.values() for leaf in leaves(value)]
    if isinstance(part, list):
        return [leaf for value in part for leaf in leaves(value)]
    return [part]


@pytest.mark.parametrize("text", ["5.5", "11/2", "5." + "0" * 45 + "1", "0" * 50 + "5"])
def test_whatever_can_be_typed_can_be_kept(text: str) -> None:
    """A number that was read is read back from its payload, however long it was typed."""
    typed = Reading(seen=Seen(**SEEN), conditions=Conditions(wind=read("wind", text, "us")))
    assert decode("conditions", encode(typed)) == typed


SEEN = {"at": "2026-06-01T07:00:00-06:00", "by": "Ana Ruiz"}
QUARTER = {"text": "1/4", "number": "1/4", "unit": "in"}
STRIP = {
    "name": "S1",
    "seen": SEEN,
    "setting": {
        "machine": "blue",
        "sheet": "base",
        "lap": "selvage",
        "nozzle": {"text": "932", "number": "932", "unit": "F"},
        "speed": {"text": "5.5", "number": "11/2", "unit": "ft/min"},
    },
    "conditions": {},
    "readings": [QUARTER],
    "bond": "good",
}


def test_the_payload_these_refusals_start_from_is_good() -> None:
    """Else they would prove nothing."""
    assert decode("strip", STRIP).readings == (Quantity("1/4", Fraction(1, 4), "in"),)


def changed(path: str, value: Any) -> dict[str, Any]:
    """The good strip with one part replaced."""
    payload = json.loads(json.dumps(STRIP))
    *parents, last = path.split("/")
    part = payload
    for key in parents:
        part = part[int(key) if key.isdigit() else key]
    part[last] = value
    return payload


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("seen", None),
        ("seen", []),
        ("seen/at", 7),
        ("setting", "blue"),
        ("setting/speed", 5.5),
        ("setting/speed/number", 5.5),
        ("setting/speed/number", "fast"),
        ("setting/speed/number", "1/0"),
        ("setting/speed/number", "nan"),
        ("setting/speed/number", "1" * 65),
        ("setting/speed/number", "1e400"),
        ("setting/speed/unit", "furlong"),
        ("setting/speed/unit", ["ft/min"]),
        ("setting/speed/unit", None),
        ("readings", {"0": QUARTER}),
        ("readings", [QUARTER, "1/4"]),
        ("bond", 1),
        ("smoke", "yes"),
        ("conditions", []),
        # What cannot be typed cannot be smuggled in either.
        ("seen/at", "noon"),
        ("seen/at", "2026-06-01T07:00:00"),
        ("seen/at", "0001-01-01T00:00:00+14:00"),
        ("setting/speed/unit", "in"),
        ("setting/speed/number", "0"),
        ("setting/nozzle/number", "9320"),
        ("readings/0/unit", "C"),
        ("readings/0/number", "-1/4"),
        ("conditions/humidity", {"text": "140", "number": "140", "unit": "%"}),
        ("conditions/ambient", {"text": "1", "number": "1", "unit": "in"}),
        ("conditions/carried", [{"name": "ambient"}]),
    ],
)
def test_a_payload_that_cannot_be_a_strip_is_refused(path: str, value: object) -> None:
    """ValueError and nothing else: what verifies a record must name it, not fall over it."""
    with pytest.raises(ValueError, match=r".+"):
        decode("strip", changed(path, value))


AMEND = {"of": "x", "path": "readings", "why": "slip", "seen": SEEN, "replaces": "y"}
FURLONG = {**QUARTER, "unit": "furlong"}


@pytest.mark.parametrize(
    "new", [FURLONG, [FURLONG], [QUARTER, FURLONG], {"a": [{"b": FURLONG}]}, {**QUARTER, "unit": 1}]
)
def test_a_correction_to_a_unit_nobody_has_is_refused(new: object) -> None:
    """However deep it lies; in the place of the old value as in that of the new."""
    for place in ("old", "new"):
        with pytest.raises(ValueError, match="unknown unit"):
            decode("amend", {**AMEND, place: new})
        with pytest.raises(ValueError, match="unknown unit"):
            read_json("amend", json.dumps({**AMEND, place: new}).encode())


@pytest.mark.parametrize("new", [QUARTER, [QUARTER], "furlong", {"unit": "furlong"}, {"n": {}}])
def test_what_is_no_quantity_may_be_called_a_unit(new: object) -> None:
    """Only what has just a text, a number and a unit is held to be one."""
    assert decode("amend", {**AMEND, "new": new}).new == new


@pytest.mark.parametrize("name", ["S", "s1", "1", "SS1", "S1234567890", "S1 ", "Š1", ""])
def test_a_short_name_is_a_letter_and_a_number(name: str) -> None:
    """It becomes part of other names and of lines to type: nothing else is let in."""
    with pytest.raises(ValueError, match="not a short name"):
        decode("strip", changed("name", name))
    assert decode("strip", changed("name", "S123456789")).name == "S123456789"


@pytest.mark.parametrize("code", ["", "No go-ahead", "9_days", "x" * 65, "ñ"])
def test_a_warning_is_a_code(code: str) -> None:
    """The program's own words: small letters, numbers and bars, at most 64."""
    run = {
        "name": "R1",
        "seam": "A1",
        "seen": SEEN,
        "start": {"text": "0", "number": "0", "unit": "ft"},
        "conditions": {},
        "warnings": ["no_go_ahead", "x" * 64],
    }
    assert decode("run", run).warnings == ("no_go_ahead", "x" * 64)
    with pytest.raises(ValueError, match="not a code"):
        decode("run", {**run, "warnings": ["no_go_ahead", code]})


@pytest.mark.parametrize("number", ["1" * 65, "1/" + "9" * 65, "1/05", " 1", "+1", "1.5"])
def test_a_number_has_64_digits_at_most(number: str) -> None:
    """Over the bar and under it alike, in one way to write it; as many are read."""
    fits = changed("readings/0/number", "1/" + "9" * 64)
    assert decode("strip", fits).readings[0].number == Fraction(1, int("9" * 64))
    with pytest.raises(ValueError, match="not a number"):
        decode("strip", changed("readings/0/number", number))
    with pytest.raises(ValueError, match="bleed-out"):
        decode("strip", changed("readings/0/number", "1" * 64))  # read, and far too wide


def test_an_unknown_kind_is_refused_by_name() -> None:
    """A later version's kind is not guessed at."""
    with pytest.raises(ValueError, match="telepathy"):
        decode("telepathy", {})


JUNK = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.floats(),
    TEXT,
    st.lists(TEXT, max_size=2),
    st.dictionaries(TEXT, TEXT, max_size=2),
    st.sampled_from(["1/0", "1e5", "9" * 40, "-1/3"]),
    st.just({"text": "1", "number": "1", "unit": []}),
    st.just({"text": "1", "number": {}, "unit": "in"}),
)


@settings(max_examples=100)
@given(kind=st.sampled_from(list(KINDS)), data=st.data())
def test_any_part_replaced_by_junk_is_read_or_refused(kind: str, data: st.DataObject) -> None:
    """No payload whatever raises anything but ValueError."""
    payload = encode(data.draw(records(record_class(kind))))
    part: Any = payload
    key = data.draw(st.sampled_from([*payload, "more"]))
    while isinstance(part.get(key), dict) and part[key] and data.draw(st.booleans()):
        part, key = part[key], data.draw(st.sampled_from(list(part[key])))
    part[key] = data.draw(JUNK)
    try:
        decode(kind, payload)
    except ValueError:
        return


def test_a_text_may_be_ten_thousand_signs_long() -> None:
    """One more is refused, with how many there may be, before anything is recorded."""
    at = "2026-06-01T07:00:00-06:00"
    assert encode(Seen(at=at, by="ü" * 10_000))["by"] == "ü" * 10_000
    with pytest.raises(TextNotPlain, match="10000"):
        encode(Seen(at=at, by="ü" * 10_001))
