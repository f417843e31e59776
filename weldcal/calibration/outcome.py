"""What settings would give, draw by draw: widths and the four ways a weld can fail.

Invariant: chances come from joint draws. Within a draw, width, bubbling and
bond are independent; across draws they share everything unknown.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from scipy.special import expit

from weldcal.calibration import priors, response
from weldcal.calibration.features import Array, Features
from weldcal.calibration.layout import ParameterLayout
from weldcal.calibration.observation import Forecast, Window
from weldcal.calibration.posterior import Draws

READINGS = 5  # readings of the next strip, whose median is forecast
OWN_BLUR = 0.75  # share of a threshold's blur that is the weld's own, not one strip's luck
_MEDIAN_VAR = np.pi / 2.0  # variance of a median over that of a mean, normal readings


@dataclass(frozen=True, slots=True)
class Outcomes:
    """Per draw and setting, arrays (draws, settings).

    `log_width`: typical of the weld; `scale` of the next strip's median about it.
    `little`, `much`: whether that typical width is outside the limits (0 or 1); `joint`:
    chance that the weld itself, not one strip's luck, is right in all respects.
    `bubbling` (that fails), `heavy`, `cold`: chances for the next strip.
    """

    log_width: Array
    scale: Array
    little: Array
    much: Array
    bubbling: Array
    heavy: Array
    cold: Array
    joint: Array


def outcomes(
    draws: Draws,
    layout: ParameterLayout,
    asked: Features,
    loading: Array,
    log_speed: Array,
    window: Window,
    reading_spread: float,
    stale: Array | float = 0.0,
) -> Outcomes:
    """Outcomes at settings, arrays (draws, settings).

    Args:
        draws: joint draws for the asked day, machine and sheet.
        layout: order of the coefficients.
        asked, loading: columns and loading on drift, one row a setting (or one for all).
        log_speed: ln of the travel speeds (m/min), one a setting.
        window: the job's limits, mm.
        reading_spread: scatter of ln width along a strip.
        stale: per draw, what an old reading of the sheet is off, and what a repair nobody has
            welded after brought (ln speed).

    Returns:
        the outcomes.
    """
    day = draws.t[:, None] + draws.s[:, None] * loading
    linear = draws.u[:, : layout.linear] @ asked.x.T + np.reshape(stale, (-1, 1))
    z = linear + day - log_speed
    steep = np.exp(draws.u[:, layout.elasticity + asked.sheet[0]])[:, None]
    rise, _, _ = response.bend(z, draws.u[:, layout.curvature, None])
    mu = response.LOG_WIDTH + steep * rise
    median_var = _MEDIAN_VAR * reading_spread**2 / READINGS
    var = response.strip_variance(steep, draws.strip[:, None], asked.strip_var) + median_var
    scale = np.sqrt(var) + np.zeros_like(mu)
    if layout.by_bleed_out:
        little = (mu < np.log(window.low_mm)).astype(float)
        much = (mu > np.log(window.high_mm)).astype(float)
    else:
        little = much = np.zeros_like(mu)
    seen = _seen(draws.u, layout, asked, z, z - (1.0 - priors.DAY_BUBBLES) * day, window)
    joint = (1.0 - little - much) * seen.fine
    return Outcomes(mu, scale, little, much, seen.fails, seen.heavy, seen.cold, joint)


@dataclass(frozen=True, slots=True)
class _Seen:
    """Chances, per draw and setting, of what is seen besides the width: bubbling that fails, heavy
    bubbling and a cold bond of the next strip; and that the weld itself is free of either."""

    fails: Array
    heavy: Array
    cold: Array
    fine: Array


def _seen(
    u: Array, layout: ParameterLayout, asked: Features, z: Array, z_bubbling: Array, window: Window
) -> _Seen:
    """The chances at heat indices `z`, those of bubbling at `z_bubbling` (draws, settings)."""
    at, blurs = response.thresholds(u, layout), layout.curvature + 4
    first = (at.trace + u[:, layout.bubbling_sheet + asked.sheet[0]])[:, None]
    blur = response.blurred(u[:, blurs, None], asked.strip_var)
    trace = expit((z_bubbling - first) / blur)
    heavy = trace * expit((z_bubbling - first - at.gap[:, None]) / blur)
    cold_blur = response.blurred(u[:, blurs + 1, None], asked.strip_var)
    cold = expit((at.cold[:, None] - z) / cold_blur)
    limit = first + at.gap[:, None] if window.trace_ok else first
    fine = expit((limit - z_bubbling) / (OWN_BLUR * blur)) * expit(
        (z - at.cold[:, None]) / (OWN_BLUR * cold_blur)
    )
    return _Seen(heavy if window.trace_ok else trace, heavy, cold, fine)


def forecasts(
    outcomes: Outcomes, nozzles_c: Sequence[float], speeds: Sequence[float], noise: Array
) -> list[Forecast]:
    """Means over draws and the 90 % interval; `noise[m]` are standardised strip errors.

    Args:
        outcomes: outcomes (draws, settings).
        nozzles_c: of each setting, °C.
        speeds: of each setting, m/min.
        noise: a standardised strip error for each draw.

    Returns:
        one forecast a setting.
    """
    width = np.exp(outcomes.log_width + outcomes.scale * noise[:, None])
    low, middle, high = np.quantile(width, [0.05, 0.5, 0.95], axis=0)
    means = [
        value.mean(axis=0)
        for value in (
            outcomes.joint,
            outcomes.little,
            outcomes.much,
            outcomes.bubbling,
            outcomes.cold,
            outcomes.heavy,
        )
    ]
    table = np.column_stack([nozzles_c, speeds, middle, low, high, *means]).tolist()
    return [Forecast(*row) for row in table]


def between(coarse: Sequence[Forecast], speeds: Array) -> list[Forecast]:
    """Forecasts at many speeds by interpolation in ln speed (widths by their logs).

    Args:
        coarse: forecasts at one nozzle temperature, slowest first.
        speeds: travel speeds, m/min.

    Returns:
        one forecast a speed.
    """
    table = np.array([[getattr(f, c.name) for c in fields(Forecast)] for f in coarse])
    table[:, 1:5] = np.log(table[:, 1:5])
    at = np.log(speeds)
    rows = np.column_stack([np.interp(at, table[:, 1], column) for column in table.T])
    rows[:, 1:5] = np.exp(rows[:, 1:5])
    return [Forecast(*row) for row in rows.tolist()]


def strip_noise(count: int, seed: int) -> Array:
    """Standardised errors of the contaminated normal, evenly spread and shuffled.

    Args:
        count: draws.
        seed: of the noise; the same each time.

    Returns:
        errors in sds, (count,).
    """
    rng = np.random.default_rng(seed + 1)
    noise = rng.standard_normal(count)
    wild = rng.random(count) < priors.WILD_STRIP
    return np.where(wild, priors.WILD_FACTOR * noise, noise)
