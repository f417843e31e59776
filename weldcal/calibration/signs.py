"""What today's strips show that heat alone does not explain, by the strips that show it.

Invariant: a sign names the strips it was seen on; it never moves the speed by itself.
"""

from __future__ import annotations

from itertools import combinations
from math import hypot, log
from typing import TYPE_CHECKING

import numpy as np

from weldcal.calibration import staleness
from weldcal.calibration.day_state import in_order
from weldcal.calibration.observation import DayState, Observation, Sign, SpeedQuestion, Window
from weldcal.calibration.readings import widths
from weldcal.calibration.response import strip_variance

if TYPE_CHECKING:
    from weldcal.calibration.engine import Fit

CLEARLY = 3.0  # sds that two strips must differ by, to be in the wrong order
_SLOWER = 0.05  # ln speed: nearer speeds count as one
_WARMER_K = 3.0  # the faster strip may be on a sheet this much warmer
_UNEVEN = 2.5  # times the usual scatter along a strip
CONTRADICT = frozenset({"cold_anyway", "thin_and_bubbling", "wrong_order"})


def signs(fit: Fit, question: SpeedQuestion, window: Window, state: DayState) -> tuple[Sign, ...]:
    """Signs among the day's strips of this machine, sheet and lap, the gravest first.

    Those from before the machine was mended are gone, and so are those of single strips
    from before the last good one.

    Args:
        fit: of every observation.
        question: whose machine, sheet, lap kind and day are meant.
        window: the job's limits, mm.
        state: of machine and sheet.

    Returns:
        one sign a code.
    """
    aside = set(state.aside)
    today = [
        o
        for i, o in ((i, fit.observations[i]) for i in in_order(fit.observations, question))
        if (o.sheet, o.lap) == (question.sheet, question.lap) and i not in aside
    ]
    signs_seen = _of_state(state, fit.observations)
    since = _since_good(today, window)
    if window.by_bleed_out:
        signs_seen += _single(since, window, fit.data.reading_spread)
        signs_seen += _wrong_order(today, _strip_spread(fit.before(question), question))
    seen: dict[str, Sign] = {}
    for sign in signs_seen:
        seen.setdefault(sign.code, sign)
    return tuple(seen.values())


def _of_state(state: DayState, observations: tuple[Observation, ...]) -> list[Sign]:
    """What is most likely broken, where something more likely is than not."""
    if state.since is None:
        return []
    kinds = {"bond": state.bond, "bubbling": state.bubbling, "machine": state.machine}
    worst = max(kinds, key=lambda kind: kinds[kind])
    code = {
        "bond": "cold_anyway",
        "bubbling": "bubbling_anyway",
        "machine": "too_little" if state.jump < 0 else "too_much",
    }[worst]
    return [Sign(code, (observations[state.since],))]


def _since_good(today: list[Observation], window: Window) -> list[Observation]:
    good = [i for i, o in enumerate(today) if is_good(o, window)]
    return today[good[-1] + 1 :] if good else today


def is_good(o: Observation, window: Window) -> bool:
    """Nothing is against it: typical width inside, not heavily bubbling, not parted cold.

    Args:
        o: a strip or check.
        window: the job's limits, mm.

    Returns:
        whether it is.
    """
    if o.bubbling == "heavy" or o.bond == "cold":
        return False
    if not window.by_bleed_out:
        return o.bond == "good"
    if not o.readings_mm:
        return False
    return window.low_mm <= float(np.median(o.readings_mm)) <= window.high_mm


def passed(o: Observation, window: Window) -> bool:
    """Every reading inside the limits, no bubbling that fails, pulled and held.

    Args:
        o: a strip.
        window: the job's limits, mm.

    Returns:
        whether it did.
    """
    inside = all(window.low_mm <= r <= window.high_mm for r in o.readings_mm)
    bubbling = o.bubbling == "none" or (o.bubbling == "trace" and window.trace_ok)
    read = bool(o.readings_mm) or not window.by_bleed_out
    return read and inside and bubbling and o.bond == "good" and not o.damp


def at_edge(o: Observation, window: Window) -> bool:
    """The typical reading is one of the limits themselves, to half a step of the tape.

    Args:
        o: a strip or check.
        window: the job's limits, mm.

    Returns:
        whether it is.
    """
    if not o.readings_mm:
        return False
    width = float(np.median(o.readings_mm))
    return min(abs(width - window.low_mm), abs(width - window.high_mm)) <= half_step(o)


def half_step(o: Observation) -> float:
    """Half a step of the tape, mm; what lies that far off to a rounding counts as no farther.

    The median of 5/16 and 3/8 in is exactly that far from 3/8: floats must not decide it.

    Args:
        o: a strip or check.

    Returns:
        mm.
    """
    return o.reading_step_mm / 2.0 + 1e-6


def of_kind(fit: Fit, question: SpeedQuestion) -> list[int]:
    """Positions of the day's strips and checks on this sheet and lap, in order of time.

    Args:
        fit: of every observation.
        question: whose machine, sheet, lap kind and day are meant.

    Returns:
        positions in the fit's observations.
    """
    observations = fit.observations
    kind = (question.sheet, question.lap)
    return [
        i
        for i in in_order(observations, question)
        if (observations[i].sheet, observations[i].lap) == kind
    ]


def _single(strips: list[Observation], window: Window, scatter: float) -> list[Sign]:
    """Signs that one strip shows by itself."""
    read = [(o, float(np.median(o.readings_mm))) for o in strips if o.readings_mm]
    both = [o for o, width in read if width < window.low_mm and o.bubbling in ("trace", "heavy")]
    cold = [o for o, width in read if width >= window.low_mm and o.bond == "cold"]
    uneven = [o for o, _ in read if _scatter(o) > _UNEVEN * scatter]
    table = {"thin_and_bubbling": both, "cold_anyway": cold, "uneven": uneven}
    return [Sign(code, tuple(shown)) for code, shown in table.items() if shown]


def _scatter(o: Observation) -> float:
    """Sd of ln readings along a strip; a reading of none counts as half a step."""
    if len(o.readings_mm) < 3:
        return 0.0
    logs = [log(max(r, o.reading_step_mm / 2.0)) for r in o.readings_mm]
    return float(np.std(logs, ddof=1))


def _strip_spread(fit: Fit, question: SpeedQuestion) -> float:
    """Sd of ln width from strip to strip at one setting, on this sheet, as known before the
    strips in question."""
    draws, at = fit.draws(question), fit.layout.levels.sheet(question.sheet)
    steep = np.exp(draws.u[:, fit.layout.elasticity + at])
    return float(np.sqrt(np.median(strip_variance(steep, draws.strip, np.zeros(1)))))


def _wrong_order(today: list[Observation], spread: float) -> list[Sign]:
    """The pair that is furthest from possible: slower, no colder, and yet clearly less."""
    read = [o for o in today if o.readings_mm and not o.damp]
    width = widths([o.readings_mm for o in read], [o.reading_step_mm for o in read])
    worst, pair = CLEARLY, None
    for i, j in combinations(range(len(read)), 2):
        slow, fast = (i, j) if read[i].speed_m_per_min < read[j].speed_m_per_min else (j, i)
        if width.censored[fast] or not _comparable(read[slow], read[fast]):
            continue
        sd = hypot(*np.sqrt([width.var[i], width.var[j]]), spread, spread)
        off = float(width.log_mm[fast] - width.log_mm[slow]) / sd
        if off > worst:
            worst, pair = off, (read[slow], read[fast])
    return [] if pair is None else [Sign("wrong_order", pair)]


def _comparable(slow: Observation, fast: Observation) -> bool:
    """The slower one had more heat, as far as anybody read: it should bleed out more."""
    if (
        log(fast.speed_m_per_min / slow.speed_m_per_min) < _SLOWER
        or slow.nozzle_c < fast.nozzle_c - 1
    ):
        return False
    slow, fast = staleness.by_now(slow), staleness.by_now(fast)
    for name in ("sheet_c", "ambient_c"):
        a, b = getattr(slow, name), getattr(fast, name)
        if a is not None and b is not None:
            return bool(b <= a + _WARMER_K)
    return True
