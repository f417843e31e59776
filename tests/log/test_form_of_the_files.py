"""What the files of a book are, bit by bit, as the forms they follow say; and the bounds of packs.

Sources: SQLite's file format 3, section 1.3 (the header's fields); RFC 8785 3.2.3 (the order of
keys); `shared/exchange.md` (packs). The bounds themselves are site settings, no source.
"""

from __future__ import annotations

import base64
import contextlib
import gzip
import hashlib
import json
import os
import sqlite3
import stat
import time
import uuid
from pathlib import Path

import pytest

from tests.keeping import forge
from tests.log.made import made_photo
from weldcal.errors import BookUnwritable, FileTrouble, NotWritten
from weldcal.log import chain, pack, photos, store, verifying
from weldcal.log.entry import Envelope, seal_entry
from weldcal.log.reading import read_entry

MB = 2**20


def test_a_books_file_says_what_it_is(tmp_path: Path) -> None:
    """Bytes 68 to 71 are "WLDC", bytes 60 to 63 the form's version: other programs go by them."""
    path = tmp_path / "b.sqlite"
    store.create(path).close()
    head = path.read_bytes()[:100]
    assert head[:16] == b"SQLite format 3\0"
    assert head[68:72] == b"WLDC"
    assert int.from_bytes(head[60:64], "big") == 1


def test_keys_are_hashed_in_the_order_of_rfc_8785(tmp_path: Path) -> None:
    """A sign beyond U+FFFF is two units, D800 and up: it comes before U+FB33, against its number."""
    payload = {"\N{GRINNING FACE}": 1, "\N{HEBREW LETTER DALET WITH DAGESH}": 2, "a": 3}
    with contextlib.closing(store.create(tmp_path / "b.sqlite")) as log:
        (entry,) = chain.append(
            log,
            forge.DEVICE,
            "2026-06-01T07:00:00-06:00",
            "Ana Ruiz",
            [chain.NewEntry("note", payload, None)],
        )
    inside = entry.body.partition('"payload":')[2].partition("}")[0]
    assert inside == '{"a":3,"\N{GRINNING FACE}":1,"\N{HEBREW LETTER DALET WITH DAGESH}":2'
    assert read_entry(entry.body, entry.hash).payload == payload


def test_a_number_beyond_all_exactness_is_refused_in_loose_writing_too() -> None:
    """A blank before it hides it from the first look; no reader could write it again."""
    body, _hash = forge.sealed(forge.envelope())
    loose = body.replace('"payload":{}', '"payload":{"a": 123456789012345678901234567890}')
    assert loose != body
    with pytest.raises(ValueError, match=r"not (in canonical form|held exactly)"):
        read_entry(loose, hashlib.sha256(loose.encode()).hexdigest())


@pytest.mark.parametrize(
    ("later", "device", "told"),
    [
        ("07:08:00", 1, []),
        ("07:07:59", 1, ["clock went back"]),
        ("07:08:00", 2, []),
        ("07:07:59", 2, ["clocks disagree"]),
    ],
)
def test_clocks_may_differ_by_two_minutes(
    tmp_path: Path, later: str, device: int, told: list[str]
) -> None:
    """After an entry of 07:10: on one device, and on another."""
    with contextlib.closing(store.create(tmp_path / "b.sqlite")) as log:
        for at, by in (("07:10:00", 1), (later, device)):
            drafts = [chain.NewEntry("note", {}, None)]
            chain.append(log, f"5742a900000{by}", f"2026-06-01T{at}-06:00", "Ana Ruiz", drafts)
        assert [fault.what for fault in verifying.clock_warnings(log)] == told


def test_an_id_is_a_uuid_of_version_7() -> None:
    """RFC 9562 5.7: version 7, variant 10; the first 48 bits are the milliseconds since 1970."""
    before = time.time_ns() // 1_000_000
    ids = [uuid.UUID(chain.new_id()) for _ in range(64)]
    after = time.time_ns() // 1_000_000
    assert {one.version for one in ids} == {7}
    assert {one.variant for one in ids} == {uuid.RFC_4122}
    assert all(before <= one.int >> 80 <= after for one in ids)
    assert len({one.int & (1 << 62) - 1 for one in ids}) == 64


@pytest.mark.parametrize("chance", ["fcc3d8c4dc0c0c07398f", "0cc318c4dc0c0c07398f"])
def test_an_id_is_made_as_its_own_example(monkeypatch: pytest.MonkeyPatch, chance: str) -> None:
    """RFC 9562 A.6; of the 80 bits by chance six are not used, whatever they are."""
    monkeypatch.setattr(time, "time_ns", lambda: 0x017F22E279B0 * 1_000_000 + 999_999)
    monkeypatch.setattr(os, "urandom", lambda count: bytes.fromhex(chance * 2)[:count])
    assert chain.new_id() == "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"


@pytest.mark.parametrize("number", [2**53 - 1, 1 - 2**53])
def test_the_largest_number_held_exactly_is_taken(number: int) -> None:
    """RFC 7493 2.2: up to 2 to the 53rd less one, either way."""
    body, kept = forge.sealed(forge.envelope(payload={"a": number}))
    assert read_entry(body, kept).payload == {"a": number}
    body, kept = forge.sealed(forge.envelope(payload={"a": number + (1 if number > 0 else -1)}))
    with pytest.raises(ValueError, match="not held exactly"):
        read_entry(body, kept)


# --- packs ---


def _all_read(path: Path) -> int:
    return sum(1 for _line in pack.lines(path))


def _of_size(path: Path, unfolded: int) -> Path:
    """A pack that unfolds to so many bytes; one photo of zeros, and a header's word made long."""
    data = base64.b64encode(bytes(unfolded // 2)).decode()
    photo = json.dumps({"line": "photo", "sha256": "0" * 64, "data": data}).encode()
    first = json.loads(forge.lines_of(forge.pack(path, []))[0])
    for _twice in range(2):
        forge.pack_lines(path, [json.dumps(first).encode(), photo])
        first["program"] += "0" * (unfolded - len(gzip.decompress(path.read_bytes())))
    return path


@pytest.mark.parametrize(("missing", "taken"), [(0, True), (1, False)])
def test_a_pack_may_unfold_to_thirty_times_its_size(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, missing: int, taken: bool
) -> None:
    """And 64 MB, taken away here; zeros after the end count as the file's, and mean nothing."""
    monkeypatch.setattr(pack, "SMALL_TEXT", 0)
    path = _of_size(tmp_path / "p", 60_000)
    os.truncate(path, 2_000 - missing)
    if taken:
        assert _all_read(path) == 3
        return
    with pytest.raises(pack.BadPack, match="unfolds to more than a pack can hold"):
        _all_read(path)


@pytest.mark.parametrize(("more", "taken"), [(0, True), (1, False)])
def test_a_small_pack_may_unfold_to_64_mb(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, more: int, taken: bool
) -> None:
    """However small it is; what its size allows besides is taken away here."""
    monkeypatch.setattr(pack, "MOST_UNFOLDED", 0)
    monkeypatch.setattr(pack, "LONGEST_LINE", 128 * MB)
    path = _of_size(tmp_path / "p", 64 * MB + more)
    if taken:
        assert _all_read(path) == 3
        return
    with pytest.raises(pack.BadPack, match="unfolds to more than a pack can hold"):
        _all_read(path)


@pytest.mark.parametrize(("size", "why"), [(2 * 2**30, "it is no pack"), (2 * 2**30 + 1, "larger")])
def test_a_pack_is_no_larger_than_2_gb(tmp_path: Path, size: int, why: str) -> None:
    """A file of nothing: it takes no room on the disk."""
    path = tmp_path / "p"
    path.touch()
    os.truncate(path, size)
    with pytest.raises(pack.BadPack, match=why):
        _all_read(path)


@pytest.mark.parametrize(
    ("size", "most"), [(MB, 94 * MB), (200 * MB, 4096 * MB), (2048 * MB, 4096 * MB)]
)
def test_no_pack_unfolds_to_more_than_4_gb(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, size: int, most: int
) -> None:
    """However large it is itself: 64 MB and thirty times its size, up to there."""
    path = tmp_path / "p"
    path.touch()
    os.truncate(path, size)
    asked: list[int] = []
    monkeypatch.setattr(pack, "_lines", lambda _path, _file, most: asked.append(most) or [])
    assert list(pack.lines(path)) == []
    assert asked == [most]


@pytest.mark.parametrize(("more", "taken"), [(0, True), (1, False)])
def test_the_longest_line_holds_the_largest_photo(tmp_path: Path, more: int, taken: bool) -> None:
    """25 MB are 34,952,533 signs and a third in base64; and 1,024 for what stands around them."""
    data = base64.b64encode(bytes(25 * MB)).decode()
    photo = {"line": "photo", "sha256": "", "data": data}
    photo["sha256"] = "0" * (34_952_533 + 1_024 + more - len(json.dumps(photo)) - 1)
    first = forge.lines_of(forge.pack(tmp_path / "p", []))[0]
    path = forge.pack_lines(tmp_path / "p", [first, json.dumps(photo).encode()])
    if taken:
        assert _all_read(path) == 3
        return
    with pytest.raises(pack.BadPack, match="longer than any can be"):
        _all_read(path)


def test_an_entry_or_a_photo_refused_is_called_by_twelve_signs(tmp_path: Path) -> None:
    """Of its hash, as `verify` and the pages call it."""
    name = "0123456789abcdef" * 4
    with pytest.raises(pack.BadPack, match=r"entry 7 \(0123456789ab…\)"):
        pack.entry_of(tmp_path, pack.EntryLine(name, "{}"), 7)
    with pytest.raises(pack.BadPack, match="photo 0123456789ab… is not"):
        pack.photo_of(tmp_path, pack.PhotoLine(name, ""))


def test_a_packs_file_says_nothing_of_when_or_where_it_was_made(tmp_path: Path) -> None:
    """RFC 1952 2.3: no name, no comment (flags), no time; and what went in comes out."""
    header = pack.Header(1, "2026-06-01T07:00:00-06:00", "0", 1, 1, {})
    name, data = made_photo(1)
    photos.keep(tmp_path / "b.sqlite", name, data)
    body, kept = forge.sealed(forge.envelope())
    path = tmp_path / "p"
    pack.write(path, header, [read_entry(body, kept)], tmp_path / "b.sqlite", [name])
    raw = path.read_bytes()
    assert raw[:3] == b"\x1f\x8b\x08"
    assert raw[3:8] == bytes(5)
    first, entry, photo, _end = pack.lines(path)
    assert pack.header_of(path) == first == header
    assert isinstance(entry, pack.EntryLine)
    assert isinstance(photo, pack.PhotoLine)
    assert pack.entry_of(path, entry, 1).body == body
    assert pack.photo_of(path, photo) == data
    assert list(pack.pictures(path, {name})) == [(name, data)]
    assert list(pack.pictures(path, set())) == []
    with pytest.raises(FileTrouble, match="there already"):
        pack.write(path, header, [], tmp_path / "b.sqlite", [])
    assert path.read_bytes() == raw
    with pytest.raises(NotWritten):
        pack.write(tmp_path / "gone/p", header, [], tmp_path / "b.sqlite", [])


# --- files beside the book ---


def test_copies_beside_a_book_are_numbered_and_nobodys_else(tmp_path: Path) -> None:
    """Never one over another; readable by their owner only, and books like the first."""
    book = tmp_path / "b.sqlite"
    with contextlib.closing(store.create(book)) as log:
        chain.append(
            log,
            forge.DEVICE,
            "2026-06-01T07:00:00-06:00",
            "Ana",
            [chain.NewEntry("note", {}, None)],
        )
    made = [store.safety_copy(book, "before") for _ in range(3)]
    assert [path.name for path in made] == [
        "b.sqlite.before",
        "b.sqlite.before-2",
        "b.sqlite.before-3",
    ]
    for path in made:
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
        with contextlib.closing(store.open_existing(path, write=False)) as copy:
            assert chain.count_entries(copy) == 1


def test_a_copy_that_cannot_be_made_leaves_nothing(tmp_path: Path) -> None:
    """Where no folder is, in one sentence; and of a file that is no book, no half of a copy."""
    with pytest.raises(BookUnwritable):
        store.safety_copy(tmp_path / "gone/b.sqlite", "before")
    text = tmp_path / "b.sqlite"
    text.write_text("no book at all" * 100)
    with pytest.raises(sqlite3.DatabaseError):
        store.safety_copy(text, "before")
    assert list(tmp_path.iterdir()) == [text]


def test_a_copy_never_takes_away_what_stands_in_its_place(tmp_path: Path) -> None:
    """A link to nothing is not seen before; it is somebody's, and stays."""
    book = tmp_path / "b.sqlite"
    store.create(book).close()
    link = tmp_path / "b.sqlite.before"
    link.symlink_to(tmp_path / "not plugged in")
    with pytest.raises(BookUnwritable):
        store.safety_copy(book, "before")
    assert link.is_symlink()
    assert not (tmp_path / "not plugged in").exists()


def test_a_book_is_made_with_its_folders(tmp_path: Path) -> None:
    """However many are missing; a file in a folder's place is said in one sentence."""
    store.create(tmp_path / "2026/roofs/b.sqlite").close()
    (tmp_path / "text").touch()
    with pytest.raises(BookUnwritable):
        store.create(tmp_path / "text/b.sqlite")
    with pytest.raises(BookUnwritable):
        store.create(tmp_path / "2026/roofs/b.sqlite")  # one is there


@pytest.mark.parametrize(("logged", "there"), [(False, True), (True, True), (False, False)])
def test_a_book_on_a_disk_that_nothing_can_be_written_to_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, logged: bool, there: bool
) -> None:
    """What SQLite's log of writes still holds as well, if there is one; the folder stays as it was."""
    book = tmp_path / "b.sqlite"
    with contextlib.closing(store.create(book)) as log:
        log.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        for said in range(3):
            chain.append(
                log,
                forge.DEVICE,
                "2026-06-01T07:00:00-06:00",
                "Ana",
                [chain.NewEntry("note", {"said": said}, None)],
            )
        if not logged:
            log.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        disk = tmp_path / "disk"
        disk.mkdir()
        for file in tmp_path.glob("b.sqlite*"):
            (disk / file.name).write_bytes(file.read_bytes())
    (disk / "b.sqlite-shm").unlink(missing_ok=True)
    held = {file.name: file.read_bytes() for file in disk.iterdir()}
    assert bool(held["b.sqlite-wal"]) is logged
    if not there:
        (disk / "b.sqlite-wal").unlink()
        del held["b.sqlite-wal"]

    def no_side_files(path: Path, mode: str) -> sqlite3.Connection:
        if mode.startswith("ro&immutable"):
            return connect(path, mode)
        raise sqlite3.OperationalError("unable to open database file")

    connect = store._connect
    monkeypatch.setattr(store, "_connect", no_side_files)
    with contextlib.closing(store.open_existing(disk / "b.sqlite", write=False)) as read:
        assert [entry.payload["said"] for entry in chain.entries(read)] == [0, 1, 2]
    assert {file.name: file.read_bytes() for file in disk.iterdir()} == held


@pytest.mark.parametrize(
    ("number", "written"),
    [
        (1.0, "1"),
        (1e21, "1e+21"),
        (-0.0, "0"),
        (1e-7, "1e-7"),
        (333333333.33333329, "333333333.3333333"),
    ],
)
def test_a_float_is_hashed_as_rfc_8785_writes_it(number: float, written: str) -> None:
    """Its appendix B: ECMAScript's form. No record holds one; a hash of another form fits nothing."""
    says = Envelope(**{**forge.envelope(), "payload": {"a": number}})
    assert f'"payload":{{"a":{written}}}' in seal_entry(says).body


def test_what_cannot_be_hashed_is_refused() -> None:
    """A whole number that no reader holds exactly (RFC 7493 2.2) is not written either."""
    says = Envelope(**{**forge.envelope(), "payload": {"a": 2**53 + 1}})
    with pytest.raises(ValueError, match=r".+"):
        seal_entry(says)
