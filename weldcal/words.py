"""Translated text: everything a person reads passes through `_`, every number through `number`.

Invariant: a message is looked up in the catalog as written, and its values are
put in afterwards, so that translators see whole sentences. Stored records, what
was typed and JSON never pass through here.
"""

from __future__ import annotations

import contextlib
import gettext
from datetime import date
from functools import cache
from pathlib import Path

from weldcal import settings

LOCALE_DIR = Path(__file__).with_name("locale")


@cache
def _catalog() -> gettext.NullTranslations:
    return gettext.translation("weldcal", LOCALE_DIR, languages=[settings.reader()], fallback=True)


@cache
def language() -> str:
    """The language texts are in: the reader's where there is a catalog of it, else English."""
    wanted = settings.language()
    return wanted if (LOCALE_DIR / wanted).is_dir() else "en"


@cache
def decimal_mark() -> str:
    """The sign between whole and part, by the reader's locale (Unicode CLDR, through Babel)."""
    if language() == "en":
        return "."
    from babel.numbers import get_decimal_symbol

    return get_decimal_symbol(locale())


@cache
def locale() -> str:
    """The reader's language and region where texts are in that language, else their language."""
    from babel.core import Locale, UnknownLocaleError

    for name in (settings.reader(), language()):
        with contextlib.suppress(UnknownLocaleError):  # a region that is none
            if name.partition("_")[0] == language():
                return str(Locale.parse(name))
    return "en"


def written_out(day: date) -> str:
    """A day with its weekday, as the reader's locale writes it (Unicode CLDR, through Babel)."""
    from babel.dates import format_date

    return format_date(day, "full", locale=locale())


class _Number:
    """A number that is shown with the reader's decimal mark, whatever its format."""

    def __init__(self, value: float) -> None:
        self.value = value

    def __format__(self, spec: str) -> str:
        return format(self.value, spec).replace(".", decimal_mark())


def number(value: float, spec: str = "") -> str:
    """`value` by the format `spec` (`.1f`, `g`, `+.0f`), with the reader's decimal mark."""
    return format(value, spec).replace(".", decimal_mark())


def _put_in(text: str, values: dict[str, object]) -> str:
    if decimal_mark() != ".":
        values = {k: _Number(v) if isinstance(v, float) else v for k, v in values.items()}
    return text.format(**values)


def _(message: str, /, **values: object) -> str:
    """Return `message` in the reader's language with `values` put in."""
    text = _catalog().gettext(message)
    return _put_in(text, values) if values else text


def plural(one: str, many: str, n: int, /, **values: object) -> str:
    """Return `one` or `many` for `n`, in the reader's language; `{n}` is `n`."""
    return _put_in(_catalog().ngettext(one, many, n), {"n": n, **values})


def mark(message: str, /) -> str:
    """Mark `message` for translation where it is defined; `_` translates it later."""
    return message
