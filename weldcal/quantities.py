"""Lengths, temperatures, speeds, loads: parsed as people type them, converted exactly.

Invariant: a number never travels without its unit, and keeps the text it was
typed as. Arithmetic is in `Fraction`, so a conversion there and back gives the
same number; floats are made only by :meth:`Quantity.si`.

Exact factors: 1 in = 25.4 mm, 1 lb = 0.45359237 kg (international yard and pound
agreement, 1959; NIST SP 811 appendix B.8); standard gravity 9.80665 m/s²
(3rd CGPM, 1901).
"""

# Not postponed: msgspec takes the annotations as types, and reading them from text takes time.
import re
import unicodedata
from fractions import Fraction
from functools import cache, lru_cache

from msgspec import Struct

from weldcal.errors import NotANumber, WrongUnit
from weldcal.numbers_said import in_digits

_LBF = Fraction(45359237, 100000000) * Fraction(980665, 100000)
_FOOT = Fraction(3048, 10000)
_INCH = Fraction(254, 10000)

_BASE = (Fraction(1), Fraction(0))


def _times(number: Fraction | int, *, over: int = 1) -> tuple[Fraction, Fraction]:
    """Factor and offset of a unit that is 0 where its base is."""
    return Fraction(number) / over, Fraction(0)


# dimension -> unit -> (factor, offset): value in the base unit = number * factor + offset.
# The first unit of each dimension is its base.
UNITS: dict[str, dict[str, tuple[Fraction, Fraction]]] = {
    "length": {
        "m": _BASE,
        "mm": _times(1, over=1000),
        "cm": _times(1, over=100),
        "in": _times(_INCH),
        "ft": _times(_FOOT),
    },
    "temperature": {
        "C": _BASE,
        "F": (Fraction(5, 9), Fraction(-160, 9)),
        "K": (Fraction(1), Fraction(-27315, 100)),
    },
    "speed": {
        "m/min": _BASE,
        "ft/min": _times(_FOOT),
        "m/s": _times(60),
        "km/h": _times(1000, over=60),
        "mph": _times(_FOOT * 5280 / 60),
        "cm/s": _times(60, over=100),
        "ft/s": _times(_FOOT * 60),
        "mm/min": _times(1, over=1000),
        "in/min": _times(_INCH),
    },
    "mark": {"mark": _BASE},
    "percent": {"%": _BASE},
    "voltage": {"V": _BASE},
    "force": {
        "N": _BASE,
        "kN": _times(1000),
        "lbf": _times(_LBF),
        "kgf": _times(980665, over=100000),
    },
    "line load": {
        "N/mm": _BASE,
        "N/50mm": _times(1, over=50),
        "lbf/in": _times(_LBF / (_INCH * 1000)),
    },
    "time": {
        "s": _BASE,
        "min": _times(60),
        "h": _times(3600),
    },
    "difference": {"degC": _BASE, "degF": _times(5, over=9)},
    "current": {"A": _BASE},
    "power": {"W": _BASE, "kW": _times(1000)},
    "count": {"": _BASE},
}

DIMENSION = {unit: dimension for dimension, units in UNITS.items() for unit in units}

# What people write -> the unit's own name. Matched without regard to case,
# after the exact names, so that "M" is metres only where nothing else fits.
_SPELLINGS = {
    '"': "in", "inch": "in", "inches": "in", "ins": "in", "'": "ft", "foot": "ft", "feet": "ft",
    "fpm": "ft/min", "ft/m": "ft/min", "feet/min": "ft/min", "ft per min": "ft/min",
    "mpm": "m/min", "m per min": "m/min", "mi/h": "mph", "kmh": "km/h", "kph": "km/h",
    "f": "F", "°f": "F", "degf": "F", "deg f": "F", "c": "C", "°c": "C", "degc": "C", "deg c": "C",
    "k": "K", "v": "V", "a": "A", "amp": "A", "amps": "A", "volt": "V", "volts": "V", "w": "W", "watt": "W", "watts": "W", "kw": "kW", "pct": "%", "percent": "%", "%rh": "%", "% rh": "%",
    "lb": "lbf", "lbs": "lbf", "pli": "lbf/in", "lb/in": "lbf/in", "n": "N", "n/mm": "N/mm",
    "n/50mm": "N/50mm", "n/50 mm": "N/50mm", "kn": "kN", "marks": "mark", "sec": "s",
    "secs": "s", "seconds": "s", "minutes": "min", "mins": "min", "hr": "h", "hrs": "h",
    "hours": "h", "pie": "ft", "pies": "ft", "pulg": "in", "pulgada": "in", "pulgadas": "in",
    "pies/min": "ft/min", "minutos": "min", "horas": "h", "metro": "m", "metros": "m", "metre": "m", "metres": "m", "meter": "m", "meters": "m",
}  # fmt: skip

_NUMBER = r"[-+]?(?:\d+[ -]+\d+\s*/\s*\d+|\d+\s*/\s*\d+|\d+(?:\.\d*)?|\.\d+)"
_TYPED = re.compile(rf"\s*(?P<number>{_NUMBER})\s*(?P<unit>.*?)\s*", re.ASCII | re.DOTALL)
# Compiled by their first use, for most values are neither.
_FEET_INCHES = (
    r"(?ai)\s*(?P<feet>\d+)\s*(?:'|ft|feet|foot)\s*-?\s*"
    rf"(?P<inches>{_NUMBER})\s*(?:\"|in|inch|inches)?\s*"
)
# As a stopwatch shows it: minutes and seconds.
_STOPWATCH = r"(?a)\s*(?P<minutes>\d{1,3}):(?P<seconds>[0-5]\d(?:\.\d+)?)\s*(?:min)?\s*"
_LONGEST = 64
VULGAR = "¼½¾⅐⅑⅒⅓⅔⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞"

# What a person is shown to type, by unit.
EXAMPLES = {
    "in": "1/4", "mm": "6", "ft": "14.5", "m": "4.4", "F": "61", "C": "16", "ft/min": "5.5",
    "m/min": "1.7", "mph": "8", "m/s": "3.5", "%": "60", "V": "230", "mark": "5.5", "lbf": "40",
    "N": "180", "h": "4", "W": "4600",
}  # fmt: skip


def sign(unit: str) -> str:
    """A unit as it is written beside a number: `°F`, `ft/min`."""
    return _SIGNS.get(unit, unit)


_SIGNS = {"C": "°C", "F": "°F", "degC": "°C", "degF": "°F"}


class Quantity(Struct, frozen=True):
    """A number with its unit, and the text it was typed as.

    Attributes:
        text: as typed, the unit included only if it was typed.
        number: the exact number in `unit`.
        unit: a key of one of the dimensions in `UNITS`.
    """

    text: str
    number: Fraction
    unit: str

    def __post_init__(self) -> None:
        """Refuse a unit that is none of ours (ValueError)."""
        if self.unit not in DIMENSION:
            raise ValueError(f"unknown unit {self.unit!r:.60}")

    @property
    def dimension(self) -> str:
        """What kind of thing this measures."""
        return DIMENSION[self.unit]

    def to(self, unit: str) -> Fraction:
        """Return the exact number in `unit`.

        Raises:
            WrongUnit: `unit` measures something else.
        """
        if DIMENSION.get(unit) != self.dimension:
            allowed = ", ".join(UNITS[self.dimension])
            raise WrongUnit(name=self.text, unit=unit, allowed=allowed, example=f"1{self.unit}")
        return convert(self.number, self.unit, unit)

    def si(self, unit: str) -> float:
        """Return the number in `unit` as the nearest float, for the derived tables."""
        try:
            return _nearest(*self.number.as_integer_ratio(), self.unit, unit)
        except KeyError:
            return float(self.to(unit))  # refuses it


def convert(number: Fraction, unit: str, to: str) -> Fraction:
    """Convert `number` exactly from `unit` to `to`, both of one dimension."""
    if unit == to:
        return number
    factor, offset = _between(unit, to)
    return number * factor + offset if offset else number * factor


# A crew's numbers are few; every row of a table asks for some ten of them.
@lru_cache(maxsize=8192)
def _nearest(n: int, d: int, unit: str, to: str) -> float:
    """n/d of a unit as the nearest float of another: whole numbers over each other, no fraction made."""
    if unit == to:
        return n / d
    (a, b), (p, q) = _ratios(unit, to)
    return (n * a * q + p * d * b) / (d * b * q)


@cache
def _ratios(unit: str, to: str) -> tuple[tuple[int, int], tuple[int, int]]:
    """Factor and offset as whole numbers over each other."""
    factor, offset = _between(unit, to)
    return factor.as_integer_ratio(), offset.as_integer_ratio()


@cache
def _between(unit: str, to: str) -> tuple[Fraction, Fraction]:
    """Factor and offset from one unit to another."""
    units = UNITS[DIMENSION[unit]]
    factor, offset = units[unit]
    to_factor, to_offset = units[to]
    return factor / to_factor, (offset - to_offset) / to_factor


def parse(
    text: str,
    dimension: str,
    default: str,
    *,
    name: str,
    spoken: bool = True,
    example: str | None = None,
) -> Quantity:
    """Read what a person typed: `932`, `500C`, `5.5ft/min`, `1/4in`, `5 1/2"`, `3'6"`, `¼`, `a quarter`.

    Args:
        text: as typed.
        dimension: a key of `UNITS`.
        default: the unit meant where none was typed.
        name: what the value is, for the message.
        spoken: whether numbers in words and a decimal comma count; not in a file, where a
            comma and a word may be something else.
        example: a number to show in a refusal; one that the unit alone would not suggest.

    Raises:
        NotANumber: no number can be read.
        WrongUnit: the unit is not one of the dimension's.
    """
    example = (example or EXAMPLES.get(default, "5")) + default
    plain = _plain(text)
    if len(plain) > _LONGEST:
        raise NotANumber(name=name, text=text[:_LONGEST] + "…", example=example)
    if spoken:
        plain = in_digits(plain)
    if dimension == "length":
        both = _feet_inches(plain)
        if both:
            feet = Fraction(both["feet"]) + _number(both["inches"]) / 12
            return Quantity(text=text.strip(), number=feet, unit="ft")
    if dimension == "time" and (watch := re.fullmatch(_STOPWATCH, plain)):
        number = 60 * Fraction(watch["minutes"]) + Fraction(watch["seconds"])
        return Quantity(text=text.strip(), number=number, unit="s")
    typed = _TYPED.fullmatch(plain)
    if typed is None:
        raise NotANumber(name=name, text=text, example=example)
    try:
        number = _number(typed["number"])
    except (ValueError, ZeroDivisionError):
        raise NotANumber(name=name, text=text, example=example) from None
    return Quantity(
        text=text.strip(),
        number=number,
        unit=_unit(text, typed["unit"], dimension, default, name, example),
    )


def unit_named(text: str, dimension: str) -> str | None:
    """Return the unit of `dimension` that `text` spells, or None."""
    word = " ".join(text.strip().split())
    units = UNITS[dimension]
    if word in units:
        return word
    spelled = _SPELLINGS.get(word.lower(), word.lower())
    if dimension == "difference":  # 5F and 5 K of difference are not temperatures
        spelled = {"F": "degF", "C": "degC", "K": "degC"}.get(spelled, spelled)
    return spelled if spelled in units else None


def _unit(text: str, word: str, dimension: str, default: str, name: str, example: str) -> str:
    if not word:
        return default
    unit = unit_named(word, dimension)
    if unit is None:
        if not any(unit_named(word, other) for other in UNITS):
            # "5.5x" is a slip of the finger; "5.5in" for a speed is a wrong unit.
            raise NotANumber(name=name, text=text, example=example)
        allowed = ", ".join(UNITS[dimension])
        raise WrongUnit(name=name, unit=word, allowed=allowed, example=example)
    return unit


def _plain(text: str) -> str:
    """Fold typographic variants: ¼ to 1/4, 5½ to 5 1/2, ″ to ", − to -."""
    if text.isascii():  # nearly always: nothing to fold but two ' for "
        return text.replace("''", '"')
    if any(unicodedata.category(sign) == "No" and sign not in VULGAR for sign in text):
        return ""  # 5² is not 52
    spaced = re.sub(r"(?<=\d)(?=[¼-¾⅐-⅞])", " ", text)
    folded = unicodedata.normalize("NFKC", spaced).replace("\u2044", "/").replace("\u2212", "-")
    return (
        folded.replace("\u2033", '"')
        .replace("\u201d", '"')
        .replace("\u2032", "'")
        .replace("\u2019", "'")
        .replace("\u2013", "-")
        .replace("''", '"')
    )


def _number(text: str) -> Fraction:
    sign = -1 if text.startswith("-") else 1
    bare = text.lstrip("+-")
    if "/" in bare:
        bare = "/".join(part.strip() for part in bare.split("/"))
    parts = bare.replace("-", " ").split()
    return sign * sum((Fraction(part.rstrip(".") or "0") for part in parts), Fraction(0))


def _feet_inches(plain: str) -> re.Match[str] | None:
    """Feet and inches of one reading; most have no sign of feet and need no search."""
    if "'" not in plain and "f" not in plain.lower():
        return None
    return re.fullmatch(_FEET_INCHES, plain)


def says_unit(text: str) -> bool:
    """Whether a length as typed says what it is in; `three eighths` does not."""
    return any(sign.isalpha() or sign in "\"'%°″′" for sign in in_digits(text))


def is_feet_inches(text: str) -> bool:
    """Whether a text is one tape reading in feet and inches: `26'-10 5/8\"`, `26 ft 10 5/8 in`.

    `0ft-2in` is none: between words a hyphen means from and to.
    """
    plain = _plain(text).strip()
    if _feet_inches(plain) is None:
        return False
    if re.match(r"\d+\s*'\s*-?", plain):
        return plain.endswith('"')
    return re.search(r"(?:\"|in|inch|inches)$", plain) is not None and not re.match(
        r"\d+\s*[A-Za-z]+\s*-", plain
    )


def feet_inches_word(text: str) -> str:
    """A reading in feet and inches as one word of a line: `26'10-5/8\"`; any other text as it is."""
    plain = _plain(text).strip()
    both = _feet_inches(plain) if is_feet_inches(text) else None
    if both is None:
        return text
    return f"{both['feet']}'{re.sub('[ -]+', '-', both['inches'].strip())}\""


def on_tape(metres: float) -> tuple[int, Fraction]:
    """Feet and inches of a length that is not below 0, to the nearest 1/8 in as a tape is read."""
    feet, eighths = divmod(round(metres / 0.0254 * 8), 12 * 8)
    return feet, Fraction(eighths, 8)


def mixed(number: Fraction) -> str:
    """A number as a tape shows it: `5/8`, `10 5/8`, `6`."""
    whole, rest = divmod(number, 1)
    if not rest:
        return f"{whole}"
    return f"{whole} {rest}" if whole else f"{rest}"


def tape_typed(m: float, units: str) -> str:
    """A place as it is typed again, one word: `14.5`, `26'10-5/8"`, `8.197`."""
    number = m / 0.3048 if units == "us" else m
    plain = f"{number:.4f}".rstrip("0").rstrip(".")
    if units != "us" or m < 0 or len(plain.partition(".")[2]) <= 2:
        return plain
    feet, inches = on_tape(m)
    return f"{feet}'{mixed(inches).replace(' ', '-')}\"" if inches else f"{feet}"


def retyped(text: str, unit: str) -> str:
    """A value as it is typed again: its unit added where it was left out; a file's decimal comma as a point."""
    plain = text.replace(",", ".")
    bare = not any(sign.isalpha() or sign in "\"'%°″′" for sign in plain)
    return plain + unit if bare else plain


def sixteenths(millimetres: float) -> str:
    """A width in inches to the nearest 1/16, as a tape shows it: `5/16`, `1 3/8`."""
    return mixed(Fraction(round(millimetres / 25.4 * 16), 16))


def in_metres(value: float) -> Quantity:
    """A length that was worked out, m, to a tenth of a millimetre."""
    number = Fraction(round(value * 10_000), 10_000)
    return Quantity(text=f"{float(number):g}", number=number, unit="m")
