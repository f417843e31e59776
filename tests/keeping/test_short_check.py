"""The short check of the roof and the evening: it says nothing unless all holds, and costs little."""

from __future__ import annotations

import contextlib
import os
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from tests.keeping import forge
from tests.keeping.test_forger import FORGERIES
from weldcal import settings
from weldcal.book import Book, checked, proof

DAY = """
    07:30 seam start A1 --nozzle 932 --speed 5.5
    07:33 bleed A1 10 1/4,3/16
    07:37 seam finish A1 --to 33
    07:40 seam add B1-B3 --length 20ft
    09:00 probe A1 0-33 --void "14.5+3in x 1/2in" --by BO
    09:10 mend F1 --method patch
    09:20 amend R1 speed 6 --why misread
    09:30 undo M1 --why "another seam" --yes --by AR
    09:40 undo M1 --back --why "it was this one" --yes --by AR
    09:50 limit set bleed_high 3/8in --source "maker sheet 12"
    10:00 strip record --nozzle 932 --speed 5 --bleed 1/4,1/4 --bubbling none
    10:20 strip pull S2 good --parted compound
"""


@pytest.fixture
def whole_checks(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[int]]:
    """How often the whole was checked, as a list that grows."""
    counted: list[int] = []
    real = proof.check

    def check(*args: Any) -> Any:
        counted.append(1)
        return real(*args)

    monkeypatch.setattr(proof, "check", check)
    yield counted


def held(book: Path) -> checked.HeldWhole | None:
    """What is held of a book, but for when it was read."""
    key = checked._key()
    found = checked._kept(book, key) if key else None
    return found and replace(found, stamp=(), read_s=0.0)


def test_what_comes_since_is_checked_alone_and_held_as_a_whole_check_would(
    go_ahead: Any, whole_checks: list[int]
) -> None:
    """Starts, stages, corrections, things taken back and put back; the sums are those made anew."""
    go_ahead.ok("roof")
    assert len(whole_checks) == 1
    for line in filter(None, map(str.strip, DAY.splitlines())):
        go_ahead.day(line)
        go_ahead.ok("roof")
        gone_on = held(go_ahead.book)
        with contextlib.closing(Book(go_ahead.book)) as book, book.snapshot() as connection:
            checked.hold(connection, book.path)
        assert held(go_ahead.book) == gone_on
    assert len(whole_checks) == 1
    go_ahead.ok("evening")
    assert len(whole_checks) == 1


def test_a_seal_and_a_merge_that_fills_a_place_want_the_whole(
    go_ahead: Any, whole_checks: list[int]
) -> None:
    """A seal is held against all that it seals."""
    go_ahead.ok("roof")
    go_ahead.ok("seal")
    del whole_checks[:]
    go_ahead.ok("roof")
    assert len(whole_checks) == 1
    go_ahead.ok("roof")
    assert len(whole_checks) == 1


def test_another_devices_entries_go_on_too(
    go_ahead: Any, device: Callable[[str], Any], carry: Callable[..., Any], whole_checks: list[int]
) -> None:
    """Merged in with ticks among ours."""
    other = device("other")
    carry(go_ahead, other)
    other.ok("conditions --ambient 70F --by BO")
    go_ahead.ok("conditions --ambient 71F")
    go_ahead.ok("roof")
    del whole_checks[:]
    carry(other, go_ahead)
    go_ahead.ok("roof")
    assert not whole_checks


@pytest.mark.parametrize("name", FORGERIES)
@pytest.mark.parametrize("command", ["roof", "evening"])
def test_no_forgery_passes_for_it_whatever_the_file_looks_like(
    welded_whole: Any, name: str, command: str
) -> None:
    """After a check that held; size aside, the file's times are put back to what they were."""
    welded_whole.ok('probe A1 0-20 --void "14.5+3in x 1/2in" --by BO')
    welded_whole.ok("seal")
    welded_whole.ok("conditions --ambient 60F")
    welded_whole.ok("conditions --ambient 61F")
    assert "NOT PROVED" not in welded_whole.ok("roof").out
    before = welded_whole.book.stat()
    FORGERIES[name].does(welded_whole)
    os.utime(welded_whole.book, ns=(before.st_atime_ns, before.st_mtime_ns))
    assert "NOT PROVED" in welded_whole(command).out


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE strips SET speed_m_per_min = 1.5",
        "UPDATE people SET name = 'Ana Luz' WHERE name = 'Ana Ruiz'",
        "DELETE FROM readings WHERE n = 1",
        "UPDATE entries SET body = replace(body, 'Ana Ruiz', 'Ana Ruit') WHERE seq = 2",
        "DELETE FROM entries WHERE seq = 3",
        "INSERT INTO local VALUES ('first:x', 'y')",
    ],
)
def test_a_change_together_with_a_true_entry_is_found(welded_whole: Any, sql: str) -> None:
    """The new entry holds; what was there before does not."""
    welded_whole.ok("roof")
    forge.spoil(welded_whole.book, sql)
    with contextlib.closing(sqlite3.connect(welded_whole.book)) as connection:
        spoilt = connection.execute("SELECT count(*) FROM entries").fetchone()[0]
    assert spoilt
    welded_whole("conditions --ambient 62F --by AR")
    with contextlib.closing(Book(welded_whole.book)) as book, book.snapshot() as connection:
        assert not checked.short(connection, book.path)


def test_what_is_held_lies_away_from_the_book_and_cannot_be_written_without_the_key(
    welded_whole: Any, whole_checks: list[int]
) -> None:
    """In the user's own folder, for the owner alone; a changed note is no note."""
    welded_whole.ok("roof")
    assert not list(welded_whole.book.parent.glob("*.checked"))
    (note,) = (settings.state_folder() / "checked").iterdir()
    assert note.stat().st_mode & 0o077 == 0
    assert (settings.state_folder() / "check-key").stat().st_mode & 0o077 == 0
    note.write_bytes(note.read_bytes().replace(b'"seq"', b'"Seq"') + b" ")
    del whole_checks[:]
    welded_whole.ok("roof")
    assert len(whole_checks) == 1


def test_where_nothing_can_be_kept_the_whole_is_checked_each_time(
    welded_whole: Any, whole_checks: list[int]
) -> None:
    """A file lies where the folder would be."""
    welded_whole.ok("roof")
    shutil.rmtree(settings.state_folder())
    settings.state_folder().write_text("in the way")
    del whole_checks[:]
    for _again in range(2):
        welded_whole.ok("roof")
    assert len(whole_checks) == 2


@pytest.fixture
def sums_read(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The tables that were summed, one after another."""
    read: list[str] = []
    real = checked._total

    def total(rows: Any, table: str, key: bytes) -> int:
        read.append(table)
        return real(rows, table, key)

    monkeypatch.setattr(checked, "_total", total)
    return read


def test_an_unchanged_file_is_read_once_within_the_hour(
    go_ahead: Any, sums_read: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    for _time in range(2):
        go_ahead.ok("roof")
    sums_read.clear()
    go_ahead.ok("roof")
    assert sums_read == []
    now = checked.time.time
    monkeypatch.setattr(checked.time, "time", lambda: now() + 3601)
    go_ahead.ok("roof")
    assert "strips" in sums_read


def test_a_change_is_noticed_though_the_file_s_time_was_put_back(
    go_ahead: Any, sums_read: list[str]
) -> None:
    """A tool may set when a file was last changed; when that was set is kept too (POSIX, `ctime`)."""
    for _time in range(3):
        go_ahead.ok("roof")
    was = go_ahead.book.stat()
    with contextlib.closing(sqlite3.connect(go_ahead.book)) as book:
        book.execute("UPDATE strips SET bubbling = 'none', width_median_mm = 6.0")
        book.commit()
        book.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    os.utime(go_ahead.book, ns=(was.st_atime_ns, was.st_mtime_ns))
    assert go_ahead.book.stat().st_mtime_ns == was.st_mtime_ns
    sums_read.clear()
    found = go_ahead("roof")
    assert "strips" in sums_read
    assert "NOT PROVED: the record does not hold." in found.out
