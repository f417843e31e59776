"""Heat conduction at the lap: how warm a face gets, and how fast one may travel.

Invariant: a face never gets colder than the sheet nor hotter than the air, and
more heat (slower, hotter air, warmer sheet) never makes it colder.

Each face of the lap is a semi-infinite solid whose surface meets hot air for
the dwell `L/v` (Carslaw & Jaeger, Conduction of Heat in Solids, 2nd ed., 2.7;
Incropera & DeWitt, transient conduction in a semi-infinite solid, case 3).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import erfc, erfcx

Array = NDArray[np.float64]

_NEWTON_STEPS = 5


def face_rise(x: ArrayLike) -> Array:
    """Share of the drive that the face has taken up, `1 - exp(x²)·erfc(x)`.

    `x = h·sqrt(alpha·t)/k`, no unit, `x >= 0`, any shape. `erfcx` is
    `exp(x²)·erfc(x)` without the overflow.
    """
    return 1.0 - np.asarray(erfcx(np.asarray(x, dtype=float)), dtype=float)


def rise_at_depth(depth_m: ArrayLike, t_s: ArrayLike, h: float, k: float, alpha: float) -> Array:
    """Share of the drive taken up at a depth after `t_s` seconds, no unit.

    `h` W/m²K, `k` W/mK, `alpha` m²/s, `t_s > 0`. Source as the module's:
    `erfc ξ - exp(hx/k + h²αt/k²)·erfc(ξ + h·sqrt(αt)/k)`, `ξ = x/(2·sqrt(αt))`,
    written with `erfcx` because the two exponents cancel: `exp(-ξ²)·erfcx(...)`.
    """
    root = np.sqrt(alpha * np.asarray(t_s, dtype=float))
    xi = np.asarray(depth_m, dtype=float) / (2.0 * root)
    return np.asarray(erfc(xi) - np.exp(-(xi**2)) * erfcx(xi + h * root / k), dtype=float)


def heat_number(rise: ArrayLike) -> Array:
    """The `x` at which the face has taken up `rise`: the inverse of `face_rise`.

    `0 < rise < 1`, any shape; values outside are taken at 1e-4 and 1 - 1e-4,
    since a smooth answer serves a fit better than infinity.
    """
    r = np.clip(np.asarray(rise, dtype=float), 1e-4, 1.0 - 1e-4)
    log_x = np.log(r * np.sqrt(np.pi) / 2.0 / (1.0 - r))
    for _ in range(_NEWTON_STEPS):
        x = np.exp(log_x)
        left = np.asarray(erfcx(x), dtype=float)
        # d/dx [exp(x²)·erfc(x)] = 2x·erfcx(x) - 2/sqrt(pi); log-odds of the rise is nearly
        # straight in log x, so Newton on it never overshoots far.
        slope = x * (2.0 / np.sqrt(np.pi) - 2.0 * x * left) / (left * (1.0 - left))
        odds = np.log((1.0 - left) / left) - np.log(r / (1.0 - r))
        log_x = log_x - odds / slope
    return np.asarray(np.exp(log_x), dtype=float)


def face_temperature_c(air_c: ArrayLike, sheet_c: ArrayLike, x: ArrayLike) -> Array:
    """Face temperature, °C, after heating to `x` from the sheet's own temperature."""
    sheet = np.asarray(sheet_c, dtype=float)
    return np.asarray(sheet + (np.asarray(air_c, dtype=float) - sheet) * face_rise(x))


def log_right_speed(air_c: ArrayLike, sheet_c: ArrayLike, weld_c: ArrayLike) -> Array:
    """Natural log of the travel speed that brings the face to `weld_c`, up to a constant.

    The dwell is `L/v`, so `x = K/sqrt(v)` and `ln v = 2·ln K - 2·ln x`, where
    `x` solves `face_rise(x) = (weld - sheet)/(air - sheet)`. The constant
    `2·ln K` (heated length, film coefficient, compound) is what strips teach.
    """
    sheet = np.asarray(sheet_c, dtype=float)
    drive = np.maximum(np.asarray(air_c, dtype=float) - sheet, 1.0)
    return np.asarray(-2.0 * np.log(heat_number((np.asarray(weld_c, dtype=float) - sheet) / drive)))
