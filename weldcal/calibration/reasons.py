"""Why this speed: what moved it most since a strip that everybody remembers.

Invariant: an effect is the speed that one difference explains, all else equal,
at the most likely coefficients; the sentence is made elsewhere.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from weldcal.calibration.features import features
from weldcal.calibration.observation import Observation, Question, Reason, Window

if TYPE_CHECKING:
    from weldcal.calibration.engine import Fit

MOST = 3
_SMALLEST = 0.005  # of the speed: less than any dial shows

_GROUPS = {
    "sheet_temperature": ("weather", "weather_curve", "two_faces"),
    "nozzle": ("nozzle",),
    "wind": ("wind",),
    "voltage": ("heater_low", "heater_high", "voltage"),
    "sun": ("sun",),
}
_READ = {
    "sheet_temperature": ("sheet_c", "ambient_c"),
    "wind": ("wind_m_per_s",),
    "voltage": ("line_v",),
}


def reasons(
    fit: Fit, question: Question, speed: float, nozzle_c: float, window: Window
) -> tuple[Reason, ...]:
    """At most three reasons, largest first, against the last good strip of its kind."""
    last = _last_good(fit, question, window)
    if last is None:
        return _without_strips(fit, question, speed, nozzle_c)
    then = fit.observations[last]
    found = _conditions(fit, question, then, speed, nozzle_c)
    found += _day(fit, question, last, speed)
    values: dict[str, float | str] = {
        "speed_m_per_min": then.speed_m_per_min,
        "day": then.day,
        "id": then.id,
    }
    if then.readings_mm:
        values["width_mm"] = float(np.median(then.readings_mm))
    heat = fit.heats(question.sheet)[last]
    asked = fit.heat_at(question, nozzle_c, speed)
    found.append(
        Reason(
            "last_go_ahead",
            speed * float(np.expm1(heat - asked)),
            values,
        )
    )
    telling = [r for r in found if abs(r.effect) >= _SMALLEST * speed]
    return tuple(sorted(telling, key=lambda r: -abs(r.effect))[:MOST])


def _last_good(fit: Fit, question: Question, window: Window) -> int | None:
    """Position of the last good strip on this sheet and lap, this machine's if it has one."""
    good = [
        i
        for i, o in enumerate(fit.observations)
        if o.sheet == question.sheet and o.lap == question.lap and _good(o, window)
    ]
    mine = [i for i in good if fit.observations[i].machine == question.machine]
    among = mine or good
    return max(
        among,
        key=lambda i: (fit.observations[i].day, fit.observations[i].hour or 0.0, i),
        default=None,
    )


def _good(o: Observation, window: Window) -> bool:
    if o.bubbling == "heavy" or o.bond == "cold":
        return False
    if not window.by_bleed_out:
        return o.bond == "good"
    if not o.readings_mm:
        return False
    return window.low_mm <= float(np.median(o.readings_mm)) <= window.high_mm


def _conditions(
    fit: Fit, question: Question, then: Observation, speed: float, nozzle_c: float
) -> list[Reason]:
    """What changed between the strip's conditions and now."""
    levels = fit.layout.levels
    now_x = features([question], np.array([nozzle_c]), levels).x[0]
    then_x = features([then], np.array([then.nozzle_c]), levels).x[0]
    moved = (now_x - then_x) * fit.center(question.sheet).u[0, : fit.layout.linear]
    at = {name: i for i, name in enumerate(levels.names)}
    found = []
    for code, names in _GROUPS.items():
        effect = speed * -float(np.expm1(-sum(moved[at[n]] for n in names)))
        values: dict[str, float | str] = {"day": then.day}
        if code == "nozzle":
            values |= {"now_nozzle_c": nozzle_c, "then_nozzle_c": then.nozzle_c}
        for name in _READ.get(code, ()):
            now, before = getattr(question, name), getattr(then, name)
            if now is not None and before is not None:
                values |= {f"now_{name}": now, f"then_{name}": before}
                break
        found.append(Reason(code, effect, values))
    return found


def _day(fit: Fit, question: Question, last: int, speed: float) -> list[Reason]:
    """Another day: what today's strips (or their absence) say of its offset."""
    then = fit.observations[last]
    if then.day == question.day:
        return []
    before = fit.cell_offset(question.sheet, (then.day, then.machine))
    moved = float(fit.draws(question).t.mean()) - before
    today = sum(o.day == question.day for o in fit.observations)
    code = "day_offset" if today else "day_unknown"
    return [Reason(code, speed * -float(np.expm1(-moved)), {"strips_today": float(today)})]


def _without_strips(
    fit: Fit, question: Question, speed: float, nozzle_c: float
) -> tuple[Reason, ...]:
    """No good strip yet: the trade's common point, and what conditions move from there."""
    from weldcal.calibration import priors

    reference = Question(
        day="",
        machine=question.machine,
        sheet=question.sheet,
        lap="selvage",
        nozzle_c=priors.NOZZLE_C,
        sheet_c=priors.SHEET_C,
        ambient_c=priors.SHEET_C,
        wind_m_per_s=priors.WIND_M_PER_S,
    )
    levels = fit.layout.levels
    now_x = features([question], np.array([nozzle_c]), levels).x[0]
    then_x = features([reference], np.array([priors.NOZZLE_C]), levels).x[0]
    moved = (now_x - then_x) * fit.center(question.sheet).u[0, : fit.layout.linear]
    at = {name: i for i, name in enumerate(levels.names)}
    found = [
        Reason(code, speed * -float(np.expm1(-sum(moved[at[n]] for n in names))), {})
        for code, names in {**_GROUPS, "granules": ("lap:granules",)}.items()
    ]
    telling = [r for r in found if abs(r.effect) >= _SMALLEST * speed]
    common = Reason(
        "common_practice",
        0.0,
        {"speed_m_per_min": float(np.exp(priors.INTERCEPT.mean)), "nozzle_c": priors.NOZZLE_C},
    )
    return (common, *sorted(telling, key=lambda r: -abs(r.effect))[: MOST - 1])
