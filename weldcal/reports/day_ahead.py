"""When the next steps of the day come, in words: by the sun and the hour, if the sky stays.

Invariant: a time never stands without the sky it holds under, nor without the sheet it is for.
"""

from __future__ import annotations

from collections.abc import Sequence

from weldcal.calibration.observation import SpeedStep
from weldcal.json_values import JsonObject
from weldcal.reports import show
from weldcal.views.dialled import Asked
from weldcal.words import _, mark

_IF = {
    "clear": mark("Later today, if it stays clear:"),
    "overcast": mark("Later today, if it stays overcast:"),
    "as_read": mark("Later today, if the sky stays as it was at the reading:"),
}


def lines(asked: Asked, steps: Sequence[SpeedStep]) -> list[str]:
    """A heading and a line for each step; nothing where no step comes today."""
    if not steps:
        return []
    by_hour = asked.question.site is None
    foot = [_("(By the hour alone; nearer with: weldcal job place)")] if by_hour else []
    return [_sky(asked), *(f"- {_step(asked, step)}" for step in steps), *foot]


def next_step(asked: Asked, steps: Sequence[SpeedStep]) -> str:
    """The step that comes next, under its sky, in one line; empty where none comes today."""
    return f"{_sky(asked)} {_step(asked, steps[0]).rstrip('.')}." if steps else ""


def _sky(asked: Asked) -> str:
    """Under which sky the steps come."""
    from weldcal.calibration.holds import sky_of

    return _(_IF[sky_of(asked.question)])


def _step(asked: Asked, step: SpeedStep) -> str:
    from weldcal.reports.advice import on_dial

    values = {
        "speed": on_dial(asked, step.speed_m_per_min),
        "at": clock(step.hour),
        "temperature": show.temperature(step.temperature_c, asked.units),
    }
    if asked.question.sheet_c is None:
        return _("{speed} from about {at} (air {temperature})", **values)
    return _("{speed} from about {at} (sheet {temperature})", **values)


def clock(hour: float, *, to_min: int = 10) -> str:
    """An hour of the day as a clock shows it, like 10:20; to ten minutes, or as said."""
    minutes = round(hour * 60 / to_min) * to_min
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def document(asked: Asked, steps: Sequence[SpeedStep]) -> list[JsonObject]:
    """The steps as JSON."""
    return [
        {
            "hour": step.hour,
            "at": clock(step.hour),
            "temperature_c": step.temperature_c,
            "speed_m_per_min": step.speed_m_per_min,
            "dial_mark": asked.dial.mark(step.speed_m_per_min),
        }
        for step in steps
    ]
