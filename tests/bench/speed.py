"""Timing: whole processes, as ratios, and how the fit grows with the strips.

`python -m tests.bench.speed [--runs 11] [--commands FILE]`. Invariant: every figure is
the median of whole-process wall times, runs of the rows interleaved so that a busy
machine hurts all alike; ratios are to `python -c "import sklearn.linear_model"`.
FILE holds command lines to time as they are, one a line as `label<TAB>command` (the
recording commands and `dial`, once there is a book to run them on).
"""

from __future__ import annotations

import argparse
import os
import shlex
import statistics
import subprocess
import sys
import time
from pathlib import Path

import numpy as np

from weldcal.calibration.observation import Observation, Reach, SpeedQuestion, Window

BASE = "import sklearn.linear_model"
WINDOW = Window(3.175, 6.35, 9.525)
REACH = Reach(0.6, 10.0, 0.1, 400.0, 650.0)
DATA_SEED = 5


def invented(strips: int, days: int, machines: int) -> tuple[Observation, ...]:
    """Invented strips, log-linear in speed and temperature, spread over days and machines."""
    rng = np.random.default_rng(DATA_SEED)
    day_offset, machine_offset = rng.normal(0, 0.15, days), rng.normal(0, 0.1, machines)
    rows = []
    for i in range(strips):
        day, machine = i * days // strips, int(rng.integers(machines))
        sheet = 20 + 12 * np.sin(day / 58) + rng.normal(0, 4)
        speed = 3.0 * np.exp(0.013 * (sheet - 25) + rng.normal(0, 0.12))
        log_mm = np.log(6.35) - 2 * np.log(speed / 3.0) + 0.026 * (sheet - 25)
        log_mm += day_offset[day] + machine_offset[machine] + rng.normal(0, 0.07)
        widths = np.exp(log_mm + rng.normal(0, 0.1, 5))
        rows.append(
            Observation(
                day=f"{day:04d}",
                machine=f"M{machine}",
                sheet="cap",
                lap="selvage",
                nozzle_c=540.0,
                speed_m_per_min=round(float(speed), 2),
                ambient_c=round(float(sheet) - 6, 1),
                sheet_c=round(float(sheet), 1),
                wind_m_per_s=2.0,
                line_v=225.0,
                rated_v=230.0,
                readings_mm=tuple(np.round(widths * 16 / 25.4) * 25.4 / 16),
                bubbling="heavy" if log_mm > 2.7 else "trace" if log_mm > 2.5 else "none",
                bond=None if rng.random() < 0.5 else "good" if log_mm > 0.8 else "cold",
            )
        )
    return tuple(rows)


def advise(strips: int, days: int, machines: int) -> float:
    """Seconds of one fit with its advice, in this process."""
    from weldcal.calibration.engine import fit

    rows = invented(strips, days, machines)
    question = SpeedQuestion(
        day=rows[-1].day,
        machine="M0",
        sheet="cap",
        lap="selvage",
        nozzle_c=540.0,
        ambient_c=24.0,
        sheet_c=30.0,
        wind_m_per_s=2.0,
        line_v=225.0,
        rated_v=230.0,
    )
    start = time.perf_counter()
    fit(rows, WINDOW, seed=0).advise(question, WINDOW, REACH)
    return time.perf_counter() - start


def whole(command: list[str]) -> float:
    """Wall seconds of one process."""
    start = time.perf_counter()
    subprocess.run(
        command, check=True, capture_output=True, env=os.environ | {"OMP_NUM_THREADS": "1"}
    )
    return time.perf_counter() - start


def rows_of(extra: Path | None) -> dict[str, list[str]]:
    """Label and command of every row."""
    inside = "from tests.bench.speed import advise; advise({}, {}, {})"
    rows = {
        "import sklearn.linear_model": [sys.executable, "-c", BASE],
        "import typer": [sys.executable, "-c", "import typer"],
        "import the engine": [sys.executable, "-c", "import weldcal.calibration.engine"],
        "advice, 50 strips, 15 days": [sys.executable, "-c", inside.format(50, 15, 2)],
        "advice, 2,000 strips, 400 days": [sys.executable, "-c", inside.format(2000, 400, 4)],
        "advice, 5,000 strips, 1,000 days, 30 machines": [
            sys.executable,
            "-c",
            inside.format(5000, 1000, 30),
        ],
    }
    if extra is not None:
        for line in extra.read_text(encoding="utf-8").splitlines():
            label, _, command = line.partition("\t")
            if command:
                rows[label] = shlex.split(command)
    return rows


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=11)
    parser.add_argument("--commands", type=Path)
    parser.add_argument("--growth", type=int, nargs="+", default=[50, 200, 1000, 2000, 5000, 10000])
    args = parser.parse_args()
    rows = rows_of(args.commands)
    seen: dict[str, list[float]] = {label: [] for label in rows}
    for _ in range(args.runs):
        for label, command in rows.items():
            seen[label].append(whole(command))
    base = statistics.median(seen["import sklearn.linear_model"])
    print(f"{'whole process':48s} median s   ratio   (least)")
    for label, times in seen.items():
        middle = statistics.median(times)
        print(f"{label:48s} {middle:8.3f}  {middle / base:6.2f}   ({min(times) / base:.2f})")
    print("\nstrips   fit and advice, s (median of 3)   ms a strip")
    for count in args.growth:
        took = statistics.median(advise(count, max(count // 5, 2), 30) for _ in range(3))
        print(f"{count:6d}   {took:8.3f}   {1000 * took / count:8.3f}")


if __name__ == "__main__":
    main()
