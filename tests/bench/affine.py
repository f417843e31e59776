"""Second simulator, made another way, as a guard against tuning to the first.

No heat conduction at all: the middle of the window is an affine law of temperature,
as trade rules are written (so many ft/min more for so many degrees), bent by nozzle
temperature, wind and flow as percentages; width is a logistic curve of speed over
that middle; bubbling and bond are limits on the same ratio. One per cent of that ratio
counts as one K in the margins. Ambient and sheet temperature enter as a weighted mean.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from tests.bench.roofs import (
    REFERENCE_C,
    REFERENCE_NOZZLE_C,
    WINDOW,
    Air,
    Kind,
    Machine,
    Response,
    Shift,
    heater,
)


@dataclass(frozen=True)
class Affine:
    """Arrays of shape (roofs,), or (1,)."""

    middle: np.ndarray  # m/min at reference conditions
    per_k: np.ndarray  # of the middle, 1/K
    per_100k: np.ndarray  # of the middle, per 100 K of nozzle temperature
    per_flow: np.ndarray
    wind_loss: np.ndarray  # of the middle, per m/s
    on_sheet: np.ndarray  # weight of sheet against ambient temperature
    steep: np.ndarray  # logistic rate on speed over middle
    top_mm: np.ndarray
    lot: np.ndarray  # of the middle, per K of the day's lot
    hot: np.ndarray  # speed over middle below which it bubbles
    cold: np.ndarray  # and above which it is cold
    trace_k: float = 8.0

    def respond(
        self, speed: np.ndarray, nozzle_c: float, air: Air, machine: Machine, shift: Shift
    ) -> Response:
        """Truth at speeds of shape (n,) or (roofs, n), dial m/min; returns (roofs, n)."""
        air = Air(*(_column(getattr(air, f.name)) for f in fields(Air)))
        machine = Machine("", *(_column(getattr(machine, f.name)) for f in fields(Machine)[1:]))
        own = {f.name: getattr(self, f.name)[:, None] for f in fields(self)[:-1]}
        hot, flow = heater(nozzle_c, air, machine)
        felt = own["on_sheet"] * air.sheet_c + (1 - own["on_sheet"]) * air.ambient_c
        middle = own["middle"] * (1 + own["per_k"] * (felt - REFERENCE_C))
        middle = middle * (1 + own["per_100k"] * (hot - REFERENCE_NOZZLE_C) / 100)
        middle = middle * (1 + own["per_flow"] * (flow - 1)) * (1 - own["wind_loss"] * air.wind)
        middle = np.maximum(middle * (1 - own["lot"] * _column(shift.weld_k)), 0.1)
        ratio = np.atleast_2d(speed) * machine.speed / middle
        odds = np.log(own["top_mm"] / WINDOW.aim_mm - 1)
        log_mm = np.log(own["top_mm"]) - np.logaddexp(0, own["steep"] * (ratio - 1) + odds)
        return Response(
            log_mm,
            100 * (own["hot"] - ratio) - _column(shift.bubble_k),
            100 * (own["cold"] - ratio) + 0 * log_mm,
        )

    def take(self, keep: np.ndarray) -> Affine:
        """The chosen roofs alone."""
        return Affine(**{f.name: getattr(self, f.name)[keep] for f in fields(self)[:-1]})


def _column(value: float | np.ndarray) -> np.ndarray:
    value = np.asarray(value, float)
    return value if value.ndim != 1 else value[:, None]


def draw_many(
    rng: np.random.Generator, kind: Kind, count: int, rig: float
) -> tuple[Affine, dict[str, np.ndarray]]:
    """`count` roofs with slope, reference speed and log width per K of the lot."""
    u = rng.uniform
    wide = kind == "wide"
    top = u(13, 22, count)
    steepness = u(1.2, 2.3, count) if wide else u(2.8, 5.0, count)
    steep = steepness / (1 - WINDOW.aim_mm / top)
    physics = Affine(
        middle=rig * np.exp(u(np.log(1.1), np.log(3.6), count)),
        per_k=u(0.010, 0.023, count),
        per_100k=u(0.2, 0.5, count),
        per_flow=u(0.5, 1.5, count),
        wind_loss=u(0.002, 0.02, count),
        on_sheet=u(0.6, 1.0, count),
        steep=steep,
        top_mm=top,
        lot=np.full(count, 0.006),
        hot=u(0.45, 0.65, count) if wide else u(0.85, 0.92, count),
        cold=u(1.5, 1.8, count) if wide else u(1.10, 1.18, count),
    )
    facts = {"slope": physics.per_k, "speed": physics.middle, "per_k": steepness * physics.lot}
    return physics, facts
