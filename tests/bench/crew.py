"""History that a plausible crew leaves behind, and what corrupts it.

Invariant: history depends on roof and seed alone, and a shorter history is the tail
of the longer one. The crew starts from its last passing speed, nudged for warmth;
sure-looking bonds are seldom pulled; speed and temperature run together; now and then
it brackets. Habits are invented.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tests.bench.days import (
    AFTERNOON,
    MORNING,
    Day,
    on_dial,
    passes,
    read_air,
    too_cold,
    weld,
)
from tests.bench.roofs import WINDOW, Roof
from weldcal.calibration.observation import Observation


def history(
    roof: Roof, days: tuple[Day, ...], rng: np.random.Generator, *, corrupted: bool
) -> tuple[Observation, ...]:
    """Everything the crew recorded on those days, in order."""
    rows: list[Observation] = []
    speed, last_c = roof.start_speed, None
    for day in days:
        hours = [MORNING] + ([AFTERNOON - 1.0] if rng.random() < 0.35 else [])
        for hour in hours:
            sheet = float(day.air(roof, hour).sheet_c)
            warmer = 0.0 if last_c is None else 0.008 * (sheet - last_c)
            start = speed * np.exp(warmer + rng.normal(0, 0.04))
            speed, last_c = _session(roof, day, hour, start, rng, rows), sheet
        _bleed_checks(roof, day, speed, last_c, rng, rows)
    if not corrupted:
        return tuple(rows)
    return tuple(_corrupt(row, rng) for row in rows)


def _session(
    roof: Roof,
    day: Day,
    hour: float,
    speed: float,
    rng: np.random.Generator,
    rows: list[Observation],
) -> float:
    """Strips until one passes (at most six), sometimes a bracketing one; returns the speed kept."""
    step = 0.16 if roof.kind == "wide" else 0.10
    for n in range(6):
        strip = _strip(roof, day, hour + 0.2 * n, speed, rng)
        rows.append(strip)
        if passes(strip, pull_needed=False):
            break
        cold = too_cold(strip)
        speed *= np.exp(-step if cold else step)
        step *= 0.8
    if rng.random() < 0.10:
        away = speed * np.exp(rng.choice([-1, 1]) * 0.15)
        rows.append(_strip(roof, day, hour + 1.3, away, rng))
    return speed


def _strip(
    roof: Roof, day: Day, hour: float, speed: float, rng: np.random.Generator
) -> Observation:
    read = read_air(roof, day.air(roof, hour), rng)
    seen = weld(roof, day, hour, on_dial(speed), rng, read).seen
    middle = float(np.median(seen.readings_mm))
    looks_sure = seen.bubbling == "none" and 0.75 < middle / WINDOW.aim_mm < 1.35
    pulled = rng.random() < (0.35 if looks_sure else 0.8)
    return seen if pulled else replace(seen, bond=None)


def _bleed_checks(
    roof: Roof,
    day: Day,
    speed: float,
    last_c: float,
    rng: np.random.Generator,
    rows: list[Observation],
) -> None:
    for hour in np.sort(rng.uniform(9.0, 16.0, int(rng.integers(0, 4)))):
        air = day.air(roof, float(hour))
        used = on_dial(speed * np.exp(0.008 * (float(air.sheet_c) - last_c)))
        seen = weld(roof, day, float(hour), used, rng, read_air(roof, air, rng)).seen
        rows.append(replace(seen, bond=None, on_seam=True, readings_mm=seen.readings_mm[:2]))


def _corrupt(row: Observation, rng: np.random.Generator) -> Observation:
    """8 % damp (a third of it unnoticed), 3 % mistyped, 5 % gusty; the rest as it was."""
    u, v = rng.random(2)
    if u < 0.08:
        wet = tuple(r * 0.8 for r in row.readings_mm)
        return replace(
            row, readings_mm=wet, bubbling="trace" if v < 0.5 else "heavy", damp=v > 0.33
        )
    if u < 0.11:
        typo = int(v * 4)
        if typo == 0:
            typed = max(0.3, row.speed_m_per_min + rng.choice([-1.0, 1.0]))
            return replace(row, speed_m_per_min=round(typed, 1))
        if typo == 1:
            return replace(row, readings_mm=tuple(2 * r for r in row.readings_mm))
        if typo == 2:
            return replace(row, ambient_c=row.ambient_c and row.ambient_c * 1.8 + 32)
        return replace(row, nozzle_c=row.nozzle_c - 90)
    if u < 0.16:
        hit = int(1 + v * len(row.readings_mm))
        return replace(
            row,
            readings_mm=tuple(r * 0.45 if i < hit else r for i, r in enumerate(row.readings_mm)),
        )
    return row
