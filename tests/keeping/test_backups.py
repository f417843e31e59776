"""Backups while others write, and what a restore never does: drop newer work, make one device of two."""

from __future__ import annotations

import contextlib
import json
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest

from tests.keeping import forge
from tests.keeping.processes import recorder
from tests.keeping.tables import contents


def test_a_backup_made_while_another_writes_is_whole(job: Any, tmp_path: Path) -> None:
    """Three in a row beside a writer: each verifies, and holds what was acknowledged before it began."""
    writer = recorder(job.book, 0, 100_000)
    try:
        assert writer.stdout is not None
        for number in range(3):
            heard = int(writer.stdout.readline())
            copy = tmp_path / f"{number}.sqlite"
            job.ok("backup", str(copy))
            kept = {
                e["payload"]["conditions"]["ambient"]["text"]
                for e in _says(copy)
                if e["kind"] == "conditions"
            }
            assert {str(n) for n in range(heard + 1)} <= kept
            job.ok("--book", str(copy), "verify")
    finally:
        writer.kill()
        writer.communicate()


def _says(book: Path) -> list[dict[str, Any]]:
    return [json.loads(body) for body, _kept in forge.entries_of(book)]


def test_a_backup_is_readable_by_its_owner_only_and_never_overwrites(
    job: Any, tmp_path: Path
) -> None:
    """Mode 0600; a second one of that name is refused; no half file stays."""
    copy = tmp_path / "b.sqlite"
    job.ok("backup", str(copy))
    assert copy.stat().st_mode & 0o777 == 0o600
    before = copy.read_bytes()
    assert job("backup", str(copy)).code == 2
    assert copy.read_bytes() == before
    assert job("backup", str(tmp_path / "no" / "b")).code == 2
    assert list(tmp_path.glob("*.part")) == []


def test_a_damaged_book_is_copied_as_it_is_and_said_to_be_damaged(
    go_ahead: Any, tmp_path: Path
) -> None:
    """A copy of what there is beats none; it is not called verified, and exit code 1 says so."""
    forge.spoil(
        go_ahead.book, "UPDATE entries SET body = replace(body, 'Ana', 'Anna') WHERE kind = 'strip'"
    )
    done = go_ahead("backup", str(tmp_path / "b.sqlite"))
    assert done.code == 1
    assert "verified" not in done.out
    assert "faults in the copy, as in the book: entry" in done.err
    assert "--rebuild" not in done.err  # it would bring the change into the tables
    assert "weldcal verify" in done.err
    assert forge.entries_of(tmp_path / "b.sqlite") == forge.entries_of(go_ahead.book)


def test_a_restore_brings_back_book_and_photos(job: Any, tmp_path: Path) -> None:
    """To a place where nothing is left: same tables, same photos, clean verify."""
    photo, copy = tmp_path / "lap.png", tmp_path / "b.sqlite"
    photo.write_bytes(forge.PHOTO)
    job.ok("finding", "A1", "wrinkle", "3-4", "--photo", str(photo))
    job.ok("backup", str(copy))
    before = contents(job.book)
    job.book = tmp_path / "new" / "book.sqlite"
    job.ok("restore", str(copy))
    assert contents(job.book) == before
    job.ok("verify")


def test_a_restore_refuses_to_drop_newer_work(job: Any, tmp_path: Path) -> None:
    """One entry more than the backup: refused with the number, the book as it was."""
    job.ok("backup", str(tmp_path / "b.sqlite"))
    job.ok("conditions --ambient 60F")
    before = forge.entries_of(job.book)
    done = job("restore", str(tmp_path / "b.sqlite"))
    assert done.code == 2
    assert "lacks entries that this book holds (1)" in done.err
    assert forge.entries_of(job.book) == before


def test_a_restored_book_is_a_new_device(job: Any, tmp_path: Path) -> None:
    """What it writes next begins a chain of its own, so that it never meets the lost one's."""
    job.ok("conditions --ambient 60F")
    old = job.entries()[-1]["device"]
    job.ok("backup", str(tmp_path / "b.sqlite"))
    job.ok("restore", str(tmp_path / "b.sqlite"))
    job.ok("conditions --ambient 61F")
    assert (job.entries()[-1]["device"] != old, job.entries()[-1]["seq"]) == (True, 1)
    job.ok("verify")


@pytest.mark.parametrize("how", ["cp over it", "moved in its place"])
def test_a_book_put_back_by_hand_is_a_new_device(job: Any, tmp_path: Path, how: str) -> None:
    """Without the restore command: an older copy copied over the book, or moved to its name."""
    job.ok("conditions --ambient 60F")
    old = job.entries()[-1]["device"]
    shutil.copyfile(job.book, tmp_path / "old.sqlite")
    job.ok("conditions --ambient 61F")
    if how == "cp over it":
        subprocess.run(["cp", tmp_path / "old.sqlite", job.book], check=True)
    else:
        (tmp_path / "old.sqlite").rename(job.book)
    job.ok("conditions --ambient 62F")
    assert job.entries()[-1]["device"] != old
    job.ok("verify")


def test_a_book_that_stays_where_it_is_stays_one_device(job: Any) -> None:
    """A new id is for copies only: ten commands, one device."""
    for ambient in range(60, 70):
        job.ok(f"conditions --ambient {ambient}F")
    made = [e["device"] for e in job.entries() if e["kind"] == "conditions"]
    assert len(set(made)) == 1


@pytest.mark.parametrize("what", ["missing", "text", "a pack", "tampered", "cut"])
def test_what_is_no_backup_is_not_restored(go_ahead: Any, tmp_path: Path, what: str) -> None:
    """Exit code 2, a sentence that fits, the book as it was."""
    bad = tmp_path / "bad"
    if what == "text":
        bad.write_text("hello" * 1000)
    elif what == "a pack":
        go_ahead.ok("pack", str(bad))
    elif what != "missing":
        go_ahead.ok("backup", str(bad))
        if what == "cut":
            bad.write_bytes(bad.read_bytes()[:-8192])
        else:
            forge.spoil(
                bad, "UPDATE entries SET body = replace(body, 'Ana', 'Anna') WHERE kind = 'strip'"
            )
    before = forge.entries_of(go_ahead.book)
    done = go_ahead("restore", str(bad))
    assert done.code == 2
    assert "inside" not in done.err
    if what == "missing":
        assert "cannot be written" not in done.err
    assert forge.entries_of(go_ahead.book) == before
    go_ahead.ok("verify")


@pytest.mark.parametrize("content", [b"", b"garbage" * 5000], ids=["empty", "garbage"])
def test_a_restore_over_a_damaged_book_keeps_the_damaged_file(
    job: Any, tmp_path: Path, content: bytes
) -> None:
    """That is when a backup is needed: what was there is moved aside, or the sentence says to do so."""
    job.ok("backup", str(tmp_path / "b.sqlite"))
    job.book.write_bytes(content)
    done = job("restore", str(tmp_path / "b.sqlite"))
    if done.code == 0:
        assert content in [file.read_bytes() for file in tmp_path.iterdir() if file.is_file()]
        job.ok("verify")
    else:
        assert done.code == 2
        assert "aside" in done.err or "away" in done.err


def test_a_restore_never_drops_what_another_terminal_records_meanwhile(
    job: Any, tmp_path: Path, monkeypatch: Any
) -> None:
    """A recording that comes just after the check for newer work: kept, or the restore refused, or the recording."""
    from weldcal.book.recording.backups import Backups

    job.ok("backup", str(tmp_path / "b.sqlite"))
    bring_in, writers = Backups._bring_in, []

    def late(self: Any, *given: Any) -> Any:
        writers.append(recorder(job.book, 0, 3))
        with contextlib.suppress(subprocess.TimeoutExpired):
            writers[-1].wait(timeout=2)
        return bring_in(self, *given)

    monkeypatch.setattr(Backups, "_bring_in", late)
    job("restore", str(tmp_path / "b.sqlite"))
    assert len(writers) == 1
    heard = set(writers[0].communicate(timeout=60)[0].decode().split())
    kept = {
        e["payload"]["conditions"]["ambient"]["text"]
        for e in job.entries()
        if e["kind"] == "conditions"
    }
    assert heard <= kept
    job.ok("verify")
