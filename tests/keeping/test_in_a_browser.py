"""The HTML checker in a real browser: a file chosen, a code typed, what it says; a phone's width."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.keeping import forge
from tests.keeping.browser import BROWSER, Page, browser
from weldcal import checker

pytestmark = pytest.mark.skipif(BROWSER is None, reason="no Chromium here")
SAID = "document.getElementById('said').textContent"


@pytest.fixture
def record(welded_whole: Any, tmp_path: Path) -> tuple[Any, Path, str, str]:
    """A signed seal with a photo, packed; the seal's code and the key."""
    key, photo = tmp_path / "k.pem", tmp_path / "lap.png"
    photo.write_bytes(forge.PHOTO)
    welded_whole.ok('probe A1 0-20 --void "14.5+3in x 1/2in" --by BO')
    welded_whole.ok(
        "finding", "A2", "wrinkle", "3-4", "--photo", str(photo), "--note", "día 1 “ok” 🔥"
    )
    public = welded_whole.ok("key", str(key), "--json").json["public_key"]
    code = welded_whole.ok("seal", "--sign", str(key), "--json").json["code"]
    welded_whole.ok("pack", str(tmp_path / "true.pack"))
    return welded_whole, tmp_path / "true.pack", code, public


@pytest.fixture(scope="module")
def english(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    """A browser of an English reader."""
    with browser(tmp_path_factory.mktemp("english"), "en-US") as found:
        yield found


@pytest.fixture
def page(english: Page, tmp_path: Path) -> Page:
    """The checker, opened as a file is opened by whoever was handed it."""
    return opened(english, tmp_path)


def opened(found: Page, room: Path) -> Page:
    """The checker in a page of its own."""
    file = room / "check_record.html"
    file.write_bytes(checker.text(file.name))
    found.open(file.as_uri())
    return found


def typed(page: Page, field: str, text: str) -> None:
    """Type into a field and leave it."""
    page.value(
        f"(() => {{ const f = document.getElementById('{field}'); f.value = {json.dumps(text)}; "
        "f.dispatchEvent(new Event('change')); })()"
    )


def checked(page: Page, pack: Path, code: str = "", key: str = "") -> str:
    """What the page says of a record.

    Leaving a field checks the file chosen before: that answer is awaited first, and the file
    forgotten, for a browser does not tell of the same file chosen again.
    """
    done = f"!['waiting', 'Checking …', 'Comprobando …'].includes({SAID})"
    typed(page, "code", code)
    typed(page, "key", key)
    page.until(done)
    page.value(
        "document.getElementById('file').value = '';"
        "document.getElementById('said').textContent = 'waiting'"
    )
    page.choose("#file", pack)
    page.until(done)
    return str(page.value(SAID))


def test_true_and_forged_records(
    page: Page, record: tuple[Any, Path, str, str], tmp_path: Path
) -> None:
    """The code in small letters; another key; a finding removed with every hash made anew; rubbish."""
    book, pack, code, key = record
    said = checked(page, pack, code.lower(), key)
    assert "Every hash, link, count, photo and seal holds." in said
    assert f"Signed with key {key}" in said
    assert "WRONG" not in said
    assert "not signed with the key" in checked(page, pack, code, "0" * 64)
    assert "No seal code was typed" in checked(page, pack)
    forge.rewrite(book.book, lambda s: None if s["kind"] == "finding" else s)
    forged = forge.pack(tmp_path / "forged", forge.entries_of(book.book), [])
    said = checked(page, forged, code, key)
    assert "is gone" in said
    assert said.endswith("DOES NOT HOLD.")
    (tmp_path / "rubbish").write_bytes(b"hello")
    assert "no record that can be read" in checked(page, tmp_path / "rubbish")


def test_a_turned_signature_is_seen_by_the_browsers_own_ed25519(
    page: Page, record: tuple[Any, Path, str, str], tmp_path: Path
) -> None:
    """Or the page says that this browser cannot."""
    book, _pack, code, _key = record

    def turned(says: dict[str, Any]) -> dict[str, Any]:
        if says["kind"] != "seal":
            return says
        return {**says, "payload": {**says["payload"], "signature": "0" * 128}}

    forge.rewrite(book.book, turned)
    forged = forge.pack(tmp_path / "forged", forge.entries_of(book.book), [forge.PHOTO])
    said = checked(page, forged, code)
    assert "its signature is not of this seal" in said or "cannot check its signature" in said


def test_one_switch_makes_it_spanish_and_back(
    page: Page, record: tuple[Any, Path, str, str]
) -> None:
    """What stands on the page and what was said of the record."""
    checked(page, record[1], record[2])
    page.value("document.getElementById('language').click()")
    page.until(f"{SAID}.includes('Se sostienen')")
    assert page.value("document.documentElement.lang") == "es"
    assert page.value("document.querySelector('h1').textContent").startswith("Comprobar")
    page.value("document.getElementById('language').click()")
    page.until(f"{SAID}.includes('Every hash')")


def test_a_spanish_browser_is_spoken_to_in_spanish(tmp_path: Path) -> None:
    """Without a click."""
    with browser(tmp_path, "es-US") as found:
        page = opened(found, tmp_path)
        assert page.value("navigator.language").startswith("es")
        assert page.value("document.querySelector('h1').textContent").startswith("Comprobar")


@pytest.mark.parametrize("wide", [320, 390])
def test_nothing_is_cut_off_on_a_phone(
    page: Page, record: tuple[Any, Path, str, str], wide: int
) -> None:
    """The page is no wider than the screen, with the longest thing it says on it."""
    page.phone(wide, 740)
    checked(page, record[1], record[2], record[3])
    assert page.value("document.documentElement.scrollWidth") <= wide
    assert page.picture().startswith(b"\x89PNG")


def test_the_page_loads_nothing_even_when_asked(page: Page) -> None:
    """Its own policy refuses the network."""
    asked = "fetch('https://example.invalid/').then(() => 'loaded', () => 'refused')"
    assert page.value(asked) == "refused"
    blocked = page.value(
        "new Promise((done) => { addEventListener('securitypolicyviolation', (e) => "
        "done(e.violatedDirective)); fetch('https://example.invalid/').catch(() => 0); })"
    )
    assert blocked == "connect-src"


def test_every_sentence_has_its_spanish_with_the_same_values() -> None:
    """In both files, and the same in both."""
    page = checker.text("check_record.html").decode()
    known = json.loads(re.search(r"const SPANISH = (\{.*?\n\});", page, re.DOTALL)[1])  # type: ignore[index]
    room: dict[str, Any] = {"__name__": "check_record"}
    exec(compile(checker.text("check_record.py"), "check_record.py", "exec"), room)
    for spanish in (known, room["SPANISH"]):
        for told, said in spanish.items():
            assert sorted(re.findall(r"\{\d\}", told)) == sorted(re.findall(r"\{\d\}", said))
    both = known.keys() & room["SPANISH"].keys()
    assert len(both) > 25
    assert all(known[told] == room["SPANISH"][told] for told in both)
    said = set(re.findall(r'say\("([^"]*)"', page)) | set(
        re.findall(r"<\w+ data-say[^>]*>([^<]*)<", page)
    )
    assert said <= known.keys()
