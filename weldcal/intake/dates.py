"""Dates and times as spreadsheets show them.

Invariant: a date whose day and month could change places is read in one order for
the whole file, and refused where another row of that file contradicts the order.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from weldcal.errors import NotATime, Unreadable
from weldcal.numbers_said import unaccented
from weldcal.records.times import read_time
from weldcal.words import _, mark


class NotADate(Unreadable):
    """A date that cannot be read."""

    sentence = mark("date: {text!r} is not a date that can be. Write it like 2026-06-01.")


class EitherDate(Unreadable):
    """A date that can be read in two ways."""

    sentence = mark(
        "date: {text!r} can be {one} or {other}, and {against!r} in this file is the other way "
        "round. Add --day-first if days come first, or write it like 2026-06-01."
    )


@dataclass(frozen=True, slots=True)
class Order:
    """Which of day and month comes first in a file.

    Attributes:
        day_first: the order asked for.
        against: a date of the file that can only be read in the other order, if any.
    """

    day_first: bool
    against: str | None = None


_MONTHS = (
    "jan january ene enero",
    "feb february febrero",
    "mar march marzo",
    "apr april abr abril",
    "may mayo",
    "jun june junio",
    "jul july julio",
    "aug august ago agosto",
    "sep sept september set septiembre setiembre",
    "oct october octubre",
    "nov november noviembre",
    "dec december dic diciembre",
)
_MONTH = {word: n for n, words in enumerate(_MONTHS, start=1) for word in words.split()}
_WEEKDAYS = frozenset(
    [
        "mon",
        "monday",
        "tue",
        "tues",
        "tuesday",
        "wed",
        "wednesday",
        "thu",
        "thur",
        "thurs",
        "thursday",
        "fri",
        "friday",
        "sat",
        "saturday",
        "sun",
        "sunday",
        "lun",
        "lunes",
        "martes",
        "mie",
        "miercoles",
        "jue",
        "jueves",
        "vie",
        "viernes",
        "sab",
        "sabado",
        "dom",
        "domingo",
    ]
)
_DROPPED = frozenset({"de", "del", "of", "st", "nd", "rd", "th"})

_YEAR_FIRST = re.compile(r"(\d{4})([-/.])(\d{1,2})\2(\d{1,2})")
_YEAR_LAST = re.compile(r"(\d{1,2})\s*([-/.])\s*(\d{1,2})\s*\2\s*(\d{4}|\d{2})\.?")
_CLOCK = (
    r"\d{1,2}(?:[:.h]\d{2}(?:[:.]\d{2}(?:\.\d+)?)?\s*h?\s*(?:[ap]\.?\s?m\.?)?|\s*[ap]\.?\s?m\.?)"
)
_BOTH = re.compile(rf"(?P<date>.*?\d\.?)(?:\s*,\s*|\s+|t)(?P<clock>{_CLOCK})", re.IGNORECASE)
_CLOCK_PARTS = re.compile(
    r"(?P<h>\d{1,2})(?:[:.h](?P<m>\d{2}))?(?:[:.](?P<s>\d{2})(?:\.\d+)?)?\s*h?\s*(?P<half>[ap])?.*",
    re.IGNORECASE,
)
_EPOCH = re.compile(r"(?:1899-12-3[01]|1900-01-0[01])[ T]", re.IGNORECASE)
_SERIAL = re.compile(r"[34567]\d{4}")  # days since 1900: the years 1982 to 2119


def order_of(texts: Iterable[str], day_first: bool) -> Order:
    """The order of a file's dates: `day_first`, and the first date that contradicts it."""
    for text in texts:
        numbers = _YEAR_LAST.fullmatch(split(text)[0])
        if numbers:
            first, second = int(numbers[1]), int(numbers[3])
            if (first <= 12 < second) if day_first else (second <= 12 < first):
                return Order(day_first, text)
    return Order(day_first)


def split(text: str) -> tuple[str, str]:
    """Cut a cell into its date and its time of day, "" where it has none."""
    both = _BOTH.fullmatch(text)
    return (both["date"], both["clock"]) if both else (text, "")


def read_date(text: str, order: Order) -> date:
    """Read `2026-06-01`, `6/1/2026`, `1.6.2026`, `1 Jun 2026`, `Jun 1, 2026`, `1 de junio de 2026`.

    Raises:
        NotADate: it cannot be one.
        EitherDate: it can be two, and the file does not say which.
    """
    numbers = _YEAR_LAST.fullmatch(text)
    if numbers:
        return _year_last(text, numbers, order)
    numbers = _YEAR_FIRST.fullmatch(text)
    if numbers:
        return _date(text, int(numbers[1]), int(numbers[3]), int(numbers[4]))
    words = _words(text)
    if len(words) == 3:
        day, month, year = words if words[0].isdigit() else (words[1], words[0], words[2])
        if day.isdigit() and year.isdigit() and month in _MONTH and len(year) in (2, 4):
            return _date(text, _year(year), _MONTH[month], int(day))
    raise NotADate(text=text)


def read_clock(text: str, day: datetime) -> datetime:
    """Read a time of day, `7:15`, `7:15 pm`, `7.15`, `7h15`, on the date of `day`.

    Raises:
        NotATime: it cannot be one.
    """
    clock = _EPOCH.sub("", text)
    parts = _CLOCK_PARTS.fullmatch(clock) if re.fullmatch(_CLOCK, clock, re.IGNORECASE) else None
    if parts is None:
        raise NotATime(name=_("time"), text=text)
    half = f" {parts['half']}m" if parts["half"] else ""
    try:
        return read_time(f"{parts['h']}:{parts['m'] or '00'}:{parts['s'] or '00'}{half}", day, "")
    except NotATime:
        raise NotATime(name=_("time"), text=text) from None


def looks_like_date(text: str) -> bool:
    """Whether a spreadsheet made a date of this cell: `4-Jan`, `Jan-32`, `2026-01-04 00:00:00`, `46026`."""
    day, _clock = split(text)
    if any(form.fullmatch(day) for form in (_YEAR_FIRST, _YEAR_LAST, _SERIAL)):
        return True
    words = _words(day)
    named = [word for word in words if not word.isdigit()]
    return 2 <= len(words) <= 3 and len(named) == 1 and named[0] in _MONTH


def likely_fraction(text: str) -> str | None:
    """The fraction of an inch that a spreadsheet made this date of: `16-Mar`, `2026-03-16` -> 3/16.

    A tape has halves to sixty-fourths, so day and month can be one such fraction at most;
    1/32 and 3/64 become the first of a month of 2032 or 1964.
    """
    parts = _day_month_year(split(text)[0])
    if parts is None:
        return None
    day, month, year = parts
    pairs = [(month, day), (day, month)]
    if year is not None and day == 1:
        pairs.append((month, year % 100))
    for over, under in pairs:
        if under in (2, 4, 8, 16, 32, 64) and over < under:
            return f"{over}/{under}"
    return None


def _day_month_year(day: str) -> tuple[int, int, int | None] | None:
    """Numbers of a date as shown; of `Jan-32` the day is 1. The year is None where not shown."""
    if numbers := _YEAR_FIRST.fullmatch(day):
        return int(numbers[4]), int(numbers[3]), int(numbers[1])
    if numbers := _YEAR_LAST.fullmatch(day):
        return int(numbers[3]), int(numbers[1]), None
    words = _words(day)
    named = [word for word in words if not word.isdigit()]
    if len(named) != 1 or named[0] not in _MONTH:
        return None
    month, figures = _MONTH[named[0]], [int(word) for word in words if word.isdigit()]
    if len(figures) == 1 and figures[0] > 31:
        return 1, month, figures[0]
    return (figures[0], month, None) if figures else None


def _year_last(text: str, numbers: re.Match[str], order: Order) -> date:
    first, second, year = int(numbers[1]), int(numbers[3]), _year(numbers[4])
    day, month = (first, second) if order.day_first else (second, first)
    if month > 12:
        day, month = month, day
    elif order.against is not None and day <= 12 and day != month:
        one, other = _date(text, year, month, day), _date(text, year, day, month)
        raise EitherDate(text=text, one=one, other=other, against=order.against)
    return _date(text, year, month, day)


def _words(text: str) -> list[str]:
    """The numbers and words of a date in words, weekday and small words dropped."""
    plain = unaccented(text)
    if not re.fullmatch(r"[a-z\d\s,./-]{1,40}", plain, re.ASCII):
        return []
    words = [w for w in re.findall(r"[a-z]+|\d+", plain) if w not in _DROPPED | _WEEKDAYS]
    named = [word for word in words if not word.isdigit()]
    if len(named) == 2 and named[0] == "mar":  # "mar 2 jun 2026": martes, not March
        words.remove("mar")
    return words


def _year(text: str) -> int:
    return int(text) + (2000 if len(text) == 2 else 0)


def _date(text: str, year: int, month: int, day: int) -> date:
    try:
        day_read = date(year, month, day)
    except ValueError:
        raise NotADate(text=text) from None
    if not 1970 <= year <= 2200:
        raise NotADate(text=text)
    return day_read
