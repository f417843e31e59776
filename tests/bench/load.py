"""Sheets of many rows loaded: time, memory, and how long others cannot write meanwhile. By hand.

    python -m tests.bench.load [--rows 10000 50000 100000] [--kind strips strips-xlsx walks]
        [--doing preview yes again]

The rows are invented. Time and memory are of a process of its own: seconds of the processor, and
by the clock; another process tries the write lock every 20 ms and tells the longest wait.
"""

from __future__ import annotations

import argparse
import contextlib
import shlex
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from tests.conftest import JOB

RUN = "from weldcal.cli.main import run; run()"


def strips(rows: int) -> Iterator[str]:
    """Strips of a crew, one a minute from 2020 on."""
    yield "date,time,machine,sheet,nozzle (F),speed (ft/min),bleed-out (in),bubbling,bond,operator"
    for n in range(rows):
        day, minute = divmod(n, 600)
        date = f"{2016 + day // 336}-{1 + day // 28 % 12:02d}-{1 + day % 28:02d}"
        at = f"{7 + minute // 60:02d}:{minute % 60:02d}"
        speed, read = 5 + n % 5 / 2, ("1/4; 3/16; 5/16", "1/8; 3/16; 1/4", "3/8; 1/4; 5/16")[n % 3]
        yield f"{date},{at},blue,base,{900 + n % 60},{speed},{read},none,good,Ana Ruiz"


def walks(rows: int) -> Iterator[str]:
    """Walks over two thousand seams, some with a void."""
    yield "date,seam,from (ft),to (ft),end,finding,at (ft),length (in),depth (in),by"
    for n in range(rows):
        day, minute = divmod(n, 600)
        date = f"{2016 + day // 336}-{1 + day // 28 % 12:02d}-{1 + day % 28:02d}"
        at = f"{7 + minute // 60:02d}:{minute % 60:02d}"
        found = "void,14.5,3,1/2" if n % 20 == 0 else ",,,"
        yield f"{date},A{n % 2000},0,33,{at},{found},Ben Okoro"


def written(folder: Path, lines: Iterator[str], *, workbook: bool) -> Path:
    """The rows as a CSV file, or as a workbook with numbers as numbers."""
    if not workbook:
        file = folder / "sheet.csv"
        file.write_text("\n".join(lines) + "\n")
        return file
    from openpyxl import Workbook

    file, book = folder / "sheet.xlsx", Workbook(write_only=True)
    page = book.create_sheet("rows")
    for line in lines:
        page.append([_typed(cell) for cell in line.split(",")])
    book.save(file)
    return file


def _typed(cell: str) -> str | float:
    try:
        return float(cell)
    except ValueError:
        return cell


class Measured(NamedTuple):
    """Of one load.

    Attributes:
        spent: seconds of the processor; held: of them, in transactions (of a trial's copy too).
        took: seconds by the clock.
        peak: MiB.
        wait: seconds, the longest that another waited for the write lock.
        told: what was said last.
    """

    spent: float
    held: float
    took: float
    peak: float
    wait: float
    told: str


def measured(book: Path, words: list[str]) -> Measured:
    """Run a load, with somebody beside who waits for the write lock again and again."""
    longest, ended = 0.0, threading.Event()

    def watch() -> None:
        nonlocal longest
        with contextlib.closing(sqlite3.connect(book, timeout=600, isolation_level=None)) as other:
            while not ended.is_set():
                begun = time.monotonic()
                with contextlib.suppress(sqlite3.OperationalError):
                    other.execute("BEGIN IMMEDIATE")
                    other.execute("ROLLBACK")
                longest = max(longest, time.monotonic() - begun)
                time.sleep(0.02)

    watching = threading.Thread(target=watch)
    watching.start()
    begun = time.monotonic()
    done = subprocess.run(
        [sys.executable, "-c", _MEASURED, "--book", str(book), *words],
        capture_output=True,
        text=True,
        check=False,
    )
    took = time.monotonic() - begun
    ended.set()
    watching.join()
    said = done.stderr.strip().splitlines()
    spent, peak, held = (float(word) for word in said[-1].split())
    told = (done.stdout.strip().splitlines() or said or ["–"])[-1]
    return Measured(spent, held, took, peak / 1024, longest, told)


_MEASURED = """
import contextlib, resource, sys, time
from weldcal.book.recording.transactions import Transactions
from weldcal.cli.main import main

held, writing = 0.0, Transactions.writing

@contextlib.contextmanager
def timed(*given):
    global held
    begun = time.process_time()
    with writing(*given) as writer:
        yield writer
    held += time.process_time() - begun

Transactions.writing = timed
code = main(sys.argv[1:])
used = resource.getrusage(resource.RUSAGE_SELF)
print(used.ru_utime + used.ru_stime, used.ru_maxrss, held, file=sys.stderr)
sys.exit(code)
"""


def main() -> None:
    """Print a line for each kind and number of rows."""
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--rows", type=int, nargs="+", default=[10_000, 50_000, 100_000])
    ask.add_argument("--kind", nargs="+", default=list(KINDS))
    ask.add_argument("--doing", nargs="+", default=["preview", "yes", "again"])
    asked = ask.parse_args()
    for kind in asked.kind:
        for rows in asked.rows:
            one(kind, rows, asked.doing)


# What is made, the command, whether as a workbook.
KINDS = {
    "strips": (strips, ["strip", "load"], False),
    "strips-xlsx": (strips, ["strip", "load"], True),
    "walks": (walks, ["probe", "load"], False),
}


def one(kind: str, rows: int, doings: list[str]) -> None:
    """Load one sheet into a fresh book; a line for each way of doing it."""
    lines, words, workbook = KINDS[kind]
    with tempfile.TemporaryDirectory() as folder:
        book = Path(folder) / "book.sqlite"
        line = ["--book", str(book), *shlex.split(JOB)]
        subprocess.run([sys.executable, "-c", RUN, *line], check=True, capture_output=True)
        file = written(Path(folder), lines(rows), workbook=workbook)
        for doing in doings:
            yes = [] if doing == "preview" else ["--yes"]
            found = measured(book, [*words, str(file), *yes, "--by", "Ana Ruiz"])
            print(
                f"{kind} {rows} {doing}: {found.spent / rows * 1e3:.3f} ms of the processor a row, "
                f"{found.held / rows * 1e3:.3f} of them under the lock, "
                f"{found.took:.0f} s by the clock, {found.peak:.0f} MiB, "
                f"longest wait to write {found.wait:.2f} s; {found.told}",
                flush=True,
            )


if __name__ == "__main__":
    main()
