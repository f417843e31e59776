"""Strips of our own invention, for tests."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from weldcal.calibration import Observation, Reach, SpeedQuestion, Window
from weldcal.calibration.observation import SIXTEENTH_MM

Strip = Callable[..., Observation]


@pytest.fixture
def window() -> Window:
    """The usual limits: 1/8 to 3/8 in, aiming at 1/4 in."""
    return Window(low_mm=3.175, aim_mm=6.35, high_mm=9.525)


@pytest.fixture
def reach() -> Reach:
    """A dial from 0.5 to 6 m/min by 0.05."""
    return Reach(0.5, 6.0, 0.05, 400.0, 620.0)


@pytest.fixture
def question() -> SpeedQuestion:
    """A mild morning."""
    return SpeedQuestion(
        day="2026-06-20",
        machine="M1",
        sheet="cap",
        lap="selvage",
        nozzle_c=500.0,
        ambient_c=18.0,
        sheet_c=20.0,
        wind_m_per_s=2.0,
        hour=8.0,
    )


@pytest.fixture
def strip() -> Strip:
    """A strip on that morning; any field may be given."""
    plain = Observation(
        day="2026-06-20",
        machine="M1",
        sheet="cap",
        lap="selvage",
        nozzle_c=500.0,
        speed_m_per_min=1.7,
        ambient_c=18.0,
        sheet_c=20.0,
        wind_m_per_s=2.0,
        hour=8.0,
        readings_mm=(6.35, 6.35, 4.7625),
        bubbling="none",
        bond="good",
    )

    def make(**changes: object) -> Observation:
        return replace(plain, **changes)  # type: ignore[arg-type]

    return make


@pytest.fixture
def history(strip: Strip) -> Callable[..., list[Observation]]:
    """Days of strips by a plain law: ln width = ln 6.35 - E·ln(v/v0) + 0.015·E·(S - 20) + noise."""

    def make(
        days: int, elasticity: float = 1.5, v0: float = 1.8, seed: int = 1
    ) -> list[Observation]:
        rng = np.random.default_rng(seed)
        rows = []
        for d in range(days):
            offset = rng.normal(0.0, 0.05)
            for hour in (8.0, 13.0):
                sheet = float(rng.normal(15.0 if hour < 12 else 32.0, 5.0))
                heat = 0.015 * (sheet - 20.0) + offset
                speed = round(v0 * float(np.exp(0.010 * (sheet - 20.0) + rng.normal(0.0, 0.08))), 2)
                log_mm = np.log(6.35) + elasticity * (heat - np.log(speed / v0))
                mm = np.exp(log_mm + rng.normal(0.0, 0.08) + rng.normal(0.0, 0.1, 5))
                rows.append(
                    strip(
                        day=f"2026-05-{d + 1:02d}",
                        hour=hour,
                        sheet_c=round(sheet, 1),
                        ambient_c=round(sheet - 3.0, 1),
                        speed_m_per_min=speed,
                        bond=None,
                        readings_mm=tuple(
                            float(x) for x in np.round(mm / SIXTEENTH_MM) * SIXTEENTH_MM
                        ),
                    )
                )
        return rows

    return make


@pytest.fixture
def calm(question: SpeedQuestion) -> SpeedQuestion:
    """20 °C, no wind, nobody read the voltage."""
    return replace(question, wind_m_per_s=0.0)
