"""Speed of the record, as ratios taken in one run: verify, merge, rebuild.

    python -m tests.bench.record [--entries 100000] [--profile]

The entries are the demo's, repeated under new ids: every kind a roof's days bring,
in their usual shares. Each measurement is the median of three, its peer measured
between. Ratios on a busy machine wander by a tenth or so.

- verify, chain: `verify_chain` against hashlib alone hashing and json alone reading
  the same bytes, from a list in memory.
  SQLite's integrity check of the file, which verify_chain begins with, is taken apart.
- verify, tables: deriving every row and comparing it, against the same.
- short check: what roof and evening check with nothing new, against the whole.
- merge: a pack taken into a book that has only its job, against executemany of the
  same rows (entries and derived) into the same tables in one transaction, with the
  same durability (WAL, synchronous FULL).
- rebuild: seconds per 1,000 entries at three sizes; linear where they agree.
"""

from __future__ import annotations

import argparse
import contextlib
import cProfile
import hashlib
import io
import json
import os
import pstats
import re
import resource
import sqlite3
import statistics
import tempfile
import time
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from tests.bench.raw import raw
from weldcal.book import Book, checked, proof
from weldcal.cli.main import main as weldcal
from weldcal.log import chain, store, verifying
from weldcal.log.entry import GENESIS, Entry, Envelope, seal_entry
from weldcal.tables import schema
from weldcal.tables.compare import table_faults

_UUID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[0-9a-f]{4}-[0-9a-f]{12}")
# Once to a job: repeated, they would make a job of 2,000 machines.
_ONCE = ("job", "area", "sheet", "machine", "instrument", "person", "seam", "limit")


def demo(folder: Path) -> list[Entry]:
    """The demo's entries."""
    with contextlib.redirect_stdout(io.StringIO()):
        assert weldcal(["demo", str(folder / "demo.sqlite")]) == 0
    with contextlib.closing(sqlite3.connect(folder / "demo.sqlite")) as connection:
        return list(chain.entries(connection))


def repeated(model: list[Entry], count: int) -> list[Entry]:
    """`count` entries: the model's set-up once, its days again and again under new ids and seams."""
    made: list[Entry] = []
    prev, again = GENESIS, [entry for entry in model if entry.kind not in _ONCE]
    block, ids = 0, {}
    stream: Iterable[Entry] = [entry for entry in model if entry.kind in _ONCE]
    while len(made) < count:
        for entry in stream:
            for old in _UUID.findall(entry.body):
                ids.setdefault(old, chain.new_id())
            body = _UUID.sub(lambda found, ids=ids: ids[found[0]], entry.body)  # type: ignore[misc]
            body = re.sub(r'"seam":"(\w+)"', rf'"seam":"\1-{block // 4}"', body)
            says = {
                **json.loads(body),
                "device": "0123456789ab",
                "seq": len(made) + 1,
                "tick": len(made) + 1,
                "prev": prev,
            }
            made.append(seal_entry(Envelope(**says)))
            prev = made[-1].hash
            if len(made) == count:
                break
        stream, block = again, block + 1
        keep = {entry.id for entry in model if entry.kind in _ONCE}
        ids = {old: new for old, new in ids.items() if old in keep}
    return made


def book_of(path: Path, entries: list[Entry]) -> Book:
    """A book of these entries, its tables derived."""
    connection = store.create(path)
    connection.execute("BEGIN")
    chain.insert(connection, entries)
    connection.execute("COMMIT")
    schema.create(connection)
    schema.rebuild(connection)
    connection.close()
    return Book(path)


def seconds(work: Callable[[], Any]) -> float:
    """How long it takes, once."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def against(
    work: Callable[[], Any], peer: Callable[[], Any], times: int = 3
) -> tuple[float, float]:
    """Medians of both, taken in turn."""
    pairs = [(seconds(work), seconds(peer)) for _ in range(times)]
    return statistics.median(a for a, _ in pairs), statistics.median(b for _, b in pairs)


def verify(book: Book) -> None:
    """The chain part and the tables part against hashlib and json."""
    connection = book.reader.reading()
    bodies = [entry.body.encode() for entry in chain.entries(connection)]
    size = sum(map(len, bodies)) / 1e6

    def alone() -> None:
        for body in bodies:
            hashlib.sha256(body).hexdigest()
            json.loads(body)

    whole, peer = against(lambda: verifying.verify_chain(connection), alone)
    file, _peer = against(lambda: verifying.file_faults(connection), alone)
    tables, _peer = against(lambda: table_faults(connection), alone)
    chained = whole - file
    print(f"verify, {len(bodies)} entries, {size:.0f} MB: hashlib + json {size / peer:.0f} MB/s")
    print(f"  chain {size / chained:.0f} MB/s: {peer / chained:.0%} of it")
    for part, took in (
        ("tables", tables),
        ("SQLite's check of the file", file),
        ("all of it", whole + tables),
    ):
        print(f"  {part} {size / took:.0f} MB/s: {peer / took:.0%}")


def short(book: Path) -> None:
    """The short check of roof and evening against the whole one, with nothing new to check."""
    with contextlib.closing(Book(book)) as opened, opened.snapshot() as connection:
        checked.hold(connection, book)
        whole, brief = against(
            lambda: proof.check(connection), lambda: checked.short(connection, book)
        )
    print(f"whole check {whole:.2f} s, short check {brief:.2f} s: {whole / brief:.1f} times")


def merge(folder: Path, entries: list[Entry]) -> None:
    """A pack of these taken in, against executemany of the same rows."""
    setup = [entry for entry in entries if entry.kind in _ONCE]
    full = book_of(folder / "full.sqlite", entries)
    full.recording.packing.pack(folder / "p.weldpack")
    connection = full.reader.reading()
    derived = sum(
        connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0] for table in schema.TABLES
    )
    put = raw(connection)
    numbers = iter(range(1000))

    def ours() -> None:
        book = Book(folder / f"{next(numbers)}.sqlite")
        assert book.recording.packing.merge(folder / "p.weldpack").new == len(entries)
        book.close()

    def theirs() -> None:
        put(folder / f"{next(numbers)}.sqlite")

    merged, inserted = against(ours, theirs, 1 if len(entries) > 50_000 else 3)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"merge of {len(entries)} entries ({len(setup)} of set-up, {derived} rows derived): {merged:.1f} s, "
        f"executemany {inserted:.1f} s: {merged / inserted:.1f} times; peak memory of this run {peak:.0f} MB"
    )
    full.close()


def rebuild(folder: Path, entries: list[Entry], sizes: Iterable[int]) -> None:
    """Seconds per thousand entries."""
    for size in sizes:
        book = book_of(folder / f"rebuild-{size}.sqlite", entries[:size])
        took = statistics.median(seconds(book.recording.backups.rebuild) for _ in range(3))
        book.close()
        print(f"rebuild of {size} entries: {took:.2f} s, {took / size * 1e6:.0f} ms per 1,000")


def profiled(folder: Path, entries: list[Entry]) -> None:
    """Where verify and merge spend their time."""
    book = book_of(folder / "profiled.sqlite", entries)
    book.recording.packing.pack(folder / "profiled.weldpack")
    for name, work in (
        ("verify", book.sealing.verify),
        (
            "merge",
            lambda: Book(folder / "taken.sqlite").recording.packing.merge(
                folder / "profiled.weldpack"
            ),
        ),
    ):
        profile = cProfile.Profile()
        profile.runcall(work)
        print(f"--- {name}")
        pstats.Stats(profile).sort_stats("tottime").print_stats(22)


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("--entries", type=int, default=100_000)
    parser.add_argument("--profile", action="store_true")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        os.environ["XDG_STATE_HOME"] = place
        everything = repeated(
            demo(Path(place)), max(asked.entries, 40_000 if not asked.profile else 0)
        )
        if asked.profile:
            profiled(Path(place), everything[: asked.entries])
        else:
            verify(book_of(Path(place) / "verify.sqlite", everything[:20_000]))
            short(Path(place) / "verify.sqlite")
            merge(Path(place), everything[: asked.entries])
            rebuild(Path(place), everything, (10_000, 20_000, 40_000))
