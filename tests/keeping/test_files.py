"""The book as files: whose they are, and what happens where nothing can be written or read."""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import stat
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.full_disk import no_room
from tests.keeping import forge
from tests.keeping.processes import as_anybody, program, recorder
from tests.keeping.tables import whole

COMMANDS = [
    ["conditions", "--ambient", "60F"],
    ["seal"],
    [
        "strip",
        "record",
        "--nozzle",
        "932",
        "--speed",
        "5.5",
        "--bleed",
        "1/4",
        "--bubbling",
        "none",
    ],
    ["seam", "add", "Z1-Z40"],
    ["verify", "--rebuild"],
    ["me", "Zed"],
]


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def test_everything_made_is_for_its_owner_only(job: Any, tmp_path: Path) -> None:
    """Under the widest umask: book, WAL, note, photos, pack, backup, exports."""
    before = os.umask(0)
    try:
        photo = tmp_path / "lap.png"
        photo.write_bytes(forge.PHOTO)
        made = tmp_path / "made"
        made.mkdir()
        job.book = made / "b.sqlite"
        job.ok('job new "School" --units us --zone UTC --by A')
        job.ok("finding", "A1", "wrinkle", "3-4", "--photo", str(photo), "--by", "A")
        job.ok("pack", str(made / "p"))
        job.ok("backup", str(made / "c.sqlite"))
        job.ok("export", str(made / "tables"))
        writer = recorder(job.book, 0, 100)
        assert writer.stdout is not None
        writer.stdout.readline()
        for path in made.rglob("*"):
            if path.name != "tables":  # the folder of an export: its files are checked
                assert mode(path) == (0o700 if path.is_dir() else 0o600), path
        writer.kill()
        writer.communicate()
    finally:
        os.umask(before)


def test_a_read_only_book_is_read_and_every_write_refused(
    go_ahead: Any, frozen: Any, tmp_path: Path
) -> None:
    """One sentence that says read-only, exit code 2; nothing is left beside it."""
    place = tmp_path / "cd"
    place.mkdir()
    shutil.move(go_ahead.book, place / "book.sqlite")
    go_ahead.book = place / "book.sqlite"
    before = go_ahead.book.read_bytes()
    frozen(go_ahead.book)
    frozen(place)
    for words in (
        ["roof"],
        ["verify"],
        ["trace", "A1"],
        ["pack", str(tmp_path / "p")],
        ["backup", str(tmp_path / "b")],
    ):
        done = program(go_ahead.book, *words, preexec_fn=as_anybody)
        assert (done.returncode, done.stderr) == (0, ""), words
    for words in COMMANDS[:2]:
        done = program(go_ahead.book, *words, preexec_fn=as_anybody)
        assert done.returncode == 2
        assert "read-only" in done.stderr
    assert [file.name for file in place.iterdir()] == ["book.sqlite"]
    assert go_ahead.book.read_bytes() == before


@pytest.mark.parametrize("shm", [True, False], ids=["as it was left", "without -shm"])
def test_what_was_acknowledged_is_seen_in_a_read_only_place_too(
    job: Any, frozen: Any, tmp_path: Path, shm: bool
) -> None:
    """Killed while recording, then put where nothing can be written: the entries are still in the -wal."""
    place = tmp_path / "cd"
    place.mkdir()
    shutil.move(job.book, place / "book.sqlite")
    job.book = place / "book.sqlite"
    writer = recorder(job.book, 0, 1000)
    assert writer.stdout is not None
    for _ in range(3):
        heard = int(writer.stdout.readline())
    writer.kill()
    writer.communicate()
    if not shm:
        (place / "book.sqlite-shm").unlink()
    for file in place.iterdir():
        frozen(file)
    frozen(place)
    done = program(job.book, "verify", "--json", preexec_fn=as_anybody)
    assert done.returncode == 0
    assert json.loads(done.stdout)["entries"] >= 5 + heard + 1


@pytest.mark.skipif(sys.platform == "win32", reason="no RLIMIT_FSIZE")
@pytest.mark.parametrize("words", COMMANDS, ids=lambda words: words[0])
@pytest.mark.parametrize("room", [0, 16, 4_096, 20_000])
def test_a_full_disk_gives_a_plain_message_and_an_intact_book(
    go_ahead: Any, words: list[str], room: int
) -> None:
    """RLIMIT_FSIZE stands in for the disk; `tests/faults/full.py` fails every write in turn."""
    before = whole(go_ahead.book)
    done = program(
        go_ahead.book,
        *words,
        preexec_fn=no_room(room),
    )
    if done.returncode:
        assert done.returncode == 2
        assert len(done.stderr.splitlines()) == 1
        assert "inside" not in done.stderr
        assert whole(go_ahead.book) == before
    go_ahead.ok("verify")


@pytest.mark.skipif(sys.platform == "win32", reason="no RLIMIT_FSIZE")
@pytest.mark.parametrize("words", ["pack", "backup", "export", "key", "merge"])
def test_a_full_disk_leaves_no_half_file(go_ahead: Any, tmp_path: Path, words: str) -> None:
    """Refused, exit code 2, and no *.part stays."""
    go_ahead.ok("pack", str(tmp_path / "good"))
    place = tmp_path / "full"
    place.mkdir()
    book = place / "new.sqlite" if words == "merge" else go_ahead.book
    target = tmp_path / "good" if words == "merge" else place / "out"
    done = program(
        book,
        words,
        str(target),
        preexec_fn=no_room(16),
    )
    assert done.returncode == 2, done
    assert "inside" not in done.stderr
    assert [file for file in place.rglob("*") if file.is_file()] == []


@pytest.mark.parametrize("words", ["roof", "verify", "conditions --ambient 60F", "pack x"])
@pytest.mark.parametrize(
    "how", ["folder gone", "a folder", "text", "empty", "cut", "another database"]
)
def test_a_book_that_is_none_is_refused_in_one_sentence(
    go_ahead: Any, tmp_path: Path, words: str, how: str
) -> None:
    """Whatever lies at its path: exit code 2 (or 1 from verify), no traceback."""
    raw = go_ahead.book.read_bytes()
    go_ahead.book = tmp_path / "there" / "book.sqlite"
    if how != "folder gone":
        go_ahead.book.parent.mkdir()
    if how == "a folder":
        go_ahead.book.mkdir()
    elif how == "another database":
        sqlite3.connect(go_ahead.book).execute("CREATE TABLE t (a)").connection.close()
    elif how != "folder gone":
        go_ahead.book.write_bytes(
            {"text": b"hello" * 500, "empty": b"", "cut": raw[: len(raw) // 2]}[how]
        )
    done = go_ahead(words)
    assert done.code in ((1, 2) if how == "cut" else (2,))
    assert "inside" not in done.err
    assert "Traceback" not in done.err


def test_a_book_taken_away_while_it_is_open_is_never_made_anew(job: Any) -> None:
    """A disk pulled out between two recordings: refused or kept on the file still open, but no empty book appears."""
    writer = recorder(job.book, 0, 100_000)
    assert writer.stdout is not None
    writer.stdout.readline()
    for file in job.book.parent.glob(job.book.name + "*"):
        file.unlink()
    for _ in range(3):
        writer.stdout.readline()
    writer.kill()
    writer.communicate()
    assert not job.book.exists()
    assert job("conditions --ambient 60F").code == 2
