"""The machine's heater on a weak line: what air temperature it can hold.

Invariant: the air never leaves hotter than the set point, and a lower line
voltage never makes it hotter.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

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
