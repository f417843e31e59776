"""A big roof: `roof`, `doubt`, `trace` as whole processes, against the SQL they ask alone.

    python -m tests.bench.roof [--seams 10000] [--entries 100000] [--profile] [--book FILE]

The job is invented: days of 100 seams, a strip and pull every 50, and for each seam its
listing, run, finish, bleed checks, walks, now and then a void mended and probed again, a
peel sample, a bleed check outside the limits. Conditions read now and then fill it up to
the entries asked for.

- start-up: the same command on a book of ten seams.
- SQL: what the command asks of the big book, each statement once however often it was asked,
  of a plain sqlite3 connection, every row fetched. `asked` is how often.
- times: command over start-up and SQL together; 2 is the aim.

Each figure is the median of three, taken in turn. `--profile` shows where the commands
spend their time. `--book` keeps the book and takes it again.
"""

from __future__ import annotations

import argparse
import contextlib
import cProfile
import io
import os
import pstats
import random
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from weldcal.book import Book
from weldcal.book.job_reader import JobReader
from weldcal.cli.main import main as weldcal
from weldcal.log import chain
from weldcal.quantities import Quantity
from weldcal.records.codec import encode
from weldcal.records.common import Conditions, Seen, Setting
from weldcal.records.fields import read
from weldcal.records.seam import (
    BleedCheck,
    Finding,
    Mend,
    Peel,
    Plan,
    RunFinish,
    RunStart,
    Seam,
    Walk,
)
from weldcal.records.strip import Pull, Reading, Strip
from weldcal.tables import projector

SEED = 20260601
ANA, BEN = "Ana Ruiz", "Ben Okoro"
COMMANDS = ("roof", "doubt", "trace A5", "roof --json", "doubt --json")
JOB = [
    "job",
    "new",
    "Big roof",
    "--units",
    "us",
    "--zone",
    "America/Denver",
    "--by",
    ANA,
    "--sheet",
    "base: polyester-reinforced SBS base sheet",
    "--machine",
    "blue: ft/min 1-20 step 0.5",
    "--person",
    f"{ANA}: AR, operator",
    "--person",
    f"{BEN}: BO, inspector",
]
_SEAMS_A_DAY, _SEAMS_A_STRIP, _LONG_FT = 100, 50, 33


class Roof:
    """Drafts of entries, one crew at work day after day."""

    def __init__(self, job: str) -> None:
        self.job = job
        self.drafts: list[chain.NewEntry] = []
        self.random = random.Random(SEED)
        self.now = datetime(2026, 3, 2, 7, 0, tzinfo=ZoneInfo("America/Denver"))
        self.numbers: dict[str, int] = {}
        self.strip = ""
        self.setting = Setting(
            machine="blue",
            sheet="base",
            lap="selvage",
            nozzle=_q("nozzle", "932"),
            speed=_q("speed", "5.5"),
        )

    def build(self, seams: int, entries: int) -> list[chain.NewEntry]:
        """Seams welded, checked and probed, then conditions up to the entries wanted."""
        for n in range(seams):
            if n % _SEAMS_A_DAY == 0:
                self.now = self.now.replace(hour=7, minute=0) + timedelta(days=n > 0)
            if n % _SEAMS_A_STRIP == 0:
                self._strip()
            self._seam(f"A{n + 1}", n)
        while len(self.drafts) < entries:
            self.now += timedelta(minutes=1)
            weather = Conditions(
                ambient=_q("ambient", f"{self.random.uniform(45, 95):.0f}"), wind=_q("wind", "5mph")
            )
            self._add("conditions", Reading(seen=self._seen(ANA), conditions=weather))
        return self.drafts

    def _strip(self) -> None:
        strip = Strip(
            name=self._name("S"),
            seen=self._seen(ANA),
            setting=self.setting,
            conditions=Conditions(),
            readings=tuple(_q("reading", text) for text in ("1/4", "3/16", "5/16")),
            bubbling="none",
        )
        self.strip = self._add("strip", strip)
        pull = Pull(seen=self._seen(ANA), bond="good", parted="in the compound")
        self._add("pull", pull, about=self.strip)

    def _seam(self, name: str, n: int) -> None:
        x, y = 33.0 * (n % 20), 3.0 * (n // 20)
        plan = Plan(
            **{
                k: _q("distance", f"{v:g}")
                for k, v in zip(("x0", "y0", "x1", "y1"), (x, y, x + 33, y), strict=True)
            }
        )
        seam = Seam(
            name=name,
            kind="side lap",
            lap="selvage",
            length=_q("length", "33"),
            area="A",
            plan=plan,
        )
        self._add("seam", seam)
        start = RunStart(
            name=self._name("R"),
            seam=name,
            seen=self._seen(ANA),
            start=_q("distance", "0"),
            setting=self.setting,
            conditions=Conditions(),
            go_ahead=self.strip,
        )
        run = self._add("run", start)
        for place in ("8", "16", "24"):
            width = self.random.choices(("1/4", "3/16", "5/16", "1/16"), (60, 20, 19.5, 0.5))[0]
            check = BleedCheck(
                name=self._name("B"),
                seam=name,
                seen=self._seen(ANA),
                at=_q("distance", place),
                readings=(_q("reading", width),),
            )
            self._add("bleed", check)
        end = RunFinish(seam=name, seen=self._seen(ANA), end=_q("distance", f"{_LONG_FT}"))
        self._add("run-finish", end, about=run)
        self._probed(name)

    def _probed(self, name: str) -> None:
        self._walk(name, "0", "17")
        self._walk(name, "16", "33")
        if self.random.random() < 0.2:
            at = self.random.randint(2, 29)
            found = Finding(
                name=self._name("F"),
                seam=name,
                seen=self._seen(BEN),
                kind="void",
                how="probed",
                start=_q("distance", f"{at}"),
                end=_q("distance", f"{at}.25"),
            )
            finding = self._add("finding", found)
            if self.random.random() < 0.9:
                ends = _q("distance", f"{at - 1}"), _q("distance", f"{at + 2}")
                mend = Mend(
                    name=self._name("M"),
                    seam=name,
                    finding=finding,
                    seen=self._seen(ANA),
                    start=ends[0],
                    end=ends[1],
                    method="patch",
                )
                self._add("mend", mend)
                self._walk(name, f"{at - 2}", f"{at + 3}")
        if self.random.random() < 0.02:
            parted = "in the compound" if self.random.random() < 0.97 else "at the lap"
            sample = Peel(
                name=self._name("P"),
                seen=self._seen(BEN),
                parted=parted,
                seam=name,
                at=_q("distance", "30"),
                line_load=_q("line_load", "24lbf/in"),
            )
            self._add("peel", sample)

    def _walk(self, name: str, start: str, end: str) -> None:
        seen = self._seen(BEN)
        walk = Walk(
            name=self._name("W"),
            seam=name,
            seen=seen,
            start=_q("distance", start),
            end=_q("distance", end),
            ended=seen.at,
        )
        self._add("walk", walk)

    def _add(self, kind: str, record: object, about: str | None = None) -> str:
        draft = chain.NewEntry(kind, encode(record), self.job, about, chain.new_id())
        self.drafts.append(draft)
        return str(draft.id)

    def _name(self, letter: str) -> str:
        self.numbers[letter] = self.numbers.get(letter, 0) + 1
        return f"{letter}{self.numbers[letter]}"

    def _seen(self, by: str) -> Seen:
        self.now += timedelta(seconds=20)
        return Seen(at=self.now.isoformat(timespec="seconds"), by=by)


def _q(field: str, text: str) -> Quantity:
    return read(field, text, "us")


def made(path: Path, seams: int, entries: int) -> None:
    """A book of that size, its entries appended to the chain and projected in one transaction."""
    with contextlib.redirect_stdout(io.StringIO()):
        assert weldcal(["--book", str(path), *JOB]) == 0
    with contextlib.closing(Book(path, by=ANA)) as book:
        drafts = Roof(book.job.id).build(seams, entries)
        with book.recording.transactions.writing(ANA) as writer:
            done = chain.append(writer.connection, writer.device, writer.at, writer.who, drafts)
            projector.project(writer.connection, [entry.about for entry in done])


@contextlib.contextmanager
def listening() -> Iterator[list[tuple[str, tuple[Any, ...]]]]:
    """Every statement a book is asked within."""
    asked: list[tuple[str, tuple[Any, ...]]] = []
    plain = {name: getattr(JobReader, name) for name in ("select", "column")}

    def heard(name: str) -> Callable[..., Any]:
        def ask(self: JobReader, kind: Any, sql: str, values: Any = ()) -> Any:
            asked.append((sql, tuple(values)))
            return plain[name](self, kind, sql, values)

        return ask

    for name in plain:
        setattr(JobReader, name, heard(name))
    try:
        yield asked
    finally:
        for name, method in plain.items():
            setattr(JobReader, name, method)


def here(path: Path, line: str) -> str:
    """A command run in this process; what it printed."""
    with contextlib.redirect_stdout(io.StringIO()) as shown:
        assert weldcal(["--book", str(path), *line.split()]) == 0
    return shown.getvalue()


def process(path: Path, line: str) -> float:
    """Wall seconds of a command as a process of its own."""
    code = "from weldcal.cli.start import run; run()"  # as the installed command does
    command = [sys.executable, "-c", code, "--book", str(path), *line.split()]
    start = time.perf_counter()
    subprocess.run(
        command, check=True, stdout=subprocess.DEVNULL, env=os.environ | {"OMP_NUM_THREADS": "1"}
    )
    return time.perf_counter() - start


def sql_alone(path: Path, asked: list[tuple[str, tuple[Any, ...]]]) -> float:
    """Seconds of the statements by themselves, each once."""
    start = time.perf_counter()
    with contextlib.closing(sqlite3.connect(path)) as connection:
        for sql, values in dict(asked).items():
            connection.execute(sql, values).fetchall()
    return time.perf_counter() - start


def timed(big: Path, small: Path) -> None:
    """The table of times."""
    print(
        f"{'command':14s} {'whole s':>8s} {'start-up s':>10s} {'SQL s':>6s} {'asked':>6s} {'times':>6s} {'MB out':>7s}"
    )
    for line in COMMANDS:
        with listening() as asked:
            size = len(here(big, line).encode()) / 1e6
        runs = [(process(big, line), process(small, line), sql_alone(big, asked)) for _ in range(3)]
        whole, start_up, sql = (statistics.median(column) for column in zip(*runs, strict=True))
        print(
            f"{line:14s} {whole:8.2f} {start_up:10.2f} {sql:6.2f} {len(asked):6d} {whole / (start_up + sql):6.1f} {size:7.1f}"
        )


def profiled(big: Path) -> None:
    """Where each command spends its time."""
    for line in COMMANDS[:3]:
        profile = cProfile.Profile()
        profile.runcall(here, big, line)
        print(f"--- {line}")
        pstats.Stats(profile).sort_stats("tottime").print_stats(18)
        pstats.Stats(profile).sort_stats("cumulative").print_stats("weldcal", 30)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])  # type: ignore[union-attr]
    parser.add_argument("--seams", type=int, default=10_000)
    parser.add_argument("--entries", type=int, default=100_000)
    parser.add_argument("--profile", action="store_true")
    parser.add_argument("--book", type=Path)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        big, small = asked.book or Path(folder) / "big.sqlite", Path(folder) / "small.sqlite"
        start = time.perf_counter()
        if not big.exists():
            made(big, asked.seams, asked.entries)
        made(small, 10, 100)
        with contextlib.closing(sqlite3.connect(big)) as connection:
            kinds = dict(connection.execute("SELECT kind, count(*) FROM entries GROUP BY kind"))
        print(f"{sum(kinds.values())} entries in {time.perf_counter() - start:.0f} s: {kinds}")
        if asked.profile:
            profiled(big)
        else:
            timed(big, small)


if __name__ == "__main__":
    main()
