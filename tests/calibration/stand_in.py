"""A fit whose answers are known beforehand: rules about advice are tried on it by hand.

The right speed is given by a formula of the test's own; a setting's heat index is its log over
the speed travelled, and every chance follows from that by formulas written here.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field, replace
from math import exp, log
from types import SimpleNamespace
from typing import Any

import numpy as np

from weldcal.calibration import Observation, Reach, SpeedQuestion, Window
from weldcal.calibration.features import Levels
from weldcal.calibration.observation import DayState
from weldcal.calibration.outcome import Outcomes

Right = Callable[[Any], float]
WORKING, NO_LEVELS = DayState(), Levels((), ())
WIDE = 0.15  # heat index at which a setting is good with chance exp(-1/2)


def steady(_asked: object) -> float:
    """The right speed is 2 m/min whatever the weather."""
    return 2.0


@dataclass(frozen=True)
class StandIn:
    """Answers like `engine.Fit`, from a right speed (m/min) of a question or an observation."""

    observations: tuple[Observation, ...] = ()
    right: Right = steady
    broken: DayState = WORKING
    wild: tuple[int, ...] = ()
    tried: tuple[float, float] | None = None
    levels: Levels = NO_LEVELS
    seed: int = 0
    known: None = None
    cut: list[Collection[int]] = field(default_factory=list)

    @property
    def layout(self) -> Any:
        """Only its levels."""
        return SimpleNamespace(levels=self.levels)

    @property
    def data(self) -> Any:
        """Only that there are few rows, and a scatter along a strip of 0.13."""
        return SimpleNamespace(kind=np.zeros(len(self.observations)), reading_spread=0.13)

    def heats(self, _sheet: str) -> list[float]:
        """Of every observation; NaN where it says nothing."""
        return [
            float(np.log(self.right(o) / o.speed_m_per_min))
            if o.readings_mm or o.bond or o.bubbling
            else float("nan")
            for o in self.observations
        ]

    def heat_at(self, question: SpeedQuestion, nozzle_c: float, speed: float) -> float:
        """Of a setting."""
        return float(np.log(self.right(replace(question, nozzle_c=nozzle_c)) / speed))

    def likely_log_speeds(self, question: SpeedQuestion) -> tuple[float, float]:
        """A tenth either way."""
        middle = float(np.log(self.right(question)))
        return middle - 0.1, middle + 0.1

    def outcomes(
        self,
        question: SpeedQuestion,
        nozzles_c: Sequence[float],
        speeds: Sequence[float],
        _window: Window | None = None,
    ) -> Outcomes:
        """One draw: good by how near the heat index is to 0."""
        z = np.array(
            [[self.heat_at(question, n, v) for n, v in zip(nozzles_c, speeds, strict=True)]]
        )
        none = np.zeros_like(z)
        joint = np.exp(-0.5 * (z / WIDE) ** 2)
        return Outcomes(np.log(6.35) + 2 * z, none + 0.1, none, none, none, none, none, joint)

    def residuals(self, _sheet: str) -> tuple[Any, Any, Any, Any]:
        """Ten sds off where an observation is wild, else none."""
        count = len(self.observations)
        miss = np.array([10.0 if i in self.wild else 0.0 for i in range(count)])
        return np.zeros(count), miss, np.ones(count), np.arange(count)

    def tried_c(self, _sheet: str, _lap: str) -> tuple[float, float] | None:
        """As given."""
        return self.tried

    def at_sheet(self, question: SpeedQuestion, sheet_c: float) -> SpeedQuestion:
        """The question at another sheet temperature."""
        return replace(question, sheet_c=sheet_c, hour_sheet_read=None)

    def state(self, _question: SpeedQuestion) -> DayState:
        """As given."""
        return self.broken

    def without(self, positions: Collection[int]) -> StandIn:
        """Those left out are noted."""
        self.cut.append(positions)
        kept = tuple(o for i, o in enumerate(self.observations) if i not in positions)
        return replace(self, observations=kept)


REACH = Reach(1.0, 4.0, 0.1, 400.0, 600.0)


def weather(asked: Any) -> float:
    """2 m/min at 20 °C, 1 % a K; by the air where nobody read the sheet."""
    sheet = asked.sheet_c if asked.sheet_c is not None else asked.ambient_c
    wind = asked.wind_m_per_s or 0.0
    volts = asked.line_v or 230.0
    return 2.0 * exp(
        0.01 * (sheet - 20.0)
        - 0.02 * wind
        + 0.5 * log(volts / 230.0)
        + 0.002 * (asked.nozzle_c - 500.0)
    )


def known(*rows: Observation, **given: Any) -> Any:
    """The fit known by heart, of these strips; tried between 15 and 25 °C."""
    return StandIn(rows, **({"right": weather, "tried": (15.0, 25.0)} | given))
