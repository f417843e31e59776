"""Numbers as people say them, in English and Spanish: `three eighths`, `cinco y medio`, `5,5`."""

from __future__ import annotations

import re
import unicodedata

# In small letters, accents dropped.
_ARTICLES = {"a", "an"}
_COUNTS = {
    word: n
    for n, words in enumerate(
        ("zero cero", "one un uno una", "two dos", "three tres", "four cuatro", "five cinco", "six seis",
         "seven siete", "eight ocho", "nine nueve", "ten diez", "eleven once", "twelve doce", "thirteen trece",
         "fourteen catorce", "fifteen quince", "sixteen dieciseis", "seventeen diecisiete", "eighteen dieciocho",
         "nineteen diecinueve", "twenty veinte")
    )
    for word in words.split()
}  # fmt: skip
_PARTS = {
    word: n
    for n, words in (
        (2, "half halves medio media medios medias"), (3, "third thirds tercio tercios"),
        (4, "quarter quarters fourth fourths 4th 4ths cuarto cuartos"), (8, "eighth eighths 8th 8ths octavo octavos"),
        (16, "sixteenth sixteenths 16th 16ths dieciseisavo dieciseisavos"), (32, "32nd 32nds"),
    )
    for word in words.split()
}  # fmt: skip
_ONE_OF = {"inch", "foot", "pulgada", "pie"}  # "pulgada y media"
_AND, _OF = {"and", "y"}, {"of", "de"}
_UNITS_SAID = {
    "milimetro": "mm", "milimetros": "mm", "centimetro": "cm", "centimetros": "cm", "millimetre": "mm",
    "millimetres": "mm", "millimeter": "mm", "millimeters": "mm",
}  # fmt: skip
# Not 1,000, which is a thousand to some and one to others.
_DECIMAL_COMMA = r"(?a)\s*[-+]?(?:\d+,(?:\d{1,2}|\d{4,})|0,\d{3})(?![\d,])[^,]*"


def in_digits(text: str) -> str:
    """A number said in words, or with a decimal comma, as digits; any other text as it is.

    `three eighths` is `3/8`, `cinco y medio` `5 1/2`, `half an inch` `1/2 in`, `5,5mm` `5.5mm`.
    """
    if "," in text and re.fullmatch(_DECIMAL_COMMA, text):
        return text.replace(",", ".")
    words = _words(text)
    if not words:
        return text
    part, rest = _part(words)
    if part:
        return " ".join([part, *_unit_said(rest)])
    whole, rest = _whole(words)
    if not whole:
        return text
    # "five and a half mm", or "two inches and a half".
    unit, tail = ([], rest) if rest[:1] and rest[0] in _AND else (rest[:1], rest[1:])
    part, over = _part(tail[1:]) if tail and tail[0] in _AND else ("", [])
    if part:  # two units are none, and refused as such
        return " ".join([whole, part, *_unit_said([*unit, *over])])
    return text if words[0].isdigit() else " ".join([whole, *_unit_said(rest)])


def unaccented(text: str) -> str:
    """`text` in small letters without accents."""
    parts = unicodedata.normalize("NFKD", text.casefold())
    return "".join(sign for sign in parts if not unicodedata.combining(sign))


def _words(text: str) -> list[str]:
    """Words in small letters, accents dropped, split at hyphens between them."""
    bare = unaccented(text)
    if "-" in bare:
        bare = re.sub(r"\bthirty-second(s?)\b", r"32nd\1", bare)
        bare = re.sub(r"(?<=[a-z0-9])-(?=[a-z])", " ", bare)
    return bare.split()


def _digits(word: str, most: int | None = None) -> bool:
    """Whether a word is digits alone, and no more of them than that."""
    return word.isascii() and word.isdigit() and (most is None or len(word) <= most)


def _whole(words: list[str]) -> tuple[str, list[str]]:
    """The whole number that words begin with, and what follows; empty where there is none."""
    if len(words) > 1 and words[0] in _ONE_OF | _ARTICLES:
        return "1", words if words[0] in _ONE_OF else words[1:]
    if _digits(words[0], 9):
        return words[0], words[1:]
    count = _COUNTS.get(words[0])
    return ("", words) if count is None else (str(count), words[1:])


def _part(words: list[str]) -> tuple[str, list[str]]:
    """The fraction that words begin with, as `3/8`, and what follows; empty where there is none."""
    if not words:
        return "", words
    if words[0] in _PARTS:
        return f"1/{_PARTS[words[0]]}", words[1:]
    over, slash, under = words[0].partition("/")
    if slash and _digits(over) and _digits(under):
        return words[0], words[1:]
    count = 1 if words[0] in _ARTICLES else _COUNTS.get(words[0])
    count = int(words[0]) if _digits(words[0], 2) else count
    if count is None or len(words) < 2 or words[1] not in _PARTS:
        return "", words
    if count > 1 and words[1] in ("half", "medio", "media"):
        return "", words  # "five half": 5/2, or 5 1/2?
    return f"{count}/{_PARTS[words[1]]}", words[2:]


def _unit_said(words: list[str]) -> list[str]:
    """The unit after a number: `an inch`, `de pulgada`."""
    rest = words[1:] if words[:1] and words[0] in _OF else words
    if len(rest) > 1 and rest[0] in _ARTICLES | {"un", "una"}:
        rest = rest[1:]
    return [_UNITS_SAID.get(word, word) for word in rest]
