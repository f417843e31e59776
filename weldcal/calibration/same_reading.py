"""What strips made under an old reading of the sheet say of it.

Invariant: with no such strip the error of a reading is that of `staleness`; each strip only ever
makes it less. A strip made two minutes ago stood on the sheet of now, whatever that is.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from weldcal.calibration import priors, staleness
from weldcal.calibration.features import Array
from weldcal.calibration.observation import Observation, SpeedQuestion
from weldcal.calibration.posterior import Draws
from weldcal.calibration.response import LOG_WIDTH, Point, Response, bend, strip_variance
from weldcal.calibration.strips import WIDTH, of_cells
from weldcal.physics.sheet_path import STEP_H

if TYPE_CHECKING:
    from weldcal.calibration.engine import Fit

_WILD_SD = 3.0  # a strip further off than this counts as so far off


def by_now(fit: Fit, question: SpeedQuestion) -> SpeedQuestion:
    """The question with its sheet where it is taken to be: by sun and sky since an older reading,
    and by the strips made since then.

    Args:
        fit: of every observation.
        question: day, machine, sheet, lap kind and conditions, SI.

    Returns:
        the question there.
    """
    there = staleness.by_now(question)
    if there.sheet_c is None or there is question:
        return question
    off_k = float(errors(fit, there).mean()) / priors.WEATHER.mean
    return replace(there, sheet_c=there.sheet_c + off_k)


def errors(fit: Fit, question: SpeedQuestion) -> Array:
    """One error of the sheet as the question has it for each draw, ln speed: the sheet is one and
    the same for every setting looked at, and for the strips made under that reading.

    The error walks on from strip to strip as its variance grows (a Kalman filter, one a draw):
    what the width of each is off, at the draw's offset, is that error and the strip's own luck.

    Args:
        fit: of every observation.
        question: conditions as they are taken to be now.

    Returns:
        ln speed, (draws,); the same each time.
    """
    now_var = staleness.spread(question) ** 2
    draws = fit.draws(question)
    count = len(draws.t)
    if now_var == 0.0:
        return np.zeros(count)
    mean, var, so_far = np.zeros(count), np.zeros(count), 0.0
    for then_var, off, luck in _told(fit, question, draws):
        var, so_far = var + then_var - so_far, then_var
        total = var + luck
        most = _WILD_SD * np.sqrt(total)
        mean = mean + var / total * np.clip(off - mean, -most, most)
        var = var * luck / total
    drawn = np.random.default_rng(fit.seed + 2).standard_normal(count)
    drawn -= drawn.mean()
    error = mean + np.sqrt(var + now_var - so_far) * drawn
    return np.asarray(error - priors.WEATHER.mean * _put_k(question))


def _put_k(question: SpeedQuestion) -> float:
    """How far the question's sheet was put from where sun and sky alone took it, K."""
    carried = staleness.carried_c(question)
    if carried is None or question.sheet_c is None or question.sheet_read_c is None:
        return 0.0
    return question.sheet_c - carried


def as_made(made: Observation, question: SpeedQuestion) -> Observation:
    """A strip with its sheet where it was when it was made, as the question has it: under the
    same reading as far off as the question's.

    Args:
        made: a strip or check.
        question: conditions as they are taken to be now.

    Returns:
        the same, its sheet moved.
    """
    there = staleness.by_now(made)
    if there.sheet_c is None or not _same(made, question):
        return there
    return replace(there, sheet_c=there.sheet_c + _put_k(question))


def _told(fit: Fit, question: SpeedQuestion, draws: Draws) -> list[tuple[float, Array, Array]]:
    """Of each strip of the asked cell under the same reading, earliest first: the variance of the
    reading then, how far off it was for each draw, and the variance of its own luck, ln speed."""
    cell, layout = (question.day, question.machine), fit.layout
    if cell not in fit.data.cells:
        return []
    k = fit.data.cells.index(cell)
    mine = of_cells(fit.data, k, k + 1)
    heat = Response(mine, layout).heat(
        Point(draws.u, draws.t[:, None], draws.s[:, None], np.zeros((len(draws.t), 0)))
    )
    told = []
    for row in np.flatnonzero(mine.kind == WIDTH):
        strip = mine.row_strip[row]
        made = fit.observations[mine.kept[strip]]
        if not _same(made, question):
            continue
        then_var = min(staleness.spread(made), staleness.spread(question)) ** 2
        steep = np.exp(draws.u[:, layout.elasticity + mine.features.sheet[strip]])
        rise, left, _ = bend(heat[:, strip], draws.u[:, layout.curvature])
        slope = steep * left
        unread = mine.features.strip_var[strip] - staleness.spread(made) ** 2
        luck = mine.var[row] + strip_variance(steep, draws.strip, unread)
        off = (mine.value[row] - LOG_WIDTH - steep * rise) / slope
        told.append((then_var, off, luck / slope**2))
    return sorted(told, key=lambda one: one[0])


def _same(made: Observation, question: SpeedQuestion) -> bool:
    """Whether a strip rests on the reading that the question does: made earlier, as old a
    reading (ages count in steps of ten minutes), of the same number."""
    then, now = staleness.reading(made), staleness.reading(question)
    if then is None or now is None or made.hour_sheet_read is None:
        return False
    return abs(then.hour - now.hour) <= STEP_H and abs(then.sheet_c - now.sheet_c) < 0.01
