"""Packs that are cut, altered, foreign, oversized or hostile: refused whole, with the reason, and nothing written."""

from __future__ import annotations

import gzip
import random
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.keeping import forge
from tests.keeping.tables import whole


def takes_nothing(device: Any, file: Path) -> None:
    """Exit code 2, and not even a book."""
    done = device("merge", str(file))
    assert done.code == 2, done
    assert "inside" not in done.err
    assert not device.book.exists()
    assert not device.book.with_name(device.book.name + ".photos").exists()


def test_a_pack_cut_after_any_line_is_refused(empty: Any, good: Path, tmp_path: Path) -> None:
    """Well compressed, every line whole: only the end is missing."""
    lines = gzip.decompress(good.read_bytes()).splitlines(keepends=True)
    for count in range(len(lines)):
        cut = tmp_path / "cut"
        cut.write_bytes(gzip.compress(b"".join(lines[:count]), 1))
        takes_nothing(empty, cut)


def test_a_pack_with_a_line_left_out_is_refused(empty: Any, good: Path, tmp_path: Path) -> None:
    """With an end that fits what is left."""
    lines = forge.lines_of(good)
    for gone in range(len(lines)):
        takes_nothing(empty, forge.pack_lines(tmp_path / "out", lines[:gone] + lines[gone + 1 :]))


def test_a_pack_cut_at_any_byte_is_refused(empty: Any, good: Path, tmp_path: Path) -> None:
    """A sample; `tests/faults/flips.py` tries every one."""
    raw, cut = good.read_bytes(), tmp_path / "cut"
    for at in random.Random(1).sample(range(len(raw)), 60):
        cut.write_bytes(raw[:at])
        takes_nothing(empty, cut)


def test_a_flipped_byte_is_caught_or_changes_nothing(
    empty: Any, good: Path, go_ahead: Any, tmp_path: Path
) -> None:
    """In the file and, compressed anew, in its text: a sample; `tests/faults/flips.py` tries every one."""
    raw, bad, entries = good.read_bytes(), tmp_path / "bad", None
    text = gzip.decompress(raw)
    for at in random.Random(2).sample(range(len(raw)), 60):
        bad.write_bytes(raw[:at] + bytes([raw[at] ^ 1 << at % 8]) + raw[at + 1 :])
        if empty("merge", str(bad)).code == 0:  # a byte of gzip's header that says nothing
            entries = entries or forge.entries_of(empty.book)
            assert forge.entries_of(empty.book) == entries
            empty.book.unlink()
    for at in random.Random(3).sample(range(len(text)), 60):
        bad.write_bytes(
            gzip.compress(text[:at] + bytes([text[at] ^ 1 << at % 8]) + text[at + 1 :], 1)
        )
        assert empty("merge", str(bad)).code == 2


LINES: dict[str, Callable[[list[bytes]], list[bytes]]] = {
    "nothing": lambda lines: [],
    "no header": lambda lines: lines[1:],
    "two headers": lambda lines: [lines[0], *lines],
    "header last": lambda lines: [*lines[1:], lines[0]],
    "another version": lambda lines: [
        lines[0].replace(b'"weldcal_pack":1', b'"weldcal_pack":2'),
        *lines[1:],
    ],
    "an unknown line": lambda lines: [*lines, b'{"line":"file","path":"../x","data":""}'],
    "an unknown field": lambda lines: [
        *lines[:-1],
        lines[-1].replace(b'{"line"', b'{"path":"/etc/x","line"'),
    ],
    "wrong counts": lambda lines: [lines[0].replace(b'"entries":', b'"entries":1'), *lines[1:]],
    "a negative count": lambda lines: [lines[0].replace(b'"entries":', b'"entries":-'), *lines[1:]],
    "NaN": lambda lines: [lines[0].replace(b'"entries":', b'"entries":NaN,"x":'), *lines[1:]],
    "no UTF-8": lambda lines: [*lines, b'{"line":"entry","hash":"\xff","body":""}'],
    "no JSON": lambda lines: [*lines, b"hello"],
    "a blank line": lambda lines: [*lines, b""],
    "deep": lambda lines: [*lines, b"[" * 100_000],
    "deep in the header": lambda lines: [
        lines[0].replace(b'"heads":', b'"heads":' + b"[" * 100_000),
        *lines[1:],
    ],
    "a huge number": lambda lines: [
        lines[0].replace(b'"entries":', b'"entries":' + b"9" * 100_000),
        *lines[1:],
    ],
    "an end in the middle": lambda lines: [
        lines[0],
        b'{"line":"end","sha256":"' + b"0" * 64 + b'"}',
        *lines[1:],
    ],
}


@pytest.mark.parametrize("change", LINES)
def test_lines_that_cannot_be_are_refused(
    empty: Any, good: Path, tmp_path: Path, change: str
) -> None:
    """The end fits what is there: the lines themselves are judged."""
    takes_nothing(empty, forge.pack_lines(tmp_path / "bad", LINES[change](forge.lines_of(good))))


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"hello",
        gzip.compress(b""),
        gzip.compress(b"hello"),
        b"\x1f\x8b" + b"\0" * 50,
        gzip.compress(b"{}\n"),
        b"PK\x03\x04" + b"\0" * 50,
    ],
    ids=["nothing", "text", "empty gzip", "gzip of text", "cut gzip", "gzip of JSON", "zip"],
)
def test_a_foreign_file_is_refused(
    refused: Callable[[Path], str], tmp_path: Path, content: bytes
) -> None:
    """Nothing, text, an empty gzip, another archive."""
    (tmp_path / "f").write_bytes(content)
    refused(tmp_path / "f")


@pytest.mark.parametrize("what", ["no file", "a folder", "a book", "a device"])
def test_what_is_no_file_of_packs_is_refused(
    refused: Callable[[Path], str], go_ahead: Any, tmp_path: Path, what: str
) -> None:
    """One sentence each."""
    refused(
        {
            "no file": tmp_path / "x",
            "a folder": tmp_path,
            "a book": go_ahead.book,
            "a device": Path("/dev/zero"),
        }[what]
    )


BOMBS = {
    "zeros": "b'\\0' * 2**20 for _ in range(120)",
    "one endless line": "b'{\"line\":\"' + b'x' * 2**20 for _ in range(120)",
    "newlines": "b'\\n' * 2**20 for _ in range(60)",
    "one entry many times": "ENTRY * 1000 for _ in range(200)",
    "one photo many times": "PHOTO for _ in range(4)",
}
MAKER = """
import base64, gzip, hashlib, json, sys
from tests.keeping import forge
body, kept = forge.sealed(forge.envelope())
ENTRY = json.dumps({"line": "entry", "hash": kept, "body": body}).encode() + b"\\n"
data = forge.PNG + b"\\0" * (20 * 2**20)
PHOTO = json.dumps({"line": "photo", "sha256": hashlib.sha256(data).hexdigest(), "data": base64.b64encode(data).decode()}).encode() + b"\\n"
header = json.dumps({"line": "header", "weldcal_pack": 1, "made": "x", "program": "0", "entries": 200000, "photos": 4, "heads": {}}).encode() + b"\\n"
with gzip.GzipFile(sys.argv[1], "wb", 1) as file:
    if sys.argv[2] not in ("zeros", "one endless line", "newlines"):
        file.write(header)
    for part in (eval("(" + sys.argv[3] + ")")):
        file.write(part)
"""


PHOTOS_MAKER = """
import base64, gzip, hashlib, json, os, sys
file, count, noise, zeros = sys.argv[1], *map(int, sys.argv[2:5])
total = hashlib.sha256()
with gzip.open(file, "wb", compresslevel=int(sys.argv[5])) as out:
    def put(**line):
        text = json.dumps(line).encode() + b"\\n"
        total.update(text)
        out.write(text)
    put(line="header", weldcal_pack=1, made="", program="", entries=0, photos=count, heads={})
    for _n in range(count):
        data = bytes.fromhex("ffd8ff") + os.urandom(noise) + bytes(zeros)
        name = hashlib.sha256(data).hexdigest()
        put(line="photo", sha256=name, data=base64.b64encode(data).decode())
    out.write(json.dumps({"line": "end", "sha256": total.hexdigest()}).encode() + b"\\n")
"""


@pytest.mark.parametrize(
    ("made", "why"),
    [
        # 64 true photos of 4 MB that no entry names: more than the memory allowed.
        (("64", "4000000", "0", "0"), "no entry of it names"),
        # 10 MB that unfold to 670 MB.
        (("25", "390000", "20000000", "1"), "unfolds to more than a pack can hold"),
    ],
)
def test_a_pack_of_photos_is_refused_in_bounded_memory(
    job: Any, tmp_path: Path, made: tuple[str, ...], why: str
) -> None:
    """Photos are held one at a time, whatever the pack says (Linux only: RLIMIT_AS)."""
    resource = pytest.importorskip("resource")
    if sys.platform != "linux":
        pytest.skip("RLIMIT_AS is not held elsewhere")
    file = tmp_path / "photos"
    subprocess.run([sys.executable, "-c", PHOTOS_MAKER, str(file), *made], check=True)
    before = whole(job.book)
    done = subprocess.run(
        [
            *(sys.executable, "-c", "from weldcal.cli.main import run; run()"),
            *("--book", str(job.book), "merge", str(file)),
        ],
        capture_output=True,
        text=True,
        check=False,
        cwd=str(Path(__file__).parents[2]),
        timeout=60,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_AS, (300 * 2**20, 300 * 2**20)),
    )
    file.unlink()
    assert done.returncode == 2
    assert why in " ".join(done.stderr.split())
    assert whole(job.book) == before


@pytest.mark.parametrize("bomb", BOMBS)
def test_a_bomb_is_refused_in_bounded_memory(job: Any, tmp_path: Path, bomb: str) -> None:
    """A few kilobytes that unpack to hundreds of megabytes: refused within 300 MiB (Linux only: RLIMIT_AS)."""
    resource = pytest.importorskip("resource")
    if sys.platform != "linux":
        pytest.skip("RLIMIT_AS is not held elsewhere")
    root = str(Path(__file__).parents[2])
    file = tmp_path / "bomb"
    subprocess.run(
        [sys.executable, "-c", MAKER, str(file), bomb, BOMBS[bomb]], check=True, cwd=root
    )
    before = whole(job.book)
    done = subprocess.run(
        [
            sys.executable,
            "-c",
            "from weldcal.cli.main import run; run()",
            "--book",
            str(job.book),
            "merge",
            str(file),
        ],
        capture_output=True,
        text=True,
        check=False,
        cwd=root,
        timeout=60,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_AS, (300 * 2**20, 300 * 2**20)),
    )
    assert done.returncode == 2
    assert "not taken in" in done.stderr
    assert "inside" not in done.stderr
    assert whole(job.book) == before
