"""The advice: which speed, how sure, until when, why, and what to try when not sure.

Invariant: it never says sure unless the joint chance meets the job's threshold,
the weld itself is very likely right, and the setting lies near enough to what
was tried; it never leaves the reach of machine and sheet maker; and while something
is probably broken it advises no speed at all.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from weldcal.calibration import bond_seen, bracket, failed, holds, same_reading, staleness
from weldcal.calibration.features import Array
from weldcal.calibration.observation import (
    Advice,
    AsRead,
    Capped,
    DayState,
    Forecast,
    NextStrip,
    Reach,
    Sign,
    SpeedQuestion,
    SpeedStep,
    Window,
)
from weldcal.calibration.outcome import Outcomes
from weldcal.calibration.reasons import reasons
from weldcal.calibration.second_strip import second_strip
from weldcal.calibration.settings import MAY_BUBBLE_HEAVILY, dial_speeds, expected_gain, nozzles
from weldcal.calibration.signs import CONTRADICT, signs
from weldcal.calibration.strips import Index

if TYPE_CHECKING:
    from weldcal.calibration.engine import Fit

LEVEL = 0.003  # joint chances this close are the same; the width aimed for decides
RIGHT = 0.90  # joint chance below which advice is never sure, whatever the job's threshold
STOP = 0.80  # chance that something is broken, from which no speed is advised
MAY_BE_BROKEN = 0.10  # the same, from which advice is never sure
_FAR = 0.8  # speeds this far (ln) from every likely one are not worth looking at


class NothingInReachError(ValueError):
    """The chosen nozzle temperatures or speeds all lie outside the reach given."""


@dataclass(frozen=True, slots=True)
class Choice:
    """The best setting of a set: position, and the set it was chosen from; `capped` where it
    was held back because the sheet is far from what was tried."""

    at: int
    nozzles_c: Array
    speeds: Array
    found: Outcomes
    chance: Array
    capped: Capped = ""

    @property
    def speed(self) -> float:
        """Its travel speed, m/min."""
        return float(self.speeds[self.at])

    @property
    def nozzle_c(self) -> float:
        """Its nozzle temperature, °C."""
        return float(self.nozzles_c[self.at])


def choose(fit: Fit, question: SpeedQuestion, window: Window, reach: Reach) -> Choice:
    """The setting with the best joint chance; among equals the width nearest the aim.

    Settings that today's strips have shown to fail are left out, and so are speeds beyond
    those for the warmest or coldest sheet that is not far from what was tried.

    Args:
        fit: of every observation.
        question: day, machine, sheet, lap kind and conditions, SI.
        window: the job's limits, mm.
        reach: speeds (m/min) and nozzle temperatures (°C) that may be set.

    Returns:
        the choice, with the outcomes of every setting looked at.

    Raises:
        NothingInReachError: no setting asked for lies within reach.
    """
    speeds = _worth_looking(fit, question, dial_speeds(reach))
    temperatures = nozzles(question, reach)
    if not len(speeds) or not temperatures:
        raise NothingInReachError("no setting asked for lies within the reach given")
    limit = bracket.held_at(fit, question)
    if limit is not None:
        edge = choose(fit, limit[0], window, reach).speed
        within = speeds <= edge if limit[1] else speeds >= edge
        speeds = speeds[within] if within.any() else np.array([edge])
    nozzle = np.repeat(temperatures, len(speeds))
    speed = np.tile(speeds, len(temperatures))
    keep = _not_failed(fit, question, window, nozzle, speed)
    nozzle, speed = nozzle[keep], speed[keep]
    outcomes = fit.outcomes(question, nozzle.tolist(), speed.tolist(), window)
    chance = outcomes.joint.mean(axis=0)
    at = best(outcomes, chance, speed, window)
    capped: Capped = ""
    if limit is not None and speed[at] == (speeds.max() if limit[1] else speeds.min()):
        capped = "warmer" if limit[1] else "colder"
    return Choice(at, nozzle, speed, outcomes, chance, capped)


def best(outcomes: Outcomes, chance: Array, speed: Array, window: Window) -> int:
    """Position of the best chance; among equals the width nearest the aim.

    Args:
        outcomes: outcomes (draws, settings).
        chance: joint chance of each setting.
        speed: travel speed of each, m/min.
        window: the job's limits, mm.

    Returns:
        the position among the settings.
    """
    close = np.flatnonzero(chance >= chance.max() - LEVEL)
    if window.by_bleed_out:
        off = np.abs(np.median(outcomes.log_width[:, close], axis=0) - np.log(window.aim_mm))
        return int(close[int(np.argmin(off))])
    middle = np.log(speed[close])
    return int(close[int(np.argmin(np.abs(middle - (middle.min() + middle.max()) / 2.0)))])


def _not_failed(
    fit: Fit, question: SpeedQuestion, window: Window, nozzle: Array, speed: Array
) -> Index:
    """Positions of settings with more heat than what parted cold or showed no bleed-out today,
    and less than what bubbled heavily; where none is left, the one nearest to being so."""
    low, high = failed.limits(fit, question, window)
    if low == -np.inf and high == np.inf:
        return np.arange(len(speed))
    base = {n: fit.heat_at(question, n, 1.0) for n in np.unique(nozzle).tolist()}
    heat = np.array([base[n] for n in nozzle.tolist()]) - np.log(speed)
    keep = np.flatnonzero((heat > low) & (heat < high))
    if len(keep):
        return keep
    return np.array([int(np.argmin(np.maximum(low - heat, heat - high)))])


def _worth_looking(fit: Fit, question: SpeedQuestion, speeds: Array) -> Array:
    """Leave out speeds that no draw could call right (at least three stay)."""
    low, high = fit.likely_log_speeds(question)
    log_speed = np.log(speeds)
    near = (log_speed >= low - _FAR) & (log_speed <= high + _FAR)
    if near.sum() >= min(3, len(speeds)):
        return np.asarray(speeds[near])
    nearest = np.argsort(np.abs(log_speed - (low + high) / 2.0))[:3]
    return np.asarray(speeds[np.sort(nearest)])


@dataclass(frozen=True, slots=True)
class Decision:
    """What to set and how sure, before why and until when.

    Attributes:
        fit: of the strips that speak of a working machine, those set aside left out.
        state, signs: of the day's machine and sheet.
        choice, forecast: the best setting and what it would give; `None` where the verdict is
            STOP.
        doubts: codes saying why it is not sure.
        next_strip: what to run next when not sure.
    """

    fit: Fit
    state: DayState
    signs: tuple[Sign, ...]
    choice: Choice | None
    forecast: Forecast | None
    doubts: tuple[str, ...]
    next_strip: NextStrip | None = None


def decide(fit: Fit, question: SpeedQuestion, window: Window, reach: Reach) -> Decision:
    """The setting, whether it is sure, and the next strip: the decision behind the advice.

    Args:
        fit: of every observation.
        question: conditions as they are taken to be now (`same_reading.by_now`).
        window: the job's limits.
        reach: of machine and sheet maker.

    Returns:
        the decision; without a speed where the verdict is STOP.
    """
    state = fit.state(question)
    seen = signs(fit, question, window, state)
    if state.broken >= STOP:
        return Decision(fit, state, seen, None, None, ("broken",))
    fit = fit.without(state.aside)
    choice = choose(fit, question, window, reach)
    forecast = fit.forecast(question, [choice.speed], choice.nozzle_c, window)[0]
    doubts = (*doubts_of(fit, question, window, choice), *_not_itself(state, seen))
    if state.broken > MAY_BE_BROKEN:  # a lap welded by what is broken is taken for lost
        forecast = replace(forecast, chance=forecast.chance * state.working)
    following = _next(fit, question, window, choice) if doubts else None
    return Decision(fit, state, seen, choice, forecast, doubts, following)


def advise(fit: Fit, question: SpeedQuestion, window: Window, reach: Reach) -> Advice:
    """Advice for a question within reach.

    Args:
        fit: of every observation.
        question: day, machine, sheet, lap kind and conditions (SI).
        window: the job's limits.
        reach: speeds (m/min) and nozzle temperatures (°C) that may be set.

    Returns:
        the advice; without a speed where the verdict is STOP.

    Raises:
        NothingInReachError: no setting asked for lies within reach.
    """
    every, read, question = fit, question, same_reading.by_now(fit, question)
    decision = decide(fit, question, window, reach)
    if decision.choice is None or decision.forecast is None:
        return _stopped(fit, question, decision)
    fit, choice = decision.fit, decision.choice
    low, high = _kept_between(choice, window)
    setting = holds.SetNow(choice.nozzle_c, choice.speed, dial_speeds(reach))
    until, after = None, None  # a speed held back is not the best even now
    if not choice.capped:
        until, after = holds.until(fit, question, window, setting)
    return Advice(
        forecast=decision.forecast,
        sure=not decision.doubts,
        doubts=decision.doubts,
        speed_low=low,
        speed_high=high,
        holds_until_sheet_c=until,
        speed_from_there=after,
        next_strip=decision.next_strip,
        reasons=reasons(fit, question, choice, window, reach),
        rests_on=_rests_on(fit, question, every),
        state=decision.state,
        signs=decision.signs,
        sheet_unsure_k=staleness.sheet_spread_k(question),
        capped=choice.capped,
        second_strip=second_strip(fit, question, window),
        bond_seen=bond_seen.bond_seen(fit, question),
        sheet_now_c=None if question is read else question.sheet_c,
        as_read=None if question is read else _as_read(decision, read, window, reach),
        steps=holds.steps(fit, question, window, setting),
    )


def _as_read(decision: Decision, read: SpeedQuestion, window: Window, reach: Reach) -> AsRead:
    """The same question of a sheet that was read just now, as it was read."""
    fit = decision.fit
    question = read if read.sheet_c is None else fit.at_sheet(read, read.sheet_c)
    choice = choose(fit, question, window, reach)
    doubts = doubts_of(fit, question, window, choice)
    doubts += _not_itself(decision.state, decision.signs)
    return AsRead(choice.speed, sure=not doubts)


def _kept_between(choice: Choice, window: Window) -> tuple[float | None, float | None]:
    """Slowest and fastest speed, m/min, that keep the chance at the job's threshold."""
    inside = np.flatnonzero(
        (choice.chance >= window.threshold) & (choice.nozzles_c == choice.nozzle_c)
    )
    if not len(inside):
        return None, None
    return float(choice.speeds[inside[0]]), float(choice.speeds[inside[-1]])


def day_ahead(
    fit: Fit, question: SpeedQuestion, window: Window, reach: Reach
) -> tuple[SpeedStep, ...]:
    """The next steps of the day alone; none while something is probably broken.

    Args:
        fit: of every observation.
        question: day, machine, sheet, lap kind and conditions, SI.
        window: the job's limits, mm.
        reach: speeds (m/min) and nozzle temperatures (°C) that may be set.

    Returns:
        steps in order of the hour, at most `holds.MOST_STEPS`.
    """
    question = same_reading.by_now(fit, question)
    state = fit.state(question)
    if state.broken >= STOP:
        return ()
    fit = fit.without(state.aside)
    choice = choose(fit, question, window, reach)
    setting = holds.SetNow(choice.nozzle_c, choice.speed, dial_speeds(reach))
    return holds.steps(fit, question, window, setting)


def _stopped(fit: Fit, question: SpeedQuestion, decision: Decision) -> Advice:
    """No speed: something is broken, and a speed would only hide it."""
    return Advice(
        forecast=None,
        sure=False,
        doubts=decision.doubts,
        speed_low=None,
        speed_high=None,
        holds_until_sheet_c=None,
        speed_from_there=None,
        next_strip=None,
        reasons=(),
        rests_on=_rests_on(fit, question, fit),
        state=decision.state,
        stop=True,
        signs=decision.signs,
        sheet_unsure_k=staleness.sheet_spread_k(question),
    )


def _not_itself(state: DayState, seen: tuple[Sign, ...]) -> list[str]:
    """Doubts about machine and surface rather than about the setting."""
    doubts = ["may_be_broken"] if state.broken > MAY_BE_BROKEN else []
    return doubts + (["signs_contradict"] if {s.code for s in seen} & CONTRADICT else [])


def doubts_of(fit: Fit, question: SpeedQuestion, window: Window, choice: Choice) -> list[str]:
    """Codes saying why a choice is not sure; none when it is.

    Args:
        fit: of the strips that speak of a working machine.
        question: day, machine, sheet, lap kind and conditions, SI.
        window: the job's limits, mm.
        choice: what would be advised.

    Returns:
        the codes, gravest first.
    """
    doubts = ["marks_unknown"] if question.unknown_marks else []
    if not any(o.day == question.day and o.machine == question.machine for o in fit.observations):
        doubts.append("no_strip_today")
    if choice.chance[choice.at] < window.threshold:
        doubts.append("chance_too_low")
    elif choice.chance[choice.at] < RIGHT:
        doubts.append(_not_known(fit, question, window, choice))
    if choice.found.heavy[:, choice.at].mean() > MAY_BUBBLE_HEAVILY:
        doubts.append("may_bubble_heavily")
    if choice.capped:
        doubts.append("far_from_tried")
    heat = fit.heat_at(question, choice.nozzle_c, choice.speed)
    doubts += failed.doubts(fit, question, window, heat)
    doubts += bracket.doubts(fit, question, choice.nozzle_c, heat)
    if "no_strip_today" in doubts:
        return doubts
    return doubts + bond_seen.doubts(fit, question, window)


def _not_known(fit: Fit, question: SpeedQuestion, window: Window, choice: Choice) -> str:
    """What is missing for a chance of `RIGHT`: a reading of the sheet, if that alone gives it."""
    if question.sheet_c is not None and staleness.sheet_spread_k(question):
        read_now = fit.at_sheet(question, question.sheet_c)
        outcomes = fit.outcomes(read_now, [choice.nozzle_c], [choice.speed], window)
        if outcomes.joint.mean() >= RIGHT:
            return "sheet_read_long_ago"
    return "weld_not_known"


def _next(fit: Fit, question: SpeedQuestion, window: Window, choice: Choice) -> NextStrip:
    """The strip to run next, among all settings looked at."""
    at, gain = expected_gain(choice.found, window.by_bleed_out, choice.at)
    nozzle, speed = float(choice.nozzles_c[at]), float(choice.speeds[at])
    forecast = fit.forecast(question, [speed], nozzle, window)[0]
    if at == choice.at:
        reason = "best_setting_teaches_most"
    elif speed < choice.speed:
        reason = "slower_teaches_more"
    else:
        reason = "faster_teaches_more"
    return NextStrip(nozzle, speed, gain, reason, forecast)


def _rests_on(fit: Fit, question: SpeedQuestion, every: Fit) -> dict[str, int]:
    """Counts of what the advice rests on: strips of this sheet and lap kind; of `every`,
    those that were made while something was broken count as set aside."""
    same = [o for o in fit.observations if o.sheet == question.sheet and o.lap == question.lap]
    test = [o for o in same if not o.on_seam]
    today = [o for o in test if o.day == question.day]
    aside = set(bracket.set_aside(fit, question.sheet))
    return {
        "strips_today": len(today),
        "strips_earlier": len(test) - len(today),
        "days_earlier": len({o.day for o in test} - {question.day}),
        "set_aside": sum(o in same for i, o in enumerate(fit.observations) if i in aside)
        + len(every.observations)
        - len(fit.observations),
        "bleed_checks": sum(o.on_seam and o.bond is None for o in same),
        "peel_samples": sum(o.on_seam and o.bond is not None for o in same),
    }
