"""How long the dossier of a very large roof takes: 10,000 seams, 200,000 findings. Run by hand:

    python -m tests.dossier.scale [seams] [findings] [folder]

Invariant: everything in it is invented. Entries are appended to the chain as a
device would, many at once, and the tables derived from them.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import datetime, timedelta
from fractions import Fraction
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from weldcal.book import Book
from weldcal.log import chain
from weldcal.quantities import Quantity
from weldcal.records.codec import encode
from weldcal.records.common import Conditions, Seen, Setting
from weldcal.records.job import Machine, Person, Sheet
from weldcal.records.seam import BleedCheck, Finding, Mend, RunFinish, RunStart, Seam, Walk
from weldcal.records.strip import Strip
from weldcal.tables import schema

ZONE = ZoneInfo("America/Denver")
START = datetime(2026, 3, 2, 7, 0, tzinfo=ZONE)
PER_DAY = 50
LENGTH_FT = 33
KINDS = ("void", "wrinkle", "fishmouth", "scorched", "cold")


def q(number: float | str, unit: str) -> Quantity:
    """A quantity as typed."""
    text = f"{number:g}" if isinstance(number, float | int) else number
    return Quantity(text=text, number=Fraction(text), unit=unit)


def make(path: Path, seams: int, findings: int) -> None:
    """Make the book."""
    book = Book(path, by="Ana Ruiz", clock=lambda: START)
    parts = [
        ("sheet", Sheet(name="base")),
        (
            "machine",
            Machine(
                name="blue",
                dial="ft/min",
                dial_low=q(1, "ft/min"),
                dial_high=q(20, "ft/min"),
                dial_step=q("0.5", "ft/min"),
                nozzle_low=q(200, "C"),
                nozzle_high=q(620, "C"),
            ),
        ),
        ("person", Person(name="Ana Ruiz")),
        ("person", Person(name="Ben Okoro")),
    ]
    job = book.recording.setup.new_job(
        "A very large roof (invented)", units="us", zone_name="America/Denver", parts=parts
    )
    with book.recording.transactions.writing("Ana Ruiz") as writer:
        for at, who, drafts in _days(job.id, seams, findings):
            chain.append(writer.connection, writer.device, at, who, drafts)
    schema.rebuild(book.reader.reading())
    book.close()


def _days(job: str, seams: int, findings: int) -> Iterator[tuple[str, str, list[chain.NewEntry]]]:
    """A day at a time: a strip at each end of the morning, then its seams."""
    numbers = {"F": 0, "M": 0}
    for day in range((seams + PER_DAY - 1) // PER_DAY):
        at = START + timedelta(days=day)
        stamp = at.isoformat()
        drafts = []
        weather = Conditions(
            ambient=q(50 + day % 40, "F"), sheet_temp=q(56 + day % 60, "F"), wind=q(day % 12, "mph")
        )
        setting = Setting(
            machine="blue",
            sheet="base",
            lap="selvage",
            nozzle=q(932, "F"),
            speed=q(5 + (day % 8) / 2, "ft/min"),
        )
        strip_id = chain.new_id()
        strip = Strip(
            name=f"S{day + 1}",
            seen=Seen(at=stamp, by="Ana Ruiz"),
            setting=setting,
            conditions=weather,
            readings=(q("1/4", "in"), q("3/16", "in"), q("5/16", "in")),
            bubbling="none",
            bond="good",
        )
        drafts.append(chain.NewEntry("strip", encode(strip), job, None, strip_id))
        for n in range(day * PER_DAY, min(seams, (day + 1) * PER_DAY)):
            mine = findings * (n + 1) // seams - findings * n // seams
            drafts += _seam(
                job,
                n,
                at + timedelta(minutes=8 * (n % PER_DAY)),
                setting,
                weather,
                strip_id,
                mine,
                numbers,
            )
        yield (at + timedelta(hours=9)).isoformat(timespec="milliseconds"), "Ana Ruiz", drafts


def _seam(
    job: str,
    n: int,
    at: datetime,
    setting: Setting,
    weather: Conditions,
    strip: str,
    faults: int,
    numbers: dict[str, int],
) -> list[chain.NewEntry]:
    """One seam: listed, welded, checked, probed, its faults, the mend of every other."""
    name, run = f"N{n + 1}", chain.new_id()
    seen = Seen(at=at.isoformat(), by="Ana Ruiz")
    later = Seen(at=(at + timedelta(hours=2)).isoformat(), by="Ben Okoro")
    start = RunStart(
        name=f"R{n + 1}",
        seam=name,
        seen=seen,
        start=q(0, "ft"),
        setting=setting,
        conditions=weather,
        go_ahead=strip,
        warnings=("hours_passed",) if n % 97 == 0 else (),
    )
    drafts = [
        chain.NewEntry(
            "seam", encode(Seam(name=name, kind="side lap", length=q(LENGTH_FT, "ft"))), job
        ),
        chain.NewEntry("run", encode(start), job, None, run),
        chain.NewEntry(
            "run-finish", encode(RunFinish(seam=name, seen=seen, end=q(LENGTH_FT, "ft"))), job, run
        ),
        chain.NewEntry(
            "walk",
            encode(
                Walk(
                    name=f"W{n + 1}",
                    seam=name,
                    seen=later,
                    start=q(0, "ft"),
                    end=q(LENGTH_FT, "ft"),
                )
            ),
            job,
        ),
    ]
    if n % 10 == 0:
        check = BleedCheck(
            name=f"B{n // 10 + 1}",
            seam=name,
            seen=seen,
            at=q(14, "ft"),
            readings=(q("1/4", "in"), q("3/16", "in")),
        )
        drafts.append(chain.NewEntry("bleed", encode(check), job))
    for k in range(faults):
        numbers["F"] += 1
        found, place = chain.new_id(), (k + 0.5) * LENGTH_FT / faults
        fault = Finding(
            name=f"F{numbers['F']}",
            seam=name,
            seen=later,
            kind=KINDS[k % 5],
            how="probed",
            start=q(round(place, 2), "ft"),
            end=q(round(place + 0.2, 2), "ft"),
        )
        drafts.append(chain.NewEntry("finding", encode(fault), job, None, found))
        if k % 2:
            numbers["M"] += 1
            mend = Mend(
                name=f"M{numbers['M']}",
                seam=name,
                finding=found,
                seen=later,
                start=q(round(place - 0.5, 2), "ft"),
                end=q(round(place + 0.7, 2), "ft"),
                method="patch",
            )
            drafts.append(chain.NewEntry("mend", encode(mend), job))
    return drafts


def measured(words: list[str]) -> dict[str, Any]:
    """Run one command in a process of its own: seconds and peak memory."""
    code = "from weldcal.cli.main import run; import resource, sys\ntry:\n    run()\nfinally:\n    print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss, file=sys.stderr)"
    began = time.monotonic()
    done = subprocess.run(
        [sys.executable, "-c", code, *words], capture_output=True, text=True, check=False
    )
    taken = time.monotonic() - began
    return {
        "words": " ".join(words[2:]),
        "code": done.returncode,
        "seconds": round(taken, 1),
        "peak_mib": round(int(done.stderr.split()[-1]) / 1024),
        "err": done.stderr[:-12][-200:],
    }


def main() -> None:
    """Make the book and time each page."""
    seams, findings = (
        int(sys.argv[1]) if len(sys.argv) > 1 else 10_000,
        int(sys.argv[2]) if len(sys.argv) > 2 else 200_000,
    )
    folder = Path(sys.argv[3]) if len(sys.argv) > 3 else Path(tempfile.mkdtemp())
    book = folder / "large.sqlite"
    if not book.exists():
        began = time.monotonic()
        make(book, seams, findings)
        print(
            f"book of {seams} seams and {findings} findings made in {time.monotonic() - began:.0f} s"
        )
    for words in (
        ["dossier", str(folder / "large"), "--only", "html"],
        ["dossier", str(folder / "large"), "--only", "pdf"],
        ["dossier", str(folder / "large")],
        ["evening", "--day", "2026-03-02"],
        ["history"],
    ):
        print(json.dumps(measured(["--book", str(book), *words])), flush=True)
    for file in sorted(folder.glob("large*.*")):
        print(f"{file.name}: {file.stat().st_size / 1e6:.1f} MB")
    print(
        f"peak of this process: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MiB"
    )


if __name__ == "__main__":
    main()
