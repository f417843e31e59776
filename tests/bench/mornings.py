"""Run the judged mornings: `python -m tests.bench.mornings --mornings 2000`.

Invariant: what is run follows from the arguments and the seed alone. Half of the
mornings are on sheets with a wide window, half on narrow ones; each is judged behind
every history. Slow methods run on the first `--slow` mornings, and the tables say so.
"""

from __future__ import annotations

import argparse
import csv
import multiprocessing
import sys
import time
from pathlib import Path

from tests.bench.judged import Engine
from tests.bench.learners import Improver, PlainProcess
from tests.bench.methods import Method, Rule
from tests.bench.oracle import Oracle, PriorOracle
from tests.bench.protocol import Arm, Row, judge, mornings
from tests.bench.regressions import Conjugate, LeastSquares, Mixed
from tests.bench.roofs import WORLDS
from tests.bench.tally import report

METHODS: dict[str, Method] = {
    m.name: m
    for m in (
        Engine("weldcal"),
        Engine("weldcal_best", follow=False),
        Rule("yesterday"),
        Rule("half_step", halve=True),
        Rule("slope", slope=True, halve=True),
        LeastSquares("ols_today", pooled=False),
        LeastSquares("ols_pooled", pooled=True),
        Mixed(),
        Conjugate(),
        PlainProcess(),
        Improver(),
        Oracle(),
        PriorOracle(),
    )
}
SLOW = {"gp", "optimiser", "oracle_prior", "weldcal_best"}


def one(
    task: tuple[int, str, str, int, tuple[Arm, ...], tuple[str, ...], bool],
) -> tuple[list[Row], list[Row]]:
    """All arms and methods on one roof."""
    number, kind, world, seed, arms, names, read_once = task
    rows: list[Row] = []
    checks: list[Row] = []
    known: dict[str, tuple[Row, list[Row]]] = {}
    for arm, morning in mornings(number, kind, world, seed, arms, read_once=read_once):  # type: ignore[arg-type]
        for name in names:
            if name == "oracle_prior" and arm.days:
                continue
            label: Row = {
                "roof": number,
                "kind": kind,
                "days": arm.days,
                "corrupted": arm.corrupted,
                "method": name,
            }
            start = time.perf_counter()
            row, seen = known.get(name) or judge(morning, METHODS[name])
            row.setdefault("seconds", round(time.perf_counter() - start, 4))
            if name == "oracle":  # it does not look at history
                known[name] = row, seen
            row["slope"], row["reads_sheet"] = morning.roof.slope_per_k, morning.roof.reads_sheet
            rows.append(label | row)
            checks.extend(label | c for c in seen)
    return rows, checks


def main(argv: list[str] | None = None) -> None:
    args = _arguments(argv)
    arms = tuple(Arm(d, False) for d in args.history)
    arms += tuple(Arm(d, True) for d in args.corrupted if d)
    tasks = []
    for i in range(args.first, args.first + args.mornings // 2):
        names = tuple(n for n in args.methods if n not in SLOW or i - args.first < args.slow // 2)
        tasks += [
            (i, kind, args.world, args.seed, arms, names, args.read_once) for kind in args.kinds
        ]
    rows: list[Row] = []
    checks: list[Row] = []
    start = time.perf_counter()
    with multiprocessing.Pool(args.processes) as pool:
        for done, (some, seen) in enumerate(pool.imap_unordered(one, tasks), 1):
            rows += some
            checks += seen
            if done in (4, 20) or done % max(len(tasks) // 10, 1) == 0:
                _keep(Path(args.out), rows, checks)  # broken off, it keeps what it has
                gone = time.perf_counter() - start
                left = gone / done * (len(tasks) - done)
                print(
                    f"{done}/{len(tasks)} mornings, {gone:.0f} s, about {left:.0f} s left",
                    file=sys.stderr,
                    flush=True,
                )
    _keep(Path(args.out), rows, checks)
    text = report(rows, checks, subject=args.subject)
    (Path(args.out) / "report.txt").write_text(
        f"{' '.join(sys.argv)}\n\n{text}\n", encoding="utf-8"
    )
    print(text)


def _keep(out: Path, rows: list[Row], checks: list[Row]) -> None:
    out.mkdir(parents=True, exist_ok=True)
    rows.sort(key=lambda r: (r["kind"], r["days"], r["corrupted"], r["roof"], r["method"]))
    _save(out / "mornings.csv", rows)
    _save(out / "predictions.csv", checks)


def _arguments(argv: list[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--mornings", type=int, default=200)
    parser.add_argument("--first", type=int, default=0, help="number of the first roof")
    parser.add_argument(
        "--kinds", nargs="+", default=["wide", "narrow"], choices=["wide", "narrow"]
    )
    parser.add_argument("--seed", type=int, default=2026)
    parser.add_argument("--methods", nargs="+", default=list(METHODS), choices=list(METHODS))
    parser.add_argument("--history", nargs="+", type=int, default=[0, 5, 20])
    parser.add_argument(
        "--corrupted", nargs="*", type=int, default=[20], help="corrupted histories, days"
    )
    parser.add_argument(
        "--slow", type=int, default=200, help=f"mornings for {', '.join(sorted(SLOW))}"
    )
    parser.add_argument("--world", choices=tuple(WORLDS), default="slab")
    parser.add_argument(
        "--read-once", action="store_true", help="conditions are read at the first strip only"
    )
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument(
        "--subject", default="weldcal", help="the method the others are compared with"
    )
    parser.add_argument(
        "--out", default="bench-out", help="folder for report.txt and the CSV files"
    )
    return parser.parse_args(argv)


def _save(path: Path, rows: list[Row]) -> None:
    names = list(dict.fromkeys(name for row in rows for name in row))
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, names)
        writer.writeheader()
        writer.writerows(rows)


if __name__ == "__main__":
    main()
