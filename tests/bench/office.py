"""An office of N crews: packs taken in, tables written, questions asked; as ratios.

    python -m tests.bench.office [--books 10 100 1000] [--keep FOLDER]

Needs the extra (pip install -e '.[office]'). Each book is a crew's season, invented: 50 strips
(pulled), 200 seams welded and probed whole, 2,000 findings, some 2,900 entries. Eight seasons of
eight rigs are made by the records themselves; each crew's is one of them under ids, a device and
names of its own, its chain hashed anew.

- take-in: `Office.take` a book, against executemany of the same rows (entries and derived) into
  the same tables of a new file, one transaction, the same durability. Aim: at most 3.
- lake: seconds a job.
- questions: the five pages and the history, in one process of its own; seconds and its peak
  memory. Aims: 10 s, 1 GiB.
- growth: the slope of ln(seconds) on ln(books); 1 is linear.

Seconds are of the processor, user and system, of this process and those it started: a machine
that others load stretches the clock's many times.
"""

from __future__ import annotations

import argparse
import contextlib
import gc
import io
import json
import math
import re
import resource
import shutil
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from tests.bench.raw import raw
from tests.bench.roof import ANA, BEN, JOB, Roof, _q
from weldcal.book import Book
from weldcal.cli.main import main as weldcal
from weldcal.log import chain, pack
from weldcal.log.entry import GENESIS, Entry, digest
from weldcal.office.filling import fill
from weldcal.office.firm import opened
from weldcal.office.lake import Lake
from weldcal.office.pages import PAGES
from weldcal.office.questions import history_tables
from weldcal.office.taking import Office
from weldcal.quality.history import HistoryFilter
from weldcal.records.common import Conditions
from weldcal.records.seam import Finding, RunFinish, RunStart, Seam
from weldcal.records.strip import Pull, Strip

STRIPS, SEAMS, FINDINGS = 50, 200, 2000
_UUID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[0-9a-f]{4}-[0-9a-f]{12}")
_TAIL, _DEVICE = "eeeeeeeeeeee", "dddddddddddd"
_RIGS = 8
_KINDS = ("void", "void", "void", "fishmouth", "wrinkle", "scorched", "blister")


class Season(Roof):
    """Drafts of a crew's season."""

    def __init__(self, job: str, rig: int) -> None:
        super().__init__(job)
        self.random.seed(rig)
        self.rig = math.exp(0.25 * (rig - _RIGS / 2) / _RIGS)

    def whole(self) -> list[chain.NewEntry]:
        """Two strips, eight seams and eighty findings a day."""
        for n in range(SEAMS):
            if n % 8 == 0:
                self.now = self.now.replace(hour=7, minute=0) + timedelta(days=n > 0)
                self._tried()
            self._welded(f"A{n + 1}")
        return self.drafts

    def _tried(self) -> None:
        """A strip too cold, and one that passes: faster where it is warm."""
        warm = self.random.uniform(40, 100)
        weather = Conditions(
            ambient=_q("ambient", f"{warm:.0f}"), sheet_temp=_q("sheet_temp", f"{warm + 15:.0f}")
        )
        right = 5.5 * self.rig * math.exp(0.0075 * (warm - 60)) * self.random.gauss(1, 0.03)
        for speed, widths, bond in (
            (right * 1.15, ("1/16", "1/16", "1/8"), "cold"),
            (right, ("1/4", "3/16", "5/16"), "good"),
        ):
            self.now += timedelta(minutes=10)
            setting = replace(self.setting, speed=_q("speed", f"{round(2 * speed) / 2:g}"))
            strip = Strip(
                name=self._name("S"),
                seen=self._seen(ANA),
                setting=replace(setting, true_speed=_q("speed", f"{speed:.2f}")),
                conditions=weather,
                readings=tuple(_q("reading", text) for text in widths),
                bubbling="none",
            )
            self.strip = self._add("strip", strip)
            self.now += timedelta(minutes=20)
            parted = "in the compound" if bond == "good" else "at the lap"
            self._add("pull", Pull(seen=self._seen(ANA), bond=bond, parted=parted), self.strip)
        self.setting, self.weather = setting, weather

    def _welded(self, name: str) -> None:
        length = _q("length", "33")
        self._add("seam", Seam(name=name, kind="side lap", lap="selvage", length=length))
        start = RunStart(
            name=self._name("R"),
            seam=name,
            seen=self._seen(ANA),
            start=_q("distance", "0"),
            setting=self.setting,
            conditions=self.weather,
            go_ahead=self.strip,
        )
        run = self._add("run", start)
        self.now += timedelta(minutes=6)
        self._add("run-finish", RunFinish(seam=name, seen=self._seen(ANA), end=length), run)
        self.now += timedelta(minutes=30)
        for _n in range(FINDINGS // SEAMS):
            at, kind = self.random.randint(1, 31), self.random.choice(_KINDS)
            found = Finding(
                name=self._name("F"),
                seam=name,
                seen=self._seen(BEN),
                kind=kind,
                how="probed" if kind == "void" else "seen",
                start=_q("distance", f"{at}"),
                end=_q("distance", f"{at}.25"),
            )
            self._add("finding", found)
        self._walk(name, "0", "33")


def template(folder: Path, rig: int) -> list[Entry]:
    """A season's entries, with ids, device and names that a clone fills in."""
    path = folder / f"rig-{rig}.sqlite"
    with contextlib.redirect_stdout(io.StringIO()):
        assert weldcal(["--book", str(path), *JOB]) == 0
    with contextlib.closing(Book(path, by=ANA)) as book:
        drafts = Season(book.job.id, rig).whole()
        with book.recording.transactions.writing(ANA) as writer:
            chain.append(writer.connection, writer.device, writer.at, writer.who, drafts)
        made = list(chain.entries(book.reader.reading()))
    ids: dict[str, str] = {}
    text = []
    for entry in made:
        for old in _UUID.findall(entry.body):
            ids.setdefault(old, f"{len(ids):08x}-0000-7000-8000-{_TAIL}")
        body = _UUID.sub(lambda found: ids[found[0]], entry.body)
        text.append(body.replace(entry.device, _DEVICE))
    return [Entry(body, "") for body in text]


def clone(model: list[Entry], n: int) -> list[Entry]:
    """A crew's own: new ids, a new device, its own people and roof, the chain hashed anew."""
    made: list[Entry] = []
    prev = was = GENESIS
    for entry in model:
        was = entry.says.prev
        body = (
            entry.body.replace(_TAIL, f"{n:012x}")
            .replace(_DEVICE, f"{n:012x}")
            .replace(ANA, f"Crew {n:04d}")
            .replace(BEN, f"Inspector {n % 40:02d}")
            .replace("Big roof", f"Roof {n:04d}")
            .replace(f'"prev":"{was}"', f'"prev":"{prev}"')
        )
        made.append(Entry(body, digest(body.encode())))
        prev = made[-1].hash
    return made


def packs(folder: Path, count: int, first: int = 0) -> Path:
    """A folder of so many crews' packs."""
    folder.mkdir(exist_ok=True)
    models = [template(folder.parent, rig) for rig in range(min(_RIGS, count))]
    for n in range(first, first + count):
        entries = clone(models[n % len(models)], n)
        last = entries[-1]
        header = pack.Header(
            weldcal_pack=pack.PACK,
            made=last.at,
            program="bench",
            entries=len(entries),
            photos=0,
            heads={last.device: (last.seq, last.hash)},
        )
        pack.write(folder / f"crew-{n:04d}.weldpack", header, entries, folder, [])
    return folder


def _spent() -> float:
    return sum(
        told.ru_utime + told.ru_stime
        for told in map(resource.getrusage, (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    )


def seconds(work: Callable[[], Any]) -> float:
    """Processor seconds it takes, once; those of processes it waited for too."""
    return both(work)[0]


def both(work: Callable[[], Any]) -> tuple[float, float]:
    """The processor's seconds, and the clock's."""
    start, began = _spent(), time.monotonic()
    work()
    return _spent() - start, time.monotonic() - began


def taken(office: Path, packs_in: Path, scratch: Path) -> tuple[float, list[tuple[float, float]]]:
    """Seconds to take all in; and, in turn, ratios to executemany of the same rows (both clocks)."""
    ratios = []
    files = sorted(packs_in.iterdir())
    one = scratch / "one"
    for n in range(0, len(files), max(1, len(files) // 10)):
        shutil.rmtree(one, ignore_errors=True)
        one.mkdir()
        shutil.copy(files[n], one)
        alone = scratch / f"alone-{n}"
        with contextlib.closing(Office(alone)) as here:
            ours = both(lambda here=here: here.take(one))  # type: ignore[misc]
        (book,) = (alone / "books").glob("*.sqlite")
        with contextlib.closing(sqlite3.connect(book)) as connection:
            put = raw(connection)
        theirs = both(lambda put=put, n=n: put(scratch / f"raw-{n}.sqlite"))  # type: ignore[misc]
        ratios.append((ours[0] / theirs[0], ours[1] / theirs[1]))
        shutil.rmtree(alone)
        (scratch / f"raw-{n}.sqlite").unlink()
    with contextlib.closing(Office(office)) as here:
        return seconds(lambda: here.take(packs_in)), ratios


def answered(lake: Path) -> dict[str, float]:
    """Each question asked in this process: its seconds, all of them, and the peak memory, MB."""
    start = time.process_time()
    took = {}
    with opened(Lake(str(lake))) as firm:
        took["load"] = time.process_time() - start
        for name, page in PAGES.items():
            began = time.process_time()
            page(firm, "")
            took[name] = time.process_time() - began
        began = time.process_time()
        history_tables(firm, ["machine", "sheet"], HistoryFilter())
        took["history"] = time.process_time() - began
    took["all"] = time.process_time() - start
    took["MB"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return took


def asked(lake: Path) -> dict[str, float]:
    """Seconds of each question and of all, and the peak memory, MB, in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.bench.office", "--ask", str(lake)],
        capture_output=True,
        text=True,
        check=True,
    )
    found: dict[str, float] = json.loads(done.stdout)
    return found


def _middle(ratios: list[tuple[float, float]], n: int) -> str:
    mine = [pair[n] for pair in ratios]
    return f"{statistics.median(mine):.2f} times ({min(mine):.2f} to {max(mine):.2f})"


def at_size(count: int, folder: Path) -> dict[str, float]:
    """Everything at one size; what growth is reckoned of."""
    print(f"\n{count} books", flush=True)
    arrived = folder / "packs"
    if not arrived.exists():
        made = seconds(lambda: packs(arrived, count))
        print(f"  packs made in {made:.0f} s", flush=True)
    office, lake = folder / "office", folder / "lake"
    scratch = folder / "scratch"
    scratch.mkdir(exist_ok=True)
    took, ratios = taken(office, arrived, scratch)
    sizes = [path.stat().st_size / 1e6 for path in (office / "books").glob("*.sqlite")]
    print(
        f"  take-in: {took:.1f} s, {took / count:.2f} s a book of {statistics.mean(sizes):.1f} MB; "
        f"against executemany {_middle(ratios, 0)} by the processor, {_middle(ratios, 1)} by the clock",
        flush=True,
    )
    books = sorted((office / "books").glob("*.sqlite"))
    filled = seconds(lambda: fill(Lake(str(lake)), books))
    files = [path.stat().st_size for path in lake.rglob("*.parquet")]
    again = seconds(lambda: fill(Lake(str(lake)), books))
    print(
        f"  lake: {filled:.1f} s, {filled / count:.2f} s a job; {len(files)} files, "
        f"{sum(files) / 1e6:.0f} MB; again with nothing new {again:.1f} s",
        flush=True,
    )
    told = asked(lake)
    print("  questions: " + ", ".join(f"{k} {v:.2f}" for k, v in told.items()), flush=True)
    return {"take-in": took, "lake": filled, "questions": told["all"]}


def main() -> None:
    """Measure."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--books", type=int, nargs="+", default=[10, 100])
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--ask", type=Path, help="only ask the questions of these tables, as JSON")
    given = parser.parse_args()
    if given.ask:
        print(json.dumps(answered(given.ask)))
        return
    gc.set_threshold(100_000)  # as every command does
    with tempfile.TemporaryDirectory() as place:
        root = given.keep or Path(place)
        found = {}
        for count in given.books:
            folder = root / str(count)
            folder.mkdir(parents=True, exist_ok=True)
            found[count] = at_size(count, folder)
        for a, b in pairwise(sorted(found)):
            slopes = {
                name: math.log(found[b][name] / found[a][name]) / math.log(b / a)
                for name in found[a]
            }
            print(f"growth {a} to {b}: " + ", ".join(f"{k} {v:.2f}" for k, v in slopes.items()))


if __name__ == "__main__":
    main()
