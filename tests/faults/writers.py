"""Four processes writing 5,000 entries each to one book, while others read, back up and restore.

    python -m tests.faults.writers [EACH]

Shows: none lost, none doubled, one device, chain and tables whole; backups made
meanwhile verify; a restore meanwhile never drops what was acknowledged. It
cannot show network file systems: SQLite's locks need a local one.
"""

from __future__ import annotations

import json
import shutil
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from tests.keeping import forge
from tests.keeping.processes import program, recorder

NEWEST = sorted((Path(__file__).parents[2] / "fixtures" / "books").glob("schema-*.sqlite"))[-1]

# Files beside a book that are no books.
_SIDES = ("-wal", "-shm", ".part", ".device")


def kept(book: Path) -> list[str]:
    """What the recorders' entries say, in order: those the fixture holds come first, and are left out."""
    return _read_ambient(book)[len(_read_ambient(NEWEST)) :]


def _read_ambient(book: Path) -> list[str]:
    says = [json.loads(body) for body, _hash in forge.entries_of(book)]
    return [
        s["payload"]["conditions"]["ambient"]["text"] for s in says if s["kind"] == "conditions"
    ]


def devices(book: Path) -> int:
    return len({json.loads(body)["device"] for body, _hash in forge.entries_of(book)})


def many(folder: Path, each: int) -> int:
    """Four writers, a backup now and then; how many faults."""
    book = folder / "book.sqlite"
    shutil.copy(NEWEST, book)
    start = time.monotonic()
    outs = [(folder / f"out-{n}").open("wb+") for n in range(4)]
    hands = [recorder(book, n * 100_000, n * 100_000 + each, stdout=outs[n]) for n in range(4)]
    backups = 0
    while any(hand.poll() is None for hand in hands):
        time.sleep(3)
        done = program(book, "backup", str(folder / f"backup-{backups}.sqlite"))
        if done.returncode:
            print("backup:", done.stderr)
            return 1
        backups += 1
    took = time.monotonic() - start
    heard = [word for out in outs for word in _read(out)]
    found, done = kept(book), program(book, "verify")
    wrong = 0
    for what, good in (
        ("acknowledged all", len(heard) == 4 * each),
        ("none lost", set(heard) <= set(found)),
        ("none doubled", len(found) == len(set(found))),
        ("none more", len(found) == len(heard)),
        ("verify", done.returncode == 0),
        ("one device beside the fixture's", devices(book) == 2),
    ):
        print(f"{what}: {'yes' if good else 'NO'}")
        wrong += not good
    print(
        f"{len(found)} entries of 4 processes in {took:.0f} s, {backups} verified backups meanwhile; {done.stdout.strip()[:100]}{done.stderr.strip()}"
    )
    return wrong


def _read(out: Any) -> list[str]:
    out.seek(0)
    return out.read().decode().split()


def restores(folder: Path, times: int) -> int:
    """A restore while another process records: what was acknowledged is in the book afterwards, or in the one put aside."""
    wrong = 0
    for number in range(times):
        here = folder / f"restore-{number}"
        here.mkdir()
        book = here / "book.sqlite"
        shutil.copy(NEWEST, book)
        program(book, "backup", str(here / "backup.sqlite"))
        writer = recorder(book, 0, 100_000)
        time.sleep(
            0.15 + 0.02 * number
        )  # the restore's check falls before, at and after the first recording
        done = program(book, "restore", str(here / "backup.sqlite"))
        time.sleep(0.2)
        writer.kill()
        heard = set(writer.communicate()[0].decode().split())
        found = {
            text
            for file in here.glob("book.sqlite*")
            if not file.name.endswith(_SIDES)
            for text in _kept(file)
        }
        if not heard <= found:
            wrong += 1
            print(
                f"restore {number} (exit {done.returncode}): {len(heard - found)} of {len(heard)} acknowledged entries lost"
            )
    print(f"{times} restores beside a writer, {wrong} lost something")
    return wrong


def _kept(book: Path) -> list[str]:
    try:
        return kept(book)
    except Exception:
        return []


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 5000
    with tempfile.TemporaryDirectory() as place:
        sys.exit(bool(many(Path(place), count) + restores(Path(place), 20)))
