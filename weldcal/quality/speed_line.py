"""A plain line through the speeds of go-ahead strips against temperature.

Invariant: of points summed up the line is that of the points; where they are too few or too
near in temperature there is none.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

_FEWEST, _LEAST_SPREAD_K = 4, 5.0


class SpeedLine(Struct, frozen=True):
    """A plain line through ln(speed) of go-ahead strips against temperature.

    Attributes:
        slope: per K; low, high: its 95 % interval.
        height: ln of the speed in m/min at 0 °C.
        spread: of ln(speed) about the line.
        middle_c, across: mean of the temperatures, °C, and the sum of squares about it.
    """

    n: int
    slope: float
    low: float
    high: float
    height: float
    spread: float
    middle_c: float
    across: float

    def at(self, celsius: float, confidence: float = 0.9) -> tuple[float, float, float]:
        """The speed at a temperature, m/min, and between which the next go-ahead strip's lies.

        The interval of a prediction of a regression (NIST/SEMATECH e-Handbook 4.5.2.1).
        """
        from scipy.special import stdtrit

        off = (celsius - self.middle_c) ** 2 / self.across
        wide = float(stdtrit(self.n - 2, (1.0 + confidence) / 2.0)) * self.spread
        half = wide * math.sqrt(1.0 + 1.0 / self.n + off)
        level = self.height + self.slope * celsius
        return math.exp(level), math.exp(level - half), math.exp(level + half)


class Moments(Struct, frozen=True):
    """Points (temperature, ln of the speed) summed up.

    Attributes:
        low_c, high_c: the coldest and the warmest, °C.
        middle_c, level: their means.
        across, along, up: sums of (°C)², °C·ln and ln², each from its mean.
    """

    n: int
    low_c: float
    high_c: float
    middle_c: float
    level: float
    across: float
    along: float
    up: float


def line_of(points: Sequence[tuple[float, float]]) -> SpeedLine | None:
    """Least squares of ln(speed) on temperature; None with under 4 points or 5 K between them.

    Args:
        points: (°C, m/min).
    """
    if not points:
        return None
    temps = [c for c, _v in points]
    logs = [math.log(v) for _c, v in points]
    middle, level = math.fsum(temps) / len(temps), math.fsum(logs) / len(logs)
    both = list(zip(temps, logs, strict=True))
    return line_through(
        Moments(
            n=len(points),
            low_c=min(temps),
            high_c=max(temps),
            middle_c=middle,
            level=level,
            across=math.fsum((c - middle) ** 2 for c in temps),
            along=math.fsum(c * (y - level) for c, y in both),
            up=math.fsum((y - level) ** 2 for y in logs),
        )
    )


def line_through(m: Moments) -> SpeedLine | None:
    """The same line, of points summed up."""
    if m.n < _FEWEST or m.high_c - m.low_c < _LEAST_SPREAD_K:
        return None
    from scipy.special import stdtrit

    slope = m.along / m.across
    freedom = m.n - 2
    spread = math.sqrt(max(0.0, m.up - slope * m.along) / freedom)
    half = float(stdtrit(freedom, 0.975)) * spread / math.sqrt(m.across)
    return SpeedLine(
        n=m.n,
        slope=slope,
        low=slope - half,
        high=slope + half,
        height=m.level - slope * m.middle_c,
        spread=spread,
        middle_c=m.middle_c,
        across=m.across,
    )
