"""Translated text: everything a person reads passes through `_`.

Invariant: a message is looked up in the catalog as written, and its values are
put in afterwards, so that translators see whole sentences. Values are never
translated, and stored records never pass through here.
"""

from __future__ import annotations

import gettext
from functools import cache
from pathlib import Path

from weldcal import settings

LOCALE_DIR = Path(__file__).with_name("locale")


@cache
def _catalog() -> gettext.NullTranslations:
    return gettext.translation(
        "weldcal", LOCALE_DIR, languages=[settings.language()], fallback=True
    )


def _(message: str, /, **values: object) -> str:
    """Return `message` in the reader's language with `values` put in."""
    text = _catalog().gettext(message)
    return text.format(**values) if values else text


def plural(one: str, many: str, n: int, /, **values: object) -> str:
    """Return `one` or `many` for `n`, in the reader's language; `{n}` is `n`."""
    return _catalog().ngettext(one, many, n).format(n=n, **values)


def mark(message: str, /) -> str:
    """Mark `message` for translation where it is defined; `_` translates it later."""
    return message
