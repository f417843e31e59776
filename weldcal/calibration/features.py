"""From plain records to the columns of the model.

Invariant: a strip and a question pass through the same code, so what was fitted
is what is asked. Every column is an effect on the log of the right speed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from weldcal.calibration import priors
from weldcal.calibration.priors import Prior
from weldcal.physics.heat import air_temperature_c, log_right_speed
from weldcal.physics.sun import share_by_hour

Array = NDArray[np.float64]

CONDITION_COLUMNS = (
    "weather",
    "weather_curve",
    "two_faces",
    "nozzle",
    "wind",
    "heater_low",
    "heater_high",
    "voltage",
    "sun",
    "damp",
)
_CONDITION_PRIORS = (
    priors.WEATHER,
    priors.WEATHER_CURVE,
    priors.TWO_FACES,
    priors.NOZZLE,
    priors.WIND,
    priors.HEATER,
    priors.HEATER,
    priors.VOLTAGE,
    priors.SUN,
    priors.DAMP,
)


class _Asked(Protocol):
    """What a strip and a question have in common."""

    @property
    def machine(self) -> str: ...
    @property
    def sheet(self) -> str: ...
    @property
    def lap(self) -> str: ...
    @property
    def ambient_c(self) -> float | None: ...
    @property
    def sheet_c(self) -> float | None: ...
    @property
    def wind_m_per_s(self) -> float | None: ...
    @property
    def line_v(self) -> float | None: ...
    @property
    def rated_v(self) -> float | None: ...
    @property
    def hour(self) -> float | None: ...
    @property
    def repairs(self) -> int: ...


@dataclass(frozen=True, slots=True)
class Levels:
    """The sheets and machines that have a column; one more each stands for "not yet seen".

    `volts`: per machine the highest line voltage seen, for one whose rating is unknown.
    `repairs`: (machine, n) for the n-th repair that a strip lies after; each has a column, the
    step it brought.
    """

    sheets: tuple[str, ...]
    machines: tuple[str, ...]
    volts: dict[str, float] = field(default_factory=dict)
    repairs: tuple[tuple[str, int], ...] = ()

    def sheet(self, name: str) -> int:
        """Position of a sheet, or of the unseen one.

        Args:
            name: of the sheet.

        Returns:
            the position.
        """
        return self.sheets.index(name) if name in self.sheets else len(self.sheets)

    def machine(self, name: str) -> int:
        """Position of a machine, or of the unseen one.

        Args:
            name: of the machine.

        Returns:
            the position.
        """
        return self.machines.index(name) if name in self.machines else len(self.machines)

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the linear columns, in order."""
        return (
            "intercept",
            *(f"sheet:{s}" for s in (*self.sheets, "")),
            *(f"machine:{m}" for m in (*self.machines, "")),
            "lap:granules",
            *(f"repair:{machine}#{n}" for machine, n in self.repairs),
            *CONDITION_COLUMNS,
        )

    def linear_priors(self, by_bleed_out: bool) -> tuple[Prior, ...]:
        """Priors of the linear columns, in the order of `names`.

        Args:
            by_bleed_out: the sheet is judged by its bleed-out.

        Returns:
            one prior a column.
        """
        return (
            priors.INTERCEPT if by_bleed_out else priors.INTERCEPT_UNJUDGED,
            *(priors.SHEET,) * (len(self.sheets) + 1),
            *(priors.MACHINE,) * (len(self.machines) + 1),
            priors.GRANULES,
            *(priors.REPAIR,) * len(self.repairs),
            *_CONDITION_PRIORS,
        )


@dataclass(frozen=True, slots=True)
class Features:
    """Columns `x[n, q]`, the sheet's position `sheet[n]`, its temperature or what stands in
    for it `face_c[n]`; what unread conditions leave open from strip to strip, `strip_var[n]`
    (ln speed squared), and through the sun of the day, `sun[n]` (ln speed per sd of it; NaN
    where the sheet was read)."""

    x: Array
    sheet: NDArray[np.intp]
    face_c: Array
    strip_var: Array
    sun: Array


def features(
    asked: Sequence[_Asked], nozzles_c: Array, levels: Levels, damp: Sequence[bool] = ()
) -> Features:
    """Columns for strips or questions; `nozzles_c[n]` are their nozzle temperatures.

    Args:
        asked: n strips or questions.
        nozzles_c: nozzle air temperature of each, °C, (n,).
        levels: sheets, machines and repairs with a column.
        damp: whether each sheet was noted damp; nothing for a question.

    Returns:
        columns (n, q) and what goes with them.
    """
    count = len(asked)
    sheet = np.array([levels.sheet(a.sheet) for a in asked], dtype=np.intp)
    machine = np.array([levels.machine(a.machine) for a in asked], dtype=np.intp)
    conditions, face, strip_var, sun = _conditions(asked, nozzles_c, levels.volts)
    if len(damp):
        conditions[:, -1] = damp
        strip_var += priors.DAMP_STRIP**2 * conditions[:, -1]
    x = np.zeros((count, len(levels.names)))
    rows = np.arange(count)
    first_machine = 1 + len(levels.sheets) + 1
    lap = first_machine + len(levels.machines) + 1
    x[:, 0] = 1.0
    x[rows, 1 + sheet] = 1.0
    x[rows, first_machine + machine] = 1.0
    x[:, lap] = [a.lap == "granules" for a in asked]
    for n, (repaired, since) in enumerate(levels.repairs, lap + 1):
        x[:, n] = [a.machine == repaired and a.repairs >= since for a in asked]
    x[:, lap + 1 + len(levels.repairs) :] = conditions
    return Features(x, sheet, face, strip_var, sun)


def drift_loading(made: Features, cell_face_c: Array | float) -> Array:
    """How a strip answers to its machine's day drifting away from its mean, ln speed per sd.

    Through the sun of the day where only ambient was read; elsewhere through the day's own
    weather slope, by the distance (K) from the mean of that day's strips.

    Args:
        made: columns of the strips.
        cell_face_c: mean sheet temperature of each strip's day and machine, °C.

    Returns:
        ln speed per sd of the drift, (n,).
    """
    slope = priors.SLOPE_OF_THE_DAY * (made.face_c - cell_face_c)
    return np.asarray(np.where(np.isnan(made.sun), slope, made.sun))


def _read(values: Sequence[float | None]) -> Array:
    return np.array([np.nan if v is None else v for v in values], dtype=float)


def _conditions(
    asked: Sequence[_Asked], nozzle: Array, highest: dict[str, float]
) -> tuple[Array, Array, Array, Array]:
    """The condition columns; then `face_c`, `strip_var` and `sun` of :class:`Features`."""
    ambient = _read([a.ambient_c for a in asked])
    sheet = _read([a.sheet_c for a in asked])
    wind = _read([a.wind_m_per_s for a in asked])
    volts = _volts_ratio(asked, highest)
    by_ambient = np.isnan(sheet) & ~np.isnan(ambient)
    nothing = np.isnan(sheet) & np.isnan(ambient)
    face = np.where(np.isnan(sheet), ambient, sheet)
    face = np.where(nothing, priors.SHEET_C, face)
    air_in = np.where(np.isnan(ambient), face, ambient)
    per_k = priors.WEATHER.mean
    sun = by_ambient * _sun([a.hour for a in asked])
    strip_var = (
        per_k**2 * (by_ambient * priors.SHADE_K**2 + (sun * priors.SUN_STRIP_K) ** 2)
        + (per_k * priors.NOTHING_READ_K) ** 2 * nothing
        + (priors.WIND.mean * priors.WIND_UNREAD_M_PER_S) ** 2 * np.isnan(wind)
        + (priors.VOLTAGE.mean * priors.VOLTS_UNREAD) ** 2 * np.isnan(volts)
    )
    weather, hotter, weak, strong = _conduction(nozzle, air_in, face, volts)
    columns = np.column_stack(
        [
            weather,
            0.5e-3 * (face - priors.SHEET_C) ** 2,
            np.where(by_ambient | nothing, 0.0, face - air_in),
            hotter,
            np.where(np.isnan(wind), 0.0, np.minimum(wind, 15.0) - priors.WIND_M_PER_S),
            weak,
            strong,
            np.log(np.where(np.isnan(volts), 1.0, volts)),
            sun,
            np.zeros(len(asked)),
        ]
    )
    day_sun = np.where(by_ambient, per_k * priors.SUN_DAY_K * sun, np.nan)
    return columns, face, strip_var, day_sun


def _weather_unit() -> tuple[float, float]:
    """Log right speed at the reference sheet temperature, and its slope there per K."""
    at = np.array([priors.SHEET_C - 0.5, priors.SHEET_C, priors.SHEET_C + 0.5])
    below, here, above = log_right_speed(priors.NOZZLE_C, at, priors.WELD_C).tolist()
    return here, above - below


_HERE, _PER_K = _weather_unit()


def _conduction(nozzle: Array, ambient: Array, face: Array, volts: Array) -> tuple[Array, ...]:
    """What conduction says of the log right speed: K-equivalents of the sheet temperature,
    the nozzle's effect, and what a weak and a strong heater lose where they saturate."""
    ratio = np.where(np.isnan(volts), 1.0, volts)
    air = [
        np.full_like(face, priors.NOZZLE_C),
        nozzle,
        *(air_temperature_c(nozzle, ambient, ratio, rise) for rise in priors.HEATER_RISES_K),
    ]
    usual, full, weak, strong = log_right_speed(np.stack(air), face, priors.WELD_C)
    return (usual - _HERE) / _PER_K, full - usual, weak - full, strong - full


def _volts_ratio(asked: Sequence[_Asked], highest: dict[str, float]) -> Array:
    """Line over rated voltage; without a rating, over the highest seen on that machine."""

    def ratio(a: _Asked) -> float:
        if a.line_v is None:
            return float("nan")
        return a.line_v / (a.rated_v or max(highest.get(a.machine, 0.0), a.line_v))

    return np.array([ratio(a) for a in asked], dtype=float)


def _sun(hours: Sequence[float | None]) -> Array:
    """Share of high sun by the hour of the day; a middling share where it is unknown."""
    return np.array([0.6 if hour is None else share_by_hour(hour) for hour in hours], dtype=float)
