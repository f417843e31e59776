"""Published windows: leave out each ambient in turn, fit the others, predict its window.

`python -m tests.bench.park`. Source: Park et al. 2020, Materials 13(23):5586, doi
10.3390/ma13235586, from the abstract: good speed windows of a hot-air welded EVA roofing
sheet at six ambients. Only the windows are published there, so strips are made from
them, and said so: the two edges (just inside) and the middle are good; 15 % and 35 %
past the fast edge the bond is cold; 15 % and 35 % past the slow edge it bubbles heavily.
The nozzle temperature was not in the abstract: 520 °C is put for all. Nothing here bled
out, so readings are empty and the sheet is judged without bleed-out. The paper's speeds
ran from 3 to 9 m/min: an edge at either end may be where the trial ended, not where the
window does (marked *), and counts for no edge error.

Since neighbours 5 K away make that easy, a harder table follows: the three cold
ambients predicted from the three warm ones, and the other way about.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from tests.bench.methods import physics_log_speed
from tests.published_windows import WINDOWS as PUBLISHED
from weldcal.calibration.observation import Observation, Reach, SpeedQuestion, Window

WINDOWS = {float(ambient): window for ambient, window in PUBLISHED.items()}
TRIED = (3.0, 9.0)
NOZZLE_C = 520.0
WINDOW = Window(low_mm=3.0, aim_mm=6.0, high_mm=9.0, by_bleed_out=False)
REACH = Reach(1.5, 14.0, 0.1, NOZZLE_C, NOZZLE_C)

Guess = tuple[float, float, float]  # slow edge, best, fast edge, m/min
Rival = Callable[[dict[float, tuple[float, float]], float], Guess]


def strips(ambient_c: float) -> tuple[Observation, ...]:
    """The strips made from one published window; one day each."""
    slow, fast = WINDOWS[ambient_c]
    plain = Observation(
        day=f"at{ambient_c:+.0f}",
        machine="rig",
        sheet="eva",
        lap="selvage",
        nozzle_c=NOZZLE_C,
        speed_m_per_min=slow,
        ambient_c=ambient_c,
        sheet_c=ambient_c,
        bubbling="none",
        bond="good",
    )
    rows = [
        replace(plain, speed_m_per_min=v) for v in (slow * 1.02, (slow + fast) / 2, fast * 0.98)
    ]
    for past in (1.15, 1.35):
        if fast < TRIED[1]:
            rows.append(replace(plain, speed_m_per_min=fast * past, bond="cold"))
        if slow > TRIED[0]:
            rows.append(replace(plain, speed_m_per_min=slow / past, bubbling="heavy"))
    return tuple(rows)


def engine(known: dict[float, tuple[float, float]], ambient_c: float) -> Guess:
    """The engine's advice; its edges are where the joint chance falls through one half."""
    from weldcal.calibration.engine import fit

    rows = tuple(r for a in known for r in strips(a))
    question = SpeedQuestion(
        day="asked",
        machine="rig",
        sheet="eva",
        lap="selvage",
        nozzle_c=NOZZLE_C,
        ambient_c=ambient_c,
        sheet_c=ambient_c,
    )
    fitted = fit(rows, WINDOW, seed=0)
    best = fitted.advise(question, WINDOW, REACH).forecast.speed_m_per_min
    speeds = np.arange(REACH.speed_min, REACH.speed_max, 0.05)
    chance = np.array([f.chance for f in fitted.forecast(question, list(speeds), NOZZLE_C, WINDOW)])
    inside = speeds[chance >= 0.5 * max(chance.max(), 1e-9)]
    return float(inside[0]), best, float(inside[-1])


def nearest(known: dict[float, tuple[float, float]], ambient_c: float) -> Guess:
    """The window of the nearest known ambient: yesterday's setting."""
    slow, fast = known[min(known, key=lambda a: abs(a - ambient_c))]
    return slow, (slow + fast) / 2, fast


def slope(known: dict[float, tuple[float, float]], ambient_c: float) -> Guess:
    """The nearest window times the physics slope (165 °C face, 520 °C air)."""
    near = min(known, key=lambda a: abs(a - ambient_c))
    ratio = np.exp(
        float(physics_log_speed(ambient_c, NOZZLE_C)) - float(physics_log_speed(near, NOZZLE_C))
    )
    slow, best, fast = nearest(known, ambient_c)
    return slow * ratio, best * ratio, fast * ratio


def line(known: dict[float, tuple[float, float]], ambient_c: float) -> Guess:
    """Least squares of log edge on ambient, edge by edge."""
    at = np.array(list(known))
    slow, fast = (
        float(
            np.exp(np.polyval(np.polyfit(at, np.log([w[i] for w in known.values()]), 1), ambient_c))
        )
        for i in (0, 1)
    )
    return slow, (slow + fast) / 2, fast


RIVALS: dict[str, Rival] = {"weldcal": engine, "nearest": nearest, "slope": slope, "line": line}


def main() -> None:
    print(__doc__)
    print("Leave one ambient out")
    table({a: {b: w for b, w in WINDOWS.items() if b != a} for a in WINDOWS})
    cold = {a: w for a, w in WINDOWS.items() if a < 10}
    warm = {a: w for a, w in WINDOWS.items() if a > 10}
    print("\nLeave the cold three out, then the warm three")
    table({a: warm if a in cold else cold for a in WINDOWS})


def table(known_for: dict[float, dict[float, tuple[float, float]]]) -> None:
    """Every rival's guess of each window, from the windows it may know."""
    print("ambient  published      " + "  ".join(f"{n:^24s}" for n in RIVALS))
    guesses: dict[str, list[Guess]] = {name: [] for name in RIVALS}
    for left_out, (slow, fast) in WINDOWS.items():
        marks = ("*" if slow == TRIED[0] else " ") + ("*" if fast == TRIED[1] else " ")
        text = f"{left_out:+5.0f}   {slow:.1f} - {fast:.1f} {marks}  "
        for name, rival in RIVALS.items():
            a, best, b = rival(known_for[left_out], left_out)
            guesses[name].append((a, best, b))
            text += f"  {a:5.2f} {best:5.2f} {b:5.2f} {best / ((slow + fast) / 2) - 1:+6.1%}"
        print(text)
    at = np.array(list(WINDOWS))
    middles = np.array([(a + b) / 2 for a, b in WINDOWS.values()])
    print(f"published slope of the middle {np.polyfit(at, np.log(middles), 1)[0]:+.2%} per K")
    for name, made in guesses.items():
        print(f"{name:8s} {summary(made, middles)}")


def summary(made: list[Guess], middles: np.ndarray) -> str:
    """Bests inside, their mean error, the edges' mean error, and the slope of the bests."""
    published = list(WINDOWS.values())
    best = np.array([g[1] for g in made])
    inside = sum(a <= g[1] <= b for g, (a, b) in zip(made, published, strict=True))
    edges = [abs(g[0] / a - 1) for g, (a, _) in zip(made, published, strict=True) if a > TRIED[0]]
    edges += [abs(g[2] / b - 1) for g, (_, b) in zip(made, published, strict=True) if b < TRIED[1]]
    slope_per_k = np.polyfit(list(WINDOWS), np.log(best), 1)[0]
    return (
        f"best inside {inside}/6, off the middle by {np.mean(np.abs(best / middles - 1)):.1%}"
        f" (mean size), edges off by {np.mean(edges):.1%}, slope of the bests {slope_per_k:+.2%} per K"
    )


if __name__ == "__main__":
    main()
