"""Entries and photos that cannot be, in packs that are whole: refused, with the reason, and nothing written."""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.keeping import forge
from tests.keeping.forge import PHOTO

SEEN = {"at": "2026-06-01T07:00:00-06:00", "by": "X"}
NAME = hashlib.sha256(PHOTO).hexdigest()


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
    [
        '{"a":NaN}',
        '{"a":Infinity}',
        '{"a":1.5}',
        '{"a":1e400}',
        '{"a":1e3}',
        '{"a":-0}',
        '{"a":01}',
        '{"a":9007199254740993}',
        '{"a":' + "9" * 400 + "}",
        '{"a":' + "9" * 5000 + "}",
        '{"a":1,"a":1}',
        '{"a":1,"a":2}',
        '{"b":1,"a":2}',
        '{"a": 1}',
        '{"a":"\\u0041"}',
        '{"a":"\\ud800"}',
        '{"a":"\\/"}',
        "[]",
        "null",
        '"x"',
        "5",
        "",
        "{",
        '{"a":1}}',
        "{a:1}",
        "{'a':1}",
    ],
    ids=lambda text: text[:30],
)
def test_another_writing_than_the_canonical_one_is_refused(
    refused: Callable[[Path], str], tmp_path: Path, payload: str
) -> None:
    """RFC 8785 gives one text to one value; numbers beyond 2^53 have none (RFC 7493 section 2.2)."""
    refused(forge.pack(tmp_path / "f", [raw_payload(payload)]))


WRONG: dict[str, list[Any]] = {
    "v": [0, 2, "1", None, 1.0, True],
    "id": [5, None, "", "x", "../../x", "x" * 100_000],
    "device": [5, None, "", "%", "../x", "d" * 100_000],
    "seq": [0, -1, "1", None, True, 1.5, 2**53, 2**70],
    "tick": [0, -1, "1", None, 1.5, 2**40, 2**52, 2**53, 2**70],
    "at": [
        5,
        None,
        "",
        "noon",
        "2026-06-01",
        "2026-06-01T07:00:00",
        "0001-01-01T00:00:00+14:00",
        "9999-12-31T23:59:59-14:00",
    ],
    "who": [5, None, []],
    "kind": [5, None, []],
    "job": [5, [], "", "x"],
    "about": [5, None, ""],
    "payload": [[], None, "x", 5],
    "prev": [5, None],
    "more": [1],
}


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
    "a photo's name that is a path": (
        "finding",
        {"photos": [{"sha256": "/etc/passwd", "size": 1, "kind": "png", "file": "x"}]},
    ),
    "a photo's name that goes up": (
        "finding",
        {"photos": [{"sha256": "../../x", "size": 1, "kind": "png", "file": "x"}]},
    ),
    "a zone that is none": ("job", {"name": "J", "units": "us", "zone": "../../etc/passwd"}),
    "an hour that is none": (
        "job",
        {"name": "J", "units": "us", "zone": "UTC", "day_begins": 2**70},
    ),
    "a late hour": ("job", {"name": "J", "units": "us", "zone": "UTC", "day_begins": 10**6}),
    "units that are none": ("job", {"name": "J", "units": "furlong", "zone": "UTC"}),
    "a limit of another dimension": (
        "limit",
        {
            "name": "bleed_low",
            "value": {"text": "5", "number": "5", "unit": "F"},
            "source": "x",
            "adopted_by": "x",
        },
    ),
    "a time that is none": ("conditions", {"seen": {"at": "noon", "by": "X"}, "conditions": {}}),
    "a time without offset": (
        "conditions",
        {"seen": {"at": "2026-06-01T07:00:00", "by": "X"}, "conditions": {}},
    ),
    "a time too far": (
        "conditions",
        {"seen": {"at": "9999-12-31T23:59:59-14:00", "by": "X"}, "conditions": {}},
    ),
    "a division by nothing": (
        "conditions",
        {"seen": SEEN, "conditions": {"ambient": {"text": "1", "number": "1/0", "unit": "C"}}},
    ),
    "a number too long": (
        "conditions",
        {"seen": SEEN, "conditions": {"ambient": {"text": "1", "number": "9" * 400, "unit": "C"}}},
    ),
    "a unit that is none": (
        "conditions",
        {"seen": SEEN, "conditions": {"ambient": {"text": "1", "number": "1", "unit": "parsec"}}},
    ),
    "an amendment of nothing": ("amend", {}),
    "a settlement of nothing": ("settle", {}),
    "a pull of nothing": ("pull", {}),
    "a finish of nothing": ("run-finish", {}),
    "a hand-over of nothing": ("handed", {"to": 5}),
    "a seal past counting": (
        "seal",
        {
            "name": "L1",
            "label": "x",
            "seen": SEEN,
            "entries": 2**70,
            "heads": [],
            "counts": {},
            "code": "x",
        },
    ),
}


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
    [
        ("../../x", PHOTO),
        ("/tmp/x", PHOTO),
        ("0" * 64, PHOTO),
        ("", PHOTO),
        (NAME.upper(), PHOTO),
        (hashlib.sha256(b"hello").hexdigest(), b"hello"),
        (hashlib.sha256(b"").hexdigest(), b""),
    ],
    ids=["up", "absolute", "another", "none", "capitals", "no picture", "empty"],
)
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
