"""Mornings on which something breaks: `python -m tests.bench.broken --mornings 60`.

Invariant: a fault changes the truth (or, mistyped, what was typed) from one moment on; the
engine sees strips, checks and readings only. A fault counts only where the speed that had just
passed is no longer good, or, mistyped, where nothing is wrong but the typing.

The crew has 20 days behind it (or none), strips until one passes, and then makes a bleed check
every three quarters of an hour at the speed advised. From the first bad check or strip on it
makes a strip at the speed advised each quarter of an hour. Everything is invented: faults,
their sizes, habits.
"""

from __future__ import annotations

import argparse
import csv
import multiprocessing
import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from tests.bench.days import (
    MORNING,
    READINGS,
    Day,
    Strip,
    on_dial,
    passes,
    question,
    read_air,
    weld,
)
from tests.bench.judged import Engine
from tests.bench.methods import Choice, Known, Scene
from tests.bench.protocol import Arm, Morning, Row, mornings
from tests.bench.roofs import Response, Shift
from weldcal.calibration.observation import SIXTEENTH_MM, Observation

MOST = 8  # strips and checks after the fault
CHECKS = (0, 2, 4)  # good checks before it
ENGINE = Engine("weldcal")


@dataclass(frozen=True, slots=True)
class Fault:
    """What breaks: the day as it then is, and what becomes of truth and of what is typed.

    `lasts`: it is there until somebody mends it; a mistyped reading is not. `pulled`: what
    is made after it are strips that are pulled, for a bleed check cannot show it. `damp_noted`:
    somebody wrote down that it had rained.
    """

    name: str
    day: Callable[[Day], Day] = lambda day: day
    truth: Callable[[Response], Response] = lambda truth: truth
    lasts: bool = True
    pulled: bool = False
    damp_noted: bool = False


def _machine(**factors: float) -> Callable[[Day], Day]:
    def broken(day: Day) -> Day:
        changed = {name: getattr(day.machine, name) * f for name, f in factors.items()}
        return replace(day, machine=replace(day.machine, **changed))

    return broken


def _lot(day: Day) -> Day:
    return replace(day, shift=Shift(day.shift.weld_k + 20.0, day.shift.bubble_k))


def _sag(day: Day) -> Day:
    return replace(day, volts=(day.volts[0] * 0.80, day.volts[1] * 0.80))


def _wet(truth: Response) -> Response:
    return Response(truth.log_mm - 0.2, truth.bubble_k + 40.0, truth.bond_k)


def _film(truth: Response) -> Response:
    return Response(truth.log_mm, truth.bubble_k, truth.bond_k - 60.0)


FAULTS = (
    Fault("nozzle half blocked", _machine(flow=0.72)),
    Fault("element out", _machine(cap_k=0.62)),
    Fault("voltage sag", _sag),
    Fault("dial slips, fast", _machine(speed=1.45)),
    Fault("dial slips, slow", _machine(speed=0.65)),
    Fault("wet roll", truth=_wet),
    Fault("film left, only checks", truth=_film),
    Fault("film left, strips pulled", truth=_film, pulled=True),
    Fault("other lot", _lot),
    Fault("mistyped", lasts=False),
    Fault("wet roll, damp noted", truth=_wet, damp_noted=True),
)


@dataclass
class Crew:
    """One morning under a fault: the truth as it is, and the rows so far."""

    morning: Morning
    fault: Fault
    begun: bool = False
    made: int = 0

    @property
    def day(self) -> Day:
        """The day, broken once the fault has begun."""
        return self.fault.day(self.morning.day) if self.begun else self.morning.day

    def truth(self, speed: float, hour: float) -> Response:
        """What a speed truly gives now."""
        air = self.day.air(self.morning.roof, hour)
        found = self.morning.roof.physics.respond(
            np.array([speed]), self.day.nozzle_c, air, self.day.machine, self.day.shift
        )
        return self.fault.truth(found) if self.begun else found

    def ask(self, today: tuple[Observation, ...], hour: float) -> Choice:
        """The engine's answer under what is read. A sagging line is not read again."""
        roof, day = self.morning.roof, self.morning.day
        self.read = read_air(roof, day.air(roof, hour), self._rng())
        known = Known(self.morning.earlier, today, question(day, self.read, hour))
        return ENGINE.choose(known, Scene(roof, day, hour))

    def weld(self, speed: float, hour: float, *, check: bool, typo: bool = False) -> Strip:
        """A strip, or a bleed check on the seam: two readings, no pull."""
        roof = self.morning.roof
        if self.begun:
            made = self._broken(on_dial(speed), hour)
        else:
            made = weld(roof, self.day, hour, on_dial(speed), self._rng(), self.read)
        seen = replace(made.seen, on_seam=check)
        if check:
            seen = replace(seen, bond=None, readings_mm=seen.readings_mm[:2])
        if typo:  # 1/4 typed as 1/16: a digit left out
            seen = replace(seen, readings_mm=tuple(r / 4.0 for r in seen.readings_mm))
        return replace(made, seen=seen)

    def _broken(self, speed: float, hour: float) -> Strip:
        """As `days.weld`, from a truth that the fault has changed."""
        roof, noise, rng = self.morning.roof, self.morning.roof.noise, self._rng()
        z, each = rng.standard_normal(4), rng.standard_normal((2, READINGS))
        truth = self.truth(speed, hour)
        level = truth.log_mm.item() + noise.strip * z[0]
        widths = np.exp(level + noise.reading * each[0]) + noise.reading_mm * each[1]
        bubble = truth.bubble_k.item() + noise.bubble_k * z[1]
        usual = weld(roof, self.morning.day, hour, speed, self._rng(), self.read).seen
        seen = replace(
            usual,
            readings_mm=tuple(np.round(np.maximum(widths, 0.0) / SIXTEENTH_MM) * SIXTEENTH_MM),
            bubbling="none"
            if bubble < 0
            else "trace"
            if bubble < roof.physics.trace_k
            else "heavy",
            bond="good" if truth.bond_k.item() + noise.bond_k * z[2] > 0 else "cold",
        )
        return Strip(seen, truth, float(np.median(widths)))

    def _rng(self) -> np.random.Generator:
        self.made += 1
        return np.random.default_rng([self.morning.seed, self.morning.roof.number, 900, self.made])


@dataclass(frozen=True, slots=True)
class Begun:
    """A morning up to the fault: what was made, when, the speed then advised, whether a STOP
    was said, whether it was ever sure, and how many strips' luck is spent."""

    today: tuple[Observation, ...]
    hour: float
    speed: float
    stopped: bool
    sure: bool
    made: int


def begin(morning: Morning) -> dict[int, Begun]:
    """Strips until one passes, then bleed checks, with nothing broken: the morning as it stands
    after each number of checks."""
    crew = Crew(morning, Fault("none"))
    today: tuple[Observation, ...] = ()
    hour = MORNING
    said: list[Choice] = []
    for _ in range(6):
        said.append(crew.ask(today, hour))
        strip = crew.weld(said[-1].run, hour, check=False)
        today, hour = (*today, strip.seen), hour + 0.25
        if passes(strip.seen):
            break
    found = {}
    for checks in range(max(CHECKS) + 1):
        hour += 0.75
        said.append(crew.ask(today, hour))
        stopped, sure = any(c.stop for c in said), any(bool(c.sure) for c in said)
        found[checks] = Begun(today, hour, said[-1].speed, stopped, sure, crew.made)
        today = (*today, crew.weld(said[-1].speed, hour, check=True).seen)
    return found


def judge(morning: Morning, fault: Fault, begun: Begun) -> Row | None:
    """One row for a morning under a fault; none where the fault does no harm."""
    crew = Crew(morning, fault, made=begun.made)
    was_good = bool(crew.truth(begun.speed, begun.hour).good().item())
    crew.begun = fault.lasts
    is_good = bool(crew.truth(begun.speed, begun.hour).good().item())
    if not was_good or (fault.lasts and is_good):
        return None
    crew.ask(begun.today, begun.hour)  # reads the air
    row: Row = {"stopped_healthy": begun.stopped, "sure_healthy": begun.sure}
    return row | _after(crew, begun.today, begun.hour, begun.speed)


def _after(crew: Crew, today: tuple[Observation, ...], hour: float, speed: float) -> Row:
    """What is said from the fault on: when STOP, and what was advised in between."""
    row: Row = {"until_stop": -1, "sure": 0, "sure_wrong": 0, "advised_wrong": 0, "asked": 0}
    row["said"] = ""  # of each answer: chance, broken, sure, good; and what was seen bubbling
    check, run = not crew.fault.pulled, speed
    for n in range(1, MOST + 1):
        typo = not crew.fault.lasts and n == 1
        made = crew.weld(run, hour, check=check, typo=typo)
        seen = replace(made.seen, after_damp=crew.fault.damp_noted and n == 1)
        today, hour = (*today, seen), hour + 0.25
        said = crew.ask(today, hour)
        if said.stop:
            row["until_stop"] = n
            break
        good = bool(crew.truth(said.speed, hour).good().item())
        row["asked"] += 1
        row["said"] += (
            f"{said.chance:.4f},{said.broken:.4f},{said.sure:d},{good:d},{made.seen.bubbling};"
        )
        row["sure"] += bool(said.sure)
        row["sure_wrong"] += bool(said.sure and not good)
        row["advised_wrong"] += not good
        check, run = check and passes(made.seen, pull_needed=False), said.run
        if not check and passes(made.seen) and good:
            break  # a strip passed at a truly good setting: dialled in again
    return row


def one(task: tuple[int, str, str, int, int]) -> list[Row]:
    """All faults on one roof."""
    number, kind, world, seed, days = task
    ((_, morning),) = mornings(number, kind, world, seed, (Arm(days, False),))  # type: ignore[arg-type]
    rows = []
    begun = begin(morning)
    for i, fault in enumerate(FAULTS):
        row = judge(morning, fault, begun[CHECKS[(number + i) % len(CHECKS)]])
        if row is not None:
            rows.append({"roof": number, "kind": kind, "days": days, "fault": fault.name} | row)
    return rows


def report(rows: list[Row]) -> str:
    """A line for each fault, sheet and history."""
    lines = [
        "fault, sheet, days: n; STOP ever, by 2, by 3, median until; asked, sure, sure and wrong"
    ]
    keys = dict.fromkeys((r["fault"], r["kind"], r["days"]) for r in rows)
    for fault, kind, days in sorted(
        keys, key=lambda k: ([f.name for f in FAULTS].index(k[0]), k[2], k[1])
    ):
        here = [r for r in rows if (r["fault"], r["kind"], r["days"]) == (fault, kind, days)]
        lines.append(f"{fault:24s} {kind:6s} {days:2d}: {_line(here)}")
    every = len(rows)
    sure = [r for r in rows if r["sure"]]
    wrong = [r for r in rows if r["sure_wrong"]]
    stopped = sum(bool(r["stopped_healthy"]) for r in rows)
    lines.append(f"before the fault, STOP: {stopped} of {every}")
    lines.append(f"after it, ever sure {len(sure)} of {every}; ever sure and wrong {len(wrong)}")
    day = [r for r in rows if r["sure"] or r["sure_healthy"]]
    lines.append(f"sure at any time of the day {len(day)}; of these wrong {len(wrong)}")
    return "\n".join(lines)


def _line(here: list[Row]) -> str:
    until = np.array([r["until_stop"] for r in here])
    said = until[until > 0]
    by = [np.mean((until > 0) & (until <= k)) for k in (2, 3)]
    middle = f"{np.median(said):.0f}" if len(said) else "-"
    asked, sure, wrong = (sum(r[k] for r in here) for k in ("asked", "sure", "sure_wrong"))
    return (
        f"n={len(here):3d}  ever {np.mean(until > 0):.2f}  by 2 {by[0]:.2f}  by 3 {by[1]:.2f}  "
        f"median {middle}  asked {asked:3d}  sure {sure:3d}  sure and wrong {wrong}"
    )


def main() -> None:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--mornings", type=int, default=60, help="roofs, half of them narrow")
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--seed", type=int, default=2026)
    parser.add_argument("--history", nargs="+", type=int, default=[0, 20])
    parser.add_argument("--world", default="slab")
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--out", default="bench-broken")
    args = parser.parse_args()
    numbers = range(args.first, args.first + args.mornings // 2)
    tasks = [
        (i, kind, args.world, args.seed, days)
        for i in numbers
        for kind in ("wide", "narrow")
        for days in args.history
    ]
    out = Path(args.out)
    out.mkdir(parents=True, exist_ok=True)
    rows: list[Row] = []
    with multiprocessing.Pool(args.processes) as pool:
        for done, some in enumerate(pool.imap_unordered(one, tasks), 1):
            rows += some
            if done % 8 == 0 or done == len(tasks):  # broken off, it keeps what it has
                _save(out, rows)
                print(f"{done}/{len(tasks)}", file=sys.stderr, flush=True)
    print((out / "report.txt").read_text(encoding="utf-8"))


def _save(out: Path, rows: list[Row]) -> None:
    rows.sort(key=lambda r: (r["fault"], r["kind"], r["days"], r["roof"]))
    with (out / "broken.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    (out / "report.txt").write_text(report(rows) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
