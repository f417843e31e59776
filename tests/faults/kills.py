"""kill -9 at 1,000 random moments while recording and merging.

    python -m tests.faults.kills [TIMES]

Shows: every acknowledged entry there, none half or twice, chain and tables whole,
a merge all there or not at all. It cannot show durability: what a killed process
wrote is in the kernel's hands. For that: `unsynced.py`.
"""

from __future__ import annotations

import json
import os
import random
import shutil
import sys
import tempfile
import time
from pathlib import Path

from tests.keeping import forge
from weldcal.book import Book
from weldcal.quantities import Fraction, Quantity
from weldcal.records.common import Conditions

NEWEST = sorted((Path(__file__).parents[2] / "fixtures" / "books").glob("schema-*.sqlite"))[-1]
CHAIN = 40  # entries in a pack


def record(book: Path, first: int, front: int) -> None:
    """Record until killed; say each number once it is acknowledged."""
    opened = Book(book, by="Ana Ruiz")
    for n in range(first, first + 100_000):
        opened.recording.conditions.record(
            Conditions(ambient=Quantity(str(n), Fraction(n % 40), "C"))
        )
        os.write(front, f"{n}\n".encode())


def merge(book: Path, file: Path, front: int) -> None:
    """Take a pack in; say so."""
    Book(book, by="Ana Ruiz").recording.packing.merge(file)
    os.write(front, b"merged\n")


def killed(chance: random.Random, work: object, *given: object) -> tuple[list[str], float]:
    """Fork, work, kill -9 at a random moment: what was acknowledged, and when it was killed (s)."""
    back, front = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(back)
        work(*given, front)  # type: ignore[operator]
        os._exit(0)
    os.close(front)
    moment = chance.choice(
        [chance.uniform(0, 0.01), chance.uniform(0, 0.06), chance.uniform(0, 0.3)]
    )
    time.sleep(moment)
    os.kill(child, 9)
    os.waitpid(child, 0)
    with os.fdopen(back, "rb") as pipe:
        return pipe.read().decode().split(), moment


def a_pack(folder: Path, number: int) -> tuple[Path, list[forge.Entry]]:
    """A pack of a device of its own."""
    entries, prev, device = [], forge.ZEROS, f"{number + 1:012x}"
    for seq in range(1, CHAIN + 1):
        entry = forge.sealed(
            forge.envelope(
                id=forge.uuid(number * 1000 + seq), device=device, seq=seq, tick=seq, prev=prev
            )
        )
        entries.append(entry)
        prev = entry[1]
    return forge.pack(folder / "pack", entries), entries


def judge(
    book: Path, acknowledged: set[str], packs: list[list[forge.Entry]], merged: set[int]
) -> list[str]:
    """What is wrong with the book as it lies."""
    wrong = []
    entries = set(forge.entries_of(book))
    texts = [
        s["payload"]["conditions"]["ambient"]["text"]
        for s in map(json.loads, (b for b, _h in entries))
        if s["kind"] == "conditions"
    ]
    if not acknowledged <= set(texts):
        wrong.append(f"lost {sorted(acknowledged - set(texts))[:3]}")
    if len(texts) != len(set(texts)):
        wrong.append("twice")
    for number, pack in enumerate(packs):
        there = len(entries & set(pack))
        if there not in (0, CHAIN) or (number in merged and there != CHAIN):
            wrong.append(f"pack {number}: {there} of {CHAIN}")
    opened = Book(book)
    wrong += [str(fault) for fault in opened.sealing.verify()[1][:3]]
    opened.close()
    return wrong


def main(times: int) -> int:
    """Kill, look, go on with the same book; a fresh one every hundred, so that it stays quick to verify."""
    chance, faults, said, merges, taken = random.Random(9), 0, 0, 0, 0
    before, start = 0, time.monotonic()
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        for number in range(times):
            if number % 100 == 0:
                book = folder / f"{number}.sqlite"
                shutil.copy(NEWEST, book)
                acknowledged: set[str] = set()
                packs: list[list[forge.Entry]] = []
                merged: set[int] = set()
            if chance.random() < 0.4:
                file, entries = a_pack(folder, number)
                packs.append(entries)
                heard, _moment = killed(chance, merge, book, file)
                merges += 1
                if heard:
                    merged.add(len(packs) - 1)
                    taken += 1
            else:
                heard, _moment = killed(chance, record, book, number * 1000)
                acknowledged |= set(heard)
                said += len(heard)
                before += not heard
            for wrong in judge(book, acknowledged, packs, merged):
                faults += 1
                print(f"kill {number}: {wrong}")
            if number % 100 == 99:
                print(
                    f"{number + 1} kills, {faults} faults, {time.monotonic() - start:.0f} s",
                    flush=True,
                )
    print(
        f"{times} kills: {times - merges} while recording ({said} entries acknowledged, {before} killed before the first), "
        f"{merges} while merging ({taken} had said so); {faults} faults"
    )
    return bool(faults)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000))
