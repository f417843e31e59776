"""Every value a person can type, in one table: what it measures, its usual unit, what can be.

Invariant: the command line, the prompts, other people's files and corrections
all read a value through :func:`read`, so that one text means one thing
everywhere. The ranges refuse only what cannot be; whether a value is good is
the limits' business.
"""

from __future__ import annotations

import re
import unicodedata
from fractions import Fraction
from functools import cache, lru_cache

from msgspec import Struct

from weldcal import errors
from weldcal.numbers_said import in_digits, unaccented
from weldcal.quantities import DIMENSION, VULGAR, Quantity, convert, is_feet_inches, parse, sign
from weldcal.records.alike import ALIKE
from weldcal.records.examples import no_stretch
from weldcal.words import _, mark, number

Units = str  # "us" or "si"


class Field(Struct, frozen=True):
    """One kind of value.

    Attributes:
        label: what people call it.
        dimension: key of `quantities.UNITS`.
        us, si: the unit meant where none is typed.
        low, high: what can be, in `limit_unit`, both included.
    """

    label: str
    dimension: str
    us: str
    si: str
    low: str
    high: str
    limit_unit: str


# Ranges: what a roof, a hand machine or an instrument can show at all
# (common practice, no source); wide on purpose.
FIELDS: dict[str, Field] = {
    "nozzle": Field(mark("nozzle temperature"), "temperature", "F", "C", "50", "750", "C"),
    "north": Field(mark("north on the plan, degrees clockwise from its y"), "count", "", "", "0", "360", ""),
    "speed": Field(mark("travel speed"), "speed", "ft/min", "m/min", "0.05", "30", "m/min"),
    "mark": Field(mark("dial mark"), "mark", "mark", "mark", "0", "1000", "mark"),
    "air_flow": Field(mark("air flow"), "percent", "%", "%", "0", "100", "%"),
    "nozzle_width": Field(mark("nozzle width"), "length", "in", "mm", "5", "500", "mm"),
    "roller_load": Field(mark("roller load"), "force", "lbf", "N", "0", "5000", "N"),
    "ambient": Field(mark("ambient temperature"), "temperature", "F", "C", "-50", "60", "C"),
    "sheet_temp": Field(mark("sheet surface temperature"), "temperature", "F", "C", "-50", "120", "C"),
    "under_temp": Field(mark("temperature of the lower sheet"), "temperature", "F", "C", "-50", "120", "C"),
    "humidity": Field(mark("relative humidity"), "percent", "%", "%", "0", "100", "%"),
    "wind": Field(mark("wind"), "speed", "mph", "m/s", "0", "60", "m/s"),
    "gust": Field(mark("gusts"), "speed", "mph", "m/s", "0", "60", "m/s"),
    "roll_temp": Field(mark("roll temperature"), "temperature", "F", "C", "-50", "120", "C"),
    "line_voltage": Field(mark("line voltage"), "voltage", "V", "V", "50", "600", "V"),
    "reading": Field(mark("bleed-out"), "length", "in", "mm", "0", "100", "mm"),
    "bonded_width": Field(mark("bonded width"), "length", "in", "mm", "0", "500", "mm"),
    "lap_width": Field(mark("lap width"), "length", "in", "mm", "0", "2000", "mm"),
    "sample_temp": Field(mark("sample temperature"), "temperature", "F", "C", "-50", "120", "C"),
    "pull_rate": Field(mark("pull rate"), "speed", "in/min", "mm/min", "1", "5000", "mm/min"),
    "distance": Field(mark("distance along the seam"), "length", "ft", "m", "0", "10000", "m"),
    "length": Field(mark("length"), "length", "ft", "m", "0", "10000", "m"),
    "travel": Field(mark("measured travel"), "length", "ft", "m", "0.1", "1000", "m"),
    "stagger": Field(mark("stagger of end laps"), "length", "ft", "m", "0", "100", "m"),
    "side_lap": Field(mark("side lap"), "length", "in", "mm", "0", "1000", "mm"),
    "end_lap": Field(mark("end lap"), "length", "in", "mm", "0", "2000", "mm"),
    "depth": Field(mark("depth"), "length", "in", "mm", "0", "500", "mm"),
    "patch": Field(mark("patch size"), "length", "in", "mm", "1", "5000", "mm"),
    "load": Field(mark("peel load"), "force", "lbf", "N", "0", "20000", "N"),
    "sample_width": Field(mark("sample width"), "length", "in", "mm", "1", "500", "mm"),
    "line_load": Field(mark("load per width"), "line load", "lbf/in", "N/50mm", "0", "1000", "N/mm"),
    "thickness": Field(mark("sheet thickness"), "length", "in", "mm", "0.2", "20", "mm"),
    "roll_width": Field(mark("roll width"), "length", "in", "mm", "50", "10000", "mm"),
    "spread": Field(mark("spread of readings"), "length", "in", "mm", "0", "100", "mm"),
    "difference": Field(mark("difference of temperature"), "difference", "degF", "degC", "0", "200", "degC"),
    "share": Field(mark("share"), "percent", "%", "%", "0", "100", "%"),
    "minutes": Field(mark("minutes"), "time", "min", "min", "0", "10080", "min"),
    "seconds": Field(mark("seconds"), "time", "s", "s", "1", "3600", "s"),
    "load_w": Field(mark("load"), "power", "W", "W", "10", "100000", "W"),
    "load_a": Field(mark("load"), "current", "A", "A", "0.1", "200", "A"),
    "cord": Field(mark("length of cord, one way"), "length", "ft", "m", "0.5", "1000", "m"),
    "hours": Field(mark("hours"), "time", "h", "h", "0", "8760", "h"),
    "count": Field(mark("count"), "count", "", "", "0", "100000", ""),
    "places": Field(mark("how many places"), "count", "", "", "1", "10000", ""),
    "seed": Field(mark("seed"), "count", "", "", "0", "4294967295", ""),
    "chance": Field(mark("chance"), "percent", "%", "%", "1", "99.9", "%"),
}  # fmt: skip

# What a refusal shows to type instead, where the unit's usual example could not be.
_EXAMPLES = {"nozzle": {"F": "932", "C": "500"}, "roll_width": {"in": "39.4", "mm": "1000"}}

CHOICES: dict[str, tuple[str, tuple[str, ...]]] = {
    "bubbling": (mark("bubbling"), ("none", "trace", "heavy")),
    "bond": (mark("bond"), ("good", "cold", "not tried")),
    "lap": (mark("lap kind"), ("selvage", "granules", "sand", "film")),
    "yes_no": (mark("yes or no"), ("yes", "no")),
    "units": (mark("units"), ("us", "si")),
    "outlives": (mark("what outlives a job"), ("machine", "sheet", "instrument", "person")),
    "how": (mark("how it was found"), ("seen", "probed", "cut")),
    "flaw": (
        mark("kind of finding"),
        ("void", "cold", "fishmouth", "scorched", "wrinkle", "blister", "sample cut", "other"),
    ),
    "seam_kind": (mark("kind of seam"), ("side lap", "end lap", "night tie-in", "detail", "T-joint")),
    "start_answer": (mark("answer to a line of the start-up list"), ("yes", "no", "not needed")),
    "leak_step": (mark("step of a leak"), ("found", "mended", "looked")),
    "dryness": (mark("dry or wet"), ("dry", "wet")),
    "leak_where": (mark("where it was seen"), ("inside", "roof")),
    "phases": (mark("phases"), ("1", "3")),
    "sky": (mark("sky"), ("clear", "broken", "overcast")),
    "axis": (mark("axis"), ("x", "y")),
    "edge": (mark("edge"), ("low", "high")),
    "surface": (mark("what the sheet's face is"), ("granules", "sand", "film")),
    "slope": (mark("which way water runs"), ("x+", "x-", "y+", "y-")),
    "factor": (
        mark("what faults are split by"),
        ("lap", "kind", "sheet", "machine", "operator", "hour", "weather", "tool", "go-ahead"),
    ),
    "judged_by": (mark("judged by"), ("bleed-out", "bond")),
    "parted": (
        mark("how it parted"),
        ("in the compound", "in the reinforcement", "at the lap", "not parted"),
    ),
}  # fmt: skip


def usual_unit(name: str, units: Units) -> str:
    """The unit meant for field `name` where none is typed, on a job in `units`."""
    field = FIELDS[name]
    return field.us if units == "us" else field.si


# The far end of a lap, as a place along it.
END = "end"
_ENDS = {"end", "the end", "its end", "fin", "el fin", "al fin", "final", "el final", "al final"}
_FURTHEST = Fraction(FIELDS["distance"].high)


def says_end(text: str) -> bool:
    """Whether a text is the far end of a lap."""
    return folded(text) in _ENDS


def is_end(place: Quantity) -> bool:
    """Whether a place was typed as the end of its lap; it counts as the furthest place until the book knows the length."""
    return place.text == END


def _the_end(units: Units) -> Quantity:
    unit = usual_unit("distance", units)
    return Quantity(text=END, number=convert(_FURTHEST, "m", unit), unit=unit)


def read_place(
    text: str, units: Units, unit: str | None = None, *, spoken: bool = True
) -> Quantity:
    """Read a distance along a lap; `end` is its far end, which `Runs.placed` then measures.

    Raises:
        NotANumber, WrongUnit, OutOfRange: as in `read`.
    """
    return _the_end(units) if says_end(text) else read("distance", text, units, unit, spoken=spoken)


def read(
    name: str, text: str, units: Units, unit: str | None = None, *, spoken: bool = True
) -> Quantity:
    """Read a value of field `name` as typed.

    Args:
        name: key of `FIELDS`.
        text: as typed.
        units: the job's units, deciding what a bare number means.
        unit: what a bare number means here (a column's unit), instead.
        spoken: as in `quantities.parse`.

    Raises:
        NotANumber, WrongUnit, OutOfRange, BareReading, BareFraction: one plain sentence each.
    """
    field = FIELDS[name]
    default = unit or usual_unit(name, units)
    example = _EXAMPLES.get(name, {}).get(default)
    label = _(field.label)
    quantity = parse(text, field.dimension, default, name=label, spoken=spoken, example=example)
    if name == "reading" and unit is None:
        _refuse_bare(field, text, quantity)
    check(name, quantity)
    return quantity


# No bleed-out is two inches wide and read without a fraction (common practice, no source):
# a bare 6 is meant in mm, or in sixteenths. From 63 on, neither can be.
_BARE = range(2, 63)
_OF_FRACTIONS = "/" + VULGAR


def _refuse_bare(field: Field, text: str, quantity: Quantity) -> None:
    """Refuse a bare whole number that cannot be meant in inches, a fraction that is none of mm."""
    bare, fraction = text.strip()[-1:].isnumeric(), any(one in _OF_FRACTIONS for one in text)
    if quantity.unit == "mm" and bare and fraction:
        raise errors.BareFraction(
            name=_(field.label), text=text.strip(), inches=f"{text.strip()}in"
        )
    if quantity.unit != "in" or quantity.number not in _BARE:
        return
    if re.fullmatch(r"\s*\+?\d+\.?0*\s*", in_digits(text), re.ASCII):
        raise errors.BareReading(
            name=_(field.label), text=text.strip(), number=int(quantity.number)
        )


def check(name: str, quantity: Quantity) -> None:
    """Refuse a quantity that cannot be a value of field `name`.

    Raises:
        OutOfRange: with the range in the unit that was typed.
        NotWhole: a count that is none.
    """
    n, d = quantity.number.as_integer_ratio()
    if _fits(name, n, d, quantity.unit):
        return
    field = FIELDS[name]
    if field.dimension == "count" and d != 1:
        raise errors.NotWhole(name=_(field.label), text=quantity.text)
    quantity.to(field.limit_unit)  # refuses another dimension
    low, high = Fraction(field.low), Fraction(field.high)
    raise errors.OutOfRange(
        name=_(field.label),
        text=_with_unit(quantity),
        low=_bound(low, field.limit_unit, quantity.unit),
        high=_bound(high, field.limit_unit, quantity.unit),
    )


@lru_cache(maxsize=4096)  # a crew's numbers are few
def _fits(name: str, n: int, d: int, unit: str) -> bool:
    """Whether n/d of a unit can be a value of a field."""
    field = FIELDS[name]
    if (field.dimension == "count" and d != 1) or DIMENSION[unit] != DIMENSION[field.limit_unit]:
        return False
    (a, b), (p, q) = _range(name, unit)
    return a * d <= n * b and n * q <= p * d


@cache
def _range(name: str, unit: str) -> tuple[tuple[int, int], tuple[int, int]]:
    """The ends of a field's range in a unit, each as whole numbers over each other."""
    field = FIELDS[name]
    low, high = (convert(Fraction(end), field.limit_unit, unit) for end in (field.low, field.high))
    return low.as_integer_ratio(), high.as_integer_ratio()


def read_many(
    name: str, text: str, units: Units, unit: str | None = None, *, spoken: bool = True
) -> tuple[Quantity, ...]:
    """Read values separated by commas or semicolons: `1/4,3/16,5/16`, `6mm, 7mm`, `6,7,6mm`.

    A unit on the last value alone is meant for all of them, but no fraction is of a millimetre.
    Between semicolons a comma is a decimal one, where all that is there are single numbers:
    `5,5; 6`.
    """
    parts = _split(text) if spoken else text.replace(";", ",").split(",")
    parts = [part for part in parts if part.strip()] or [text]
    last = read(name, parts[-1], units, unit, spoken=spoken)
    plain = [in_digits(part) if spoken else part for part in parts[:-1]]
    signs = "".join(plain)
    bare = all(one in _OF_FRACTIONS + ".-" or one.isdecimal() or one.isspace() for one in signs)
    fractions = any(one in _OF_FRACTIONS for one in signs)
    shared = last.unit if bare and not (fractions and last.unit in ("mm", "cm", "m")) else unit
    return (*(read(name, part, units, shared, spoken=spoken) for part in parts[:-1]), last)


def _split(text: str) -> list[str]:
    """The values of a list: at semicolons where each is one number, else at commas too."""
    parts = text.split(";")
    if len(parts) > 1 and all("," not in in_digits(part) for part in parts):
        return parts
    return text.replace(";", ",").split(",")


def stretch(text: str, units: Units) -> tuple[Quantity, Quantity]:
    """Read a stretch along a seam: `0-33`, `3ft-14ft6in`, `0 to 10m`, `0-26'-10 5/8"`, `14-end`.

    The order typed is kept: a walk may run backwards.

    Raises:
        NotAStretch: no two distances can be read.
    """
    parts = re.split(r"\s*(?:\bto\b|\.\.|…|–|—)\s*", text.strip())
    if len(parts) != 2:
        parts = _two_places(text.strip(), units)
    end = read_place(parts[1], units)
    bare = re.fullmatch(r"[\d.\s/]+", parts[0])
    start = read_place(parts[0], units, end.unit if bare else None)
    return start, end


def _two_places(text: str, units: Units) -> list[str]:
    """A text cut at its one hyphen between two places; `26'-10"` has one within.

    Raises:
        NotAStretch: at none, or it could be at several.
    """
    places = []
    for cut in re.finditer(r"(?<=[\dA-Za-z\"'])\s*-\s*(?=[\dA-Za-z])", text):
        pair = [text[: cut.start()], text[cut.end() :]]
        try:
            for part in pair:
                read_place(part, units)
        except errors.Unreadable:
            continue
        places.append(pair)
    if len(places) != 1 or is_feet_inches(text):
        if len(re.findall("-", text)) == 1 and not is_feet_inches(text):
            # One hyphen, and what stands beside it is no place: say which.
            return re.split(r"\s*-\s*", text)
        raise no_stretch(text, units)
    return places[0]


def past(start: Quantity, length: Quantity) -> Quantity:
    """A place `length` further along, exact, in the unit of `start`.

    Raises:
        NotAStretch: nothing lies past the end.
    """
    if is_end(start):
        text = f"{start.text}+{length.text}"
        raise no_stretch(text, "us" if length.unit in ("in", "ft") else "si")
    number = start.number + length.to(start.unit)
    unit = "" if length.text.endswith(length.unit) else length.unit
    return Quantity(text=f"{start.text}+{length.text}{unit}", number=number, unit=start.unit)


def choose(name: str, text: str) -> str:
    """Read one of the words of choice `name`; short spellings and the reader's language count.

    Raises:
        NotAChoice: with the words that count, in the reader's language.
    """
    label, words = CHOICES[name]
    word = ALIKE.get(name, {}).get(folded(text), folded(text)).lower()
    for possible in words:
        if word in (possible.lower(), folded(_(possible))):
            return possible
    raise errors.NotAChoice(name=_(label), text=text, allowed=", ".join(_(word) for word in words))


def folded(text: str) -> str:
    """`text` without case, accents and doubled spaces, which a phone's keyboard hides."""
    return unaccented(" ".join(text.split()))


_LONGEST_NAME = 200


def plain_name(label: str, text: str) -> str:
    """Read a name: any script, any signs; outer space dropped, composed form (NFC).

    Raises:
        TextNotPlain: empty, over 200 characters, or not text (lone surrogates).
    """
    name = unicodedata.normalize("NFC", text).strip()
    if not 1 <= len(name) <= _LONGEST_NAME or any("\ud800" <= c <= "\udfff" for c in name):
        raise errors.TextNotPlain(name=label, most=_LONGEST_NAME)
    return name


def same_name(name: str) -> str:
    """The form under which two spellings of a name are one: case and spacing folded."""
    return " ".join(unicodedata.normalize("NFKC", name).casefold().split())


def _with_unit(quantity: Quantity) -> str:
    text, unit = quantity.text, quantity.unit
    return text if not unit or text.lower().endswith(unit.lower()) else f"{text} {_(sign(unit))}"


def _bound(value: Fraction, unit: str, shown_in: str) -> str:
    bound = float(convert(value, unit, shown_in))
    return f"{number(bound, '.4g')} {_(sign(shown_in)) if shown_in else ''}".strip()
