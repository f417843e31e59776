"""Several terminals on one book: none lost, none doubled, one device; a kill leaves nothing half done."""

from __future__ import annotations

import contextlib
import random
import sqlite3
import subprocess
import time
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from tests.keeping import forge
from tests.keeping.processes import recorder, started
from weldcal.book import Book
from weldcal.quantities import Quantity
from weldcal.records.common import Conditions


def texts(weldcal: Any) -> list[str]:
    """What the recorders wrote, in the order of the record."""
    return [
        e["payload"]["conditions"]["ambient"]["text"]
        for e in weldcal.entries()
        if e["kind"] == "conditions"
    ]


def test_four_processes_writing_lose_and_double_nothing(job: Any) -> None:
    """25 each (`tests/faults/writers.py`: 5,000 each): every one there once, one device, chain and tables whole."""
    hands = [recorder(job.book, first, first + 25) for first in (0, 100, 200, 300)]
    heard = []
    for hand in hands:
        out, err = hand.communicate(timeout=120)
        assert err == b""
        heard += out.decode().split()
    assert len(heard) == 100
    assert sorted(texts(job)) == sorted(heard)
    assert len({e["device"] for e in job.entries() if e["kind"] == "conditions"}) == 1
    job.ok("verify")


def test_an_older_book_put_in_its_place_meanwhile_is_the_one_written(
    job: Any, tmp_path: Path
) -> None:
    """What was open for reading is let go of: the file that lies there now has the entry."""
    older = tmp_path / "older.sqlite"
    with (
        contextlib.closing(sqlite3.connect(job.book)) as there,
        contextlib.closing(sqlite3.connect(older)) as here,
    ):
        there.backup(here)
    job.ok("conditions --ambient 50F")
    with contextlib.closing(Book(job.book, by="Ana Ruiz")) as book:
        assert book.job.name
        older.replace(job.book)
        book.recording.conditions.record(Conditions(ambient=Quantity("61", Fraction(61), "F")))
    assert texts(job) == ["61"]
    job.ok("verify")


def test_a_query_cannot_write(job: Any) -> None:
    """SQLite itself refuses, on the connection that later records; recording goes on as before."""
    with contextlib.closing(Book(job.book, by="Ana Ruiz")) as book:
        connection = book.reader.reading()
        with pytest.raises(sqlite3.OperationalError, match="readonly"):
            connection.execute("DELETE FROM entries")
        book.recording.conditions.record(Conditions(ambient=Quantity("60", Fraction(60), "F")))
        assert book.reader.reading() is connection
    assert texts(job) == ["60"]


def test_a_kill_at_any_moment_of_recording_loses_nothing_acknowledged(job: Any) -> None:
    """Ten kills at random moments, one after another on one book (`tests/faults/kills.py`: 1,000)."""
    chance, heard = random.Random(4), []
    for first in range(0, 10_000, 1000):
        writer = recorder(job.book, first, first + 1000)
        assert writer.stdout is not None
        heard.append(writer.stdout.readline().decode().strip())
        time.sleep(chance.uniform(0, 0.03))
        writer.kill()
        heard += writer.communicate()[0].decode().split()
        kept = texts(job)
        assert set(heard) <= set(kept)
        assert len(kept) == len(set(kept))
    job.ok("verify")


def test_a_kill_at_any_moment_of_a_merge_takes_all_or_nothing(job: Any, tmp_path: Path) -> None:
    """Five kills; the pack is then taken in whole."""
    entries, prev = [], forge.ZEROS
    for seq in range(1, 301):
        entry = forge.sealed(forge.envelope(id=forge.uuid(seq), seq=seq, tick=seq, prev=prev))
        entries.append(entry)
        prev = entry[1]
    file, chance = forge.pack(tmp_path / "p", entries), random.Random(5)
    before = len(job.entries())
    for _ in range(5):
        merging = started(job.book, "merge", str(file))
        time.sleep(chance.uniform(0.1, 0.6))
        merging.kill()
        merging.communicate()
        assert len(job.entries()) in (before, before + 300)
        job.ok("verify")
    job.ok("merge", str(file))
    assert len(job.entries()) == before + 300


def test_a_reader_beside_a_writer_is_never_refused(job: Any) -> None:
    """Roof and verify while another records."""
    writer = recorder(job.book, 0, 100_000)
    assert writer.stdout is not None
    writer.stdout.readline()
    try:
        for _ in range(10):
            job.ok("verify")
            job.ok("roof")
    finally:
        writer.kill()
        writer.communicate()


def test_a_book_held_by_another_program_is_told_of(job: Any) -> None:
    """SQLite's own shell, or a viewer in a transaction: wait, then one sentence; nothing half recorded."""
    holder = sqlite3.connect(job.book, isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    waiting = started(job.book, "conditions", "--ambient", "60F")
    try:
        waiting.wait(timeout=1)
        raise AssertionError("it did not wait")
    except subprocess.TimeoutExpired:
        pass
    holder.execute("ROLLBACK")
    holder.close()
    out, err = waiting.communicate(timeout=60)
    assert (waiting.returncode, err) == (0, "")
    assert "recorded" in out
