"""Settings that today's strips have just shown to fail: never advised again as they are, and
settings about there of which nobody is sure.

Invariant: more heat never bleeds out or bonds less, nor bubbles less. So what showed too little
counts against every setting with about as much heat or less, and what showed too much against
all with about as much or more, until a later strip or check at a setting no better shows the
contrary.
"""

from __future__ import annotations

from math import inf, isnan
from typing import TYPE_CHECKING

import numpy as np

from weldcal.calibration.bracket import HEAT_MARGIN
from weldcal.calibration.observation import Observation, SpeedQuestion, Window
from weldcal.calibration.signs import at_edge, half_step, is_good, of_kind

if TYPE_CHECKING:
    from weldcal.calibration.engine import Fit

SAME_HEAT = 0.02  # heat index: settings nearer than this are one setting
NO_BETTER = 0.05  # one that was good shows it of settings with up to this much less (or more)


def limits(fit: Fit, question: SpeedQuestion, window: Window) -> tuple[float, float]:
    """Heat indices between which a setting must lie: above the first, below the second.

    Where the two leave nothing between them, today's strips contradict each other, and
    there is no limit: the signs say so.

    Args:
        fit: of every observation.
        question: whose machine, sheet, lap kind and day are meant.
        window: the job's limits: whether bleed-out says anything of this sheet.

    Returns:
        heat indices, -inf and inf where nothing speaks.
    """
    heats = fit.heats(question.sheet)
    today = [(fit.observations[i], heats[i]) for i in of_kind(fit, question)]
    today = [(o, heat) for o, heat in today if not isnan(heat)]
    floor, ceiling = -inf, inf
    for n, (o, heat) in enumerate(today):
        if o.bond == "cold" and not _held(today[n + 1 :], heat):
            floor = max(floor, heat)
        if window.by_bleed_out and _showed_none(o) and not _bled(today[n + 1 :], heat):
            floor = max(floor, heat)
        if o.bubbling == "heavy" and not o.damp and not _clean(today[n + 1 :], heat):
            ceiling = min(ceiling, heat)
    if floor + SAME_HEAT >= ceiling - SAME_HEAT:
        return -inf, inf
    return floor + SAME_HEAT, ceiling - SAME_HEAT


def _held(later: list[tuple[Observation, float]], heat: float) -> bool:
    """A later strip with no more heat was pulled and held."""
    return any(o.bond == "good" and z <= heat + SAME_HEAT for o, z in later)


def _showed_none(o: Observation) -> bool:
    """No bleed-out anywhere along it."""
    return bool(o.readings_mm) and max(o.readings_mm) == 0.0


def _bled(later: list[tuple[Observation, float]], heat: float) -> bool:
    """A later strip or check with no more heat showed bleed-out."""
    return any(o.readings_mm and not _showed_none(o) and z <= heat + SAME_HEAT for o, z in later)


def _clean(later: list[tuple[Observation, float]], heat: float) -> bool:
    """A later strip with no less heat did not bubble."""
    return any(o.bubbling == "none" and z >= heat - SAME_HEAT for o, z in later)


def doubts(fit: Fit, question: SpeedQuestion, window: Window, heat: float) -> list[str]:
    """Codes of what today's strips and checks say against a setting of this heat index.

    `last_failed_here`: one about there failed, a trace of bubbling too where the job lets none
    pass. `last_at_edge`: one read a limit itself where one
    before it, at about its heat, was well inside: what a machine that has just changed shows
    first. A later one that was well inside lifts either, if its setting was no better.

    Args:
        fit: of the strips that speak of a working machine.
        question: whose machine, sheet, lap kind and day are meant.
        window: the job's limits, mm.
        heat: the setting's heat index.

    Returns:
        at most one code.
    """
    heats = fit.heats(question.sheet)
    today = [(fit.observations[i], heats[i]) for i in of_kind(fit, question) if not isnan(heats[i])]
    codes = []
    for n, (o, z) in enumerate(today):
        code = _against(o, window, today[:n], z)
        sides = _sides(o, window)
        if code and any(_speaks(side, today[n + 1 :], z, heat, window) for side in sides):
            codes.append(code)
    return sorted(set(codes), reverse=True)[:1]


def _against(
    o: Observation, window: Window, before: list[tuple[Observation, float]], heat: float
) -> str:
    """What a strip or check says against its setting: a code, or nothing."""
    if o.on_seam and not o.readings_mm:  # a sample cut from the lap: its bond is all it shows
        return "last_failed_here" if o.bond == "cold" else ""
    judged = bool(o.readings_mm) or o.bond is not None
    good = is_good(o, window) if judged else o.bubbling != "heavy"
    if not good or _bubbled(o, window):
        return "last_failed_here"
    moved = at_edge(o, window) and any(
        abs(z - heat) <= HEAT_MARGIN and _well_inside(b, window) for b, z in before
    )
    return "last_at_edge" if moved else ""


def _well_inside(o: Observation, window: Window) -> bool:
    return is_good(o, window) and not at_edge(o, window) and not _bubbled(o, window)


def _bubbled(o: Observation, window: Window) -> bool:
    """It bubbled more than the job lets pass: a trace is the first that water in a roll shows."""
    return o.bubbling == "heavy" or (o.bubbling == "trace" and not window.trace_ok)


def _sides(o: Observation, window: Window) -> set[int]:
    """Which way it missed, or nearly: -1 too little heat, +1 too much."""
    sides = set()
    if o.bond == "cold":
        sides.add(-1)
    if _bubbled(o, window):
        sides.add(1)
    if o.readings_mm and (at_edge(o, window) or not is_good(o, window)):
        width = float(np.median(o.readings_mm))
        if width < window.low_mm or abs(width - window.low_mm) <= half_step(o):
            sides.add(-1)
        if width > window.high_mm or abs(width - window.high_mm) <= half_step(o):
            sides.add(1)
    return sides


def _speaks(
    side: int,
    later: list[tuple[Observation, float]],
    shown: float,
    heat: float,
    window: Window,
) -> bool:
    """Whether what missed on a side at `shown` counts against `heat`, with nothing later that
    was well inside at a setting no better. Where it was too little heat, that must have been
    pulled and held: a bleed check says nothing of the bond."""
    if side * (heat - shown) < -HEAT_MARGIN:
        return False
    return not any(
        _well_inside(o, window)
        and (side > 0 or o.bond == "good")
        and side * (z - heat) >= -NO_BETTER
        for o, z in later
    )
