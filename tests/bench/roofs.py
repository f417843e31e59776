"""What a simulated roof is, whatever its physics: machines, habits, noise, weather.

Invariant: a roof is drawn from its seed alone, so every method meets the same
roof. `Physics.respond` is the truth: log bleed-out width without strip effect
or reading noise, and two margins in K. All draws are invented.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal, Protocol

import numpy as np

from weldcal.calibration.observation import Lap, Reach, Window

Kind = Literal["wide", "narrow"]
# 1/8, 1/4 and 3/8 in: trade habit
WINDOW = Window(low_mm=3.175, aim_mm=6.35, high_mm=9.525)
REACH = Reach(speed_min=0.5, speed_max=6.5, speed_step=0.05, nozzle_min=400.0, nozzle_max=650.0)
ROOF_LAP: Lap = "selvage"
SPEEDS = np.round(np.arange(0.5, 6.501, 0.05), 2)
RATED_V = 230.0
REFERENCE_C = 25.0
REFERENCE_NOZZLE_C = 540.0


@dataclass(frozen=True, slots=True)
class Air:
    """True conditions at the lap; floats or arrays that broadcast."""

    ambient_c: float | np.ndarray
    sheet_c: float | np.ndarray
    wind: float | np.ndarray
    volts: float | np.ndarray  # line over rated voltage
    humidity_pct: float = 50.0


@dataclass(frozen=True, slots=True)
class Shift:
    """A day's own offsets, K: the compound's welding point, and bubbling (moisture)."""

    weld_k: float | np.ndarray = 0.0
    bubble_k: float | np.ndarray = 0.0


@dataclass(frozen=True, slots=True)
class Machine:
    """`speed` true over dial; `nozzle_k` true minus set; `flow` blower against nominal;
    `cap_k` rise over ambient that the heater reaches at rated voltage."""

    name: str
    speed: float | np.ndarray
    nozzle_k: float | np.ndarray
    flow: float | np.ndarray
    cap_k: float | np.ndarray


@dataclass(frozen=True, slots=True)
class Response:
    """`log_mm`: log true width; `bubble_k` > 0 bubbles; `bond_k` > 0 is bonded."""

    log_mm: np.ndarray
    bubble_k: np.ndarray
    bond_k: np.ndarray

    def good(self, window: Window = WINDOW) -> np.ndarray:
        """The setting is truly good: inside the limits, no bubbling, bonded."""
        inside = (self.log_mm >= np.log(window.low_mm)) & (self.log_mm <= np.log(window.high_mm))
        return inside & (self.bubble_k < 0) & (self.bond_k > 0)


class Physics(Protocol):
    """The truth of one roof (or of many at once, by arrays with a leading axis)."""

    trace_k: float

    def respond(
        self, speed: np.ndarray, nozzle_c: float, air: Air, machine: Machine, shift: Shift
    ) -> Response: ...


@dataclass(frozen=True, slots=True)
class Noise:
    """Standard deviations: log for widths, K for margins and shifts, °C for thermometers."""

    strip: float = 0.07
    reading: float = 0.10
    reading_mm: float = 0.25
    bubble_k: float = 2.5
    bond_k: float = 2.0
    day_weld_k: float = 3.0
    day_bubble_k: float = 3.0
    sheet_read_c: float = 1.5
    ambient_read_c: float = 0.7
    gust: float = 0.2


@dataclass(frozen=True, slots=True)
class Roof:
    """One job: its truth and its people's habits."""

    number: int
    kind: Kind
    world: str
    physics: Physics
    noise: Noise
    machines: tuple[Machine, ...]
    nozzle_c: float
    station: int
    absorptance: float
    reads_sheet: bool
    reads_wind: bool
    reads_volts: bool
    supply: float  # usual line over rated voltage
    start_speed: float  # what the crew tries on the job's first day
    slope_per_k: float  # true d ln(speed) / dT at equal width, for the tables


def heater(nozzle_c: float, air: Air, machine: Machine) -> tuple[np.ndarray, np.ndarray]:
    """Air temperature at the nozzle, °C, and relative flow.

    A regulated heater holds its set-point until it saturates; then power goes
    as V^2 and flow about as V^0.6, so the rise goes as V^1.4 (own simplification).
    The two regimes join smoothly.
    """
    wanted = nozzle_c + machine.nozzle_k - air.ambient_c
    cap = machine.cap_k * np.asarray(air.volts) ** 1.4
    rise = cap - 15.0 * np.logaddexp(0.0, (cap - wanted) / 15.0)
    return air.ambient_c + rise, machine.flow * np.asarray(air.volts) ** 0.6


def draw_machine(rng: np.random.Generator, name: str, size: int | None = None) -> Machine:
    """One machine, or arrays of `size` machines."""
    return Machine(
        name,
        speed=np.exp(rng.normal(0, 0.04, size)),
        nozzle_k=rng.normal(0, 8, size),
        flow=np.exp(rng.normal(0, 0.04, size)),
        cap_k=rng.uniform(580, 760, size),
    )


# World and how much faster its rigs run than common practice, 5.5 ft/min at 500 °C.
WORLDS = {"slab": 1.0, "slab_fast": 1.5, "slab_slow": 0.7, "affine": 1.0}


def draw_many(
    rng: np.random.Generator, kind: Kind, world: str, count: int
) -> tuple[Any, dict[str, np.ndarray]]:
    """Plausible roofs of a world: physics, and arrays of slope, reference speed, width per K."""
    from tests.bench import affine, slab

    module = affine if world == "affine" else slab
    return module.draw_many(rng, kind, count, WORLDS[world])


def _first(drawn: tuple[Any, dict[str, np.ndarray]]) -> tuple[Any, dict[str, float]]:
    physics, facts = drawn
    return physics.take(np.array([0])), {name: float(values[0]) for name, values in facts.items()}


def draw_roof(number: int, kind: Kind, world: str, seed: int) -> Roof:
    """The roof of that number: the same for every method and every history."""
    rng = np.random.default_rng([seed, number, kind == "narrow", world == "affine"])
    physics, facts = _first(draw_many(rng, kind, world, 12 if world == "affine" else 24))
    day_log = rng.uniform(0.08, 0.16) if kind == "wide" else rng.uniform(0.12, 0.25)
    supply = rng.choice([rng.uniform(0.97, 1.01), rng.uniform(0.86, 0.97)])
    return Roof(
        number=number,
        kind=kind,
        world=world,
        physics=physics,
        noise=Noise(day_weld_k=day_log / facts["per_k"]),
        machines=tuple(draw_machine(rng, f"M{i + 1}") for i in range(rng.integers(1, 4))),
        nozzle_c=float(10 * rng.integers(50, 60)),
        station=int(rng.integers(0, 2)),
        absorptance=float(rng.uniform(0.65, 0.92)),
        reads_sheet=bool(rng.random() < 0.7),
        reads_wind=bool(rng.random() < 0.7),
        reads_volts=bool(rng.random() < 0.7),
        supply=float(supply),
        start_speed=float(facts["speed"] * np.exp(rng.normal(0, 0.25))),
        slope_per_k=facts["slope"],
    )
