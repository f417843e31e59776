"""Packs that are cut, altered, foreign, oversized or hostile: refused whole, with the reason, and nothing written."""

from __future__ import annotations

import base64
import gzip
import hashlib
import json
import random
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.keeping import forge
from tests.keeping.tables import whole

SEEN = {"at": "2026-06-01T07:00:00-06:00", "by": "X"}
PHOTO = forge.PNG + b"invented"
NAME = hashlib.sha256(PHOTO).hexdigest()


@pytest.fixture
def refused(job: Any) -> Callable[[Path], str]:
    """Expect a refusal that changes nothing; the reason."""

    def refuse(file: Path) -> str:
        before = whole(job.book)
        done = job("merge", str(file))
        assert done.code == 2, done
        assert len(done.err.splitlines()) == 1
        assert "inside" not in done.err
        assert "Traceback" not in done.err
        assert whole(job.book) == before
        return str(done.err)

    return refuse


@pytest.fixture
def good(go_ahead: Any, tmp_path: Path) -> Path:
    """A true pack of a few entries and a photo, from the same job."""
    photo = tmp_path / "lap.png"
    photo.write_bytes(PHOTO)
    go_ahead.ok("finding", "A1", "wrinkle", "3-4", "--photo", str(photo))
    go_ahead.ok("pack", str(tmp_path / "good"))
    return tmp_path / "good"


@pytest.fixture
def empty(good: Path, weldcal: Any, tmp_path: Path) -> Any:
    """A device that has nothing yet: no book, and none may be made by a bad pack."""
    weldcal.book = tmp_path / "empty" / "book.sqlite"
    return weldcal


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
    "another version": lambda lines: [lines[0].replace(b'"weldcal_pack":1', b'"weldcal_pack":2'), *lines[1:]],
    "an unknown line": lambda lines: [*lines, b'{"line":"file","path":"../x","data":""}'],
    "an unknown field": lambda lines: [*lines[:-1], lines[-1].replace(b'{"line"', b'{"path":"/etc/x","line"')],
    "wrong counts": lambda lines: [lines[0].replace(b'"entries":', b'"entries":1'), *lines[1:]],
    "a negative count": lambda lines: [lines[0].replace(b'"entries":', b'"entries":-'), *lines[1:]],
    "NaN": lambda lines: [lines[0].replace(b'"entries":', b'"entries":NaN,"x":'), *lines[1:]],
    "no UTF-8": lambda lines: [*lines, b'{"line":"entry","hash":"\xff","body":""}'],
    "no JSON": lambda lines: [*lines, b"hello"],
    "a blank line": lambda lines: [*lines, b""],
    "deep": lambda lines: [*lines, b"[" * 100_000],
    "deep in the header": lambda lines: [lines[0].replace(b'"heads":', b'"heads":' + b"[" * 100_000), *lines[1:]],
    "a huge number": lambda lines: [lines[0].replace(b'"entries":', b'"entries":' + b"9" * 100_000), *lines[1:]],
    "an end in the middle": lambda lines: [lines[0], b'{"line":"end","sha256":"' + b"0" * 64 + b'"}', *lines[1:]],
}  # fmt: skip


@pytest.mark.parametrize("change", LINES)
def test_lines_that_cannot_be_are_refused(
    empty: Any, good: Path, tmp_path: Path, change: str
) -> None:
    """The end fits what is there: the lines themselves are judged."""
    takes_nothing(empty, forge.pack_lines(tmp_path / "bad", LINES[change](forge.lines_of(good))))


@pytest.mark.parametrize(
    "content",
    [b"", b"hello", gzip.compress(b""), gzip.compress(b"hello"), b"\x1f\x8b" + b"\0" * 50, gzip.compress(b"{}\n"),
     b"PK\x03\x04" + b"\0" * 50],
    ids=["nothing", "text", "empty gzip", "gzip of text", "cut gzip", "gzip of JSON", "zip"],
)  # fmt: skip
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


def deep(levels: int) -> forge.Entry:
    """An entry that nests so deep, with a hash that fits."""
    body = forge.canonical(forge.envelope(payload={"a": 0})).replace(
        '{"a":0}', '{"a":' + "[" * levels + "]" * levels + "}"
    )
    return body, hashlib.sha256(body.encode()).hexdigest()


@pytest.mark.parametrize("levels", [100, 480, 490, 500, 600, 990, 1_000, 5_000, 100_000])
def test_an_entry_that_nests_deep_is_refused(
    refused: Callable[[Path], str], tmp_path: Path, levels: int
) -> None:
    """At any depth no payload has, whatever stack is left."""
    refused(forge.pack(tmp_path / "f", [deep(levels)]))


def raw_payload(text: str) -> forge.Entry:
    """An entry whose payload is this text, with a hash that fits."""
    body = forge.canonical(forge.envelope(payload={})).replace('"payload":{}', f'"payload":{text}')
    return body, hashlib.sha256(body.encode(errors="surrogatepass")).hexdigest()


@pytest.mark.parametrize(
    "payload",
    ['{"a":NaN}', '{"a":Infinity}', '{"a":1.5}', '{"a":1e400}', '{"a":1e3}', '{"a":-0}', '{"a":01}', '{"a":9007199254740993}',
     '{"a":' + "9" * 400 + "}", '{"a":' + "9" * 5000 + "}", '{"a":1,"a":1}', '{"a":1,"a":2}', '{"b":1,"a":2}', '{"a": 1}',
     '{"a":"\\u0041"}', '{"a":"\\ud800"}', '{"a":"\\/"}', "[]", "null", '"x"', "5", "", "{", '{"a":1}}', '{a:1}', "{'a':1}"],
    ids=lambda text: text[:30],
)  # fmt: skip
def test_another_writing_than_the_canonical_one_is_refused(
    refused: Callable[[Path], str], tmp_path: Path, payload: str
) -> None:
    """RFC 8785 gives one text to one value; numbers beyond 2^53 have none (RFC 7493 section 2.2)."""
    refused(forge.pack(tmp_path / "f", [raw_payload(payload)]))


WRONG: dict[str, list[Any]] = {
    "v": [0, 2, "1", None, 1.0, True], "id": [5, None, "", "x", "../../x", "x" * 100_000],
    "device": [5, None, "", "%", "../x", "d" * 100_000], "seq": [0, -1, "1", None, True, 1.5, 2**53, 2**70],
    "tick": [0, -1, "1", None, 1.5, 2**40, 2**52, 2**53, 2**70],
    "at": [5, None, "", "noon", "2026-06-01", "2026-06-01T07:00:00", "0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00"],
    "who": [5, None, []], "kind": [5, None, []], "job": [5, [], "", "x"], "about": [5, None, ""], "payload": [[], None, "x", 5],
    "prev": [5, None], "more": [1],
}  # fmt: skip


@pytest.mark.parametrize(
    ("field", "value"), [(f, v) for f, vs in WRONG.items() for v in vs], ids=lambda v: repr(v)[:30]
)
def test_a_wrong_type_in_any_field_is_refused(
    refused: Callable[[Path], str], tmp_path: Path, field: str, value: Any
) -> None:
    """Its hash fits; a count near the end of all counts would wear the book out."""
    refused(forge.pack(tmp_path / "f", [forge.sealed(forge.envelope(**{field: value}))]))


@pytest.mark.parametrize("tick", [2**20, 2**30, 2**40 - 2])
def test_a_leaping_tick_leaves_the_book_able_to_go_on(
    job: Any, carry: Callable[..., Any], device: Callable[[str], Any], tmp_path: Path, tick: int
) -> None:
    """Taken or refused: what is recorded next verifies here and on the next device."""
    job("merge", str(forge.pack(tmp_path / "f", [forge.sealed(forge.envelope(tick=tick))])))
    job.ok("conditions --ambient 60F")
    job.ok("verify")
    assert carry(job, device("other")).code == 0


PAYLOADS: dict[str, tuple[str, Any]] = {
    "an empty strip": ("strip", {}),
    "a strip of text": ("strip", {"name": 5}),
    "a photo's name that is a path": ("finding", {"photos": [{"sha256": "/etc/passwd", "size": 1, "kind": "png", "file": "x"}]}),
    "a photo's name that goes up": ("finding", {"photos": [{"sha256": "../../x", "size": 1, "kind": "png", "file": "x"}]}),
    "a zone that is none": ("job", {"name": "J", "units": "us", "zone": "../../etc/passwd"}),
    "an hour that is none": ("job", {"name": "J", "units": "us", "zone": "UTC", "day_begins": 2**70}),
    "a late hour": ("job", {"name": "J", "units": "us", "zone": "UTC", "day_begins": 10**6}),
    "units that are none": ("job", {"name": "J", "units": "furlong", "zone": "UTC"}),
    "a limit of another dimension": ("limit", {"name": "bleed_low", "value": {"text": "5", "number": "5", "unit": "F"}, "source": "x", "adopted_by": "x"}),
    "a time that is none": ("conditions", {"seen": {"at": "noon", "by": "X"}, "conditions": {}}),
    "a time without offset": ("conditions", {"seen": {"at": "2026-06-01T07:00:00", "by": "X"}, "conditions": {}}),
    "a time too far": ("conditions", {"seen": {"at": "9999-12-31T23:59:59-14:00", "by": "X"}, "conditions": {}}),
    "a division by nothing": ("conditions", {"seen": SEEN, "conditions": {"ambient": {"text": "1", "number": "1/0", "unit": "C"}}}),
    "a number too long": ("conditions", {"seen": SEEN, "conditions": {"ambient": {"text": "1", "number": "9" * 400, "unit": "C"}}}),
    "a unit that is none": ("conditions", {"seen": SEEN, "conditions": {"ambient": {"text": "1", "number": "1", "unit": "parsec"}}}),
    "an amendment of nothing": ("amend", {}),
    "a settlement of nothing": ("settle", {}),
    "a pull of nothing": ("pull", {}),
    "a finish of nothing": ("run-finish", {}),
    "a hand-over of nothing": ("handed", {"to": 5}),
    "a seal past counting": ("seal", {"name": "L1", "label": "x", "seen": SEEN, "entries": 2**70, "heads": [], "counts": {}, "code": "x"}),
}  # fmt: skip


@pytest.mark.parametrize("case", PAYLOADS)
def test_a_payload_that_cannot_be_is_refused(
    refused: Callable[[Path], str], job: Any, tmp_path: Path, case: str
) -> None:
    """Even where its subject is not here yet; a photo in the same pack is not kept either."""
    kind, payload = PAYLOADS[case]
    job_id = None if kind == "job" else job.entries()[0]["id"]
    about = (
        forge.uuid(77)
        if kind in ("amend", "settle", "pull", "run-finish", "handed")
        else forge.uuid(1)
    )
    entry = forge.sealed(forge.envelope(kind=kind, payload=payload, job=job_id, about=about))
    refused(forge.pack(tmp_path / "f", [entry]))
    names = [{"sha256": NAME, "size": 1, "kind": "png", "file": "x"}]
    other = forge.sealed(
        forge.envelope(id=forge.uuid(2), seq=2, tick=2, prev=entry[1], payload={"photos": names})
    )
    refused(forge.pack(tmp_path / "g", [entry, other], [PHOTO]))


def test_a_bad_correction_does_not_spoil_a_later_good_pack(
    empty: Any, good: Path, tmp_path: Path
) -> None:
    """Sent ahead of its subject to a new device; the true pack is taken in all the same."""
    job = json.loads(json.loads(forge.lines_of(good)[1])["body"])["id"]
    for kind in ("amend", "settle", "pull", "handed"):
        bad = forge.sealed(
            forge.envelope(kind=kind, about=job, payload={"path": "zone", "new": "Nowhere"})
        )
        empty("merge", str(forge.pack(tmp_path / kind, [bad])))
    assert empty("merge", str(good)).code == 0
    empty.ok("verify")
    empty.ok("roof")


def photo_line(name: str, data: str) -> bytes:
    return json.dumps({"line": "photo", "sha256": name, "data": data}).encode()


@pytest.mark.parametrize(
    ("name", "data"),
    [("../../x", PHOTO), ("/tmp/x", PHOTO), ("0" * 64, PHOTO), ("", PHOTO), (NAME.upper(), PHOTO),
     (hashlib.sha256(b"hello").hexdigest(), b"hello"), (hashlib.sha256(b"").hexdigest(), b"")],
    ids=["up", "absolute", "another", "none", "capitals", "no picture", "empty"],
)  # fmt: skip
def test_a_photo_that_is_not_what_its_name_says_is_refused(
    refused: Callable[[Path], str], job: Any, tmp_path: Path, name: str, data: bytes
) -> None:
    """Names are content; what is no picture is not kept."""
    entry = forge.sealed(
        forge.envelope(
            payload={"photos": [{"sha256": name, "size": 1, "kind": "png", "file": "x"}]}
        )
    )
    lines = forge.lines_of(forge.pack(tmp_path / "f", [entry], photos=[data]))
    lines[-1] = photo_line(name, base64.b64encode(data).decode())
    refused(forge.pack_lines(tmp_path / "g", lines))


@pytest.mark.parametrize(
    "data",
    ["not base64!", base64.b64encode(PHOTO).decode() + "\n", base64.b64encode(PHOTO).decode()[:-2]],
)
def test_a_photo_badly_written_is_refused(
    refused: Callable[[Path], str], tmp_path: Path, data: str
) -> None:
    """Strict base 64 (RFC 4648 section 3.3)."""
    entry = forge.sealed(
        forge.envelope(
            payload={"photos": [{"sha256": NAME, "size": 1, "kind": "png", "file": "x"}]}
        )
    )
    lines = forge.lines_of(forge.pack(tmp_path / "f", [entry], photos=[PHOTO]))
    lines[-1] = photo_line(NAME, data)
    refused(forge.pack_lines(tmp_path / "g", lines))


def test_a_photo_that_no_entry_names_is_refused(
    refused: Callable[[Path], str], tmp_path: Path
) -> None:
    """Else a pack would be a way to put anything beside a book."""
    refused(forge.pack(tmp_path / "f", [forge.sealed(forge.envelope())], [PHOTO]))


def test_an_entry_that_does_not_follow_from_the_one_before_is_refused(
    refused: Callable[[Path], str], tmp_path: Path
) -> None:
    """Both hashes fit; the link does not. The first bad entry is named."""
    one = forge.sealed(forge.envelope())
    two = forge.sealed(forge.envelope(id=forge.uuid(2), seq=2, tick=2, prev="f" * 64))
    assert forge.uuid(2) in refused(forge.pack(tmp_path / "f", [one, two]))


def test_the_first_bad_entry_is_named(
    refused: Callable[[Path], str], good: Path, tmp_path: Path
) -> None:
    """One word changed in the third of them."""
    lines = forge.lines_of(good)
    lines[3] = lines[3].replace(b"Ana Ruiz", b"Ana Ruit")
    assert "entry 3" in refused(forge.pack_lines(tmp_path / "f", lines))


BOMBS = {
    "zeros": "b'\\0' * 2**20 for _ in range(120)",
    "one endless line": "b'{\"line\":\"' + b'x' * 2**20 for _ in range(120)",
    "newlines": "b'\\n' * 2**20 for _ in range(60)",
    "one entry many times": "ENTRY * 1000 for _ in range(200)",
    "one photo many times": "PHOTO for _ in range(4)",
}  # fmt: skip
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


@pytest.mark.parametrize("bomb", BOMBS)
def test_a_bomb_is_refused_in_bounded_memory(job: Any, tmp_path: Path, bomb: str) -> None:
    """A few kilobytes that unpack to hundreds of megabytes: refused within 350 MB (Linux only: RLIMIT_AS)."""
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
        [sys.executable, "-c", "from weldcal.cli.main import run; run()", "--book", str(job.book), "merge", str(file)],
        capture_output=True, text=True, check=False, cwd=root, timeout=60,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_AS, (350 * 2**20, 350 * 2**20)),
    )  # fmt: skip
    assert done.returncode == 2
    assert "not taken in" in done.stderr
    assert "inside" not in done.stderr
    assert whole(job.book) == before
