"""The calibration engine: from a job's strips to the travel speed to set.

Invariant: plain records in, plain records out; no file is read or written, and
numpy is imported only when something is asked.

    >>> from weldcal.calibration import Observation, Reach, SpeedQuestion, Window, fit
    >>> strip = Observation(
    ...     day="2026-06-01", machine="M1", sheet="cap", lap="selvage", nozzle_c=500.0,
    ...     speed_m_per_min=1.7, sheet_c=18.0, readings_mm=(6.35, 4.7625, 6.35), bubbling="none",
    ... )
    >>> window = Window(low_mm=3.175, aim_mm=6.35, high_mm=9.525)
    >>> known = fit([strip], window)
    >>> now = SpeedQuestion(
    ...     day="2026-06-01", machine="M1", sheet="cap", lap="selvage", nozzle_c=500.0, sheet_c=18.0
    ... )
    >>> reach = Reach(0.5, 5.0, 0.05, 400.0, 600.0)
    >>> advice = known.advise(now, window, reach)
    >>> 1.2 < advice.forecast.speed_m_per_min < 2.0
    True

MODEL.md beside this file writes the model down.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from weldcal.calibration.observation import (
    SIXTEENTH_MM,
    Advice,
    AdviceReason,
    Bond,
    Bubbling,
    DayState,
    Forecast,
    Lap,
    NextStrip,
    Observation,
    Reach,
    SecondStrip,
    Sign,
    SpeedQuestion,
    SpeedStep,
    Window,
)

if TYPE_CHECKING:
    from weldcal.calibration.advice import NothingInReachError
    from weldcal.calibration.engine import Fit, fit
    from weldcal.calibration.knowledge import From, KnownNames
    from weldcal.calibration.model_report import Report, report
    from weldcal.calibration.pocket_card import CardLine, card

__all__ = [
    "SIXTEENTH_MM",
    "Advice",
    "AdviceReason",
    "Bond",
    "Bubbling",
    "CardLine",
    "DayState",
    "Fit",
    "Forecast",
    "From",
    "KnownNames",
    "Lap",
    "NextStrip",
    "NothingInReachError",
    "Observation",
    "Reach",
    "Report",
    "SecondStrip",
    "Sign",
    "SpeedQuestion",
    "SpeedStep",
    "Window",
    "card",
    "fit",
    "report",
]

_LATE = {
    "CardLine": "pocket_card",
    "Fit": "engine",
    "From": "knowledge",
    "KnownNames": "knowledge",
    "NothingInReachError": "advice",
    "Report": "model_report",
    "card": "pocket_card",
    "fit": "engine",
    "report": "model_report",
}


def __getattr__(name: str) -> Any:
    """Import what needs numpy when it is first asked for (PEP 562)."""
    if name not in _LATE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(f"{__name__}.{_LATE[name]}"), name)
