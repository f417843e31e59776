"""What earlier roofs of a firm are worth: `python -m tests.bench.firm --mornings 40`.

One rig (heated length, convection, machines) on six earlier roofs of eight days and on the judged
one. Sheets are compounds of their own; a roof's lot moves its welding temperature by 3 K (sd)
besides what days do. Arms of what was welded before:

    same    three of the six roofs with the judged sheet, the others with other sheets
    other   six roofs, none with the judged sheet, of both kinds
    unlike  six roofs, all of the other kind (wide for narrow): a sheet unlike any before

Invariant: every method meets the same roof, history and luck. `alone` has the job's own strips;
`handed` (on the first `--handed` mornings of each firm) the same engine with every strip of the
firm in one fit; `firm` the job's own strips and what `learn` made of the earlier roofs.

A firm has several judged mornings, each a day of its own after the same history, so that what is
dear (the firm, what it learnt) is made once. Differences are paired by morning and their
intervals are over firms, whose mornings are not independent. Beside good or not, `near0` and
`near_pm` are the share of `NEAR` days alike on which the advised speed is good: the day's hidden
lot and moisture moved by a third of what days differ by. It tells a speed at the edge of the good
ones from one in their middle, and so varies less than yes or no.
"""

from __future__ import annotations

import argparse
import csv
import multiprocessing
import sys
import time
from collections import defaultdict
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from tests.bench.crew import history
from tests.bench.days import AFTERNOON, MORNING, Day, calendar
from tests.bench.judged import Engine
from tests.bench.methods import Choice, Known, Scene
from tests.bench.protocol import LONGEST, Morning, judge, window_width
from tests.bench.roofs import WINDOW, Kind, Machine, Noise, Roof, Shift, draw_machine
from tests.bench.slab import Slab, draw_many
from tests.bench.tally import mean_interval
from weldcal.calibration.job_said import job_said
from weldcal.calibration.keys import SheetKey, Who
from weldcal.calibration.knowledge import Knowledge, KnownNames, TaughtJob, learn
from weldcal.calibration.observation import Observation

ROOFS, DAYS = 6, 8
NEAR, NEARLY = 40, 1.0 / 3.0
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
    known: KnownNames | None = None

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
    """The judged mornings by days of their own, what was welded before, and on which roofs."""

    mornings: dict[int, tuple[Morning, ...]]
    earlier: tuple[tuple[Sheet, tuple[Observation, ...]], ...]
    roofs: tuple[tuple[Roof, tuple[Day, ...]], ...]


def firm(
    number: int, kind: Kind, arm: str, seed: int, days: tuple[int, ...], judged: int = 1
) -> Firm:
    """A firm, redrawn while no judged day leaves a workable window."""
    for attempt in range(60):
        rng = np.random.default_rng([seed, number, attempt, kind == "narrow", ARMS.index(arm)])
        try:
            return _firm(rng, number, kind, arm, seed, days, judged)
        except LookupError:
            continue
    raise RuntimeError(f"no workable firm {number}")


def _firm(
    rng: np.random.Generator,
    number: int,
    kind: Kind,
    arm: str,
    seed: int,
    days: tuple[int, ...],
    count: int,
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
    every = calendar(judged, LONGEST + 3 * count, rng)
    workable = [d for d in every[LONGEST:] if _workable(judged, d)][:count]
    if len(workable) < count:
        raise LookupError("no window")
    own = history(judged, every[:LONGEST], rng, corrupted=False)
    mornings = {}
    for own_days in days:
        kept = {d.name for d in every[LONGEST - own_days : LONGEST]}
        rows = tuple(r for r in own if r.day in kept)
        mornings[own_days] = tuple(
            Morning(judged, day, seed + 10_000 * n, rows) for n, day in enumerate(workable)
        )
    earlier, roofs = [], []
    for j, one in enumerate(sheets):
        there = roof(rng, 1000 * number + j, one, machines)
        roofs.append((there, calendar(there, DAYS, rng)))
        rows = history(*roofs[-1], rng, corrupted=False)
        named = tuple(replace(r, sheet=one.name, day=f"r{j}{r.day}") for r in rows)
        earlier.append((one, named))
    return Firm(mornings, tuple(earlier), tuple(roofs))


def _workable(judged: Roof, day: Day) -> bool:
    return min(window_width(judged, day, hour) for hour in (MORNING, AFTERNOON)) >= 0.10


def near(morning: Morning, speed: float, hour: float) -> float:
    """Share of days alike on which this speed is truly good."""
    roof, day = morning.roof, morning.day
    z = NEARLY * np.random.default_rng([morning.seed, roof.number, 7]).standard_normal((2, NEAR))
    shift = Shift(
        day.shift.weld_k + roof.noise.day_weld_k * z[0],
        day.shift.bubble_k + roof.noise.day_bubble_k * z[1],
    )
    air = day.air(roof, hour)
    truth = roof.physics.respond(np.array([speed]), day.nozzle_c, air, day.machine, shift)
    return float(truth.good().mean())


def who(found: Firm) -> Who:
    """Keys of the judged job's machines and sheet."""
    machines = {m.name: m.name for m in found.mornings[min(found.mornings)][0].roof.machines}
    return Who(machines, {"cap": SheetKey("cap")})


def knowledge(found: Firm) -> Knowledge:
    """What the earlier roofs teach."""
    jobs = []
    for j, (_, rows) in enumerate(found.earlier):
        said = job_said(rows, WINDOW)
        if said is not None:
            jobs.append(TaughtJob(f"j{j}", said, Who()))
    return learn(jobs)


def one(task: tuple[int, Kind, str, int, tuple[int, ...], int, int]) -> list[dict[str, Any]]:
    """All histories, mornings and methods of one firm."""
    number, kind, arm, seed, days, judged, handed = task
    found = firm(number, kind, arm, seed, days, judged)
    known = KnownNames(knowledge(found), who(found))
    strips = tuple(row for _, rows in found.earlier for row in rows)
    out = []
    for count, mornings in found.mornings.items():
        for n, morning in enumerate(mornings):
            methods = [Judged("alone"), Judged("firm", known=known)]
            methods += [Judged("handed", handed=strips)] if n < handed else []
            for method in methods:
                label = {"roof": number, "kind": kind, "arm": arm, "days": count, "morning": n}
                out.append(label | {"method": method.name} | _judged(morning, method))
    return out


def _judged(morning: Morning, method: Judged) -> dict[str, Any]:
    row, checks = judge(morning, method)
    inside = [c["low_mm"] <= c["actual_mm"] <= c["high_mm"] for c in checks]
    return row | {
        "covered": float(np.mean(inside)),
        "near0": near(morning, row["speed0"], MORNING),
        "near_pm": near(morning, row["pm_speed"], AFTERNOON),
    }


COLUMNS = ("good0", "to_good", "pm_good", "covered", "sure1", "sure_wrong", "stopped")
PAIRED = ("good0", "near0", "pm_good", "near_pm", "to_good")


def report(rows: list[dict[str, Any]], paired: tuple[str, ...] = PAIRED) -> str:
    """Means by cell and method; then `firm` less the others, paired, by cell and over cells."""
    lines = []
    cells = sorted({(r["kind"], r["arm"], int(r["days"]), r["method"]) for r in rows})
    for kind, arm, days, method in cells:
        here = [
            r
            for r in rows
            if (r["kind"], r["arm"], int(r["days"]), r["method"]) == (kind, arm, days, method)
        ]
        shown = [c for c in dict.fromkeys((*COLUMNS, *paired)) if here[0].get(c, "") != ""]
        means = "  ".join(f"{c} {np.mean([as_number(r[c]) for r in here]):.3f}" for c in shown)
        lines.append(f"{kind:6s} {arm:6s} {days:>2d} days {method:6s} n={len(here)}  {means}")
    for peer in ("alone", "handed"):
        lines.append(f"firm less {peer}, paired by morning, 95 % intervals over firms")
        for days in sorted({int(r["days"]) for r in rows}):
            here = [r for r in rows if int(r["days"]) == days]
            for kind, arm in sorted({(r["kind"], r["arm"]) for r in here}):
                mine = [r for r in here if (r["kind"], r["arm"]) == (kind, arm)]
                lines += gaps(f"{kind:6s} {arm:6s} {days:>2d}", mine, peer, paired)
            lines += gaps(f"all cells     {days:>2d}", here, peer, paired)
    return "\n".join(lines)


def gaps(label: str, rows: list[dict[str, Any]], peer: str, paired: tuple[str, ...]) -> list[str]:
    """`firm` less a peer on the same mornings, in what both were asked: a line, or none where
    they share no morning."""
    asked = [r for r in rows if r["method"] == peer]
    paired = tuple(c for c in paired if asked and asked[0].get(c, "") != "")
    by = {(r["method"], r["kind"], r["arm"], r["roof"], r["morning"]): r for r in rows}
    firms: dict[tuple[Any, ...], list[list[float]]] = defaultdict(list)
    for key, mine in by.items():
        theirs = by.get((peer, *key[1:]))
        if key[0] == "firm" and theirs is not None:
            gap = [as_number(mine[c]) - as_number(theirs[c]) for c in paired]
            firms[key[1:4]].append(gap)
    if not firms:
        return []
    each = np.array([np.mean(one, axis=0) for one in firms.values()])
    text = f"{label} firms={len(each)} mornings={sum(map(len, firms.values()))}"
    for column, gap in zip(paired, each.T, strict=True):
        mean, half = mean_interval(gap) if len(gap) > 1 else (float(gap[0]), float("nan"))
        text += f"  {column} {mean:+.3f} ±{half:.3f}"
    return [text]


def as_number(value: Any) -> float:
    """A cell of a row, fresh or read back from CSV."""
    return float(value == "True") if value in ("True", "False") else float(value)


def main(argv: list[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--mornings", type=int, default=40, help="of each kind and arm")
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--seed", type=int, default=2027)
    parser.add_argument("--arms", nargs="+", default=list(ARMS), choices=ARMS)
    parser.add_argument("--kinds", nargs="+", default=["narrow", "wide"], choices=list(OTHER))
    parser.add_argument("--history", nargs="+", type=int, default=[0, 5, 20])
    parser.add_argument("--judged", type=int, default=4, help="mornings of each firm")
    parser.add_argument("--handed", type=int, default=1, help="of these with every strip handed")
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--out", default="bench-firm", help="folder for firm.csv and report.txt")
    args = parser.parse_args(argv)
    tasks = [
        (i, kind, arm, args.seed, tuple(args.history), args.judged, args.handed)
        for i in range(args.first, args.first + args.mornings)
        for arm in args.arms
        for kind in args.kinds
    ]
    rows: list[dict[str, Any]] = []
    out = Path(args.out)
    out.mkdir(parents=True, exist_ok=True)
    start = time.perf_counter()
    with multiprocessing.Pool(args.processes) as pool:
        for done, some in enumerate(pool.imap_unordered(one, tasks), 1):
            rows += some
            if done in (2, 6) or done % 12 == 0 or done == len(tasks):
                save(out, rows)  # broken off, it keeps what it has
                gone = time.perf_counter() - start
                print(f"{done}/{len(tasks)}, {gone:.0f} s", file=sys.stderr, flush=True)
    print(report(rows))


def save(out: Path, rows: list[dict[str, Any]], paired: tuple[str, ...] = PAIRED) -> None:
    """The rows, and the report on them."""
    with (out / "firm.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, list(dict.fromkeys(name for row in rows for name in row)))
        writer.writeheader()
        writer.writerows(rows)
    (out / "report.txt").write_text(report(rows, paired) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
