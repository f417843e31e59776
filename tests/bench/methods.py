"""What every judged method is asked and answers, and the rules of thumb among them.

Invariant: a method sees observations and a question, never the truth (the oracles are
handed the `Scene`'s roof and day on purpose). `speed` is its advice; `run` is the
strip it would weld now. Peers with a predictive distribution also say how sure they
are; rules of thumb do not.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from scipy.special import erfcx

from tests.bench.days import Day, on_dial, passes, too_cold
from tests.bench.roofs import Roof
from weldcal.calibration.observation import Observation, SpeedQuestion

START_SPEED = 1.676  # common practice, no source: 5.5 ft/min at 500 °C on a mild day (25 °C sheet)
WELD_C = 165.0  # middle of the habitual 150 to 190 °C
SLOWER, STEP = -1.0, 0.16


@dataclass(frozen=True, slots=True)
class Prediction:
    """Of the next strip's unrounded median reading, mm (90 % interval), and of any bubbling."""

    median_mm: float
    low_mm: float
    high_mm: float
    bubbling: float


@dataclass(frozen=True, slots=True)
class Choice:
    """`sure` and the predictions are `None` where the method has none.

    `at_speed` predicts the advised setting, `at_run` the strip to run. `stop`: something is
    broken, and no speed is advised; `speed` and `run` are then the last ones run. `again`: the
    last strip passed, and one more is asked for at its setting. `broken`: chance that something is.
    `but_pull`: it would be sure, had a lap welded lately been pulled and held.
    """

    speed: float
    run: float
    sure: bool | None = None
    chance: float | None = None
    at_speed: Prediction | None = None
    at_run: Prediction | None = None
    stop: bool = False
    again: bool = False
    broken: float = 0.0
    but_pull: bool = False


@dataclass(frozen=True, slots=True)
class Scene:
    """Truth for the oracles: roof, judged day, hour asked about, hours of today's strips."""

    roof: Roof
    day: Day
    hour: float


@dataclass(frozen=True, slots=True)
class Known:
    """What a method sees: the strips of the days before, today's so far, and the question."""

    earlier: tuple[Observation, ...]
    today: tuple[Observation, ...]
    question: SpeedQuestion

    @property
    def rows(self) -> tuple[Observation, ...]:
        """All strips, oldest first."""
        return self.earlier + self.today

    @property
    def measured(self) -> tuple[Observation, ...]:
        """The strips whose bleed-out was read."""
        return tuple(r for r in self.rows if r.readings_mm)


class Method(Protocol):
    """One way of choosing a speed."""

    name: str

    def choose(self, known: Known, scene: Scene) -> Choice: ...


def felt_c(seen: Observation | SpeedQuestion) -> float:
    """The sheet's temperature where read, else ambient, else 15 °C."""
    if seen.sheet_c is not None:
        return seen.sheet_c
    return 15.0 if seen.ambient_c is None else seen.ambient_c


def face_ratio(x: np.ndarray | float) -> np.ndarray | float:
    """Surface of a semi-infinite solid under convection (Carslaw & Jaeger)."""
    return 1 - erfcx(x)


_X = np.linspace(0.01, 4, 2000)
_RATIO = face_ratio(_X)


def physics_log_speed(sheet_c: np.ndarray | float, nozzle_c: np.ndarray | float) -> np.ndarray:
    """Log speed that brings the face to `WELD_C`, relative to 25 °C sheet, 500 °C air."""

    def log_v(sheet: np.ndarray | float, nozzle: np.ndarray | float) -> np.ndarray:
        wanted = (WELD_C - np.asarray(sheet)) / (np.asarray(nozzle) - np.asarray(sheet))
        return -2 * np.log(np.interp(wanted, _RATIO, _X))

    return log_v(sheet_c, nozzle_c) - log_v(25.0, 500.0)


def last_go_ahead(rows: tuple[Observation, ...]) -> Observation | None:
    """The last strip that passed; a pull that was not tried does not stop the crew."""
    strips = (r for r in reversed(rows) if not r.on_seam and passes(r, pull_needed=False))
    return next(strips, None)


def _from_today(today: tuple[Observation, ...], first: float, *, halve: bool) -> float:
    """Step from today's last strip: fixed, or halved at each change of direction."""
    if not today:
        return first
    if passes(today[-1]):
        return today[-1].speed_m_per_min
    step, before = STEP, None
    for seen in today:
        cold = too_cold(seen)
        if halve and before is not None and cold != before:
            step /= 2
        before = cold
    return today[-1].speed_m_per_min * float(np.exp(-step if before else step))


@dataclass(frozen=True, slots=True)
class Rule:
    """Yesterday's setting; with `halve`, bracketing by halves; with `slope`, moved by physics."""

    name: str
    halve: bool = False
    slope: bool = False

    def choose(self, known: Known, scene: Scene) -> Choice:
        today, question = known.today, known.question
        base = last_go_ahead(known.rows)
        if base is not None and today and not passes(today[-1]) and base.day != question.day:
            base = None
        if base is None or (today and base is not today[-1]):
            first = START_SPEED * (np.exp(_moved(question)) if self.slope else 1.0)
            speed = _from_today(today, float(first), halve=self.halve)
            if today and self.slope:
                speed *= float(np.exp(_moved(question) - _moved(today[-1])))
        else:
            speed = base.speed_m_per_min
            if self.slope:
                speed *= float(np.exp(_moved(question) - _moved(base)))
        speed = on_dial(speed)
        return Choice(speed, speed)


def _moved(seen: Observation | SpeedQuestion) -> float:
    nozzle = 540.0 if seen.nozzle_c is None else seen.nozzle_c
    return float(physics_log_speed(felt_c(seen), nozzle))
