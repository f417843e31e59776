"""How refits gain by a second worker: `python -m tests.bench.refits [--groups 300] [--lake LAKE]`.

Needs the extra (pip install -e '.[office]') and cores that nobody else wants. A lake of so many
crews' seasons is made (`tests.bench.office`), unless one is given: 50 strips and one machine on
one sheet each. Then every group is refitted by one worker, by two, by two and by one again, each
in a fresh cluster. Told apart: reading the groups from the lake, starting the workers (libraries
and all, until each has answered), and the refits themselves, which alone are compared. Aim: two
workers 1.7 times as fast.

By the clock is what a person waits. Beside it stands what the workers' processor seconds allow:
those of one worker over those of the busier of two, which other programs stretch less.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import statistics
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from weldcal.office import refits
from weldcal.office.filling import fill
from weldcal.office.firm import opened
from weldcal.office.lake import Lake
from weldcal.office.taking import Office

TURNS = (1, 2, 2, 1)


@dataclass(frozen=True, slots=True)
class Run:
    """One run: seconds to start, of the refits by the clock, and of each worker's processor."""

    start: float
    clock: float
    spent: tuple[float, ...]
    answers: dict[str, bytes]


def lake_of(count: int, root: Path) -> Lake:
    """A lake of so many crews, a machine and a sheet each."""
    from tests.bench.office import packs

    arrived = packs(root / "packs", count)
    with contextlib.closing(Office(root / "office")) as here:
        here.take(arrived)
    lake = Lake(str(root / "lake"))
    fill(lake, sorted((root / "office" / "books").glob("*.sqlite")))
    return lake


def _told() -> tuple[int, float, str]:
    """Of a worker: its process, its processor seconds, how many threads its libraries may use."""
    return os.getpid(), time.process_time(), os.environ.get("OMP_NUM_THREADS", "any")


def run(groups: list[refits.RefitGroup], workers: int) -> Run:
    """Every group, once, in a cluster of its own."""
    begun = time.monotonic()
    with refits.client_of(None, workers) as client:
        client.run(refits.worked, groups[0].text)  # each has its libraries now
        started, before = time.monotonic(), _spent(client)
        found = {g.mark: answer or b"" for g, answer in refits.answers(client, groups)}
        clock, after = time.monotonic() - started, _spent(client)
    spent = tuple(after[one] - before[one] for one in before)
    return Run(started - begun, clock, spent, found)


def _spent(client: Any) -> dict[int, float]:
    told = client.run(_told).values()
    assert {threads for _pid, _seconds, threads in told} == {"1"}, "a worker may use more threads"
    return {pid: seconds for pid, seconds, _threads in told}


def measured(lake: Lake, count: int) -> str:
    """The sentences."""
    began = time.monotonic()
    with opened(lake) as firm:
        groups = list(refits.groups_of(firm))[:count]
    read = time.monotonic() - began
    size = sum(len(group.text) for group in groups) / len(groups) / 1e3
    lines = [
        f"{len(groups)} groups of {size:.0f} kB read in {read:.1f} s; "
        f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}"
    ]
    runs: dict[int, list[Run]] = {1: [], 2: []}
    for workers in TURNS:
        done = run(groups, workers)
        runs[workers].append(done)
        spent = " and ".join(f"{seconds:.1f}" for seconds in done.spent)
        lines.append(
            f"{workers} worker{'s' if workers > 1 else ''}: start {done.start:.1f} s, refits "
            f"{done.clock:.1f} s by the clock, {spent} s of the processor"
        )
    same = (
        len({tuple(sorted(done.answers.items())) for told in runs.values() for done in told}) == 1
    )
    clock = _middle(runs[1], False) / _middle(runs[2], False)
    lines.append(
        f"two against one: {clock:.2f} times by the clock (aim 1.7), "
        f"{_middle(runs[1], True) / _middle(runs[2], True):.2f} as far as the processor's seconds "
        f"allow; the answers are {'the same' if same else 'NOT the same'}"
    )
    return "\n".join(lines)


def _middle(runs: list[Run], processor: bool) -> float:
    return statistics.median(max(one.spent) if processor else one.clock for one in runs)


def main() -> None:
    """Measure."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--groups", type=int, default=300)
    parser.add_argument("--lake", help="one that is there already; the first groups of it")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        lake = Lake(given.lake) if given.lake else lake_of(given.groups, Path(place))
        print(measured(lake, given.groups), flush=True)


if __name__ == "__main__":
    main()
