"""The two checkers that stand alone, against true records and forged ones: both say the same.

The HTML file's script is run by node where there is one: the same language and the same
WebCrypto as a browser's, though no browser.
"""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.keeping import forge
from weldcal import checker

Says = dict[str, Any]
Check = Callable[..., tuple[int, str]]
NODE = shutil.which("node")


def by_python(file: Path, *words: str) -> tuple[int, str]:
    """In an interpreter that finds no package of ours."""
    script = file.with_name("check_record.py")
    script.write_bytes(checker.text("check_record.py"))
    done = subprocess.run(
        [sys.executable, "-I", "-S", str(script), str(file), *words],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert done.stderr == ""
    return done.returncode, done.stdout


def by_page(file: Path, *words: str) -> tuple[int, str]:
    """The page's script, and what it would show."""
    page = checker.text("check_record.html").decode()
    (script,) = re.findall(r'<script id="checker">(.*?)</script>', page, re.DOTALL)
    code = words[0] if words else ""
    key = words[2] if len(words) > 2 else ""
    run = f"""{script}
    checkRecord(require("fs").readFileSync({json.dumps(str(file))}), {json.dumps(code)}, {json.dumps(key)})
      .then((r) => {{ console.log(r.lines.join("\\n")); process.exitCode = r.holds ? 0 : 1; }})
      .catch((e) => {{ console.log("This is no record that can be read: " + e.message); process.exitCode = 2; }});"""
    where = file.with_name("run.js")
    where.write_text(run, encoding="utf-8")
    done = subprocess.run(
        [str(NODE), str(where)], capture_output=True, text=True, check=False, timeout=60
    )
    assert "Error" not in done.stderr, done.stderr
    return done.returncode, done.stdout


@pytest.fixture(params=["python", "page"])
def check(request: pytest.FixtureRequest) -> Check:
    """Each of the two."""
    if request.param == "page" and NODE is None:
        pytest.skip("no node here to run the page's script")
    return by_python if request.param == "python" else by_page


@pytest.fixture
def sealed(welded_whole: Any, tmp_path: Path) -> tuple[Any, Path, str, str]:
    """A signed seal, two entries after it, a photo; the pack, the code and the key."""
    key, photo = tmp_path / "k.pem", tmp_path / "lap.png"
    photo.write_bytes(forge.PHOTO)
    book = welded_whole
    book.ok('probe A1 0-20 --void "14.5+3in x 1/2in" --by BO')
    book.ok("finding", "A2", "wrinkle", "3-4", "--photo", str(photo), "--note", "día 1 “ok” 🔥")
    public = book.ok("key", str(key), "--json").json["public_key"]
    code = book.ok("seal", "--sign", str(key), "--label", "día 1", "--json").json["code"]
    book.ok("amend R1 speed 6 --why misread")
    book.ok("pack", str(tmp_path / "true.pack"))
    return book, tmp_path / "true.pack", code, public


def test_a_true_record_holds(check: Check, sealed: tuple[Any, Path, str, str]) -> None:
    """With its code, read aloud or typed, and its key; and what came since is said."""
    _book, pack, code, key = sealed
    for words in ([], [code], [code.lower().replace("-", " ")], [code, "--key", key.upper()]):
        status, said = check(pack, *words)
        assert status == 0, said
    assert "corrected or taken back: 1" in said
    assert key in said


FORGED: dict[str, tuple[Callable[[Says], Says | None], str]] = {
    "a finding removed": (lambda s: None if s["kind"] == "finding" else s, "is gone"),
    "a value changed": (
        lambda s: {**s, "who": "Ana Luz"} if s["kind"] == "walk" else s,
        "is gone",
    ),
    "the seal's label changed": (
        lambda s: {**s, "payload": {**s["payload"], "label": "x"}} if s["kind"] == "seal" else s,
        "its code is not that",
    ),
    "the signature turned": (
        lambda s: (
            {**s, "payload": {**s["payload"], "signature": "0" * 128}} if s["kind"] == "seal" else s
        ),
        "its signature is not",
    ),
    "a tick that goes back": (
        lambda s: {**s, "tick": 1} if s["kind"] == "amend" else s,
        "backdated",
    ),
    "the seal removed": (lambda s: None if s["kind"] == "seal" else s, "no seal with this code"),
}


@pytest.mark.parametrize("name", FORGED)
def test_a_forged_record_does_not_hold(
    check: Check, sealed: tuple[Any, Path, str, str], tmp_path: Path, name: str
) -> None:
    """Every hash and link made anew by the forger, the file's own hash too."""
    book, _pack, code, _key = sealed
    change, said = FORGED[name]
    forge.rewrite(book.book, change)
    forged = forge.pack(tmp_path / "forged", forge.entries_of(book.book), [forge.PHOTO])
    status, told = check(forged, code)
    assert status == 1
    assert said in told


def test_another_key_and_a_stripped_signature_do_not_hold(
    check: Check, sealed: tuple[Any, Path, str, str], tmp_path: Path
) -> None:
    """The paper says a key: the seal must be by it."""
    book, pack, code, key = sealed
    assert check(pack, code, "--key", "0" * 64)[0] == 1

    def stripped(says: Says) -> Says:
        left = {k: v for k, v in says["payload"].items() if k not in ("key", "signature")}
        return {**says, "payload": left} if says["kind"] == "seal" else says

    forge.rewrite(book.book, stripped)
    forged = forge.pack(tmp_path / "forged", forge.entries_of(book.book), [forge.PHOTO])
    status, told = check(forged, code, "--key", key)
    assert status == 1
    assert "not signed with the key" in told


def test_a_fork_a_gap_a_changed_copy_and_a_missing_photo_are_named(
    check: Check, sealed: tuple[Any, Path, str, str], tmp_path: Path
) -> None:
    """Each by itself; the file's own hash fits."""
    book, _pack, _code, _key = sealed
    entries = forge.entries_of(book.book)
    last = json.loads(entries[-1][0])
    other = forge.sealed({**last, "id": forge.uuid(9), "about": forge.uuid(9)})
    cases = {
        "a fork": ([*entries, other], [forge.PHOTO]),
        "are missing": (entries[:-2] + entries[-1:], [forge.PHOTO]),
        "a changed copy": (
            [
                *entries,
                forge.sealed({**last, "device": "000000000000", "seq": 1, "prev": forge.ZEROS}),
            ],
            [forge.PHOTO],
        ),
        "is not in the file": (entries, []),
    }
    for words, (found, photos) in cases.items():
        status, told = check(forge.pack(tmp_path / "f", found, photos), "")
        assert status == 1, words
        assert words in told


@pytest.mark.parametrize("content", [b"", b"hello", b"\x1f\x8b" + b"\0" * 40])
def test_what_is_no_record_is_said_to_be_none(check: Check, tmp_path: Path, content: bytes) -> None:
    """One sentence, no traceback."""
    (tmp_path / "x").write_bytes(content)
    status, told = check(tmp_path / "x")
    assert status == 2
    assert "no record that can be read" in told


def test_the_page_asks_the_network_for_nothing() -> None:
    """Nothing is loaded, and its own rule forbids it."""
    page = checker.text("check_record.html").decode()
    assert "default-src 'none'" in page
    assert not re.search(r"https?://|\bfetch\(|XMLHttp|WebSocket|innerHTML", page)


def test_both_are_handed_out_with_the_dossier(welded_whole: Any, tmp_path: Path) -> None:
    """Beside the file, byte for byte."""
    welded_whole.ok("dossier", str(tmp_path / "d"), "--only", "html")
    for name in checker.NAMES:
        assert (tmp_path / name).read_bytes() == checker.text(name)


@pytest.mark.parametrize("words", [["--help"], ["-h"], [], ["a", "b", "c"]])
def test_the_file_alone_says_how_it_is_used(words: list[str], tmp_path: Path) -> None:
    """The first thing typed at a file somebody handed over; it is not taken for a record."""
    script = tmp_path / "check_record.py"
    script.write_bytes(checker.text(script.name))
    done = subprocess.run(
        [sys.executable, "-I", str(script), *words], capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stderr) == (2, "")
    assert "python check_record.py RECORD.weldpack [SEAL CODE]" in done.stdout
    assert "no record that can be read" not in done.stdout
