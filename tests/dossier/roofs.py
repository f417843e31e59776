"""Laid-out roofs with findings all over, made at once: some sixty seams, or three thousand.

Invariant: everything is invented, and the same each time. Entries are appended to
the chain as a device would, and the tables derived from them.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

from tests.dossier.conftest import MONDAY, run
from tests.dossier.scale import q
from weldcal.book import Book
from weldcal.log import chain
from weldcal.records.codec import encode
from weldcal.records.common import Conditions, Seen, Setting
from weldcal.records.seam import Finding, Mend, RunFinish, RunStart, Walk
from weldcal.tables import schema

JOB = (
    'job new "Harbour Hall (invented)" --units us --zone America/Denver --by "Ana Ruiz" '
    '--sheet "base: base sheet" --machine "blue: ft/min 1-20 step 0.5" '
    '--person "Ana Ruiz: AR, operator" --person "Ben Okoro: BO, inspector"'
)
SMALL = (
    'roof lay "A 60ft x 40ft at 0,0; A 20ft x 15ft at 60ft,0" --roll-width 39.4in --roll-length 33ft '
    '--mark "drain at 20ft,12ft" --mark "drain at 44ft,30ft" --mark "curb at 52ft,18ft around 14ft"'
)
TALL = 'roof lay "A 30ft x 66ft" --roll-width 39.4in --roll-length 33ft --along y'
LARGE = (
    'roof lay "A 330ft x 320ft" --roll-width 39.4in --roll-length 33ft '
    '--mark "drain at 80ft,80ft" --mark "curb at 250ft,60ft around 20ft"'
)
KINDS = ("void", "wrinkle", "fishmouth", "cold", "scorched")


def lay(path: Path, area: str) -> None:
    """A job with its roof laid out."""
    run(path, MONDAY, JOB)
    run(path, MONDAY, area)


def work(path: Path, findings: int, *, crowd: float = 0.4) -> None:
    """Weld and probe most of it; findings all over, `crowd` of them near one another; some mended."""
    book = Book(path, by="Ana Ruiz", clock=lambda: MONDAY + timedelta(hours=18))
    seams = [row for row in book.roof.seams() if row["kind"] != "T-joint"]
    dice = random.Random(7)
    with book.recording.transactions.writing("Ana Ruiz") as writer:
        at = (MONDAY + timedelta(hours=18)).isoformat(timespec="milliseconds")
        drafts = list(_entries(book.job.id, seams, findings, crowd, dice))
        chain.append(writer.connection, writer.device, at, "Ana Ruiz", drafts)
    schema.rebuild(book.reader.reading())
    book.close()


def _entries(
    job: str, seams: list[Any], findings: int, crowd: float, dice: random.Random
) -> Iterator[chain.NewEntry]:
    seen = Seen(at=(MONDAY + timedelta(hours=8)).isoformat(), by="Ana Ruiz")
    later = Seen(at=(MONDAY + timedelta(hours=12)).isoformat(), by="Ben Okoro")
    last = Seen(at=(MONDAY + timedelta(hours=14)).isoformat(), by="Ana Ruiz")
    setting = Setting(
        machine="blue", sheet="base", lap="selvage", nozzle=q(932, "F"), speed=q(5, "ft/min")
    )
    for n, row in enumerate(seams):
        if n % 9 == 8:
            continue  # not welded
        end, run_id = round((row["length_m"] or 0.0), 3), chain.new_id()
        start = RunStart(
            name=f"R{n + 1}",
            seam=row["name"],
            seen=seen,
            start=q(0, "m"),
            setting=setting,
            conditions=Conditions(),
        )
        yield chain.NewEntry("run", encode(start), job, None, run_id)
        yield chain.NewEntry(
            "run-finish",
            encode(RunFinish(seam=row["name"], seen=seen, end=q(end, "m"))),
            job,
            run_id,
        )
        if n % 7 != 6:
            walk = Walk(
                name=f"W{n + 1}",
                seam=row["name"],
                seen=later,
                start=q(0, "m"),
                end=q(end if n % 5 else round(end * 0.6, 3), "m"),
            )
            yield chain.NewEntry("walk", encode(walk), job)
    crowded = seams[:: max(1, len(seams) // 4)][:4]
    for k in range(findings):
        near = dice.random() < crowd
        row = dice.choice(crowded if near else seams)
        long = row["length_m"] or 0.0
        place = (0.4 + 0.05 * dice.random() if near else dice.random() * 0.95) * long
        place = round(place, 3)
        fault = Finding(
            name=f"F{k + 1}",
            seam=row["name"],
            seen=later,
            kind=KINDS[k % 5],
            how="probed" if KINDS[k % 5] == "void" else "seen",
            start=q(place, "m"),
            end=q(min(round(place + 0.1 + dice.random() * 0.6, 3), round(long, 3)), "m"),
        )
        found = chain.new_id()
        yield chain.NewEntry("finding", encode(fault), job, None, found)
        if k % 3 == 2:
            mend = Mend(
                name=f"M{k + 1}",
                seam=row["name"],
                finding=found,
                seen=last,
                start=fault.start,
                end=fault.end,
                method="patch",
            )
            yield chain.NewEntry("mend", encode(mend), job)
