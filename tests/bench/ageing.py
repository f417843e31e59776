"""What an old reading of the sheet is worth: `python -m tests.bench.ageing`.

Invariant: no weld and no engine in it. The sheet is that of the bench's measured weather; what is
judged is where `weldcal` takes it to be some hours after a reading, and how far it says it may be
off, where nobody noted the sky.

Beside it, other centres: the reading moved by a share of what a clear sky would have moved it.
`inside` is how often the sheet lay inside the stated 90 %, `score` the mean of ln sd + z²/2 (less
is better), `off` the root mean square distance from the centre.
"""

from __future__ import annotations

import numpy as np

from tests.bench.weather import ROOF_WIND, station
from weldcal.calibration.observation import Observation
from weldcal.calibration.staleness import sheet_spread_k
from weldcal.physics.sheet_path import SheetRead

SPANS = ((7, 8), (7, 9), (7, 11.5), (7, 14), (9, 10), (9, 13), (11, 12), (11, 15), (13, 16))
SHARES = (0.5, 0.75, 1.0)
NORMAL_90 = 1.645


def observed(number: int, air_read: bool) -> np.ndarray:
    """Of every workable day and span: how far the sheet moved, how far `weldcal` takes it to
    have moved, its sd, and how far a clear sky moves it, K."""
    weather, rng = station(number), np.random.default_rng(number)
    rows = []
    for day in weather.workable:
        absorptance = float(rng.uniform(0.65, 0.92))
        for first, last in SPANS:
            sheet = weather.sheet_c(day, first, absorptance)
            air, wind = (weather.at(n, day, first) for n in ("ambient_c", "wind_m_per_s"))
            read = SheetRead(sheet, float(first), *((air, ROOF_WIND * wind) if air_read else ()))
            asked = Observation(
                day="d",
                machine="M1",
                sheet="cap",
                lap="selvage",
                nozzle_c=540.0,
                speed_m_per_min=2.0,
                ambient_c=read.air_c,
                sheet_c=sheet,
                wind_m_per_s=read.wind_m_per_s,
                hour=float(last),
                hour_sheet_read=float(first),
            )
            moved = weather.sheet_c(day, last, absorptance) - sheet
            rows.append((moved, 0.0, sheet_spread_k(asked), read.moved_k(float(last))))
    return np.array(rows)


def line(moved: np.ndarray, centre: np.ndarray, sd: np.ndarray) -> str:
    """Inside, score and off, as text."""
    off = moved - centre
    inside, score = np.mean(abs(off) < NORMAL_90 * sd), np.mean(np.log(sd) + 0.5 * (off / sd) ** 2)
    return f"inside {inside:.2f}  score {score:.2f}  off {np.sqrt(np.mean(off**2)):.1f} K"


def main() -> None:
    """Run from the command line."""
    for number in (0, 1):
        for air_read in (True, False):
            moved, centre, sd, clear = observed(number, air_read).T
            print(f"station {number}, air {'read' if air_read else 'not read'}, n={len(moved)}")
            print(f"  as it is            {line(moved, centre, sd)}")
            for share in SHARES:
                print(f"  centre moved {share:.2f}   {line(moved, share * clear, sd)}")


if __name__ == "__main__":
    main()
