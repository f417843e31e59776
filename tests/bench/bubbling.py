"""Is the chance of bubbling worth anything where strips do bubble? `python -m tests.bench.bubbling`.

Invariant: what is judged follows from roof, day and seed alone, never from what the engine says:
strips at fixed shares of the slowest truly good speed of that morning, so that heat alone makes
a part of them bubble, and the same on a moist lot (bubbles `MOIST_K` sooner), which nobody noted.

The crew has 5 or 20 days behind it and one strip of this morning, at the morning's middle speed.
Each chance is held against what came, beside three rates: `own`, how often it bubbled on this
crew's strips so far (one of two added to each side): what a crew has without a model; `kind`, how
often it did among all such strips of other roofs with that sheet; `share`, the same at the same
share of the speed. The last two know what no crew knows: how such lots and sheets bubble, and
where the roof's good speeds end.
"""

from __future__ import annotations

import argparse
import csv
from dataclasses import replace
from pathlib import Path

import numpy as np

from tests.bench.days import MORNING, Day, on_dial, question, read_air, weld
from tests.bench.protocol import Arm, Morning, Row, mornings
from tests.bench.roofs import REACH, SPEEDS, WINDOW, Shift
from weldcal.calibration.engine import fit
from weldcal.calibration.observation import Observation

SHARES = (0.70, 0.80, 0.90, 1.00, 1.10)  # of the slowest truly good speed
MOIST_K = 10.0
REPLICATES = 2000


def judge(morning: Morning, moist: bool) -> list[Row]:
    """The strips of one morning, each with the chance said and whether it bubbled."""
    roof, day = morning.roof, morning.day
    good = [v for v in SPEEDS if morning.good(float(v), MORNING)]
    read = read_air(roof, day.air(roof, MORNING), morning.luck(500))
    if moist:
        day = _moist(day)
    middle = on_dial(float(np.sqrt(good[0] * good[-1])))
    first = weld(roof, day, MORNING, middle, morning.luck(600), read).seen
    known = fit((*morning.earlier, first), WINDOW, seed=0)
    asked = question(day, read, MORNING + 0.25)
    speeds = [float(np.clip(good[0] * share, REACH.speed_min, None)) for share in SHARES]
    said = known.forecast(asked, speeds, day.nozzle_c, WINDOW)
    bubbled = [o.bubbling != "none" for o in (*morning.earlier, first) if o.bubbling is not None]
    own = (sum(bubbled) + 0.5) / (len(bubbled) + 1.0)
    rows = []
    for n, (share, speed, forecast) in enumerate(zip(SHARES, speeds, said, strict=True)):
        seen: Observation = weld(roof, day, MORNING + 0.25, speed, morning.luck(700 + n), read).seen
        rows.append(
            {
                "share": share,
                "chance": forecast.chance_bubbling,
                "own": own,
                "bubbled": seen.bubbling != "none",
            }
        )
    return rows


def _moist(day: Day) -> Day:
    return replace(day, shift=Shift(day.shift.weld_k, day.shift.bubble_k - MOIST_K))


def report(rows: list[Row]) -> str:
    """Brier scores and their differences, with 95 % intervals over roofs."""
    lines = [
        "days, lot: strips, roofs, bubbled; Brier of the engine and of the rates own, kind, share;"
    ]
    lines.append("  engine less each (below 0: the engine is better), 95 % over roofs")
    for days in sorted({r["days"] for r in rows}):
        for lot, kept in (("usual", (False,)), ("moist", (True,)), ("either", (False, True))):
            here = [r for r in rows if r["days"] == days and r["moist"] in kept]
            lines.append(f"{days:2d} {lot}: {_line(here)}")
            lines.append(f"   said and came at each share: {_by_share(here)}")
    return "\n".join(lines)


def _by_share(here: list[Row]) -> str:
    """Mean chance said, and the share that bubbled, at each share of the speed."""
    parts = []
    for share in SHARES:
        like = [r for r in here if r["share"] == share]
        said, came = (np.mean([float(r[k]) for r in like]) for k in ("chance", "bubbled"))
        parts.append(f"{share:.2f}: {said:.2f} {came:.2f}")
    return ", ".join(parts)


def _line(here: list[Row]) -> str:
    came = np.array([float(r["bubbled"]) for r in here])
    engine = (np.array([r["chance"] for r in here]) - came) ** 2
    own = (np.array([r["own"] for r in here]) - came) ** 2
    kind = (_rate(here, ("kind",)) - came) ** 2
    share = (_rate(here, ("kind", "share")) - came) ** 2
    roofs = np.array([f"{r['kind']}{r['roof']}" for r in here])
    tails = "; ".join(
        f"{d.mean():+.4f} ({low:+.4f} to {high:+.4f})"
        for d in (engine - own, engine - kind, engine - share)
        for low, high in [_interval(d, roofs)]
    )
    scores = ", ".join(f"{s.mean():.4f}" for s in (engine, own, kind, share))
    return f"n={len(here)}, {len(set(roofs))}, {int(came.sum())}; {scores}; {tails}"


def _rate(here: list[Row], by: tuple[str, ...]) -> np.ndarray:
    """The share that bubbled among like strips of all other roofs."""
    out = np.empty(len(here))
    for n, row in enumerate(here):
        like = [
            float(r["bubbled"])
            for r in here
            if r["roof"] != row["roof"] and all(r[k] == row[k] for k in by)
        ]
        out[n] = np.mean(like) if like else 0.5
    return out


def _interval(values: np.ndarray, roofs: np.ndarray) -> tuple[float, float]:
    """Of the mean, by drawing whole roofs again."""
    names, at = np.unique(roofs, return_inverse=True)
    sums, counts = np.bincount(at, values), np.bincount(at)
    draws = np.random.default_rng(0).integers(0, len(names), (REPLICATES, len(names)))
    means = sums[draws].sum(axis=1) / counts[draws].sum(axis=1)
    low, high = np.quantile(means, (0.025, 0.975))
    return float(low), float(high)


def main() -> None:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--roofs", type=int, default=30, help="of each sheet")
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--seed", type=int, default=2026)
    parser.add_argument("--history", nargs="+", type=int, default=[5, 20])
    parser.add_argument("--world", default="slab")
    parser.add_argument("--out", default="bench-bubbling")
    args = parser.parse_args()
    out = Path(args.out)
    out.mkdir(parents=True, exist_ok=True)
    rows: list[Row] = []
    for number in range(args.first, args.first + args.roofs):
        for kind in ("wide", "narrow"):
            arms = tuple(Arm(days, False) for days in args.history)
            for arm, morning in mornings(number, kind, args.world, args.seed, arms):  # type: ignore[arg-type]
                for moist in (False, True):
                    label = {"roof": number, "kind": kind, "days": arm.days, "moist": moist}
                    rows += [label | row for row in judge(morning, moist)]
        with (out / "strips.csv").open("w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, list(rows[0]))
            writer.writeheader()
            writer.writerows(rows)
        (out / "report.txt").write_text(report(rows) + "\n", encoding="utf-8")
    print(report(rows))


if __name__ == "__main__":
    main()
