"""Why this speed: what the advice would have been without one thing.

Invariant: a reason is a counterfactual. One strip is left out of the fit, or one condition is
put back to what it was at the last good strip (left out, where it was not read then), and the
speed is chosen again by the same rules. Only what was read can be a reason; the sentence is made
elsewhere.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from weldcal.calibration import same_reading
from weldcal.calibration.day_state import in_order
from weldcal.calibration.features import Array
from weldcal.calibration.observation import AdviceReason, Observation, Reach, SpeedQuestion, Window
from weldcal.calibration.response import Point, Response
from weldcal.calibration.signs import is_good
from weldcal.calibration.strips import of_cells

if TYPE_CHECKING:
    from weldcal.calibration.advice import Choice
    from weldcal.calibration.engine import Fit

MOST = 3
_REFIT = 3  # strips that are left out in earnest: those that the draws say moved it most
_REFIT_ROWS = 700  # beyond, the draws alone say it: one strip of hundreds moves them little
_CONDITIONS = {
    "sheet_temperature": "sheet_c",
    "ambient": "ambient_c",
    "wind": "wind_m_per_s",
    "voltage": "line_v",
}


def reasons(
    fit: Fit, question: SpeedQuestion, choice: Choice, window: Window, reach: Reach
) -> tuple[AdviceReason, ...]:
    """At most three reasons, largest first; before any good strip, common practice leads.

    Args:
        fit: of the strips that speak of a working machine.
        question: day, machine, sheet, lap kind and conditions, SI.
        choice: what is advised.
        window: the job's limits, mm.
        reach: speeds (m/min) and nozzle temperatures (°C) that may be set.

    Returns:
        the reasons.
    """
    last = _last_good(fit, question, window)
    then = None if last is None else same_reading.as_made(fit.observations[last], question)
    listed = _strips(fit, question, choice, window, reach)
    listed += _conditions(fit, question, choice, window, reach, then)
    smallest = 0.5 * _dial_step(choice)
    telling = sorted((r for r in listed if abs(r.effect) > smallest), key=lambda r: -abs(r.effect))
    if then is not None:
        return tuple(telling[:MOST])
    if fit.known is not None:
        return (
            AdviceReason("firm", 0.0, {"jobs": len(fit.known.knowledge.jobs)}),
            *telling[: MOST - 1],
        )
    return (_common_practice(), *telling[: MOST - 1])


def _dial_step(choice: Choice) -> float:
    speeds = np.unique(choice.speeds)
    return float(np.diff(speeds).min()) if len(speeds) > 1 else 0.0


def _common_practice() -> AdviceReason:
    from weldcal.calibration import priors

    values: dict[str, float | str] = {
        "speed_m_per_min": float(np.exp(priors.INTERCEPT.mean)),
        "nozzle_c": priors.NOZZLE_C,
    }
    return AdviceReason("common_practice", 0.0, values)


def _last_good(fit: Fit, question: SpeedQuestion, window: Window) -> int | None:
    """Position of the last good strip on this sheet and lap, this machine's if it has one."""
    seen, kind = fit.observations, (question.sheet, question.lap)
    latest = sorted(
        (i for i, o in enumerate(seen) if (o.sheet, o.lap) == kind),
        key=lambda i: (seen[i].machine == question.machine, seen[i].day, seen[i].hour or 0.0, i),
        reverse=True,
    )
    return next((i for i in latest if is_good(seen[i], window)), None)


def _strips(
    fit: Fit, question: SpeedQuestion, choice: Choice, window: Window, reach: Reach
) -> list[AdviceReason]:
    """Today's strips and checks of this machine, each left out."""
    order = in_order(fit.observations, question)
    rough = {i: _reweighted(fit, question, choice, window, i) for i in order}
    if len(fit.data.kind) > _REFIT_ROWS:
        speeds = rough
    else:
        most = sorted(order, key=lambda i: -abs(choice.speed - rough[i]))[:_REFIT]
        speeds = {i: _refitted(fit, question, window, reach, i) for i in most}
    return [
        AdviceReason("strip", choice.speed - speed, _sentence_values(fit.observations[i], speed))
        for i, speed in speeds.items()
    ]


def _refitted(
    fit: Fit, question: SpeedQuestion, window: Window, reach: Reach, position: int
) -> float:
    """The speed advised by a fit that never saw this strip."""
    from weldcal.calibration.advice import choose

    return choose(fit.without({position}), question, window, reach).speed


def _reweighted(
    fit: Fit, question: SpeedQuestion, choice: Choice, window: Window, position: int
) -> float:
    """The same by the draws at hand, each weighted by one over what the strip says of it
    (leave-one-out by importance weights; Gelfand, Dey & Chang 1992)."""
    from weldcal.calibration.advice import best
    from weldcal.calibration.posterior import truncated

    weight = truncated(-_log_like(fit, question, position))
    chance = weight @ choice.found.joint
    return float(choice.speeds[best(choice.found, chance, choice.speeds, window)])


def _log_like(fit: Fit, question: SpeedQuestion, position: int) -> Array:
    """What one strip of the asked cell says of each draw."""
    draws, cell = fit.draws(question), (question.day, question.machine)
    if cell not in fit.data.cells:
        return np.zeros(len(draws.t))
    k = fit.data.cells.index(cell)
    data = of_cells(fit.data, k, k + 1)
    point = Point(draws.u, draws.t[:, None], draws.s[:, None], np.zeros((len(draws.t), 0)))
    rows = Response(data, fit.layout).row_log_like(point, draws.strip)
    return np.asarray(rows[:, data.kept[data.row_strip] == position].sum(axis=1))


def _sentence_values(o: Observation, without: float) -> dict[str, float | str]:
    """What a sentence needs to name a strip, and the speed advised without it."""
    values: dict[str, float | str] = {
        "speed_m_per_min": o.speed_m_per_min,
        "day": o.day,
        "id": o.id,
        "name": o.name,
        "on_seam": str(o.on_seam).lower(),
        "without_m_per_min": without,
    }
    if o.readings_mm:
        values["width_mm"] = float(np.median(o.readings_mm))
    if o.bubbling in ("trace", "heavy"):
        values["bubbling"] = o.bubbling
    if o.bond is not None:
        values["bond"] = o.bond
    return values


def _conditions(
    fit: Fit,
    question: SpeedQuestion,
    choice: Choice,
    window: Window,
    reach: Reach,
    then: Observation | None,
) -> list[AdviceReason]:
    """What was read now, put back to what it was at the last good strip, or left out."""
    from weldcal.calibration.advice import choose

    changed = []
    for code, name in _CONDITIONS.items():
        now = getattr(question, name)
        if now is None or (code == "ambient" and question.sheet_c is not None):
            continue
        before = None if then is None else getattr(then, name)
        if before == now:
            continue
        asked = _put_back(question, name, before)
        without = choose(fit, asked, window, reach).speed
        values: dict[str, float | str] = {f"now_{name}": now, "without_m_per_min": without}
        if then is not None and before is not None:
            values |= {f"then_{name}": before, "day": then.day, "name": then.name}
        changed.append(AdviceReason(code, choice.speed - without, values))
    if then is not None and question.nozzle_c is not None and then.nozzle_c != question.nozzle_c:
        changed += _nozzle(fit, question, choice, window, reach, then)
    return changed


def _put_back(question: SpeedQuestion, name: str, value: float | None) -> SpeedQuestion:
    """The question with one condition as it was then, or not read."""
    if name == "sheet_c":
        return replace(question, sheet_c=value, hour_sheet_read=None, sheet_read_c=None)
    if name == "ambient_c":
        return replace(question, ambient_c=value)
    if name == "wind_m_per_s":
        return replace(question, wind_m_per_s=value)
    return replace(question, line_v=value)


def _nozzle(
    fit: Fit,
    question: SpeedQuestion,
    choice: Choice,
    window: Window,
    reach: Reach,
    then: Observation,
) -> list[AdviceReason]:
    """The nozzle put back to the last good strip's; nothing where that is out of reach."""
    from weldcal.calibration.advice import choose

    if not reach.nozzle_min <= then.nozzle_c <= reach.nozzle_max:
        return []
    without = choose(fit, replace(question, nozzle_c=then.nozzle_c), window, reach).speed
    values: dict[str, float | str] = {
        "now_nozzle_c": choice.nozzle_c,
        "then_nozzle_c": then.nozzle_c,
        "day": then.day,
        "without_m_per_min": without,
    }
    return [AdviceReason("nozzle", choice.speed - without, values)]
