"""Opening a book, and files of knowledge: what is taken, what is refused, and in which words."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import sqlite3
import sys
from pathlib import Path
from typing import Any

import pytest
import rfc8785

from tests.keeping import forge
from weldcal.errors import (
    BookSilent,
    BookTrouble,
    BookUnwritable,
    NewerBook,
    NotABook,
    TableMissing,
)
from weldcal.log import chain, knowledge, store


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """An empty book."""
    path = tmp_path / "b.sqlite"
    store.create(path).close()
    return path


def _pragma(path: Path, sql: str) -> None:
    with contextlib.closing(sqlite3.connect(path)) as connection:
        connection.execute(sql)


@pytest.mark.parametrize(
    ("version", "write", "refused"), [(1, True, False), (2, False, False), (2, True, True)]
)
def test_a_newer_book_is_read_and_never_written(
    book: Path, version: int, write: bool, refused: bool
) -> None:
    """This program's form is 1."""
    _pragma(book, f"PRAGMA user_version = {version}")
    if not refused:
        store.open_existing(book, write=write).close()
        return
    with pytest.raises(NewerBook) as said:
        store.open_existing(book, write=write)
    assert "2" in str(said.value)


@pytest.mark.parametrize("write", [True, False])
def test_what_is_no_book_is_refused(tmp_path: Path, book: Path, write: bool) -> None:
    """A folder, text, and an SQLite file of something else: each in words of its own."""
    _pragma(book, "PRAGMA application_id = 1464615764")  # "WLCT": near, and not ours
    text = tmp_path / "text"
    text.write_text("no database " * 100)
    for path, why in ((tmp_path, "folder"), (text, "something else"), (book, "something else")):
        with pytest.raises(NotABook, match=why):
            store.open_existing(path, write=write)


def test_a_connection_keeps_every_write(book: Path) -> None:
    """Each statement by itself, on disk before it returns."""
    with contextlib.closing(store.open_existing(book, write=True)) as connection:
        assert connection.isolation_level is None
        assert connection.execute("PRAGMA synchronous").fetchone()[0] == 2
        # Only there has it a meaning (sqlite.org/pragma.html#pragma_fullfsync).
        full = connection.execute("PRAGMA fullfsync").fetchone()[0]
        assert full == (sys.platform == "darwin")
        connection.execute("INSERT INTO local VALUES ('a', 'b')")
        assert not connection.in_transaction
        with contextlib.closing(store.open_existing(book, write=False)) as other:
            assert other.execute("SELECT value FROM local").fetchone()[0] == "b"


def test_a_stamp_changes_with_every_write_and_with_nothing_else(book: Path) -> None:
    """Reading leaves an empty log of writes behind, or none: that says nothing."""
    first = store.stamp(book)
    assert first
    wal = book.with_name("b.sqlite-wal")
    wal.touch()
    assert store.stamp(book) == first
    wal.unlink()
    with contextlib.closing(store.open_existing(book, write=True)) as connection:
        connection.execute("INSERT INTO local VALUES ('a', 'b')")
        second = store.stamp(book)
        assert second != first
        assert wal.stat().st_size > 0
        assert store.stamp(book) == second
        connection.execute("INSERT INTO local VALUES ('c', 'd')")
        assert store.stamp(book) != second
    moved = book.with_name("moved.sqlite")
    moved.write_bytes(book.read_bytes())
    times = book.stat()
    os.utime(moved, ns=(times.st_atime_ns, times.st_mtime_ns))
    assert store.stamp(moved) != store.stamp(book)
    assert store.stamp(book.with_name("gone")) == ()


@pytest.mark.parametrize(
    ("raised", "said", "words"),
    [
        (sqlite3.OperationalError("disk I/O error"), BookSilent, ""),
        (sqlite3.OperationalError("no such table: strips"), TableMissing, "no such table: strips"),
        (sqlite3.OperationalError("no such column: x"), TableMissing, "no such column: x"),
        (
            sqlite3.OperationalError("table runs has no column named x"),
            TableMissing,
            "no column named x",
        ),
        (sqlite3.OperationalError("database or disk is full"), BookUnwritable, "the disk is full"),
        (
            sqlite3.OperationalError("database is locked"),
            BookUnwritable,
            "another program holds it",
        ),
        (
            sqlite3.OperationalError("attempt to write a readonly database"),
            BookUnwritable,
            "read-only",
        ),
        (sqlite3.OperationalError("near x: no such thing"), BookUnwritable, "near x"),
        (
            sqlite3.DatabaseError("file is not a database"),
            NotABook,
            "the file holds something else",
        ),
        (NotABook(file="x", why="mine"), NotABook, "mine"),
    ],
)
def test_sqlites_errors_are_said_in_ours(
    book: Path, raised: Exception, said: type[BookTrouble], words: str
) -> None:
    """The kind that names the remedy, and plain words; one of ours goes by as it is."""
    with pytest.raises(BookTrouble) as found, store.trouble(book):
        raise raised
    assert type(found.value) is said
    assert words in str(found.value)


def test_entries_out_of_one_another_are_skipped_by_readers_only(book: Path) -> None:
    """One whose body is none is not read; it is counted, and the others are."""
    with contextlib.closing(store.open_existing(book, write=True)) as log:
        drafts = [chain.NewEntry("note", {"n": n}, None) for n in range(3)]
        made = chain.append(log, forge.DEVICE, "2026-06-01T07:00:00-06:00", "Ana", drafts)
        with forge.unguarded(log):
            log.execute("UPDATE entries SET body = 'x' WHERE seq = 2")
        assert [entry.payload["n"] for entry in chain.entries(log)] == [0, 2]
        assert chain.count_entries(log) == 3
        (next_one,) = chain.append(log, forge.DEVICE, made[0].at, "Ana", drafts[:1])
        assert (next_one.seq, next_one.tick, next_one.prev) == (4, 4, made[-1].hash)


# --- files of knowledge ---


def _sealed(holds: dict[str, Any]) -> str:
    said = {k: v for k, v in holds.items() if k not in ("sha256", "key", "signature")}
    return json.dumps({**holds, "sha256": hashlib.sha256(rfc8785.dumps(said)).hexdigest()})


@pytest.mark.parametrize(
    ("size", "why"), [(32 * 2**20, "cut short"), (32 * 2**20 + 1, "too large to be one")]
)
def test_a_file_of_knowledge_is_no_larger_than_32_mb(tmp_path: Path, size: int, why: str) -> None:
    """Larger, it is not looked at (site setting, no source)."""
    path = tmp_path / "k"
    path.touch()
    os.truncate(path, size)
    with pytest.raises(knowledge.BadKnowledge, match=why):
        knowledge.read(path)


@pytest.mark.parametrize(
    ("form", "why"),
    [
        *((odd, "no knowledge file") for odd in (True, "1", 1.0, None)),
        (3, "form 3; this one reads 2"),
        (2, "its numbers"),
        (1, "its numbers"),
    ],
)
def test_a_form_is_a_whole_number_up_to_this_programs(form: object, why: str) -> None:
    """The last is of this form, hashed rightly, and holds nothing."""
    with pytest.raises(knowledge.BadKnowledge, match=why):
        knowledge.of_text(_sealed({"weldcal_knowledge": form}), "k")


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ({"key": "00" * 32}, "signature does not hold"),
        ({"signature": "00" * 64}, "signature does not hold"),
        ({"key": "00" * 32, "signature": "00" * 64}, "signature does not hold"),
        ({}, "its numbers are no knowledge"),
    ],
)
def test_half_a_signature_is_none(more: dict[str, str], why: str) -> None:
    """A key without a signature, a signature without a key: not read as unsigned."""
    with pytest.raises(knowledge.BadKnowledge, match=why):
        knowledge.of_text(_sealed({"weldcal_knowledge": 1, **more}), "k")


@pytest.mark.parametrize("text", ['{"a": NaN}', '{"a": Infinity}', "[" * 100_000, "[]", "", "{"])
def test_text_that_is_no_strict_json_is_no_knowledge(text: str) -> None:
    """RFC 8259 has no NaN; nothing is too deep to be refused in one sentence."""
    with pytest.raises(knowledge.BadKnowledge, match="no knowledge file"):
        knowledge.of_text(text, "k")
