"""Days on a simulated roof: conditions, readings of them, strips, and the crew's history.

Invariant: what a method may see is an `Observation` or a `SpeedQuestion`; truth (`Air`,
`Shift`, `Response`) stays here and with the oracle. Readings carry noise, are rounded
to 1/16 in, and a width below half that is 0. Noise of the judged morning comes from
(seed, roof, strip number), so that all methods meet the same luck.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from tests.bench.roofs import (
    RATED_V,
    ROOF_LAP,
    SPEEDS,
    WINDOW,
    Air,
    Machine,
    Response,
    Roof,
    Shift,
)
from tests.bench.weather import ROOF_WIND, Weather, station
from weldcal.calibration.observation import SIXTEENTH_MM, Observation, SpeedQuestion

MORNING, AFTERNOON = 7.5, 14.0
READINGS = 5


@dataclass(frozen=True, slots=True)
class Day:
    """One working day: `date` counts from 0 (name) and `year_day` finds its weather."""

    name: str
    year_day: int
    shift: Shift
    machine: Machine
    nozzle_c: float
    volts: tuple[float, float]  # line over rated, morning and afternoon
    breeze: tuple[float, float]  # factors on the weather's wind

    def _between(self, pair: tuple[float, float], hour: float) -> float:
        return float(np.interp(hour, (MORNING, AFTERNOON), pair))

    def air(self, roof: Roof, hour: float) -> Air:
        """True conditions at that hour."""
        weather = station(roof.station)
        return Air(
            ambient_c=weather.at("ambient_c", self.year_day, hour),
            sheet_c=weather.sheet_c(self.year_day, hour, roof.absorptance),
            wind=ROOF_WIND
            * weather.at("wind_m_per_s", self.year_day, hour)
            * self._between(self.breeze, hour),
            volts=self._between(self.volts, hour),
            humidity_pct=weather.at("humidity_pct", self.year_day, hour),
        )


@dataclass(frozen=True, slots=True)
class Read:
    """Conditions as the crew reads them; `None` where nobody does. `hour`: when, if kept for later."""

    ambient_c: float
    sheet_c: float | None
    wind_m_per_s: float | None
    humidity_pct: float
    line_v: float | None
    hour: float | None = None


def read_air(roof: Roof, air: Air, rng: np.random.Generator) -> Read:
    """Thermometer, hand anemometer and voltmeter, each with its noise and step."""
    z = rng.standard_normal(4)
    noise = roof.noise
    return Read(
        ambient_c=round(float(air.ambient_c + noise.ambient_read_c * z[0]), 1),
        sheet_c=round(float(air.sheet_c + noise.sheet_read_c * z[1]), 1)
        if roof.reads_sheet
        else None,
        wind_m_per_s=(
            round(max(0.0, float(air.wind * np.exp(0.2 * z[2]))), 1) if roof.reads_wind else None
        ),
        humidity_pct=round(float(air.humidity_pct)),
        line_v=round(float(RATED_V * air.volts + z[3])) if roof.reads_volts else None,
    )


def _known(day: Day, read: Read, hour: float) -> dict[str, Any]:
    """What question and strip have in common: who, where and under which readings."""
    return {
        "day": day.name,
        "machine": day.machine.name,
        "sheet": "cap",
        "lap": ROOF_LAP,
        "nozzle_c": day.nozzle_c,
        "ambient_c": read.ambient_c,
        "sheet_c": read.sheet_c,
        "wind_m_per_s": read.wind_m_per_s,
        "humidity_pct": read.humidity_pct,
        "line_v": read.line_v,
        "rated_v": RATED_V,
        "hour": hour,
        "hour_sheet_read": read.hour if read.hour != hour else None,
    }


def question(day: Day, read: Read, hour: float) -> SpeedQuestion:
    """What to advise for, on that day and hour under those readings."""
    return SpeedQuestion(**_known(day, read, hour))


@dataclass(frozen=True, slots=True)
class Strip:
    """What happened: the observation, and beside it the truth."""

    seen: Observation
    truth: Response
    median_mm: float  # unrounded median reading

    @property
    def good(self) -> bool:
        """The setting is truly good, strip effect and reading noise aside."""
        return bool(self.truth.good().item())


def weld(
    roof: Roof,
    day: Day,
    hour: float,
    speed: float,
    rng: np.random.Generator,
    read: Read,
    *,
    extra_log: float = 0.0,
    extra_bubble_k: float = 0.0,
) -> Strip:
    """Weld one strip at a dial speed and judge it, hot and cold."""
    noise = roof.noise
    air = day.air(roof, hour)
    z, each = rng.standard_normal(4), rng.standard_normal((2, READINGS))
    gusty = replace(air, wind=air.wind * np.exp(noise.gust * z[3]))
    speeds = np.array([speed])
    truth = roof.physics.respond(speeds, day.nozzle_c, air, day.machine, day.shift)
    felt = roof.physics.respond(speeds, day.nozzle_c, gusty, day.machine, day.shift)
    level = felt.log_mm.item() + noise.strip * z[0] + extra_log
    widths = np.exp(level + noise.reading * each[0]) + noise.reading_mm * each[1]
    bubble = felt.bubble_k.item() + noise.bubble_k * z[1] + extra_bubble_k
    seen = Observation(
        **_known(day, read, hour),
        speed_m_per_min=float(speed),
        readings_mm=tuple(np.round(np.maximum(widths, 0.0) / SIXTEENTH_MM) * SIXTEENTH_MM),
        bubbling="none" if bubble < 0 else "trace" if bubble < roof.physics.trace_k else "heavy",
        bond="good" if felt.bond_k.item() + noise.bond_k * z[2] > 0 else "cold",
    )
    return Strip(seen, truth, float(np.median(widths)))


def passes(seen: Observation, *, pull_needed: bool = True) -> bool:
    """The job's rule: every reading inside as typed, no bubbling, the pull good."""
    inside = all(WINDOW.low_mm - 1e-9 <= r <= WINDOW.high_mm + 1e-9 for r in seen.readings_mm)
    pulled = seen.bond == "good" or (seen.bond is None and not pull_needed)
    return inside and seen.bubbling == "none" and pulled and not seen.damp


def too_cold(seen: Observation) -> bool:
    """Which way a failed strip missed: slower next (True) or faster (False)."""
    if seen.bubbling in ("trace", "heavy"):
        return False
    middle = float(np.median(seen.readings_mm))
    if seen.bond == "cold" or min(seen.readings_mm) < WINDOW.low_mm - 1e-9:
        return middle <= WINDOW.high_mm
    return middle < WINDOW.aim_mm


def on_dial(speed: float) -> float:
    """The nearest speed that the dial can be set to."""
    return float(SPEEDS[np.argmin(np.abs(SPEEDS - speed))])


def draw_day(roof: Roof, index: int, year_day: int, rng: np.random.Generator) -> Day:
    """The day's lot, moisture, machine, nozzle temperature, power and breeze."""
    noise = roof.noise
    volts = roof.supply + rng.normal(0, 0.01) + np.array([0.0, rng.normal(-0.01, 0.02)])
    return Day(
        name=f"d{index:03d}",
        year_day=year_day,
        shift=Shift(rng.normal(0, noise.day_weld_k), rng.normal(0, noise.day_bubble_k)),
        machine=roof.machines[int(rng.integers(len(roof.machines)))],
        nozzle_c=roof.nozzle_c + float(rng.choice([0, 0, 0, -20, 20])),
        volts=(float(volts[0]), float(volts[1])),
        breeze=tuple(np.exp(rng.normal(0, 0.3, 2))),  # type: ignore[arg-type]
    )


def calendar(roof: Roof, count: int, rng: np.random.Generator) -> tuple[Day, ...]:
    """`count` workable days running, mostly without a gap; the last is the judged one."""
    weather: Weather = station(roof.station)
    steps = np.cumsum(rng.choice([1, 1, 1, 2, 3], count))
    first = int(rng.integers(len(weather.workable)))
    picks = [weather.workable[(first + int(s)) % len(weather.workable)] for s in steps]
    return tuple(draw_day(roof, i, d, rng) for i, d in enumerate(picks))
