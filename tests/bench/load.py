"""Sheets of many rows loaded: time, memory, and how long others cannot write meanwhile. By hand.

    python -m tests.bench.load [--rows 2000 8000 32000 100000] [--kind strips walks]

The rows are invented. Time and memory are of a process of its own; another process tries the
write lock every 20 ms and tells the longest wait.
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


def measured(book: Path, words: list[str]) -> tuple[float, float, float, str]:
    """Seconds, MiB and longest wait for the write lock of a command, and what it said last."""
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
    peak = float(said[-1]) / 1024 if said and said[-1].isdigit() else float("nan")
    told = (done.stdout.strip().splitlines() or said or ["–"])[-1]
    return took, peak, longest, told


_MEASURED = (
    "import resource, sys\n"
    "from weldcal.cli.main import main\n"
    "code = main(sys.argv[1:])\n"
    "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss, file=sys.stderr)\n"
    "sys.exit(code)\n"
)


def main() -> None:
    """Print a line for each kind and number of rows."""
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--rows", type=int, nargs="+", default=[2000, 8000, 32_000, 100_000])
    ask.add_argument("--kind", nargs="+", default=["strips", "walks"])
    asked = ask.parse_args()
    made = {"strips": (strips, ["strip", "load"]), "walks": (walks, ["probe", "load"])}
    for kind in asked.kind:
        lines, words = made[kind]
        for rows in asked.rows:
            with tempfile.TemporaryDirectory() as folder:
                book, file = Path(folder) / "book.sqlite", Path(folder) / "sheet.csv"
                line = ["--book", str(book), *shlex.split(JOB)]
                subprocess.run([sys.executable, "-c", RUN, *line], check=True, capture_output=True)
                file.write_text("\n".join(lines(rows)) + "\n")
                for doing in ([], ["--yes"], ["--yes"]):
                    took, peak, wait, told = measured(
                        book, [*words, str(file), *doing, "--by", "Ana Ruiz"]
                    )
                    print(
                        f"{kind} {rows} {' '.join(doing) or 'preview'}: {took:.1f} s, {took / rows * 1e3:.2f} ms a row, "
                        f"{peak:.0f} MiB, longest wait to write {wait:.2f} s; {told}",
                        flush=True,
                    )


if __name__ == "__main__":
    main()
