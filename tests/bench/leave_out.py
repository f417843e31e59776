"""Leave one roof out: `python -m tests.bench.leave_out --firms 20`.

A firm has six roofs (`tests.bench.firm`, arms `same` and `other`: wide and narrow sheets, some on
several roofs). Each in turn is left out, with all its strips; the other five are what was welded
before. On the left-out roof's workable days a method with none of that roof's strips is judged:

- first advice: truly good or not (`good0`), and as a share of days alike (`near0`);
- the strips that a crew by rule of thumb welds that morning, each predicted before any of them:
  share inside the 90 % interval (`covered`), how far off the middle is in ln width (`off`), and
  the interval's own score (`score`: its width in ln, and 20 times what a strip lies outside by;
  Gneiting and Raftery 2007, J. Am. Stat. Assoc. 102:359; less is better).

Methods: `alone` (the tables), `firm` (what `learn` makes of the five), `handed` (every strip of
the five in one fit). Rows apart for roofs whose sheet was on another of the five, and for sheets
not met. Intervals are 95 %, over firms. `--methods alone firm` leaves out the dearest.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from tests.bench.days import MORNING, Strip, passes, question, read_air
from tests.bench.firm import OTHER, Firm, KnownNames, _workable, firm, near
from tests.bench.firm_paired import CREW, asked, speed
from tests.bench.protocol import MOST, Morning
from tests.bench.roofs import WINDOW, Kind
from tests.bench.tally import mean_interval
from weldcal.calibration.engine import Fit, fit
from weldcal.calibration.job_said import JobSaid, job_said
from weldcal.calibration.keys import SheetKey, Who
from weldcal.calibration.knowledge import TaughtJob, learn
from weldcal.calibration.observation import Observation, SpeedQuestion

COLUMNS = ("good0", "near0", "covered", "off", "score")
METHODS = ("alone", "firm", "handed")
Row = dict[str, Any]


def one(
    number: int, kind: Kind, arm: str, seed: int, days: int, methods: Sequence[str] = METHODS
) -> list[Row]:
    """Every roof of a firm left out in turn."""
    found = firm(number, kind, arm, seed, (0,))
    said = [job_said(rows, WINDOW) for _, rows in found.earlier]
    out: list[Row] = []
    for j, (sheet, _) in enumerate(found.earlier):
        there, every = found.roofs[j]
        mornings = [
            Morning(there, day, seed + 10_000 * n, ())
            for n, day in enumerate(every)
            if _workable(there, day)
        ][:days]
        met = any(s.name == sheet.name for i, (s, _) in enumerate(found.earlier) if i != j)
        for method, known in _fits(found, said, j, sheet.name, methods).items():
            rows = [_judged(known, morning) for morning in mornings]
            label = {"firm": (number, kind, arm), "kind": sheet.kind, "met": met}
            out += [label | {"method": method} | row for row in rows]
    return out


def _fits(
    found: Firm, said: list[JobSaid | None], left: int, sheet: str, methods: Sequence[str]
) -> dict[str, Fit]:
    """What each method has before the first strip of the roof left out."""
    machines = {machine.name: machine.name for machine in found.roofs[left][0].machines}
    jobs = [TaughtJob(f"j{i}", s, Who()) for i, s in enumerate(said) if s is not None and i != left]
    who = Who(machines, {"cap": SheetKey(sheet)})
    strips = [
        _as_cap(row, sheet)
        for i, (_, rows) in enumerate(found.earlier)
        if i != left
        for row in rows
    ]
    made: dict[str, Callable[[], Fit]] = {
        "alone": lambda: fit((), WINDOW),
        "firm": lambda: fit((), WINDOW, known=KnownNames(learn(jobs), who)),
        "handed": lambda: fit(strips, WINDOW),
    }
    return {method: made[method]() for method in methods}


def _as_cap(row: Observation, sheet: str) -> Observation:
    """The mornings call their sheet cap: so does an earlier strip of the same, and no other."""
    return replace(row, sheet="cap" if row.sheet == sheet else f"earlier {row.sheet}")


def _judged(known: Fit, morning: Morning) -> Row:
    dawn, _never = speed(known, asked(morning, MORNING, 0))
    inside, off, score = [], [], []
    for now, strip in _welded(morning):
        seen = strip.seen
        told = known.forecast(now, [seen.speed_m_per_min], seen.nozzle_c)[0]
        low, middle, high, was = np.log(
            [told.width_low_mm, told.width_mm, told.width_high_mm, max(strip.median_mm, 0.1)]
        )
        inside.append(low <= was <= high)
        off.append(abs(was - middle))
        score.append(high - low + 20.0 * (max(low - was, 0.0) + max(was - high, 0.0)))
    return {
        "good0": morning.good(dawn, MORNING),
        "near0": near(morning, dawn, MORNING),
        "covered": np.mean(inside),
        "off": np.mean(off),
        "score": np.mean(score),
    }


def _welded(morning: Morning) -> list[tuple[SpeedQuestion, Strip]]:
    """The strips of a crew by rule of thumb until one passes, and what was read for each."""
    found: list[tuple[SpeedQuestion, Strip]] = []
    for n in range(MOST):
        hour = MORNING + 0.25 * n
        said = morning.ask(CREW, tuple(strip.seen for _, strip in found), hour, n)
        read = read_air(morning.roof, morning.day.air(morning.roof, hour), morning.luck(500 + n))
        strip = morning.weld(said.run, hour, n)
        found.append((question(morning.day, read, hour), strip))
        if passes(strip.seen):
            break
    return found


def report(rows: list[Row]) -> str:
    """Means by kind of sheet, and `firm` less the others, paired, over firms."""
    lines = []
    methods = [m for m in METHODS if any(r["method"] == m for r in rows)]
    for kind in sorted({r["kind"] for r in rows}):
        for met in (True, False):
            here = [r for r in rows if (r["kind"], r["met"]) == (kind, met)]
            label = f"{kind:6s} {'sheet met' if met else 'sheet new'}"
            lines += [_means(label, here, method) for method in methods if here]
    for peer in (m for m in methods if m != "firm" and "firm" in methods):
        lines.append(f"firm less {peer}")
        for kind in sorted({r["kind"] for r in rows}):
            for met in (True, False):
                here = [r for r in rows if (r["kind"], r["met"]) == (kind, met)]
                if here:
                    lines.append(
                        _gap(f"{kind:6s} {'sheet met' if met else 'sheet new'}", here, peer)
                    )
        lines.append(_gap("all roofs       ", rows, peer))
    return "\n".join(lines)


def _by_firm(rows: list[Row], method: str) -> dict[Any, np.ndarray]:
    found: dict[Any, list[list[float]]] = defaultdict(list)
    for row in rows:
        if row["method"] == method:
            found[row["firm"]].append([float(row[c]) for c in COLUMNS])
    return {key: np.mean(values, axis=0) for key, values in found.items()}


def _means(label: str, rows: list[Row], method: str) -> str:
    mine = [r for r in rows if r["method"] == method]
    told = "  ".join(f"{c} {np.mean([float(r[c]) for r in mine]):.3f}" for c in COLUMNS)
    return f"{label} {method:6s} mornings={len(mine)}  {told}"


def _gap(label: str, rows: list[Row], peer: str) -> str:
    mine, theirs = _by_firm(rows, "firm"), _by_firm(rows, peer)
    gaps = np.array([mine[key] - theirs[key] for key in mine])
    text = f"{label} firms={len(gaps)}"
    for column, gap in zip(COLUMNS, gaps.T, strict=True):
        mean, half = mean_interval(gap) if len(gap) > 1 else (float(gap[0]), float("nan"))
        text += f"  {column} {mean:+.3f} ±{half:.3f}"
    return text


def main(argv: list[str] | None = None) -> None:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--firms", type=int, default=10, help="of each kind and arm")
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--seed", type=int, default=2027)
    parser.add_argument("--days", type=int, default=3, help="judged mornings of each roof left out")
    parser.add_argument("--methods", nargs="+", default=list(METHODS), choices=METHODS)
    args = parser.parse_args(argv)
    rows: list[Row] = []
    start = time.perf_counter()
    for i in range(args.first, args.first + args.firms):
        for kind in OTHER:
            for arm in ("same", "other"):
                rows += one(i, kind, arm, args.seed, args.days, args.methods)
        print(f"{i}, {time.perf_counter() - start:.0f} s", file=sys.stderr)
        print(report(rows), flush=True)  # broken off, it has told what it has


if __name__ == "__main__":
    main()
