"""Every byte flipped: of a pack's file, of its text, and of a small book's entries.

    python -m tests.faults.flips

Each of the eight bits of each byte in the pack's file and text; one bit of each
byte of body and hash of every entry in the book. Each flip must be refused (or
named by verify), or leave the same entries. It cannot show what two flips do:
that is what SHA-256 is for.
"""

from __future__ import annotations

import contextlib
import gzip
import shutil
import sqlite3
import sys
import tempfile
from pathlib import Path

from tests.keeping import forge
from weldcal.book import Book
from weldcal.errors import WeldcalError
from weldcal.log import pack, verifying

BOOKS = Path(__file__).parents[2] / "fixtures" / "books"


def taken(file: Path) -> list[forge.Entry] | None:
    """The entries a pack brings, by the same steps as a merge; None where it is refused."""
    found = []
    try:
        for line in pack.lines(file):
            if isinstance(line, pack.Header):
                header = line
            elif isinstance(line, pack.EntryLine):
                entry = pack.entry_of(file, line, len(found) + 1)
                found.append((entry.body, entry.hash))
        if header.entries != len(found):
            return None
    except WeldcalError:
        return None
    return found


def of_packs(folder: Path, book: Path) -> int:
    """Flip each bit of a pack; how many changed what it says and were taken."""
    good, bad, wrong = folder / "good", folder / "bad", 0
    entries = forge.entries_of(book)[
        :6
    ]  # six entries say as much as a hundred, and a run takes minutes
    forge.pack(good, entries)
    raw = good.read_bytes()
    text = gzip.decompress(raw)
    harmless = refused = 0
    for what, data in (("file", raw), ("text", text)):
        for at in range(len(data)):
            for bit in range(8):
                changed = data[:at] + bytes([data[at] ^ 1 << bit]) + data[at + 1 :]
                bad.write_bytes(changed if what == "file" else gzip.compress(changed, 0))
                found = taken(bad)
                refused += found is None
                harmless += found == entries
                if found is not None and found != entries:
                    wrong += 1
                    print(f"{what}, byte {at}, bit {bit}: taken as something else")
        print(
            f"{what}: {len(data)} bytes, {refused} flips refused, {harmless} without a meaning",
            flush=True,
        )
        harmless = refused = 0
    return wrong


def of_books(folder: Path, book: Path) -> int:
    """Flip one bit of each byte of every body and hash; how many verify does not name."""
    copy, wrong, tried = folder / "book.sqlite", 0, 0
    shutil.copy(book, copy)
    forge.spoil(copy, "SELECT 1")
    with contextlib.closing(sqlite3.connect(copy, isolation_level=None)) as connection:
        rows = connection.execute("SELECT hash, body FROM entries").fetchall()
        guards = connection.execute(
            "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall()
        assert verifying.verify_chain(connection) == []
        for kept, body in rows:
            for column, value in (("hash", kept), ("body", body)):
                data = value.encode()
                for at in range(len(data)):
                    changed = data[:at] + bytes([data[at] ^ 1]) + data[at + 1 :]
                    connection.execute("BEGIN")
                    for name, _sql in guards:  # put back before the check, which would miss them
                        connection.execute(f'DROP TRIGGER "{name}"')
                    connection.execute(
                        f"UPDATE entries SET {column} = CAST(? AS TEXT) WHERE hash = ?",
                        (changed, kept),
                    )
                    for _name, sql in guards:
                        connection.execute(sql)
                    tried += 1
                    if not verifying.verify_chain(connection):
                        wrong += 1
                        print(f"{column} {kept[:12]}, byte {at}: not named")
                    connection.execute("ROLLBACK")
    print(f"book: {tried} bytes of {len(rows)} entries flipped, {wrong} not named")
    return wrong


def of_files(folder: Path, book: Path) -> int:
    """Flip one bit of every 7th byte of the SQLite file itself: named, refused, or the same entries and rows."""
    copy, raw, wrong, tried = folder / "file.sqlite", book.read_bytes(), 0, 0
    entries = sorted(forge.entries_of(book))
    for at in range(0, len(raw), 7):
        copy.write_bytes(raw[:at] + bytes([raw[at] ^ 1]) + raw[at + 1 :])
        tried += 1
        opened = Book(copy)
        try:
            _count, faults = opened.sealing.verify()
            if not faults and sorted(forge.entries_of(copy)) != entries:
                wrong += 1
                print(f"file, byte {at}: not named")
        except WeldcalError:
            pass
        except Exception as error:
            wrong += 1
            print(f"file, byte {at}: {type(error).__name__}: {error}")
        finally:
            opened.close()
            for side in folder.glob("file.sqlite*"):
                side.unlink()
    print(f"file: {tried} bytes of {len(raw)} flipped, {wrong} faults of ours")
    return wrong


if __name__ == "__main__":
    newest = sorted(BOOKS.glob("schema-*.sqlite"))[-1]
    with tempfile.TemporaryDirectory() as place:
        sys.exit(
            bool(
                of_packs(Path(place), newest)
                + of_books(Path(place), newest)
                + of_files(Path(place), newest)
            )
        )
