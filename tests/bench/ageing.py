"""What an old reading of the sheet is worth: `python -m tests.bench.ageing`.

Invariant: no weld and no engine in it. The sheet is that of the bench's measured weather; what is
judged is where `weldcal` takes it to be some hours after a reading, and how far it says it may be
off, where nobody noted the sky. The numbers of the rule were looked at on every other day; the
days between are for confirmation.

Beside it, the rule before: the centre stays at the reading, and the spread is 0.58 of what a clear
sky would have moved it. `inside` is how often the sheet lay inside the stated 90 %, `score` the
mean of ln sd + z²/2 (less is better), `off` the root mean square distance from the centre.
"""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

import numpy as np

from tests.bench.weather import ROOF_WIND, station
from weldcal.calibration.observation import Observation
from weldcal.calibration.staleness import by_now, reading, sheet_spread_k
from weldcal.physics.sheet_path import hours_from
from weldcal.physics.sun import SunSite

SPANS = ((7, 8), (7, 9), (7, 11.5), (7, 14), (9, 10), (9, 13), (11, 12), (11, 15), (13, 16))
NORMAL_90 = 1.645
PLACES = ((36.1, -79.95, -5), (55.317, -160.517, -9))  # of the two stations; hours from UTC


def observed(number: int, air_read: bool, placed: bool, half: int) -> np.ndarray:
    """Of every second workable day and every span: how far the sheet moved, how far `weldcal` takes
    it to have moved, its sd, and the sd of the rule before, K."""
    weather, rng = station(number), np.random.default_rng(number)
    rows = []
    for n, day in enumerate(weather.workable):
        absorptance = float(rng.uniform(0.65, 0.92))
        if n % 2 != half:
            continue
        for first, last in SPANS:
            sheet = weather.sheet_c(day, first, absorptance)
            air, wind = (weather.at(name, day, first) for name in ("ambient_c", "wind_m_per_s"))
            asked = Observation(
                day="d",
                machine="M1",
                sheet="cap",
                lap="selvage",
                nozzle_c=540.0,
                speed_m_per_min=2.0,
                ambient_c=air if air_read else None,
                sheet_c=sheet,
                wind_m_per_s=ROOF_WIND * wind if air_read else None,
                hour=float(last),
                hour_sheet_read=float(first),
                site=site(number, day) if placed else None,
            )
            moved = weather.sheet_c(day, last, absorptance) - sheet
            taken = by_now(asked).sheet_c
            assert taken is not None
            rows.append((moved, taken - sheet, sheet_spread_k(asked), before_k(asked)))
    return np.array(rows)


def site(number: int, day: int) -> SunSite:
    """A station on a day of a common year."""
    latitude, longitude, ahead_h = PLACES[number]
    midnight = datetime(2001, 1, 1, tzinfo=UTC) + timedelta(days=day, hours=-ahead_h)
    return SunSite(latitude, longitude, midnight.timestamp())


def before_k(asked: Observation) -> float:
    """The spread that was stated until 2026-11-28, K."""
    read, now = reading(asked), asked.hour
    assert read is not None and now is not None
    most = max(abs(read.moved_k(hour)) for hour in hours_from(read.hour, now, 0.5))
    return math.hypot(3.0 * math.sqrt(now - read.hour), 0.58 * most)


def line(moved: np.ndarray, centre: np.ndarray, sd: np.ndarray) -> str:
    """Inside, score and off, as text."""
    off = moved - centre
    inside, score = np.mean(abs(off) < NORMAL_90 * sd), np.mean(np.log(sd) + 0.5 * (off / sd) ** 2)
    return f"inside {inside:.2f}  score {score:.2f}  off {np.sqrt(np.mean(off**2)):.1f} K"


def main() -> None:
    """Run from the command line."""
    for half, name in enumerate(("looked at", "confirmation")):
        for number in (0, 1):
            for placed in (False, True):
                for air_read in (True, False):
                    moved, centre, sd, before = observed(number, air_read, placed, half).T
                    print(
                        f"{name}: station {number}, place {'known' if placed else 'not known'}, "
                        f"air {'read' if air_read else 'not read'}, n={len(moved)}"
                    )
                    print(f"  as it is     {line(moved, centre, sd)}")
                    print(f"  as it was    {line(moved, 0.0 * centre, before)}")


if __name__ == "__main__":
    main()
