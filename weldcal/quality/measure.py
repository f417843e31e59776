"""The machine measured: true speed behind a mark, true heat behind a reading, and drift.

Invariant: nothing is said to have drifted, or not to have, unless the whole
interval of the measurement says so; between the two the answer is "cannot_tell".

Decision by the interval: JCGM 106:2012 §8 (guarded both ways). Interval of a
speed: relative uncertainties of distance and time in quadrature, JCGM 100:2008
5.1.6, with coverage factor 2; beside them how the runs scatter about their mean,
with Student's t for so few (JCGM 100:2008 4.2.3, G.3.2).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import fmean, stdev

from msgspec import Struct

from weldcal.quality.dial import MachineDial
from weldcal.records.limits import SITE

WITHIN = "within"
DRIFTED = "drifted"
CANNOT_TELL = "cannot_tell"

COVERAGE = 2.0
# Site settings, no source: a stopwatch by thumb, a tape pulled along the lap.
TIMING_S = 0.2
TAPE_M = 0.005
# How runs of one machine at one mark scatter, as a share of the speed, where fewer than three
# were timed and nobody knows: a foot of slack in the hose, the sheet's give, the hand on it.
RUN_SCATTER = 0.02
RUNS_LEAST = 3
SPEED_TOLERANCE = 0.05
THERMOMETER_K = 5.0  # standard uncertainty of the thermometer in the air stream
HEAT_TOLERANCE_K = 15.0
TOLERANCE_SOURCE = SITE


class Measured(Struct, frozen=True):
    """One measurement of a machine's speed.

    Attributes:
        at_s: when, seconds since any epoch.
        mark: what the dial showed, in its own marks.
        distance_m, runs_s: travelled in these times, one for each run over it.
        timing_s, tape_m: standard uncertainty of the two.
    """

    at_s: float
    mark: float
    distance_m: float
    runs_s: tuple[float, ...]
    timing_s: float = TIMING_S
    tape_m: float = TAPE_M

    @property
    def seconds(self) -> float:
        """The mean of the runs."""
        return fmean(self.runs_s)


class SpeedCheck(Struct, frozen=True):
    """A measurement against what the dial was believed to say.

    Attributes:
        ratio: true over believed speed, with its interval; None where nothing was believed.
        state: within, drifted or cannot_tell; None likewise.
        runs: how many runs were timed.
    """

    at_s: float
    mark: float
    speed_m_per_min: float
    ratio: float | None
    low: float | None
    high: float | None
    state: str | None
    runs: int


class Drift(Struct, frozen=True):
    """What the last measurement says of a machine, and of what was welded before it.

    Attributes:
        state: of the last check; None where there is none.
        ratio: true over believed speed, now.
        doubt_since_s: last check found within, after which seams were welded at another
            speed than recorded; None where the state is within, -inf where there never was one.
        seams_low, seams_high: true over believed speed of those seams: drift may have come
            at once or crept in.
        measure_over_m: the distance over which a measurement would tell; None where it did.
    """

    state: str | None
    ratio: float | None = None
    doubt_since_s: float | None = None
    seams_low: float = 1.0
    seams_high: float = 1.0
    measure_over_m: float | None = None


class HeatCheck(Struct, frozen=True):
    """A measured nozzle temperature against the reading: offset in K, measured less shown."""

    offset_k: float
    state: str


def true_speed(distance_m: float, seconds: float) -> float:
    """Speed, m/min.

    Raises:
        ValueError: a distance or time not above 0.
    """
    if distance_m <= 0 or seconds <= 0:
        raise ValueError("a measured distance and its seconds are above 0")
    return distance_m / seconds * 60.0


def relative_uncertainty(measured: Measured) -> float:
    """Standard uncertainty of a speed from stopwatch and tape, as a share of it."""
    # Every run is timed by itself; the tape was laid once.
    timing = measured.timing_s / math.sqrt(len(measured.runs_s))
    return math.hypot(timing / measured.seconds, measured.tape_m / measured.distance_m)


def half_width(measured: Measured) -> float:
    """Half of the 95 % interval of a speed, as a share of it: instruments and scatter together."""
    instruments = COVERAGE * relative_uncertainty(measured)
    n = len(measured.runs_s)
    if n < RUNS_LEAST:
        return math.hypot(instruments, COVERAGE * RUN_SCATTER / math.sqrt(n))
    from scipy.special import stdtrit

    scatter = stdev(measured.runs_s) / measured.seconds / math.sqrt(n)
    return math.hypot(instruments, float(stdtrit(n - 1, 0.975)) * scatter)


def least_distance_m(speed_m_per_min: float, tolerance: float = SPEED_TOLERANCE) -> float:
    """Shortest distance whose interval is no wider than the tolerance, m.

    With u = hypot(t·v, l)/d, the half-width 2u equals the tolerance at d = 2·hypot(t·v, l)/tolerance.
    """
    metres_of_timing = TIMING_S * speed_m_per_min / 60.0
    return COVERAGE * math.hypot(metres_of_timing, TAPE_M) / tolerance


def check(measured: Measured, dial: MachineDial) -> SpeedCheck:
    """One measurement against the dial as it was believed. Raises as `true_speed`."""
    speed = true_speed(measured.distance_m, measured.seconds)
    believed = dial.speed(measured.mark)
    runs = len(measured.runs_s)
    if not believed:
        return SpeedCheck(measured.at_s, measured.mark, speed, None, None, None, None, runs)
    ratio = speed / believed
    half = half_width(measured) * ratio
    low, high = ratio - half, ratio + half
    state = _judge(low - 1.0, high - 1.0, SPEED_TOLERANCE)
    return SpeedCheck(measured.at_s, measured.mark, speed, ratio, low, high, state, runs)


def history(measurements: Sequence[Measured], dial: MachineDial) -> tuple[SpeedCheck, ...]:
    """Every measurement in order of time, each against the dial."""
    ordered = sorted(measurements, key=lambda measured: measured.at_s)
    return tuple(check(measured, dial) for measured in ordered)


def drift(checks: Sequence[SpeedCheck]) -> Drift:
    """What the last check says of now, and of the seams since the last one found within.

    `checks` in order of time, as `history` gives them.
    """
    checked = [(c.at_s, c.ratio, c.state) for c in checks if c.ratio is not None]
    if not checked:
        return Drift(None)
    _at, now, state = checked[-1]
    if state == WITHIN:
        return Drift(WITHIN, now)
    over = None
    if state == CANNOT_TELL:
        speed = next(c.speed_m_per_min for c in reversed(checks) if c.ratio is not None)
        # At the very edge of the tolerance no length of lap would tell: a fifth of it is enough.
        gap = max(abs(abs(now - 1.0) - SPEED_TOLERANCE), SPEED_TOLERANCE / 5.0)
        over = least_distance_m(speed, gap / now)
    since = max((at for at, _ratio, was in checked if was == WITHIN), default=-math.inf)
    ratios = [1.0, *(ratio for at, ratio, _was in checked if at >= since)]
    return Drift(state, now, since, min(ratios), max(ratios), over)


def heat_check(measured_c: float, shown_c: float) -> HeatCheck:
    """Offset of a nozzle's reading, and whether it is off what is shown."""
    offset, half = measured_c - shown_c, COVERAGE * THERMOMETER_K
    return HeatCheck(offset, _judge(offset - half, offset + half, HEAT_TOLERANCE_K))


def _judge(low: float, high: float, tolerance: float) -> str:
    """Where an interval of a deviation lies against ± a tolerance."""
    if low > tolerance or high < -tolerance:
        return DRIFTED
    if -tolerance <= low and high <= tolerance:
        return WITHIN
    return CANNOT_TELL
