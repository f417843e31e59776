"""Names that are not what they look like: invisible signs, letters of two scripts in one word.

Invariant: a name is kept exactly as typed whatever is said of it here; nothing is refused.

The look-alikes are a short table from memory of those that Unicode Technical Standard 39
lists (Cyrillic and Greek letters that look like Latin ones), not the whole of it.
"""

from __future__ import annotations

import unicodedata
from functools import cache

# Sign -> the Latin one it looks like.
_ALIKE = str.maketrans(
    "АВЕКМНОРСТХІЈЅаеорсухіјѕΑΒΕΖΗΙΚΜΝΟΡΤΥΧοανι",
    "ABEKMHOPCTXIJSaeopcyxijsABEZHIKMNOPTYXoavi",
)
# Joiners that scripts and pictures need: odd only between Latin letters.
_JOINERS = "\u200c\u200d"


def odd(name: str) -> bool:
    """Whether a name has signs nobody sees, or letters of two scripts that look alike in a word."""
    return not name.isascii() and _odd(name)


@cache
def _odd(name: str) -> bool:
    return _invisible(name) or any(_mixed(word) for word in name.split())


def skeleton(name: str) -> str:
    """A name as it looks: two that differ and have the same skeleton are taken for each other."""
    shown = unicodedata.normalize("NFKD", name.translate(_ALIKE))
    seen = "".join(sign for sign in shown if unicodedata.category(sign) != "Cf")
    return " ".join(seen.casefold().replace("0", "o").replace("1", "l").split())


def _invisible(name: str) -> bool:
    for at, sign in enumerate(name):
        if sign in _JOINERS:
            neighbours = name[max(0, at - 1) : at] + name[at + 1 : at + 2]
            if not neighbours.strip() or neighbours.isascii():
                return True
        elif unicodedata.category(sign) == "Cf":
            return True
    return False


def _mixed(word: str) -> bool:
    """Latin letters beside signs of another script that look like Latin ones."""
    alike = any(sign.translate(_ALIKE) != sign for sign in word)
    return alike and any(sign.isascii() and sign.isalpha() for sign in word)
