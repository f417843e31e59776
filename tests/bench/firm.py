"""What earlier roofs of a firm are worth: `python -m tests.bench.firm --mornings 40`.

One rig (heated length, convection, machines) on six earlier roofs of eight days and on the judged
one. Sheets are compounds of their own; a roof's lot moves its welding temperature by 3 K (sd)
besides what days do. Arms of what was welded before:

    same    three of the six roofs with the judged sheet, the others with other sheets
    other   six roofs, none with the judged sheet, of both kinds
    unlike  six roofs, all of the other kind (wide for narrow): a sheet unlike any before

Invariant: every method meets the same roof, history and luck. `alone` has the job's own strips;
`handed` (with no history of its own only)
the same engine with every strip of the firm in one fit; `firm` the job's own strips and
what `learn` made of the earlier roofs.
"""

from __future__ import annotations

import argparse
import multiprocessing
import sys
import time
from collections import defaultdict
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from tests.bench.crew import history
from tests.bench.days import AFTERNOON, MORNING, calendar
from tests.bench.judged import Engine
from tests.bench.methods import Choice, Known, Scene
from tests.bench.protocol import LONGEST, Morning, judge, window_width
from tests.bench.roofs import WINDOW, Kind, Machine, Noise, Roof, draw_machine
from tests.bench.slab import Slab, draw_many
from tests.bench.tally import mean_interval
from weldcal.calibration.knowledge import Job, Knowledge, SheetKey, Who, job_said, learn
from weldcal.calibration.knowledge import Known as OfFirm
from weldcal.calibration.observation import Observation

ROOFS, DAYS = 6, 8
LOT_K = 3.0
OTHER: dict[Kind, Kind] = {"wide": "narrow", "narrow": "wide"}
ARMS = ("same", "other", "unlike")


@dataclass(frozen=True, slots=True)
class Sheet:
    """A product: its compound on this firm's rig."""

    name: str
    kind: Kind
    physics: Slab
    facts: dict[str, float]


@dataclass(frozen=True)
class Judged:
    """The engine with more than the job's strips."""

    name: str
    handed: tuple[Observation, ...] = ()
    known: OfFirm | None = None

    def choose(self, known: Known, scene: Scene) -> Choice:
        rows = self.handed + known.earlier
        plain = Engine(self.name, known=self.known)
        return plain.choose(Known(rows, known.today, known.question), scene)


def rig(rng: np.random.Generator) -> tuple[float, float]:
    """Heated length, m, and convection coefficient, W/m2K, of the firm's machines."""
    return 0.041 * float(np.exp(rng.normal(0, 0.25))), 170 * float(np.exp(rng.normal(0, 0.3)))


def sheet(rng: np.random.Generator, name: str, kind: Kind, same: tuple[float, float]) -> Sheet:
    """A product that the rig can weld; draws until one is plausible."""
    for _ in range(40):
        drawn, facts = draw_many(rng, kind, 12, 1.0, same)
        if len(facts["speed"]):
            return Sheet(
                name,
                kind,
                drawn.take(np.array([0])),
                {key: float(values[0]) for key, values in facts.items()},
            )
    raise LookupError("no plausible compound for this rig")


def roof(rng: np.random.Generator, number: int, of: Sheet, machines: tuple[Machine, ...]) -> Roof:
    """A roof with that sheet: a lot of its own, habits, power and place of its own."""
    lot = rng.normal(0, LOT_K)
    physics = replace(of.physics, weld_c=of.physics.weld_c + lot, bond_c=of.physics.bond_c + lot)
    day_log = rng.uniform(0.08, 0.16) if of.kind == "wide" else rng.uniform(0.12, 0.25)
    supply = rng.choice([rng.uniform(0.97, 1.01), rng.uniform(0.86, 0.97)])
    return Roof(
        number=number,
        kind=of.kind,
        world="slab",
        physics=physics,
        noise=Noise(day_weld_k=day_log / of.facts["per_k"]),
        machines=machines,
        nozzle_c=float(10 * rng.integers(50, 60)),
        station=int(rng.integers(0, 2)),
        absorptance=float(rng.uniform(0.65, 0.92)),
        reads_sheet=bool(rng.random() < 0.7),
        reads_wind=bool(rng.random() < 0.7),
        reads_volts=bool(rng.random() < 0.7),
        supply=float(supply),
        start_speed=float(of.facts["speed"] * np.exp(rng.normal(0, 0.25))),
        slope_per_k=of.facts["slope"],
    )


@dataclass(frozen=True, slots=True)
class Firm:
    """The judged morning behind its own days, and what was welded before."""

    mornings: dict[int, Morning]
    earlier: tuple[tuple[Sheet, tuple[Observation, ...]], ...]


def firm(number: int, kind: Kind, arm: str, seed: int, days: tuple[int, ...]) -> Firm:
    """A firm, redrawn while the judged day leaves no workable window."""
    for attempt in range(60):
        rng = np.random.default_rng([seed, number, attempt, kind == "narrow", ARMS.index(arm)])
        try:
            return _firm(rng, number, kind, arm, seed, days)
        except LookupError:
            continue
    raise RuntimeError(f"no workable firm {number}")


def _firm(
    rng: np.random.Generator, number: int, kind: Kind, arm: str, seed: int, days: tuple[int, ...]
) -> Firm:
    same = rig(rng)
    machines = tuple(draw_machine(rng, f"M{i + 1}") for i in range(rng.integers(1, 3)))
    asked = sheet(rng, "cap", kind, same)
    kinds: list[Kind] = [kind, OTHER[kind]] * 3
    if arm == "unlike":
        kinds = [OTHER[kind]] * 6
    others = [sheet(rng, f"other{i}", k, same) for i, k in enumerate(kinds[:4])]
    sheets = [asked] * 3 + others[:3] if arm == "same" else [*others, *others[:2]]
    judged = roof(rng, number, asked, machines)
    calender = calendar(judged, LONGEST + 1, rng)
    if min(window_width(judged, calender[-1], hour) for hour in (MORNING, AFTERNOON)) < 0.10:
        raise LookupError("no window")
    own = history(judged, calender[:-1], rng, corrupted=False)
    mornings = {}
    for count in days:
        kept = {d.name for d in calender[LONGEST - count : -1]} if count else set()
        rows = tuple(r for r in own if r.day in kept)
        mornings[count] = Morning(judged, calender[-1], seed, rows)
    earlier = []
    for j, one in enumerate(sheets):
        there = roof(rng, 1000 * number + j, one, machines)
        rows = history(there, calendar(there, DAYS, rng), rng, corrupted=False)
        named = tuple(replace(r, sheet=one.name, day=f"r{j}{r.day}") for r in rows)
        earlier.append((one, named))
    return Firm(mornings, tuple(earlier))


def who(found: Firm) -> Who:
    """Keys of the judged job's machines and sheet."""
    machines = {m.name: m.name for m in found.mornings[min(found.mornings)].roof.machines}
    return Who(machines, {"cap": SheetKey("cap")})


def knowledge(found: Firm) -> Knowledge:
    """What the earlier roofs teach."""
    jobs = []
    for j, (_, rows) in enumerate(found.earlier):
        said = job_said(rows, WINDOW)
        if said is not None:
            jobs.append(Job(f"j{j}", said, Who()))
    return learn(jobs)


def one(task: tuple[int, Kind, str, int, tuple[int, ...]]) -> list[dict[str, Any]]:
    """All histories and methods on one firm."""
    number, kind, arm, seed, days = task
    found = firm(number, kind, arm, seed, days)
    start = time.perf_counter()
    known = OfFirm(knowledge(found), who(found))
    learning = time.perf_counter() - start
    strips = tuple(row for _, rows in found.earlier for row in rows)
    out = []
    for count, morning in found.mornings.items():
        methods = [Judged("alone"), Judged("firm", known=known)]
        if count == 0:
            methods.append(Judged("handed", handed=strips))
        for method in methods:
            row, checks = judge(morning, method)
            inside = [c["low_mm"] <= c["actual_mm"] <= c["high_mm"] for c in checks]
            label = {"roof": number, "kind": kind, "arm": arm, "days": count}
            row |= {"covered": float(np.mean(inside)), "learning": learning}
            out.append(label | {"method": method.name} | row)
    return out


COLUMNS = ("good0", "to_good", "pm_good", "covered", "sure1", "sure_wrong", "stopped")


def report(rows: list[dict[str, Any]]) -> str:
    """Means by arm and method; `firm` less the others, paired."""
    cells: dict[tuple[str, ...], dict[int, dict[str, Any]]] = defaultdict(dict)
    for row in rows:
        cells[row["kind"], row["arm"], str(row["days"]), row["method"]][row["roof"]] = row
    lines = []
    for (kind, arm, days, method), found in sorted(cells.items()):
        text = f"{kind:6s} {arm:6s} {days:>2s} days {method:6s} n={len(found)}"
        for column in COLUMNS:
            text += f"  {column} {np.mean([float(r[column]) for r in found.values()]):.3f}"
        if method == "firm":
            for peer in ("alone", "handed"):
                theirs = cells.get((kind, arm, days, peer))
                if theirs is None:
                    continue
                for column in ("good0", "pm_good"):
                    gap = np.array(
                        [float(r[column]) - float(theirs[k][column]) for k, r in found.items()]
                    )
                    mean, half = mean_interval(gap)
                    text += f"  {column} less {peer} {mean:+.3f} ±{half:.3f}"
        lines.append(text)
    return "\n".join(lines)


def main(argv: list[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--mornings", type=int, default=40, help="of each kind and arm")
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--seed", type=int, default=2027)
    parser.add_argument("--arms", nargs="+", default=list(ARMS), choices=ARMS)
    parser.add_argument("--kinds", nargs="+", default=["narrow", "wide"], choices=list(OTHER))
    parser.add_argument("--history", nargs="+", type=int, default=[0, 5, 20])
    parser.add_argument("--processes", type=int, default=1)
    args = parser.parse_args(argv)
    tasks = [
        (i, kind, arm, args.seed, tuple(args.history))
        for i in range(args.first, args.first + args.mornings)
        for arm in args.arms
        for kind in args.kinds
    ]
    rows: list[dict[str, Any]] = []
    start = time.perf_counter()
    with multiprocessing.Pool(args.processes) as pool:
        for done, some in enumerate(pool.imap_unordered(one, tasks), 1):
            rows += some
            if done in (2, 6) or done % 12 == 0:
                gone = time.perf_counter() - start
                print(f"{done}/{len(tasks)}, {gone:.0f} s", file=sys.stderr, flush=True)
                print(report(rows), file=sys.stderr, flush=True)
    print(report(rows))


if __name__ == "__main__":
    main()
