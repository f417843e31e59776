"""Which language somebody reads, from what the environment says."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from weldcal import settings, words

ALL = ("WELDCAL_LANG", "LC_ALL", "LC_MESSAGES", "LANG")
CACHED = (words.language, words.locale, words.decimal_mark)


@pytest.fixture
def says(monkeypatch: pytest.MonkeyPatch) -> Iterator[pytest.MonkeyPatch]:
    """An environment that says nothing, and nothing remembered of another."""
    for name in ALL:
        monkeypatch.delenv(name, raising=False)
    for one in CACHED:
        one.cache_clear()
    yield monkeypatch
    for one in CACHED:
        one.cache_clear()


@pytest.mark.parametrize(
    ("value", "reader"),
    [
        ("es", "es"),
        ("es_US.UTF-8", "es_US"),
        ("es-mx", "es_MX"),
        ("es_419", "es_419"),
        ("ES_es@euro", "es_ES"),
        ("C", "en"),
        ("C.UTF-8", "en"),
        ("POSIX", "en"),
        ("12", "en"),
        ("", "en"),
    ],
)
def test_a_locales_name_is_read(says: pytest.MonkeyPatch, value: str, reader: str) -> None:
    """Language and region; the bare machine's locale is English."""
    says.setenv("LANG", value)
    assert settings.reader() == reader


@pytest.mark.parametrize("first", range(len(ALL)))
def test_the_first_that_says_something_holds(says: pytest.MonkeyPatch, first: int) -> None:
    """Our own name, then the order that POSIX gives (IEEE 1003.1, 8.2); an empty one says nothing."""
    for name in ALL[:first]:
        says.setenv(name, "")
    says.setenv(ALL[first], "es_MX")
    for name in ALL[first + 1 :]:
        says.setenv(name, "fr_FR")
    assert settings.reader() == "es_MX"


@pytest.mark.parametrize(
    ("value", "language", "locale", "mark"),
    [
        ("es_ES", "es", "es_ES", ","),
        ("es_MX", "es", "es_MX", "."),
        ("es_QQ", "es", "es", ","),
        ("fr_FR", "en", "en", "."),
        ("xx", "en", "en", "."),
    ],
)
def test_without_a_catalog_texts_and_numbers_are_english(
    says: pytest.MonkeyPatch, value: str, language: str, locale: str, mark: str
) -> None:
    """A region that is none is as none given; a language without a catalog leaves English numbers too."""
    says.setenv("LANG", value)
    assert (words.language(), words.locale(), words.decimal_mark()) == (language, locale, mark)
    assert words.number(5.5, ".1f") == f"5{mark}5"
