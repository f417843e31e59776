"""Oracles: what is left to win.

`Oracle` knows its roof's physics, machines and noise exactly, and the distributions
of what is hidden: the day's two shifts, true conditions behind their readings (where
nobody reads the sheet: the sheet-over-ambient rise at that hour on the station's
other days), gusts. `PriorOracle` knows the simulator and its priors, not the roof: a
library of roofs drawn as the simulator draws them, machine and day drawn with each;
it is the fair ceiling with no history (and is not run with one).
Both update on today's strips by importance weights. The likelihood is the true one but
for two approximations: five readings enter by their median, with noise log sd
sqrt(strip^2 + 1.44*(reading^2 + (mm/w)^2)/5), rounding widens it by
step^2/12, and a median of 0 is censored at half a step.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
from scipy.special import ndtr

from tests.bench.days import AFTERNOON, MORNING, READINGS
from tests.bench.methods import START_SPEED, Choice, Known, Prediction, Scene
from tests.bench.roofs import (
    RATED_V,
    SPEEDS,
    WINDOW,
    Air,
    Machine,
    Noise,
    Roof,
    Shift,
    draw_machine,
    draw_many,
)
from tests.bench.weather import ROOF_WIND, station
from weldcal.calibration.observation import Observation, SpeedQuestion

DRAWS = 1200
LIBRARY_DRAWS, LIBRARY_DAYS = 3000, 3
MEDIAN_VARIANCE = 1.44  # variance of a median of five over that of a mean, normal noise


def width_sd(noise: Noise, mm: np.ndarray, step_mm: float = 0.0) -> np.ndarray:
    """Log standard deviation of the median reading given the true width."""
    reading = noise.reading**2 + (noise.reading_mm / mm) ** 2
    rounding = step_mm**2 / 12 / mm**2
    return np.sqrt(noise.strip**2 + MEDIAN_VARIANCE * reading / READINGS + rounding)


@dataclass(frozen=True)
class Hidden:
    """Draws: z (7, n) for shifts and conditions."""

    shift: Shift
    z: np.ndarray
    others: np.ndarray  # weather days whose rise stands in for this one's


def _hidden(roof: Roof, noise: Noise, year_day: int, n: int, weld_sd: np.ndarray | float) -> Hidden:
    rng = np.random.default_rng([roof.number, 77])
    z = rng.standard_normal((7, n))
    shift = Shift((z[0] * weld_sd)[:, None], (z[1] * noise.day_bubble_k)[:, None])
    near = [
        d
        for d in station(roof.station).workable
        if min(abs(d - year_day), 365 - abs(d - year_day)) <= 30 and d != year_day
    ]
    return Hidden(shift, z, rng.choice(near, n))


def _air(
    roof: Roof,
    hidden: Hidden,
    seen: Observation | SpeedQuestion,
    hour: float,
    turn: int,
    *,
    gusty: bool,
) -> Air:
    """Possible true conditions behind readings, as columns (n, 1); each `turn` has its own noise.

    What nobody read comes from the station's other days at that hour; `gusty` adds the
    gust of a strip.
    """
    noise, z, fresh = roof.noise, hidden.z, np.roll(hidden.z, 131 * turn, axis=1)
    days, rises, winds = _climate(roof.station, round(hour * 4) / 4, round(roof.absorptance, 2))
    other = np.searchsorted(days, hidden.others)
    ambient = (seen.ambient_c or 0.0) + noise.ambient_read_c * fresh[2]
    if seen.sheet_c is not None:
        sheet = seen.sheet_c + noise.sheet_read_c * fresh[3]
    else:
        sheet = ambient + rises[other]
    if seen.wind_m_per_s is not None:
        wind = seen.wind_m_per_s * np.exp(-0.2 * fresh[4])
    else:
        wind = winds[other] * np.exp(0.3 * z[4])
    if gusty:
        wind = wind * np.exp(noise.gust * fresh[6])
    late = (hour - MORNING) / (AFTERNOON - MORNING)
    drift = -0.01 * late + np.hypot(0.01, 0.02 * late) * z[5]
    volts = roof.supply + drift if seen.line_v is None else seen.line_v / RATED_V + 0 * z[5]
    return Air(ambient[:, None], sheet[:, None], wind[:, None], volts[:, None])


@lru_cache(maxsize=400)
def _climate(
    number: int, hour: float, absorptance: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Workable days, and their sheet-over-ambient rise and wind at the lap at that hour."""
    weather = station(number)
    days = np.array(weather.workable)
    rises = [weather.sheet_c(d, hour, absorptance) - weather.at("ambient_c", d, hour) for d in days]
    winds = [ROOF_WIND * weather.at("wind_m_per_s", d, hour) for d in days]
    return days, np.array(rises), np.array(winds)


def _log_likelihood(response: Any, noise: Noise, seen: Observation, trace_k: float) -> np.ndarray:
    """Of one strip under each draw; responses of shape (n, 1)."""
    log_mm, over, bond = (a[:, 0] for a in (response.log_mm, response.bubble_k, response.bond_k))
    median = float(np.median(seen.readings_mm))
    sd = width_sd(noise, np.maximum(np.exp(log_mm), 0.3), seen.reading_step_mm)
    if median == 0:
        out = np.log(ndtr((np.log(seen.reading_step_mm / 2) - log_mm) / sd) + 1e-12)
    else:
        out = -0.5 * ((np.log(median) - log_mm) / sd) ** 2 - np.log(sd)
    if seen.bubbling is not None:
        edges = {"none": (-np.inf, 0), "trace": (0, trace_k), "heavy": (trace_k, np.inf)}
        low, high = edges[seen.bubbling]
        spread = noise.bubble_k
        out = out + np.log(ndtr((high - over) / spread) - ndtr((low - over) / spread) + 1e-9)
    if seen.bond is not None:
        sign = 1 if seen.bond == "good" else -1
        out = out + np.log(ndtr(sign * bond / noise.bond_k) + 1e-9)
    return out


def _choose(
    physics: Any,
    machine: Machine,
    noise: Noise,
    roof: Roof,
    hidden: Hidden,
    known: Known,
    hour: float,
    speeds: np.ndarray,
) -> Choice:
    """The speed most probably good, given today's strips."""
    question = known.question
    nozzle = question.nozzle_c or 540.0
    log_w = np.zeros(hidden.z.shape[1])
    for turn, seen in enumerate(known.today, start=1):
        air = _air(roof, hidden, seen, seen.hour or hour, turn, gusty=True)
        at = np.full((1, 1), seen.speed_m_per_min)
        response = physics.respond(at, nozzle, air, machine, hidden.shift)
        log_w += _log_likelihood(response, noise, seen, physics.trace_k)
    weights = np.exp(log_w - log_w.max())
    weights /= weights.sum()
    air = _air(roof, hidden, question, hour, 0, gusty=False)
    response = physics.respond(speeds[None, :], nozzle, air, machine, hidden.shift)
    chance = weights @ response.good()
    i = int(np.argmax(chance + 1e-6 * (weights @ -np.abs(response.log_mm - np.log(WINDOW.aim_mm)))))
    z = np.random.default_rng(1).standard_normal(len(weights))
    air = _air(roof, hidden, question, hour, 0, gusty=True)
    felt = physics.respond(speeds[None, i : i + 1], nozzle, air, machine, hidden.shift)
    log_mm = felt.log_mm[:, 0]
    median = log_mm + z * width_sd(noise, np.maximum(np.exp(log_mm), 0.3))
    order = np.argsort(median)
    at = np.interp([0.5, 0.05, 0.95], np.cumsum(weights[order]), median[order])
    bubbling = float(weights @ ndtr(felt.bubble_k[:, 0] / noise.bubble_k))
    seen_here = Prediction(*(float(np.exp(a)) for a in at), bubbling)
    sure = bool(chance[i] >= WINDOW.threshold)
    return Choice(speeds[i], speeds[i], sure, float(chance[i]), seen_here, seen_here)


@dataclass(frozen=True, slots=True)
class Oracle:
    """Knows the roof."""

    name: str = "oracle"

    def choose(self, known: Known, scene: Scene) -> Choice:
        roof = scene.roof
        hidden = _hidden(roof, roof.noise, scene.day.year_day, DRAWS, roof.noise.day_weld_k)
        return _choose(
            roof.physics,
            scene.day.machine,
            roof.noise,
            roof,
            hidden,
            known,
            scene.hour,
            SPEEDS,
        )


@dataclass(frozen=True, slots=True)
class PriorOracle:
    """Knows the simulator and its priors; only with no history."""

    name: str = "oracle_prior"

    def choose(self, known: Known, scene: Scene) -> Choice:
        if known.earlier:
            return Choice(START_SPEED, START_SPEED)
        roof = scene.roof
        physics, weld_sd, machine = library(roof.world, roof.kind)
        hidden = _hidden(roof, roof.noise, scene.day.year_day, len(weld_sd), weld_sd)
        return _choose(physics, machine, roof.noise, roof, hidden, known, scene.hour, SPEEDS[::2])


@lru_cache(maxsize=4)
def library(world: str, kind: str) -> tuple[Any, np.ndarray, Machine]:
    """Roofs from the simulator's prior, each with several days and machines."""
    rng = np.random.default_rng([9, kind == "narrow"])
    count = LIBRARY_DRAWS // 2 if world == "affine" else LIBRARY_DRAWS
    physics, facts = draw_many(rng, kind, world, count)
    index = np.repeat(np.arange(len(facts["slope"])), LIBRARY_DAYS)
    day_log = rng.uniform(*((0.08, 0.16) if kind == "wide" else (0.12, 0.25)), len(index))
    machine = draw_machine(rng, "", len(index))
    column = {f: getattr(machine, f) for f in ("speed", "nozzle_k", "flow", "cap_k")}
    return physics.take(index), day_log / facts["per_k"][index], replace(machine, **column)
