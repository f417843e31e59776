"""What a machine's dial shows, and the speed behind it.

Invariant: marks and speeds rise together. A dial in ft/min or m/min is taken at
its word until marks were measured; a dial of bare numbers says nothing outside
the marks that were tied to a measured speed (distance over seconds).
"""

from __future__ import annotations

from bisect import bisect_right

from msgspec import Struct

M_PER_MIN = {"m/min": 1.0, "ft/min": 0.3048}


class MachineDial(Struct, frozen=True):
    """A machine's dial.

    Attributes:
        unit: ft/min, m/min, or mark.
        low, high, step: what it can be set to, in `unit`.
        marks: (mark, true speed in m/min), measured.
    """

    unit: str
    low: float
    high: float
    step: float
    marks: tuple[tuple[float, float], ...] = ()

    def speed(self, mark: float) -> float | None:
        """True speed behind a mark, m/min; None where no measurement ties the two."""
        if self.unit in M_PER_MIN:
            nominal = mark * M_PER_MIN[self.unit]
            return nominal * self._ratio(mark)
        points = sorted(self.marks)
        if len(points) < 2 or not points[0][0] <= mark <= points[-1][0]:
            return None
        return _between(points, mark)

    def settings(self) -> list[tuple[float, float]]:
        """Every (mark, speed in m/min) the dial can be set to, ascending, where a speed is known."""
        count = round((self.high - self.low) / self.step)
        marks = [round(self.low + n * self.step, 6) for n in range(count + 1)]
        pairs = [(mark, self.speed(mark)) for mark in marks]
        return [(mark, speed) for mark, speed in pairs if speed is not None]

    def mark(self, speed: float) -> float:
        """The mark nearest to a speed, in the dial's steps.

        Raises:
            ValueError: the dial knows no speeds.
        """
        settings = self.settings()
        if not settings:
            raise ValueError("no mark of this dial is tied to a speed")
        return min(settings, key=lambda pair: abs(pair[1] - speed))[0]

    def _ratio(self, mark: float) -> float:
        """True over shown speed: interpolated between measured marks, held beyond them."""
        points = sorted((m, v / (m * M_PER_MIN[self.unit])) for m, v in self.marks if m > 0)
        if not points:
            return 1.0
        return _between(points, min(max(mark, points[0][0]), points[-1][0]))


def _between(points: list[tuple[float, float]], x: float) -> float:
    if len(points) == 1:
        return points[0][1]
    at = min(max(bisect_right([p[0] for p in points], x), 1), len(points) - 1)
    (x0, y0), (x1, y1) = points[at - 1], points[at]
    return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
