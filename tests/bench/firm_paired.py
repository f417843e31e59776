"""What earlier roofs are worth, at little cost: `python -m tests.bench.firm_paired --firms 20`.

Invariant: every method answers on the same strips. A crew by rule of thumb (the last go-ahead
times the physics slope, half steps) welds the morning until a strip passes; then each method says
its first advice (nobody's strips of the day seen) and its 2 p.m. advice (with all of them). So
one fit serves the first advice of all mornings of a firm, and differences have no luck of their
own in them. With `--dawn` the engine with every strip, the dearest, says first advice only.
`firm.py` lets each method weld its own strips, at ten times the cost.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path
from typing import Any

from tests.bench.days import AFTERNOON, MORNING, passes, question, read_air
from tests.bench.firm import ARMS, OTHER, KnownNames, firm, knowledge, near, save, who
from tests.bench.methods import Rule
from tests.bench.protocol import MOST, Morning
from tests.bench.roofs import REACH, WINDOW, Kind
from weldcal.calibration.advice import STOP, choose
from weldcal.calibration.engine import Fit, fit
from weldcal.calibration.observation import Observation, SpeedQuestion

CREW = Rule("slope", slope=True, halve=True)
PAIRED = ("good0", "near0", "pm_good", "near_pm", "stopped")


def mornings_strips(morning: Morning) -> tuple[Observation, ...]:
    """What the crew welds until a strip passes, six at most."""
    today: tuple[Observation, ...] = ()
    for n in range(MOST):
        hour = MORNING + 0.25 * n
        said = morning.ask(CREW, today, hour, n)
        today += (morning.weld(said.run, hour, n).seen,)
        if passes(today[-1]):
            break
    return today


def asked(morning: Morning, hour: float, draw: int) -> SpeedQuestion:
    """The question at an hour, under what is read then."""
    read = read_air(morning.roof, morning.day.air(morning.roof, hour), morning.luck(500 + draw))
    return question(morning.day, read, hour)


def speed(known: Fit, now: SpeedQuestion) -> tuple[float, bool]:
    """The speed advised, and whether it is a STOP: then the last one welded goes on."""
    state = known.state(now)
    if state.broken >= STOP:
        return known.observations[-1].speed_m_per_min, True
    return choose(known.without(state.aside), now, WINDOW, REACH).speed, False


def one(
    task: tuple[int, Kind, str, int, tuple[int, ...], int, int], dawn: bool = False
) -> list[dict[str, Any]]:
    """All histories, mornings and methods of one firm."""
    number, kind, arm, seed, days, judged, handed = task
    found = firm(number, kind, arm, seed, days, judged)
    known = KnownNames(knowledge(found), who(found))
    strips = tuple(row for _, rows in found.earlier for row in rows)
    out = []
    for count, mornings in found.mornings.items():
        own = mornings[0].earlier
        first = {
            "alone": fit(own, WINDOW),
            "firm": fit(own, WINDOW, known=known),
            "handed": fit((*strips, *own), WINDOW),
        }
        for n, morning in enumerate(mornings):
            today = mornings_strips(morning)
            for method, before in first.items():
                if method == "handed" and n >= handed:
                    continue
                row = _row(before, morning, today, both=not (dawn and method == "handed"))
                label = {"roof": number, "kind": kind, "arm": arm, "days": count, "morning": n}
                out.append(label | {"method": method} | row)
    return out


def _row(
    before: Fit, morning: Morning, today: tuple[Observation, ...], *, both: bool = True
) -> dict[str, Any]:
    """First advice of one method, and 2 p.m. where both are asked."""
    dawn, _never = speed(before, asked(morning, MORNING, 0))
    first = {"good0": morning.good(dawn, MORNING), "near0": near(morning, dawn, MORNING)}
    if not both:
        return first
    later, stopped = speed(
        before.of((*before.observations, *today)), asked(morning, AFTERNOON, 100)
    )
    return first | {
        "pm_good": morning.good(later, AFTERNOON),
        "near_pm": near(morning, later, AFTERNOON),
        "stopped": stopped,
    }


def main(argv: list[str] | None = None) -> None:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--firms", type=int, default=20, help="of each kind and arm")
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--seed", type=int, default=2027)
    parser.add_argument("--history", nargs="+", type=int, default=[0, 5, 20])
    parser.add_argument("--judged", type=int, default=8, help="mornings of each firm")
    parser.add_argument("--handed", type=int, default=2, help="of these with every strip handed")
    parser.add_argument("--dawn", action="store_true", help="every strip handed: no 2 p.m.")
    parser.add_argument("--arms", nargs="+", default=list(ARMS), choices=ARMS)
    parser.add_argument("--kinds", nargs="+", default=list(OTHER), choices=list(OTHER))
    parser.add_argument("--out", default="bench-firm-paired")
    args = parser.parse_args(argv)
    out = Path(args.out)
    out.mkdir(parents=True, exist_ok=True)
    rows: list[dict[str, Any]] = []
    start = time.perf_counter()
    cells = [(arm, kind) for arm in args.arms for kind in args.kinds]
    for done, (i, (arm, kind)) in enumerate(
        ((i, c) for i in range(args.first, args.first + args.firms) for c in cells), 1
    ):
        task = (i, kind, arm, args.seed, tuple(args.history), args.judged, args.handed)
        rows += one(task, args.dawn)
        if done % len(cells) == 0:
            save(out, rows, PAIRED)  # broken off, it keeps what it has
            print(f"{done}, {time.perf_counter() - start:.0f} s", file=sys.stderr, flush=True)
    print((out / "report.txt").read_text(encoding="utf-8"))


if __name__ == "__main__":
    main()
