"""Heat at the lap: what air the heater gives, and how fast one may travel for a face so warm.

Invariant: hotter air and a warmer sheet never make the right speed slower, and a
warmer face wanted never makes it faster. The air never leaves the heater hotter than
the set point, and a lower line voltage never makes it hotter.

Each face of the lap is a semi-infinite solid whose surface meets hot air for
the dwell `L/v` (Carslaw & Jaeger, Conduction of Heat in Solids, 2nd ed., 2.7;
Incropera & DeWitt, transient conduction in a semi-infinite solid, case 3): it
takes up `1 - exp(x²)·erfc(x)` of the drive, `x = h·sqrt(alpha·t)/k`, no unit.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import erfcx

Array = NDArray[np.float64]

_NEWTON_STEPS = 5


def heat_number(rise: ArrayLike) -> Array:
    """The `x` at which the face has taken up `rise` of the drive, `1 - exp(x²)·erfc(x)`.

    `erfcx` is `exp(x²)·erfc(x)` without the overflow. `0 < rise < 1`, any shape; values outside are taken at 1e-4 and 1 - 1e-4,
    since a smooth answer serves a fit better than infinity.

    Args:
        rise: share of the drive that the face took up, 0 to 1; any shape.

    Returns:
        `x`, of the shape of `rise`.
    """
    r = np.clip(np.asarray(rise, dtype=float), 1e-4, 1.0 - 1e-4)
    wanted = np.log(r / (1.0 - r))
    log_x = wanted
    for _ in range(_NEWTON_STEPS):
        x = np.exp(log_x)
        left = np.asarray(erfcx(x), dtype=float)
        # d/dx [exp(x²)·erfc(x)] = 2x·erfcx(x) - 2/sqrt(pi); log-odds of the rise is nearly
        # straight in log x, so Newton on it never overshoots far.
        slope = x * (2.0 / np.sqrt(np.pi) - 2.0 * x * left) / (left * (1.0 - left))
        log_x = log_x - (np.log((1.0 - left) / left) - wanted) / slope
    return np.asarray(np.exp(log_x), dtype=float)


def log_right_speed(air_c: ArrayLike, sheet_c: ArrayLike, weld_c: ArrayLike) -> Array:
    """Natural log of the travel speed that brings the face to `weld_c`, up to a constant.

    The dwell is `L/v`, so `x = K/sqrt(v)` and `ln v = 2·ln K - 2·ln x`, where
    `x` is the heat number of `(weld - sheet)/(air - sheet)`. The constant
    `2·ln K` (heated length, film coefficient, compound) is what strips teach.

    Args:
        air_c: hot air, °C.
        sheet_c: the sheet before, °C.
        weld_c: what the face shall reach, °C.

    Returns:
        ln speed, up to a constant.
    """
    sheet = np.asarray(sheet_c, dtype=float)
    drive = np.maximum(np.asarray(air_c, dtype=float) - sheet, 1.0)
    return np.asarray(-2.0 * np.log(heat_number((np.asarray(weld_c, dtype=float) - sheet) / drive)))


FLOW_EXPONENT = 0.5


def air_temperature_c(
    set_c: ArrayLike,
    ambient_c: ArrayLike,
    volts_ratio: ArrayLike,
    rise_at_rated_c: ArrayLike,
) -> Array:
    """Air temperature of a regulated heater, °C: the set point until it saturates.

    Energy balance over the heater: at full duty `P = m·c·(T_air - T_ambient)`,
    with `P` going as `V²` (a resistance) and the blower's air flow as
    `V**FLOW_EXPONENT` (common practice gives no number: 0 is a regulated
    blower, 1 a plain series motor). So the greatest rise is
    `rise_at_rated · ratio**(2 - FLOW_EXPONENT)`, and below it the regulator
    holds the set point.

    `volts_ratio` is line voltage under load over rated voltage;
    `rise_at_rated_c` the greatest rise over ambient at rated voltage, K.

    Args:
        set_c: set point, °C.
        ambient_c: air drawn in, °C.
        volts_ratio: line over rated voltage.
        rise_at_rated_c: greatest rise at rated voltage, K.

    Returns:
        °C.
    """
    ratio = np.maximum(np.asarray(volts_ratio, dtype=float), 0.0)
    ambient = np.asarray(ambient_c, dtype=float)
    cap = ambient + np.asarray(rise_at_rated_c, dtype=float) * ratio ** (2.0 - FLOW_EXPONENT)
    return np.asarray(np.minimum(np.asarray(set_c, dtype=float), cap))
