"""Photos and keys beside a book: kept whole or not at all, and known by what they hold."""

from __future__ import annotations

import hashlib
import stat
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.log.made import made_photo
from weldcal.errors import FileTrouble, NotWritten
from weldcal.log import photos, signing


def test_a_key_is_made_whole_or_not_at_all(tmp_path: Path) -> None:
    """For its owner only; where no folder is, one sentence; one that is there is not touched."""
    pytest.importorskip("cryptography")
    path = tmp_path / "my.key"
    public = signing.new_key(path)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert len(bytes.fromhex(public)) == 32  # RFC 8032 5.1.5: 32 octets
    kept = path.read_bytes()
    with pytest.raises(FileTrouble, match="there already"):
        signing.new_key(path)
    assert path.read_bytes() == kept
    with pytest.raises(NotWritten):
        signing.new_key(tmp_path / "gone/my.key")


def test_a_signature_holds_for_its_statement_and_key_only(tmp_path: Path) -> None:
    """Another statement, another key, half a signature and no hex at all: none of them holds."""
    pytest.importorskip("cryptography")
    signing.new_key(tmp_path / "a.key")
    other = signing.new_key(tmp_path / "b.key")
    key, signature = signing.sign(tmp_path / "a.key", b"sealed")
    assert signing.possible() is True
    assert signing.holds(key, signature, b"sealed") is True
    for wrong in (
        (key, signature, b"sealed "),
        (other, signature, b"sealed"),
        (key, signature[:64], b"sealed"),
        (key, "x", b"sealed"),
    ):
        assert signing.holds(*wrong) is False


def test_photos_refused_in_the_middle_leave_those_that_were_there(tmp_path: Path) -> None:
    """The first was there before, the second is taken back, the third broke; the folder stays."""
    book = tmp_path / "b.sqlite"
    first, second = made_photo(1), made_photo(2)
    assert photos.keep_all(book, [first], 1) == [first[0]]
    place = tmp_path / "b.sqlite.photos"
    assert stat.S_IMODE(place.stat().st_mode) == 0o700

    def cut() -> object:
        yield first
        yield second
        raise OSError("cut")

    with pytest.raises(OSError, match="cut"):
        photos.keep_all(book, cut(), 3)  # type: ignore[arg-type]
    assert [path.name for path in place.iterdir()] == [first[0]]
    assert photos.fault(book, first[0]) is None
    assert photos.fault(book, second[0]) == "no such file"
    photos.drop(book, [first[0], second[0]])
    assert not place.exists()


def test_what_is_wrong_with_amade_photo(tmp_path: Path) -> None:
    """Its name, its file, or its bytes: then what their name would be. A true one puts it right."""
    book, (name, data) = tmp_path / "b.sqlite", made_photo(1)
    for odd in ("../b.sqlite", name.upper(), name[1:], name + "0", "", f"{name}\n"):
        assert photos.fault(book, odd) == "not a photo's name"
    assert photos.fault(book, name) == "no such file"
    photos.keep(book, name, data)
    assert photos.fault(book, name) is None
    (tmp_path / "b.sqlite.photos" / name).write_bytes(b"abc")
    assert photos.fault(book, name) == hashlib.sha256(b"abc").hexdigest()
    photos.keep(book, name, data)
    assert (tmp_path / "b.sqlite.photos" / name).read_bytes() == data


@pytest.mark.parametrize("fails", [0, 1])
def test_a_photo_whose_name_is_not_on_disk_is_not_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fails: int
) -> None:
    """When either folder cannot be synced, nothing stays, and one sentence says why."""
    book = tmp_path / "b.sqlite"
    asked: list[Path] = []
    sync: Callable[[Path], None] = photos.sync

    def failing(place: Path) -> None:
        asked.append(place)
        if len(asked) > fails:
            raise OSError(28, "no space")
        sync(place)

    monkeypatch.setattr(photos, "sync", failing)
    with pytest.raises(FileTrouble):
        photos.keep(book, *made_photo(1))
    assert asked == [tmp_path / "b.sqlite.photos", tmp_path][: fails + 1]
    assert list((tmp_path / "b.sqlite.photos").iterdir()) == []


@pytest.mark.parametrize(
    ("start", "kind"),
    [
        # ISO/IEC 15948 5.2; ISO/IEC 10918-1 B.1.1.3; RFC 9649 2.3; ISO/IEC 14496-12 4.3.
        (b"\x89PNG\r\n\x1a\n", "png"),
        (b"\xff\xd8\xff\xe0", "jpeg"),
        (b"RIFF\x10\x00\x00\x00WEBP", "webp"),
        (b"\x00\x00\x00\x18ftypheic", "heif"),
        (b"RIFF\x10\x00\x00\x00WAVE", None),
        (b" \x89PNG\r\n\x1a\n", None),
        (b"", None),
    ],
)
def test_a_picture_is_known_by_its_first_bytes(start: bytes, kind: str | None) -> None:
    """Each kind where its own form has its mark, and nowhere else."""
    assert photos.kind_of(start + bytes(20)) == kind
