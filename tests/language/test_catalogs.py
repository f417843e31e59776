"""The catalogs: whole, of today's messages, holding what their originals hold."""

from __future__ import annotations

import re
import string
from collections.abc import Iterator

import pytest
from babel.messages.catalog import Catalog, Message
from babel.messages.mofile import read_mo

from tests.language import catalog
from weldcal.quality.seam import STATES
from weldcal.reports import terms

LANGUAGES = sorted(folder.name for folder in catalog.LOCALE.iterdir() if folder.is_dir())
_TYPED = re.compile(r"weldcal(?: [a-z][a-z-]*)*|(?<![\w-])--[a-z][a-z-]*|WELDCAL_[A-Z]+")


def pairs(language: str) -> Iterator[tuple[str, str]]:
    """Every message with its translation, plural forms one by one."""
    for message in catalog.read(language):
        if message.id:
            yield from _forms(message)


def _forms(message: Message) -> Iterator[tuple[str, str]]:
    if isinstance(message.id, str):
        yield message.id, str(message.string)
        return
    one, many = message.id
    yield one, message.string[0]
    for form in message.string[1:]:
        yield many, form


def test_spanish_is_there() -> None:
    """The other language of the crews."""
    assert LANGUAGES == ["es"]


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_catalog_holds_todays_messages_and_every_one_translated(language: str) -> None:
    """Add what is named here to the .po, then: python -m tests.language.catalog"""
    kept = catalog.read(language)
    today = {_key(m) for m in catalog.gathered() if m.id}
    assert {_key(m) for m in kept if m.id} == today
    assert [m.id for m in catalog.lacking(kept)] == []


def _key(message: Message) -> tuple[str, ...]:
    return (message.id,) if isinstance(message.id, str) else tuple(message.id)


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_the_program_reads_is_what_translators_wrote(language: str) -> None:
    """The compiled catalog holds the messages of the .po beside it.

    Messages, not bytes: the header names the version of the library that wrote it.
    """
    with catalog.po_path(language).with_suffix(".mo").open("rb") as file:
        kept = _translated(read_mo(file))
    assert kept == _translated(catalog.read(language))


def _translated(found: Catalog) -> dict[tuple[str, ...], str | tuple[str, ...]]:
    """Each message's translation, without the header."""
    return {
        _key(m): m.string if isinstance(m.string, str) else tuple(m.string) for m in found if m.id
    }


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_translation_holds_the_values_of_its_original(language: str) -> None:
    """Same names, same formats: a value left out would be a fact left out."""
    wrong = [(a, b) for a, b in pairs(language) if _values(a) != _values(b)]
    assert wrong == []


def _values(text: str) -> list[tuple[str, str | None, str | None]]:
    return sorted(
        (name, spec, how)
        for _t, name, spec, how in string.Formatter().parse(text)
        if name is not None
    )


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_is_typed_is_the_same_in_every_language(language: str) -> None:
    """Commands and options are not translated."""
    wrong = [(a, b) for a, b in pairs(language) if _typed(a) != _typed(b)]
    assert wrong == []


def _typed(text: str) -> list[str]:
    return sorted(found.split(" ")[0] for found in _TYPED.findall(text))


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_translation_is_set_as_its_original(language: str) -> None:
    """Leading and closing spaces, the dash of a list, the end of a sentence."""
    wrong = [
        (a, b)
        for a, b in pairs(language)
        if (a[:1].isspace(), a[-1:].isspace()) != (b[:1].isspace(), b[-1:].isspace())
        or a.startswith(("- ", "! ")) != b.startswith(("- ", "! "))
        or (a[-1] in ".:?" and a[-1] != b[-1])
    ]
    assert wrong == []


def test_states_are_marked() -> None:
    """Every state of a seam has its word."""
    assert terms.STATES == STATES
