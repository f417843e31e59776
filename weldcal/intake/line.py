"""One typed line cut into words and numbers.

Invariant: nothing of the line is lost but the commas between its parts; a number
is kept with the unit that was typed after it, as typed.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from itertools import zip_longest

from weldcal.errors import WeldcalError, WordUnknown
from weldcal.quantities import unit_named
from weldcal.records.fields import folded, read_many
from weldcal.words import _

_BARE = re.compile(r"[-+]?(?:\d+/\d+|\d+(?:\.\d*)?|\.\d+|\d*[¼-¾⅐-⅞])", re.ASCII)
_STARTS = re.compile(r"[-+]?\.?[\d¼-¾⅐-⅞]")
# 26' 10 5/8", as a tape is read: one number, however it is spaced.
_TAPE = re.compile(
    r"(?<![\d.])(?P<ft>\d+)\s*['′]\s*-?\s*(?P<in>\d+(?:[ -]+\d+/\d+)?|\d+/\d+)\s*(?:\"|″|'')"
)
_EITHER = re.compile(r"\d+,\d+", re.ASCII)
# Dimensions whose unit may stand apart from its number; "10 a 33" is no ampere.
_UNITS_APART = ("length", "temperature", "speed", "percent", "voltage")
_LABELS_TOO = ("volt", "volts")  # "humidity 60 volts 118"
_LONGEST = 1000


def tokens(words: Sequence[str]) -> list[str]:
    """The words and numbers of a line; `5.5 ft/min` and `1/4 in` are one each.

    Raises:
        WordUnknown: a comma that can be a decimal comma, or an endless line.
    """
    line = " ".join(words)
    if len(line) > _LONGEST:
        raise WordUnknown(
            text=line[:20] + "…", allowed=_("a line of at most {most} signs", most=_LONGEST)
        )
    found: list[str] = []
    line = _TAPE.sub(lambda m: f"{m['ft']}'{re.sub(r'[ -]+', '-', m['in'])}\"", line)
    for piece in re.split(r"[\s;]+", line):
        found += _parts(piece)
    return _with_units([part for part in found if part])


def _parts(piece: str) -> list[str]:
    """A piece without its commas; `5,5` is refused: it can be one number or two."""
    bare = piece.strip(",")
    if _EITHER.fullmatch(bare):
        point, space = bare.replace(",", "."), bare.replace(",", " ")
        raise WordUnknown(text=bare, allowed=_("{point}, or {space}", point=point, space=space))
    return bare.split(",")


def _with_units(parts: list[str]) -> list[str]:
    joined: list[str] = []
    for part, after in zip_longest(parts, parts[1:], fillvalue=""):
        label = folded(part) in _LABELS_TOO and is_number(after)
        if joined and _BARE.fullmatch(joined[-1]) and is_unit(part) and not label:
            joined[-1] = f"{joined[-1]} {part}"
        else:
            joined.append(part)
    return joined


def split_values(field: str, text: str, units: str) -> str:
    """Several values as `read_many` takes them, where spaces part them as well as commas.

    Raises:
        Unreadable: they cannot be read either way.
    """
    try:
        read_many(field, text, units)
    except WeldcalError:
        separated = ",".join(tokens([text]))
        read_many(field, separated, units)
        return separated
    return text


def is_unit(word: str) -> bool:
    """Whether a word is a unit that may stand apart from its number."""
    if not word or folded(word) == "a":
        return False
    return any(unit_named(word, dimension) for dimension in _UNITS_APART)


def is_number(token: str) -> bool:
    """Whether a token begins as a number does."""
    return _STARTS.match(token) is not None


def is_bare(token: str) -> bool:
    """Whether a token is a number without a unit."""
    return _BARE.fullmatch(token) is not None


def spelled(table: dict[str, Iterable[str]]) -> dict[str, str]:
    """Every spelling of a table of words -> the word it stands for."""
    return {folded(word): name for name, words in table.items() for word in (name, *words)}
