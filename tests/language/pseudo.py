"""A made-up language: every message with its letters dressed, to see which text never passed a catalog.

Invariant: what a message leaves open ({name}) and what is typed stay as they are; all else
is made of signs no English text has.
"""

from __future__ import annotations

import re
from pathlib import Path

from babel.messages.catalog import Catalog

from tests.language import catalog

LANGUAGE = "qps"  # of the range that ISO 639-3 leaves to private use (qaa to qtz)
_PLAIN = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
_DRESSED = "áƀçďéƒğĥíĵķĺɱñóþɋŕšťúṽŵẋýžÅƁÇÐÉƑĜĤÎĴĶĹṀÑÖÞɊŔŠŢÛṼŴẊÝŽ"
_DRESS = str.maketrans(_PLAIN, _DRESSED)
_POINT = re.compile(r"(?<=\d)\.(?=\d)")  # a number of the sentence itself is no escaped one
_EXAMPLE = "Éẋáɱþĺé"
_HOLES = re.compile(r"(\{[^{}]*\})")


def dressed(text: str) -> str:
    """`text` in the made-up language."""
    text, label, example = text.partition("Example: weldcal")
    parts = _HOLES.split(_POINT.sub("․", text))
    made = "".join(part if part.startswith("{") else part.translate(_DRESS) for part in parts)
    return (made + label + example).replace("Example: ", f"{_EXAMPLE}: ")


def write(folder: Path) -> Path:
    """A folder of catalogs that holds the made-up language only."""
    made = Catalog(locale=None, fuzzy=False)
    for message in catalog.gathered():
        if isinstance(message.id, tuple):
            made.add(message.id, tuple(dressed(text) for text in message.id))
        elif message.id:
            made.add(message.id, dressed(message.id))
    path = folder / LANGUAGE / "LC_MESSAGES" / "weldcal.mo"
    path.parent.mkdir(parents=True)
    path.write_bytes(catalog.compiled(made))
    return folder
