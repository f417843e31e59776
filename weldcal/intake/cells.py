"""Cells to values: decimal commas, lists of readings, what a strip came to.

Invariant: the numbers are read by `records.fields`, as digits, and keep the text
of their cell; what one cell can mean in two ways is refused.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache
from typing import Literal

from weldcal.errors import NotAChoice, Unreadable
from weldcal.intake.dates import likely_fraction, looks_like_date
from weldcal.quantities import Quantity
from weldcal.records.fields import FIELDS, folded, read, read_many
from weldcal.words import _, mark

# What a comma between two digits is in a file: a decimal comma, a separator, or either.
Comma = Literal["decimal", "separator", "unclear"]

# Good, too cold, too hot -> bubbling and bond. A scorched lap's pull says nothing of cold.
OUTCOMES = {
    "good": ("none", "good"),
    "too cold": ("none", "cold"),
    "too hot": ("heavy", "not tried"),
}

_LONGEST = 500
_DASHES = frozenset({"-", "–", "—", "--", "---"})
_NOT_READ = _DASHES | {"n/a", "na", "n.a.", "?"}
_DITTO = frozenset({'"', "''", "″", "”", "〃", "ditto", "do."})
_ZERO = frozenset(
    {
        "none",
        "nil",
        "zero",
        "no bleed",
        "no bleed-out",
        "no bleed out",
        "nada",
        "ninguno",
        "ninguna",
        "cero",
        "sin sangrado",
        "sin rebose",
    }
)

# What people also write for an outcome, accents dropped (common practice, no source).
_OUTCOME = {
    "ok": "good",
    "pass": "good",
    "buena": "good",
    "bueno": "good",
    "bien": "good",
    "cold": "too cold",
    "fria": "too cold",
    "frio": "too cold",
    "muy fria": "too cold",
    "demasiado fria": "too cold",
    "hot": "too hot",
    "burnt": "too hot",
    "caliente": "too hot",
    "muy caliente": "too hot",
    "demasiado caliente": "too hot",
    "quemada": "too hot",
}


class BecameDate(Unreadable):
    """A fraction that the spreadsheet program turned into a date."""

    sentence = mark(
        "{name}: {text!r} is a date: the spreadsheet turns a fraction such as 1/4 into one. "
        "{likely}Format the column as text, type the fractions again and save it again."
    )


def _became_date(field: str, text: str) -> BecameDate:
    likely = likely_fraction(text)
    hint = _("It was probably {fraction}. ", fraction=likely) if likely else ""
    return BecameDate(name=_(FIELDS[field].label), text=text, likely=hint)


class EitherReading(Unreadable):
    """A comma that can be a decimal comma or a separator."""

    sentence = mark(
        "bleed-out: {text!r} can be one reading or several in this file. "
        "Part the readings with semicolons, or give each a column."
    )


class Ditto(Unreadable):
    """A sign for "as above"."""

    sentence = mark("{text!r} stands for the row above, which is not read. Fill in the value.")


class TooLong(Unreadable):
    """A cell that holds more than any value can."""

    sentence = mark("the cell holds over {most} signs. Type one value in it.")


def is_blank(text: str, *, number: bool) -> bool:
    """Whether a cell says nothing: empty, a dash, and for a number also n/a."""
    return not text or text.lower() in (_NOT_READ if number else _DASHES)


def refuse_unusable(text: str) -> None:
    """Refuse what is no value of any field.

    Raises:
        Ditto: a sign for "as above".
        TooLong: over 500 signs.
    """
    if text.lower() in _DITTO:
        raise Ditto(text=text)
    if len(text) > _LONGEST:
        raise TooLong(most=_LONGEST)


def comma_of(numbers: Iterable[str], delimiter: str, several_columns: bool) -> Comma:
    """What a comma between digits is in a file.

    Args:
        numbers: the cells of the columns that hold one number each.
        delimiter: of the file.
        several_columns: whether the bleed-out readings have a column each.
    """
    commas = points = False
    for text in numbers:
        commas = commas or re.search(r"\d,\d{1,2}(?!\d)", text) is not None
        points = points or re.search(r"\d\.\d", text) is not None
    if points and not commas:
        return "separator"
    if commas and not points:
        return "decimal"
    if several_columns and delimiter != ",":
        return "decimal"
    return "unclear" if commas or delimiter != "," else "separator"


def quantity(field: str, text: str, units: str, unit: str | None, comma: Comma) -> Quantity:
    """Read one number of a field of `records.fields.FIELDS`; `unit` is a bare number's.

    Raises:
        Unreadable: one plain sentence.
    """
    if FIELDS[field].dimension == "length" and looks_like_date(text) and not text.isdigit():
        raise _became_date(field, text)
    pointed = _pointed(text) if comma != "separator" else text
    return _as_typed(_read(field, pointed, units, unit), text)


# A crew's readings are few: 1/4, 3/16, again and again.
@lru_cache(maxsize=4096)
def readings(text: str, units: str, unit: str | None, comma: Comma) -> tuple[Quantity, ...]:
    """Read bleed-out readings: `1/4, 3/16`, `6,5; 7`, `1/4 3/16 5/16`, `none`.

    Raises:
        Unreadable: one plain sentence.
    """
    if looks_like_date(text):
        raise _became_date("reading", text)
    parts = _parts(text, comma)
    for part in parts:
        if looks_like_date(part):
            raise _became_date("reading", part)
    pointed = ["0" if part.lower() in _ZERO else _pointed(part) for part in parts]
    found = read_many("reading", ";".join(pointed), units, unit, spoken=False)
    return tuple(_as_typed(one, part) for one, part in zip(found, parts, strict=True))


def outcome(text: str) -> tuple[str, str]:
    """Read good, too cold or too hot as (bubbling, bond).

    Raises:
        NotAChoice: with the words that count.
    """
    plain = folded(text)
    found = OUTCOMES.get(_OUTCOME.get(plain, plain))
    if found is None:
        raise NotAChoice(name=_("outcome"), text=text, allowed=", ".join(OUTCOMES))
    return found


# A crew's file holds few different values: each is read once.
@lru_cache(maxsize=4096)
def _read(field: str, text: str, units: str, unit: str | None) -> Quantity:
    return read(field, text, units, unit, spoken=False)


def _as_typed(value: Quantity, text: str) -> Quantity:
    return Quantity(text=text, number=value.number, unit=value.unit)


def _pointed(text: str) -> str:
    """A decimal comma made a point, where there is but one comma and a digit after it."""
    return re.sub(r",(?=\d)", ".", text) if text.count(",") == 1 else text


_FRACTIONS = re.compile(r'(?:(?:\d+/\d+|[¼-¾⅐-⅞])"?\s+)+(?:\d+/\d+|[¼-¾⅐-⅞])\s*(?:"|in)?')
_NUMBERS = re.compile(r"(?:\d+(?:[.,]\d+)?\s+)+\d+(?:[.,]\d+)?\s*(?:mm|cm|in|\")?")


def _parts(text: str, comma: Comma) -> list[str]:
    """The readings of a cell, each as typed, at most one decimal comma in each."""
    text = re.sub(r"[\r\n]+", ";", text)
    if ";" in text:
        parts = text.split(";")
    elif _FRACTIONS.fullmatch(text) or _NUMBERS.fullmatch(text):
        parts = re.split(r"\s+(?=[\d¼-¾⅐-⅞])", text)
    else:
        parts = re.split(r"," if comma == "separator" else r",\s+", text)
    whole = [one.strip() for part in parts for one in _fractions(part)]
    for part in whole:
        if part.count(",") > (comma == "decimal"):
            raise EitherReading(text=text)
    return [part for part in whole if part] or [text]


def _fractions(part: str) -> list[str]:
    """`1/4,3/16` at its commas, which cannot be decimal commas; anything else whole."""
    parts = part.split(",")
    return parts if all(re.search(r"[/¼-¾⅐-⅞]", one) for one in parts) else [part]
